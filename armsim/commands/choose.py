"""armsim choose."""

import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armsim.commands.options import AsJson, Overwrite, ScenarioFile, scenario_paths
from armsim.commands.speaking import progress, say, say_where, show, show_json
from armsim.commands.status import Status
from armsim.commands.workload import Workers

if TYPE_CHECKING:
    from armsim.studies.choice import Choosing


class For(StrEnum):
    """What --for may say."""

    FASTEST = "fastest"
    CHEAPEST = "cheapest"
    LIGHTEST = "lightest"
    SIMPLEST = "simplest"
    LEAST_CURRENT = "least-current"


def choose(
    file: ScenarioFile,
    stock: Annotated[
        Path,
        typer.Option(
            "--stock", metavar="STOCK", help="Stock list (YAML) to choose from.", autocompletion=scenario_paths
        ),
    ],
    order: Annotated[For, typer.Option("--for", help="What the best is the best in.")] = For.FASTEST,
    stages: Annotated[int, typer.Option("--stages", metavar="N", min=1, max=5, help="Stages at most.")] = 3,
    output: Annotated[
        Path | None, typer.Option("--output", metavar="DIR", help="Write report, figures and scenarios there.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="CSV", help="Write a row for each of the best.")] = None,
    overwrite: Overwrite = False,
    workers: Workers = None,
    as_json: AsJson = False,
    strict: Annotated[bool, typer.Option("--strict", help="Exit with 1 when none meets every requirement.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")] = False,
    html: Annotated[bool, typer.Option("--html", help="With --output: the report as one HTML file too.")] = False,
) -> None:
    """Choose motor and transmission from a stock list: the best of every combination that fits together.

    FILE says what is to be lifted and what is required; it may lack motor, supply and transmission. With --output each
    of the best is written as a scenario of its own. Ctrl-C leaves what is finished.
    """
    if overwrite and output is None and csv is None:
        raise typer.BadParameter("needs --output DIR or --csv CSV", param_hint="'--overwrite'")
    if html and output is None:
        raise typer.BadParameter("needs --output DIR", param_hint="'--html'")
    found = _chosen(file, stock, For(order), stages, output, csv, overwrite, workers, as_json, quiet, html)
    if found.interrupted:
        raise typer.Exit(Status.INTERRUPTED)
    if strict and not found.top:
        raise typer.Exit(Status.NOT_MET)


def _chosen(
    file: Path,
    shelf: Path,
    order: For,
    stages: int,
    output: Path | None,
    csv: Path | None,
    overwrite: bool,
    workers: int | None,
    as_json: bool,
    quiet: bool,
    html: bool,
) -> "Choosing":
    """The choice, told and written as asked for."""
    from armsim.report.choose_contract import choose_csv, choose_json
    from armsim.report.choose_write import check_choose_target, write_choose
    from armsim.report.files import check_new, write_new
    from armsim.scenario.stock import load_stock
    from armsim.scenario.tasks import load_task
    from armsim.scenario.variants import read_document
    from armsim.studies.choice import Order
    from armsim.studies.choose import choose
    from armsim.studies.processes import usual_workers

    task, stock = load_task(file), load_stock(shelf)
    document = read_document(file)
    if csv is not None:
        check_new(csv, overwrite)
    if output is not None:
        check_choose_target(output, overwrite)
    with progress(f"Choosing for {file.name} ...", quiet) as tell:
        found = choose(
            task,
            document,
            stock,
            Order(order.value),
            stages=stages,
            workers=workers or usual_workers(),
            told=lambda text: tell(f"Choosing for {file.name}: {text} ..."),
        )
        if output is not None:
            write_choose(task, document, stock, found, output, overwrite, html=html)
    if csv is not None:
        write_new(csv, choose_csv(found), overwrite)
    if found.interrupted and not quiet:
        say("interrupted: what follows was finished before", sys.stderr)
    if as_json:
        show_json(choose_json(task, stock, found))
    elif not quiet:
        from armsim.report.choose_terminal import choose_summary

        show(choose_summary(task, found))
    say_where(output, "report.html" if html else "report.md", as_json, quiet)
    return found
