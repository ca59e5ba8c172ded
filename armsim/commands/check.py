"""armsim check."""

from armsim.commands.options import AsJson, ScenarioFile, Strict
from armsim.commands.speaking import loaded, show, show_result
from armsim.commands.status import leave


def check(file: ScenarioFile, as_json: AsJson = False, strict: Strict = False) -> None:
    """Judge a scenario at rest, without simulating.

    Torques needed and available, holding, the drivetrain shaft by shaft, protection at stall.
    """
    scenario = loaded(file, warn=as_json)
    from armsim.studies.single import check as judge

    assessment = judge(scenario)
    if as_json:
        show_result(scenario, assessment)
    else:
        from armsim.report.terminal import check_summary

        show(check_summary(scenario, assessment))
    leave(assessment, strict)
