"""Commands: parse, call, print. Results go to stdout, talk to stderr; nothing heavy is imported before it is needed."""

import errno
import json
import os
import shutil
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from enum import IntEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TextIO

import typer

from armsim import __version__
from armsim.workload import Workers

if TYPE_CHECKING:
    from armsim.checks.assessment import Assessment
    from armsim.scenario import Scenario
    from armsim.studies.compare import Comparison
    from armsim.studies.proposal import Keep
    from armsim.studies.sweep import Sweep


class Status(IntEnum):
    """Exit status of every command."""

    DONE = 0
    NOT_MET = 1
    WRONG_INPUT = 2
    NO_SOLUTION = 3
    CANNOT_WRITE = 4
    SOME_FAILED = 5
    OUR_FAULT = 70
    INTERRUPTED = 130


class OutputError(Exception):
    """Stdout or stderr takes no more."""

    exit_status = Status.CANNOT_WRITE


EXIT_HELP = """\b
Exit status:
    0  done
    1  --strict was given and the verdict is fail
    2  the scenario or the command line is wrong
    3  the solver gave up, or its result cannot be trusted
    4  a file cannot be written, or would be overwritten
    5  some of many failed
   70  a fault of armsim itself
  130  interrupted
"""

app = typer.Typer(
    name="armsim",
    help="Will this motor raise this arm, how fast, with what current, and does it stay up without power?",
    epilog=EXIT_HELP,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=True,
)


def _scenario_files(incomplete: str) -> list[str]:
    """YAML files and folders that begin so, for a shell to offer; of a lone folder what is in it."""
    head, name = os.path.split(incomplete)
    begin = incomplete.removesuffix(name)
    files, folders = [], []
    with suppress(OSError):
        for path in sorted(Path(head or ".").iterdir()):
            if path.name.startswith(name) and (name or not path.name.startswith(".")):
                if path.is_dir():
                    folders.append(f"{begin}{path.name}/")
                elif path.suffix in (".yaml", ".yml"):
                    files.append(f"{begin}{path.name}")
    return _scenario_files(folders[0]) if len(folders) == 1 and not files else files + folders


def _kinds(incomplete: str) -> list[str]:
    from armsim.data.catalogue import KINDS

    return [kind for kind in KINDS if kind.startswith(incomplete)]


ScenarioFile = Annotated[
    Path, typer.Argument(metavar="FILE", help="Scenario to read (YAML).", autocompletion=_scenario_files)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object, also on failure, and nothing else.")]
Strict = Annotated[bool, typer.Option("--strict", help="Exit with 1 when the verdict is fail.")]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace what is there.")]


def _show_version(wanted: bool) -> None:
    if wanted:
        _print(f"armsim {__version__}", sys.stdout)
        raise typer.Exit()


@app.callback(invoke_without_command=True)
def common(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Print the version and leave.")
    ] = False,
    debug: Annotated[bool, typer.Option("--debug", help="Show the traceback of a failure; works anywhere.")] = False,
) -> None:
    if context.invoked_subcommand is None:
        _print(context.get_help(), sys.stdout)
        raise typer.Exit(Status.WRONG_INPUT)


@app.command()
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
    _need_output(output, {"--overwrite": overwrite, "--html": html})
    scenario = _load(file, warn=as_json and not quiet)
    if output is not None:
        from armsim.report.write import check_target

        check_target(output, overwrite)
    with _progress(f"Running {file.name} ...", quiet):
        from armsim.studies.single import assess

        assessment = assess(scenario)
        if output is not None:
            from armsim.report.write import write_report

            write_report(scenario, assessment, output, overwrite, html=html)
    if as_json:
        _print_json(scenario, assessment)
    elif not quiet:
        from armsim.report.terminal import summary

        _show(summary(scenario, assessment))
    _say_where(output, "report.html" if html else "report.md", as_json, quiet)
    _leave(assessment, strict)


@app.command()
def check(file: ScenarioFile, as_json: AsJson = False, strict: Strict = False) -> None:
    """Judge a scenario at rest, without simulating.

    Torques needed and available, holding, the drivetrain shaft by shaft, protection at stall.
    """
    scenario = _load(file, warn=as_json)
    from armsim.studies.single import check as judge

    assessment = judge(scenario)
    if as_json:
        _print_json(scenario, assessment)
    else:
        from armsim.report.terminal import check_summary

        _show(check_summary(scenario, assessment))
    _leave(assessment, strict)


