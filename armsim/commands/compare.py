"""armsim compare."""

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armsim.commands.options import AsJson, Overwrite, Strict, scenario_paths
from armsim.commands.speaking import progress, say, say_where, show, show_json
from armsim.commands.status import Status
from armsim.commands.workload import Workers

if TYPE_CHECKING:
    from armsim.studies.compare import Comparison
    from armsim.studies.proposal import Keep


def compare(
    files: Annotated[
        list[str],
        typer.Argument(
            metavar="FILE...", help="Scenarios, folders of them, or patterns.", autocompletion=scenario_paths
        ),
    ],
    output: Annotated[
        Path | None, typer.Option("--output", metavar="DIR", help="Write the comparison and each one's report there.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write the table there.")] = None,
    overwrite: Overwrite = False,
    workers: Workers = None,
    as_json: AsJson = False,
    strict: Strict = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print no table and no progress, only errors.")] = False,
    html: Annotated[bool, typer.Option("--html", help="With --output: every report as one HTML file too.")] = False,
) -> None:
    """Simulate several scenarios and set them side by side: which to take, and why.

    One that fails does not stop the others. With --output it writes a report for the minutes, with figures, and the
    report of each.
    """
    if overwrite and output is None and csv is None:
        raise typer.BadParameter("needs --output DIR or --csv FILE", param_hint="'--overwrite'")
    if html and output is None:
        raise typer.BadParameter("needs --output DIR", param_hint="'--html'")
    from armsim.scenario.files import scenario_files

    paths = scenario_files(files)
    if len(paths) < 2:
        raise typer.BadParameter("wants two scenarios or more; for one: armsim run FILE", param_hint="'FILE...'")
    if csv is not None:
        from armsim.report.files import check_new

        check_new(csv, overwrite)
    comparison = _compared(paths, output, overwrite, workers, quiet, html)
    for failure in comparison.failures:
        say(f"{failure.label}: {failure.text}", sys.stderr)
    if csv is not None:
        from armsim.report.compare_contract import comparison_csv
        from armsim.report.files import write_new

        write_new(csv, comparison_csv(comparison), overwrite)
    _show_comparison(comparison, as_json, quiet)
    if comparison.proposals or output is None:
        say_where(output, "report.html" if html else "report.md", as_json, quiet)
    raise typer.Exit(status_of(comparison, strict))


def _compared(
    paths: list[Path], output: Path | None, overwrite: bool, workers: int | None, quiet: bool, html: bool
) -> "Comparison":
    """The comparison, written where that is asked for, with a moving count on stderr while someone watches."""
    from armsim.report.compare_write import write_comparison
    from armsim.studies.compare import compare

    with progress(f"Running {len(paths)} scenarios ...", quiet) as tell:

        def told(done: int) -> None:
            tell(f"Running scenarios: {done} of {len(paths)} done ...")

        def run(keep: "Keep | None" = None) -> "Comparison":
            return compare(paths, workers=workers, keep=keep, told=told)

        return run() if output is None else write_comparison(output, overwrite, run, html=html)


def _show_comparison(comparison: "Comparison", as_json: bool, quiet: bool) -> None:
    if as_json:
        from armsim.report.compare_contract import comparison_json

        show_json(comparison_json(comparison))
    elif not quiet:
        from armsim.report.compare_terminal import comparison_text

        show(comparison_text(comparison, shutil.get_terminal_size((112, 24)).columns))


def status_of(comparison: "Comparison", strict: bool) -> int:
    """The exit status of many."""
    failed = {failure.status for failure in comparison.failures}
    if comparison.left:
        return Status.INTERRUPTED
    if failed:
        return Status.SOME_FAILED if comparison.proposals or len(failed) > 1 else failed.pop()
    return Status.NOT_MET if strict and any(p.verdict == "fail" for p in comparison.proposals) else Status.DONE
