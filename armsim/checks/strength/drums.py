"""Whether a rope bears what its drum pulls."""

from collections.abc import Iterator

from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.parts.rack import Drum
from armsim.parts.stage import Stage

WORKING = ("steady", "run", "cut")
SAFETIES = {"wire": 5.0, "fibre": 7.0}  #: on the breaking load of ropes that lift, 2006/42/EC annex I, 4.1.2.5 [-]
STALL_SHARE = 0.5  #: of the breaking load that a stall or a blow may reach [-]


def drum_strength(stage: Stage, drum: Drum, loads: Loads) -> Iterator[StrengthRow]:
    """Pull of the rope where it leaves the drum, at the drum's mean radius, against its breaking load."""
    if drum.rope_breaking_load is None:
        return
    pull = max(abs(loads.output_torque), loads.driver_torque * stage.reduction)
    safety = SAFETIES[drum.rope_material]
    allowable = drum.rope_breaking_load / safety
    source = f"the breaking load given over {safety:g}, for {drum.rope_material} ropes that lift (2006/42/EC)"
    if loads.case not in WORKING:
        allowable = STALL_SHARE * drum.rope_breaking_load
        source = "half of the breaking load given, for stalls and blows"
    yield StrengthRow(
        stage=stage.name, part="rope", check="pull", case=loads.case, load=pull, allowable=allowable,
        dimension="force", source=source, mend="a stronger rope, or two falls of it",
    )  # fmt: skip
