"""Whether a pinion suits its rack."""

from collections.abc import Iterator

from armsim.checks.fit.teeth import gear_rows
from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import number
from armsim.parts.rack import Rack, rack_contact_ratio
from armsim.parts.stage import Stage

GOOD, LEAST = 1.2, 1.1  #: contact ratios wanted, and below which teeth part before the next ones meet safely [-]


def rack_rows(stage: Stage, rack: Rack) -> Iterator[FitRow]:
    """Rules of the pinion, and how many of its teeth are in the rack at once."""
    if rack.pinion is None or rack.series is None:
        return
    yield from gear_rows(stage.name, rack.pinion, rack.series, " of the pinion")
    ratio = rack_contact_ratio(rack.pinion)
    fit = Fit.FITS if ratio >= GOOD else Fit.DOUBTFUL if ratio >= LEAST else Fit.WRONG
    yield FitRow(
        stage=stage.name,
        rule="contact ratio",
        given=number(ratio),
        wanted=f"{GOOD:g} or more",
        fit=fit,
        text="" if fit is Fit.FITS else "Too few teeth are in contact at once: it runs rough.",
        mend="" if fit is Fit.FITS else "more teeth on the pinion",
    )
