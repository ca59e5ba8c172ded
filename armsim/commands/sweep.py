"""armsim sweep."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armsim.commands import workload
from armsim.commands.options import AsJson, Overwrite, ScenarioFile
from armsim.commands.speaking import progress, say_where, show, show_json
from armsim.commands.status import Status

if TYPE_CHECKING:
    from armsim.studies.sweep import Sweep
    from armsim.studies.sweep_job import Job


def sweep(
    file: ScenarioFile,
    vary: Annotated[
        list[str],
        typer.Option("--vary", metavar="KEY=FROM:TO:COUNT", help="Values of one key; several make a grid. Or KEY=A,B."),
    ],
    output: Annotated[
        Path | None, typer.Option("--output", metavar="DIR", help="Write report and figure there.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write all rows there.")] = None,
    overwrite: Overwrite = False,
    workers: workload.Workers = None,
    cluster: workload.Cluster = None,
    chunk: workload.ChunkRows = None,
    as_json: AsJson = False,
    strict: Annotated[bool, typer.Option("--strict", help="Exit with 1 when nowhere everything is met.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print no table and no progress, only errors.")] = False,
    html: Annotated[bool, typer.Option("--html", help="With --output: the report as one HTML file too.")] = False,
) -> None:
    """Follow the lift over a range of values: where it meets what is asked, and what binds there.

    KEY is dotted as in the scenario, lists counted from 0: arm.payload.mass=5kg:20kg:40, reduction=20:200:60:log,
    transmission.0.gears.driver=14,18, controller.when_off=shorted,open. `reduction` is that of the whole train.
    """
    if overwrite and output is None and csv is None:
        raise typer.BadParameter("needs --output DIR or --csv FILE", param_hint="'--overwrite'")
    if html and output is None:
        raise typer.BadParameter("needs --output DIR", param_hint="'--html'")
    how = workload.How(workers=workers, cluster=cluster, chunk=chunk, quiet=quiet)
    found = _swept(file, vary, output, csv, overwrite, how, html)
    if as_json:
        from armsim.report.sweep_contract import sweep_json

        show_json(sweep_json(found))
    elif not quiet:
        from armsim.report.sweep_terminal import sweep_text

        show(sweep_text(found))
    say_where(output, "report.html" if html else "report.md", as_json, quiet)
    if found.failed:
        raise typer.Exit(Status.SOME_FAILED if len(found.failed) < len(found.rows) else Status.NO_SOLUTION)
    if strict and not found.feasible:
        raise typer.Exit(Status.NOT_MET)


def _swept(
    file: Path,
    vary: list[str],
    output: Path | None,
    csv: Path | None,
    overwrite: bool,
    how: "workload.How",
    html: bool,
) -> "Sweep":
    """The sweep, written where that is asked for."""
    from armsim.scenario.varied import Template

    template = Template(file)
    variations = template.variations(vary)
    from armsim.report.sweep_write import check_sweep_target, write_sweep
    from armsim.studies.sweep_job import job_of

    job = job_of(template, variations)
    if csv is not None:
        from armsim.report.files import check_new

        check_new(csv, overwrite)
    if output is not None:
        check_sweep_target(output, overwrite)
    found = _calculated(job, vary, how, output, overwrite)
    if output is not None:
        write_sweep(found, output, overwrite, html=html)
    if csv is not None:
        from armsim.report.files import write_new
        from armsim.report.sweep_contract import sweep_csv

        write_new(csv, sweep_csv(found), overwrite)
    return found


def _calculated(job: "Job", vary: list[str], how: "workload.How", output: Path | None, overwrite: bool) -> "Sweep":
    """All rows, calculated where `how` says and kept in the output folder, then what lies between them."""
    from armsim.studies.engine import Work
    from armsim.studies.sweep import judged
    from armsim.studies.sweep_job import rows_evaluated, span
    from armsim.studies.sweep_rows import WIDTH

    asked = workload.Question(
        study="sweep",
        inputs_sha256=job.template.base.sha256,
        keys=tuple(vary),
        count=job.count,
        row_cost=job.row_cost,
        columns=WIDTH,
        together=job.together,
    )
    work = Work(function=rows_evaluated, task=job, source=span)
    with workload.carried_out(asked, work, how, output, overwrite=overwrite) as (store, outcome):
        why = {store.plan.span(chunk)[0]: text for chunk, text in outcome.failed.items()}
        with progress("Looking between the rows ...", how.quiet):
            return judged(job, store.numbered(), why)
