"""armsim size."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armsim.commands.options import AsJson, Overwrite, ScenarioFile, need_output, scenario_paths
from armsim.commands.speaking import progress, say_where, show, show_json
from armsim.commands.workload import Workers

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task
    from armsim.studies.limits import Limit, MotorTried
    from armsim.studies.size import Sizing

    Found = tuple[Sizing | None, tuple[Limit, ...] | None, tuple[MotorTried, ...] | None]


def size(
    file: ScenarioFile,
    stock: Annotated[
        Path | None,
        typer.Option("--stock", metavar="STOCK", help="Stock list (YAML) with motors.", autocompletion=scenario_paths),
    ] = None,
    time: Annotated[
        str | None, typer.Option("--time", metavar="TIME", help="For the lift, such as 2.5s; else as required.")
    ] = None,
    efficiency: Annotated[
        str | None, typer.Option("--efficiency", metavar="SHARE", help="Of the reduction sought, such as 0.8 or 80%.")
    ] = None,
    largest: Annotated[
        list[str] | None,
        typer.Option("--largest", metavar="KEY", help="How far up a key may go: arm.payload.mass, arm.length."),
    ] = None,
    least: Annotated[
        list[str] | None,
        typer.Option("--least", metavar="KEY", help="How far down: supply.battery.state_of_charge, efficiency, motor."),
    ] = None,
    limits: Annotated[bool, typer.Option("--limits", help="Every such limit that the file has.")] = False,
    workers: Workers = None,
    output: Annotated[
        Path | None, typer.Option("--output", metavar="DIR", help="Write report and figures there.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="CSV", help="Write a row for each motor there.")] = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")] = False,
    html: Annotated[bool, typer.Option("--html", help="With --output: the report as one HTML file too.")] = False,
) -> None:
    """Size a drive: what a lift asks, which reductions of which motor make it in time.

    FILE may lack motor, supply and transmission. With --limits, --largest or --least: how far one thing of a whole
    scenario may go before a requirement no longer holds.
    """
    _check_options(output, csv, overwrite, html, bool(limits or largest or least))
    from armsim.scenario.asked import share_asked, time_asked
    from armsim.scenario.stock import load_stock
    from armsim.scenario.tasks import load_task
    from armsim.studies.limits import limits_asked_for

    task, shelf = load_task(file), None if stock is None else load_stock(stock)
    seconds, share = time_asked(time), share_asked(efficiency)
    wanted = limits_asked_for(task, shelf, tuple(largest or ()), tuple(least or ()), every=limits)
    with progress(f"Sizing for {file.name} ...", quiet) as told:
        if wanted:
            from armsim.studies.limits import asked_limits

            found: Found = (None, *asked_limits(task, shelf, wanted, workers, told))
        else:
            from armsim.studies.size import size as sized

            found = sized(task, shelf, time=seconds, efficiency=share), None, None
        if output is not None:
            from armsim.report.size_write import write_size

            write_size(task, shelf, *found, output, overwrite, html=html)
    _tell(task, shelf, found, csv, overwrite, as_json, quiet)
    if output is not None:
        say_where(output, "report.html" if html else "report.md", as_json, quiet)


def _check_options(output: Path | None, csv: Path | None, overwrite: bool, html: bool, limits: bool) -> None:
    need_output(output, {"--html": html} if csv else {"--overwrite": overwrite, "--html": html})
    if csv is not None:
        if limits:
            raise typer.BadParameter("has a row for each motor, and limits have none", param_hint="'--csv'")
        from armsim.report.files import check_new

        check_new(csv, overwrite)
    if output is not None:
        from armsim.report.size_write import check_size_target

        check_size_target(output, overwrite)


def _tell(
    task: "Task",
    shelf: "Stock | None",
    found: "Found",
    csv: Path | None,
    overwrite: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    sizing, limits, tried = found
    if csv is not None and sizing is not None:
        from armsim.report.files import write_new
        from armsim.report.size_contract import fits_csv

        write_new(csv, fits_csv(sizing), overwrite)
    if as_json:
        from armsim.report.size_contract import size_json

        show_json(size_json(task, shelf, *found))
    elif not quiet:
        from armsim.report.size_terminal import limits_summary, size_summary

        show(size_summary(task, sizing) if sizing is not None else limits_summary(task, limits or (), tried))
