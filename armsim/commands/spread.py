"""armsim spread."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from armsim.commands import workload
from armsim.commands.options import AsJson, Overwrite, ScenarioFile, need_output
from armsim.commands.speaking import loaded, say_where, show, show_json

if TYPE_CHECKING:
    from armsim.scenario import Scenario
    from armsim.studies.spread import SpreadStudy


def spread(
    file: ScenarioFile,
    count: Annotated[
        int, typer.Option("--count", min=16, max=2**27, metavar="N", help="Machines to sample, made a power of two.")
    ] = 2048,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31, metavar="N", help="Of the sample; another one gives another.")
    ] = 1,
    output: Annotated[
        Path | None, typer.Option("--output", metavar="DIR", help="Write report, figures and all machines there.")
    ] = None,
    overwrite: Overwrite = False,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write all machines sampled there, a line each.")
    ] = None,
    as_json: AsJson = False,
    html: Annotated[
        bool, typer.Option("--html", help="With --output: the report as one HTML file too, figures inside.")
    ] = False,
    workers: workload.Workers = None,
    cluster: workload.Cluster = None,
    chunk: workload.ChunkRows = None,
) -> None:
    """Tell how sure the answer is: which share of machines meets the requirements, and what matters most.

    What is not known exactly stands in the scenario's section `uncertainty`; without it usual tolerances are taken.
    """
    need_output(output, {"--html": html, "--overwrite": overwrite and csv is None})
    how = workload.How(workers=workers, cluster=cluster, chunk=chunk)
    scenario = loaded(file, warn=as_json)
    from armsim.report.spread_write import check_spread_target, write_spread, write_spread_csv

    if output is not None:
        check_spread_target(output, overwrite)
    with _sampled(scenario, count, seed, how, output, overwrite) as found:
        if output is not None:
            write_spread(found, output, overwrite, html=html)
        if csv is not None:
            write_spread_csv(found, csv, overwrite)
    if as_json:
        from armsim.report.spread_contract import spread_json

        show_json(spread_json(found))
    else:
        from armsim.report.spread_terminal import spread_text

        show(spread_text(found))
    say_where(output, "report.html" if html else "report.md", as_json, quiet=False)


@contextmanager
def _sampled(
    scenario: "Scenario", count: int, seed: int, how: "workload.How", output: Path | None, overwrite: bool
) -> "Iterator[SpreadStudy]":
    """The spread study, carried out where `how` says; with an output folder its columns stay there afterwards."""
    from armsim.studies.engine import Work
    from armsim.studies.spread import judged, rows_evaluated, sampling_of, span

    sampling = sampling_of(scenario, count, seed)
    asked = workload.Question(
        study="spread",
        inputs_sha256=scenario.sha256,
        keys=tuple(f"{one.name}: {one.typed}" for one in sampling.variation.inputs),
        seed=seed,
        count=sampling.rows,
        row_cost=sampling.row_cost,
        columns=len(sampling.question.columns),
    )
    work = Work(function=rows_evaluated, task=sampling, source=span)
    with workload.carried_out(asked, work, how, output, overwrite=overwrite) as (store, _):
        yield judged(sampling, store)
