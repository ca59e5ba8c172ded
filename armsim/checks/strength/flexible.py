"""First-pass strength of chains and belts: tension of the tight strand against what the loop bears."""

from collections.abc import Iterator

from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.checks.phrases import number
from armsim.parts.belt import BeltDrive, belt_loop, belt_pitch_diameter, mesh_factor, rated_tension
from armsim.parts.chain import OFFSET_SHARE, ChainDrive, mean_radius
from armsim.parts.chain_size import power_rating
from armsim.parts.flat_belt import FlatBeltDrive
from armsim.parts.stage import Stage

RUNNING = ("steady", "run", "cut")  #: cases that a service factor covers; the others are blows of their own
BREAKING_SAFETY = 7.0  #: on the minimum breaking load, 7 to 10 by habit
STALL_SHARE = 0.5  #: of the breaking load that a stall or a blow may reach; the plates yield at 0.7
LEAST_SLACK = 0.1  #: of the pull that has to stay in the slack strand of a toothed belt


def chain_strength(stage: Stage, drive: ChainDrive, loads: Loads) -> Iterator[StrengthRow]:
    """Chain tension, at the mean radius of the driver, against breaking load and fatigue limit."""
    pull = loads.driver_torque / float(mean_radius(drive.size.pitch, drive.driver.teeth))
    link = OFFSET_SHARE if drive.needs_offset_link else 1.0
    of_link = ", 65 % with its offset link" if drive.needs_offset_link else ""
    breaking, least = link * drive.size.breaking_load, f"minimum breaking load ({drive.size.standard}"
    if drive.breaking_load is not None:
        breaking, least = link * drive.breaking_load, "breaking load (given"
    mend = "a larger chain, more teeth on the driver, or more strands"
    if loads.case not in RUNNING:
        source = f"half the {least}{of_link}), for stalls and blows"
        yield _row(stage, loads, "chain", "tension at a stall or blow", pull, STALL_SHARE * breaking, source, mend)
        return
    pull *= drive.service_factor
    source = f"a seventh of the {least}{of_link}; 7 to 10 by habit)"
    yield _row(stage, loads, "chain", "tension", pull, breaking / BREAKING_SAFETY, source, mend, lasting=True)
    limit, of = drive.size.fatigue_limit, "the published allowable load"
    if drive.allowable_load is not None:
        limit, of = drive.allowable_load, "the allowable_load given"
    if limit is not None:
        source = f"{of}{of_link} (10 million cycles){_rating(drive, loads)}"
        yield _row(stage, loads, "chain", "fatigue", pull, limit * link, source, mend, lasting=True)


def _rating(drive: ChainDrive, loads: Loads) -> str:
    """The power rating as a note: it is for 15 000 h at a steady pull, which few arms come near."""
    power = power_rating(drive.size, drive.driver.teeth, loads.driver_speed)
    if power is None or loads.driver_speed <= 0.0:
        return ""
    return f"; for 15 000 h, lubricated, {number(power / loads.driver_speed)} N*m at the driver at this speed"


def belt_strength(stage: Stage, drive: BeltDrive, loads: Loads) -> Iterator[StrengthRow]:
    """Effective tension 2 T/d against the rated one, fewer teeth in mesh counted, and against jumping teeth."""
    pull = 2.0 * loads.driver_torque / float(belt_pitch_diameter(drive.profile.pitch, drive.driver.teeth))
    if loads.case in RUNNING:
        pull *= drive.service_factor
    loop = belt_loop(drive)
    factor = 1.0 if loop is None else mesh_factor(loop.teeth_in_mesh)
    allowed, source = drive.allowable_tension, "the allowable tension given"
    if allowed is None:
        allowed, source = rated_tension(drive.profile, drive.width, drive.small.teeth), "RMA IP-24"
    meshed = f" for {'teeth in mesh not known' if loop is None else f'{number(100.0 * factor)} % by teeth in mesh'}"
    if allowed is not None:
        mend = "a wider belt, or more teeth on the driver"
        yield _row(stage, loads, "belt", "tension", pull, allowed * factor, f"{source},{meshed}", mend)
    if drive.tension is not None:
        # T1 + T2 = 2 T0 and T2 >= 0.1 (T1 - T2)
        limit = drive.tension / (0.5 + LEAST_SLACK)
        source = "a tenth of the pull left in the slack strand, by habit; reversing arms want more"
        yield _row(stage, loads, "belt", "jumping of teeth", pull, limit, source, "install the belt tighter")


def flat_belt_strength(stage: Stage, drive: FlatBeltDrive, loads: Loads) -> Iterator[StrengthRow]:
    """Pull against that at which the belt slips, and tension of the tight strand against what is allowed."""
    pull = 2.0 * loads.driver_torque / drive.driver
    if loads.case in RUNNING:
        pull *= drive.service_factor
    slips = drive.slip_tension
    if slips is not None:
        source = "slip by T1/T2 = e^(friction wrap), friction as given: oil and wear lower it"
        mend = "more tension, more wrap, or a toothed belt"
        yield _row(stage, loads, "belt", "slip", pull, slips, source, mend)
    if drive.allowable_tension is not None and drive.tension is not None:
        # a belt that slips passes on no more
        tight = drive.tension + 0.5 * (pull if slips is None else min(pull, slips))
        source = "the allowable tension given"
        yield _row(stage, loads, "belt", "tension", tight, drive.allowable_tension, source, "a wider belt")


def _row(
    stage: Stage,
    loads: Loads,
    part: str,
    check: str,
    load: float,
    allowable: float,
    source: str,
    mend: str,
    lasting: bool = False,
) -> StrengthRow:
    return StrengthRow(
        stage=stage.name, part=part, check=check, case=loads.case, load=load, allowable=allowable,
        dimension="force", source=source, mend=mend, lasting=lasting,
    )  # fmt: skip
