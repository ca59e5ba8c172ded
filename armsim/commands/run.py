"""armsim run."""

from pathlib import Path
from typing import Annotated

import typer

from armsim.commands.options import AsJson, Overwrite, ScenarioFile, Strict, need_output
from armsim.commands.speaking import loaded, progress, say_where, show, show_result
from armsim.commands.status import leave


def run(
    file: ScenarioFile,
    output: Annotated[
        Path | None, typer.Option("--output", metavar="DIR", help="Write report, figures and series there.")
    ] = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
    strict: Strict = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print no summary and no notes, only errors.")] = False,
    html: Annotated[
        bool, typer.Option("--html", help="With --output: the report as one HTML file too, figures inside.")
    ] = False,
) -> None:
    """Simulate a scenario and judge it.

    With --output it writes a report with figures, the time series as CSV and the result as JSON.
    """
    need_output(output, {"--overwrite": overwrite, "--html": html})
    scenario = loaded(file, warn=as_json and not quiet)
    if output is not None:
        from armsim.report.write import check_target

        check_target(output, overwrite)
    with progress(f"Running {file.name} ...", quiet):
        from armsim.studies.single import assess

        assessment = assess(scenario)
        if output is not None:
            from armsim.report.write import write_report

            write_report(scenario, assessment, output, overwrite, html=html)
    if as_json:
        show_result(scenario, assessment)
    elif not quiet:
        from armsim.report.terminal import summary

        show(summary(scenario, assessment))
    say_where(output, "report.html" if html else "report.md", as_json, quiet)
    leave(assessment, strict)