@app.command()
def compare(
    files: Annotated[
        list[str],
        typer.Argument(
            metavar="FILE...", help="Scenarios, folders of them, or patterns.", autocompletion=_scenario_files
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
        _print(f"{failure.label}: {failure.text}", sys.stderr)
    if csv is not None:
        from armsim.report.compare_contract import comparison_csv
        from armsim.report.files import write_new

        write_new(csv, comparison_csv(comparison), overwrite)
    _show_comparison(comparison, as_json, quiet)
    if comparison.proposals or output is None:
        _say_where(output, "report.html" if html else "report.md", as_json, quiet)
    raise typer.Exit(_status_of(comparison, strict))


@app.command()
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
    workers: Annotated[
        int | None,
        typer.Option("--workers", metavar="N", min=1, max=60, help="Processes; as many as cores if not given."),
    ] = None,
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
    found = _swept(file, vary, output, csv, overwrite, workers, quiet, html)
    if as_json:
        from armsim.report.sweep_contract import sweep_json

        _print(json.dumps(sweep_json(found), indent=2, allow_nan=False), sys.stdout)
    elif not quiet:
        from armsim.report.sweep_terminal import sweep_text

        _show(sweep_text(found))
    _say_where(output, "report.html" if html else "report.md", as_json, quiet)
    if found.failed:
        raise typer.Exit(Status.SOME_FAILED if len(found.failed) < len(found.rows) else Status.NO_SOLUTION)
    if strict and not found.feasible:
        raise typer.Exit(Status.NOT_MET)


@app.command()
def new(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="File to write.")], overwrite: Overwrite = False
) -> None:
    """Write a scenario to start from; it runs as it is."""
    from armsim.report.files import write_new
    from armsim.scenario import starter

    write_new(path, starter(), overwrite)
    _print(str(path), sys.stdout)
    _print(f"Edit it, then: armsim run {path}", sys.stderr)


@app.command()
def schema(
    output: Annotated[
        Path | None, typer.Option("--output", metavar="FILE", help="Write it there in place of printing it.")
    ] = None,
    overwrite: Overwrite = False,
) -> None:
    """Print the JSON Schema of scenarios, for an editor to complete, explain and check them."""
    from armsim.scenario.json_schema import json_schema

    _need_output(output, {"--overwrite": overwrite})
    text = json.dumps(json_schema(), indent=1) + "\n"
    if output is None:
        _print(text, sys.stdout)
        return
    from armsim.report.files import write_new

    write_new(output, text, overwrite)
    _print(str(output), sys.stdout)
    _print(f"First line of a scenario: # yaml-language-server: $schema={output}", sys.stderr)


@app.command()
def parts(
    kind: Annotated[
        str | None,
        typer.Argument(metavar="[KIND]", help="Table to print; without it, which there are.", autocompletion=_kinds),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the generic parts and materials that armsim knows."""
    from armsim.data.catalogue import KINDS, table
    from armsim.report import catalogue as shown

    if kind is None:
        tables = [table(name) for name in KINDS]
        _print(_json(shown.overview_json(tables)) if as_json else shown.overview(tables), sys.stdout)
        return
    asked = table(kind)
    _print(_json(shown.table_json(asked)) if as_json else shown.text(asked), sys.stdout)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and give back its exit status."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    debug = "--debug" in words
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError):  # a closed or replaced stream cannot be told
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        status = app(args=[word for word in words if word != "--debug"], prog_name="armsim", standalone_mode=False)
    except KeyboardInterrupt:
        status = Status.INTERRUPTED
    except SystemExit:  # typer leaves like this only when the reader of its help has gone
        status = Status.DONE
    except Exception as failure:
        if debug:
            traceback.print_exc()
        status = _tell(failure, as_json="--json" in words, debug=debug)
    return int(status or Status.DONE)


def _need_output(output: Path | None, options: dict[str, bool]) -> None:
    for option in [name for name, given in options.items() if given and output is None]:
        raise typer.BadParameter("needs --output", param_hint=f"'{option}'")


def _load(file: Path, warn: bool) -> "Scenario":
    from armsim.scenario import load

    scenario = load(file)
    for warning in scenario.warnings if warn else ():
        _print(f"warning: {warning.key}: {warning.text}", sys.stderr)
    return scenario


@contextmanager
def _progress(text: str, quiet: bool) -> Iterator[Callable[[str], object]]:
    """A moving sign on stderr while someone watches; what is given back changes its text."""
    if quiet or sys.stderr is None or not sys.stderr.isatty():
        yield str
        return
    from rich.console import Console

    with Console(stderr=True, markup=False, emoji=False, highlight=False).status(text) as status:
        yield status.update


def _compared(
    paths: list[Path], output: Path | None, overwrite: bool, workers: int | None, quiet: bool, html: bool
) -> "Comparison":
    """The comparison, written where that is asked for, with a moving count on stderr while someone watches."""
    from armsim.report.compare_write import write_comparison
    from armsim.studies.compare import compare

    with _progress(f"Running {len(paths)} scenarios ...", quiet) as tell:

        def told(done: int) -> None:
            tell(f"Running scenarios: {done} of {len(paths)} done ...")

        def run(keep: "Keep | None" = None) -> "Comparison":
            return compare(paths, workers=workers, keep=keep, told=told)

        return run() if output is None else write_comparison(output, overwrite, run, html=html)


def _swept(
    file: Path,
    vary: list[str],
    output: Path | None,
    csv: Path | None,
    overwrite: bool,
    workers: int | None,
    quiet: bool,
    html: bool,
) -> "Sweep":
    """The sweep, written where that is asked for, with a moving count on stderr while someone watches."""
    from armsim.scenario.varied import Template

    template = Template(file)
    variations = template.variations(vary)
    from armsim.report.sweep_write import check_sweep_target, write_sweep
    from armsim.studies.processes import usual_workers
    from armsim.studies.sweep import grid, sweep

    if csv is not None:
        from armsim.report.files import check_new

        check_new(csv, overwrite)
    if output is not None:
        check_sweep_target(output, overwrite)
    count = len(grid(variations))
    with _progress(f"Running {count} rows ...", quiet) as tell:

        def told(done: int) -> None:
            tell(f"Running rows: {done} of {count} done ...")

        found = sweep(template, variations, workers or usual_workers(), told)
        if output is not None:
            write_sweep(found, output, overwrite, html=html)
    if csv is not None:
        from armsim.report.files import write_new
        from armsim.report.sweep_contract import sweep_csv

        write_new(csv, sweep_csv(found), overwrite)
    return found


def _show_comparison(comparison: "Comparison", as_json: bool, quiet: bool) -> None:
    if as_json:
        from armsim.report.compare_contract import comparison_json

        _print(json.dumps(comparison_json(comparison), indent=2, allow_nan=False), sys.stdout)
    elif not quiet:
        from armsim.report.compare_terminal import comparison_text

        _show(comparison_text(comparison, shutil.get_terminal_size((112, 24)).columns))


def _status_of(comparison: "Comparison", strict: bool) -> int:
    failed = {failure.status for failure in comparison.failures}
    if comparison.left:
        return Status.INTERRUPTED
    if failed:
        return Status.SOME_FAILED if comparison.proposals or len(failed) > 1 else failed.pop()
    return Status.NOT_MET if strict and any(p.verdict == "fail" for p in comparison.proposals) else Status.DONE


def _show(text: str) -> None:
    """A summary on stdout, in colour where somebody looks."""
    from armsim.report.terminal import dressed

    if sys.stdout is not None:
        _print(dressed(text, sys.stdout), sys.stdout)


def _json(record: dict[str, Any]) -> str:
    return json.dumps(record, indent=2, allow_nan=False)


def _print_json(scenario: "Scenario", assessment: "Assessment") -> None:
    from armsim.report.contract import as_json

    _print(_json(as_json(scenario, assessment)), sys.stdout)


def _say_where(output: Path | None, report: str, as_json: bool, quiet: bool) -> None:
    if output is not None:
        if not quiet:
            _print(f"Report: {output / report}", sys.stderr if as_json else sys.stdout)
    elif not (as_json or quiet):
        _print("No report written; add --output DIR for one with figures.", sys.stderr)


def _leave(assessment: "Assessment", strict: bool) -> None:
    if strict and assessment.verdict == "fail":
        raise typer.Exit(Status.NOT_MET)


def _tell(failure: Exception, *, as_json: bool, debug: bool) -> int:
    """Say what went wrong, on stderr and with --json as one object on stdout, and give the exit status."""
    usage = hasattr(failure, "format_message")  # typer's own complaint about the command line
    status = Status.WRONG_INPUT if usage else getattr(failure, "exit_status", Status.OUR_FAULT)
    if isinstance(failure, OSError) and failure.errno == errno.ENOSPC:
        status = Status.CANNOT_WRITE
    text = failure.format_message() if usage else str(failure)  # type: ignore[attr-defined]
    if status == Status.OUR_FAULT:
        text = f"a fault of armsim itself: {type(failure).__name__}: {text}"
    if usage:
        failure.show(file=sys.stderr)  # type: ignore[attr-defined]
    else:
        _print(text if status == Status.WRONG_INPUT else f"armsim: {text}", sys.stderr)
    if status == Status.OUR_FAULT and not debug:
        _print("Please report it with the scenario; add --debug for the traceback.", sys.stderr)
    if as_json:
        problems = [_problem(problem) for problem in getattr(failure, "problems", ())]
        error = {"status": int(status), "text": text, "problems": problems}
        _print(json.dumps({"armsim": __version__, "error": error}, indent=2), sys.stdout)
    return int(status)


def _problem(problem: Any) -> dict[str, Any]:
    fields = ("file", "line", "column", "code", "key", "text", "hint")
    row = {name: getattr(problem, name, None) for name in fields}
    return {name: str(value) if isinstance(value, Path) else value for name, value in row.items()}


def _print(text: str, stream: TextIO | None) -> None:
    """Print text; a reader that has left is no fault, a full disk is."""
    if stream is None:
        return
    try:
        stream.write(text.rstrip("\n") + "\n")
        stream.flush()
    except BrokenPipeError:
        _silence(stream)
    except OSError as fault:
        _silence(stream)
        raise OutputError(f"cannot write to standard output: {fault.strerror}") from fault


def _silence(stream: TextIO) -> None:
    """Send what is left in the buffer nowhere, so that the interpreter does not complain as it ends."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
