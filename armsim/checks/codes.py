"""Every code a finding can carry, with what it means; a finding with another code cannot be made."""

from armsim.checks.assessment import Finding, Level

CODES = {
    # lifting
    "does-not-lift": "a lift of the run does not arrive",
    "does-not-lower": "a lowering of the run does not arrive",
    "cannot-start": "stalled torque at the start of the lift is below what the arm needs there",
    "static-margin-short": "stalled torque is below what the arm needs at the worst angle of the lift",
    "static-margin-low": "stalled torque is above what the arm needs, but by less than is usual",
    "current-limit-blocks": "the controller's current limit, not the motor, keeps the arm from lifting",
    "profile-too-fast": "motor, controller or supply cannot follow a profile that a move asks for",
    # electrical side
    "trips-for-certain": "a protective device opens by the latest edge of its band",
    "trips-within-band": "a protective device may open: only the earliest edge of its band is reached",
    "trips-when-repeated": "a device bears the run and would not bear its cycle for ever",
    "holds-below-rating": "a device carries less for good than the number on it",
    "recloses-unasked": "a protective device closes again by itself and the motion restarts",
    "no-protection": "no protective device in the supply line",
    "wire-unprotected": "at some fault current the wire is damaged before its protection is sure to have opened",
    "wire-too-hot": "a wire passes the limit of its insulation, in the run or once its cycle repeats",
    "wire-drop-large": "the wires take more than a twentieth of the source's voltage at the peak current",
    "opens-first": "of two protective devices in series, whether one is sure to open before the other",
    "stall-unseen": "with the motor stalled no device opens for certain before the winding is too hot",
    "undervoltage-resets": "the controller reset on undervoltage during the run",
    "undervoltage-at-stall": "the bus of a stalled motor is below the controller's undervoltage level",
    "bus-sags": "the bus voltage falls far below the source's open-circuit voltage",
    "returns-energy": "the drive pushes current back into the source",
    "supply-limits": "a bench supply comes to its current limit in the run",
    "bus-rises": "a supply that cannot take current back lets the bus voltage rise",
    "overvoltage-resets": "the controller switched off on overvoltage during the run",
    "supply-limit-blocks": "the supply's current limit, not the motor, keeps the arm from lifting",
    "supply-side-limit": "a limit on the supply side lets more than its figure through a slow or stalled motor",
    "duty-below-minimum": "a move asks for less duty than the controller's output switches at",
    "magnets-at-risk": "a current that may weaken the magnets for good at such a temperature",
    "battery-too-weak": "by itself the battery falls below half its voltage, or the undervoltage level, under the load",
    "charge-spent": "the run draws the battery down further than it is to be",
    "cold-charging": "a battery takes current back at a temperature at which it must not be charged",
    "short-circuit": "a short circuit draws more than ordinary blade fuses can break",
    # heat
    "winding-too-hot": "the winding passes its limit in the run",
    "winding-near-limit": "the winding comes within 10 K of its limit in the run",
    "motor-past-limit": "the winding passes its limit in one of many cycles, or would if they went on",
    "limit-is-hot-spot": "the winding's limit is the figure of a thermal class, which is that of its hottest spot",
    "stall-heats-locally": "a stalled winding with brushes gets hotter under them than on average",
    "stall-heats": "time a stalled winding takes from ambient to its limit",
    "hold-overheats": "the holding current is above what the winding bears for good",
    # holding and falling
    "falls-unpowered": "without power the arm falls, or its springs raise it",
    "shorted-creeps": "a shorted motor slows the arm and does not hold it",
    "holds-by-locking": "a self-locking stage keeps the arm up without power",
    "holds-by-friction": "friction alone keeps the arm up without power",
    "holds-until-shaken": "a worm keeps the arm up at rest and no longer locks under vibration",
    "holds-when-shaken": "a worm keeps the arm up at rest and locks under vibration too",
    "locks-only-at-rest": "a stage that locks at rest no longer locks above some speed",
    "free-play": "backlash leaves the arm free to move though a stage locks, or it is not known how far",
    "cannot-hold": "the drive cannot give the current that a hold asks for",
    "caught-in-motion": "a hold catches the arm at speed, which swings past where it is to be held",
    "sinks-while-held": "the arm moves during a hold or rest",
    "shorting-needs-control": "shorting the motor needs a controller that is alive",
    "cut-not-reached": "the run never comes to where power was to be cut",
    # counterbalance
    "motors-fight": "several motors on one train work against each other, in the lift or without its load",
    "balance": "what the counterbalance leaves of gravity, and the strength that would flatten it best",
    "balance-would-help": "the torsion spring or counterweight that would flatten gravity best",
    "spring-idle": "a spring carries nothing over part of the travel",
    "rises-by-itself": "the counterbalance lifts the arm where nothing holds it down",
    # mechanics
    "hits-stop": "the arm runs into a stop in the run",
    "shock-load": "a stage carries several times its load of a steady lift",
    "gears-overloaded": "gears carry more than the peak torque that their maker allows",
    "shock-unbounded": "nothing is known to give way in a blow of the run, so its force has no bound",
    "shock-buffer": "how far a buffer gives way and how hard it pushes back",
    "rope-slackens": "a rope would have to push the carriage",
    "jams": "a self-locking stage stops the drive at once",
    # fit and strength
    "parts-do-not-fit": "parts of the transmission that do not go together",
    "parts-near-miss": "parts that look alike and do not go together",
    "parts-doubtful": "parts that go together only in some makes, or badly",
    "part-too-weak": "a part fails a first-pass strength check",
    "part-wears-out": "a part passes its limit of wear or fatigue: it does not break at once, and does not last",
    "part-near-its-limit": "a part passes a first-pass strength check with little to spare",
    # trust
    "energy-open": "the energy account of the run does not close",
    "not-judged": "a requirement cannot be judged from what is known",
}


def finding(level: Level, code: str, where: str, text: str, mend: str = "") -> Finding:
    """A finding with a registered code."""
    if code not in CODES:
        raise KeyError(code)
    return Finding(level=level, code=code, where=where, text=text, mend=mend)
