"""What every report must say: what is left out, and what can hurt."""

NOT_MODELLED = (
    "Backlash in motion, and elastic twist of shafts, chains and the arm: gears are always in mesh, parts are rigid. "
    "What backlash leaves free at rest is added up where it is given.",
    "Magnetic saturation, cogging and commutation ripple of the motor; how its constants fall as magnets warm, unless "
    "`magnet` is given. Of motors under `more_motors` also the winding's heat, and diodes that conduct.",
    "The switching of the bridge: it is averaged over a period, so ripple current and its extra heat are missing.",
    "How a battery warms, recovers over minutes and ages in use: its resistance stays what it is at the start, its sag "
    "has one slow part at most, and what it takes back counts in full.",
    "Wear, lubrication, dirt, ageing, water and frost, and the scatter between parts of one type.",
    "How stops and stages give way, unless told: a rigid stop or a jam ends a motion at once, with a force that has no "
    "bound. A stiffness of stages counts in the estimate of sudden stops only, that of stops in the run as well.",
    "Strength beyond the first-pass checks shown: bearings, fasteners, housings, weld seams, and fatigue of the arm.",
    "Faults of the position loop: its sensor is exact and without delay, and its feed-forward knows the load.",
    "A spring's own mass and friction, its set, the ends of its stroke, and how cold and warmth change a gas spring.",
    "Sideways, off-plane and wind loads, a payload that swings or shifts, and people leaning on the arm.",
)

NOT_MODELLED_OF_CARRIAGES = (
    "A guide that binds or lets the carriage tilt; a rope that stretches or goes slack, which a finding tells where it "
    "would; a drum whose radius grows from layer to layer; the rope and the counterweight reaching their ends.",
)

CAUTIONS = (
    "These figures are an estimate for comparing designs. They are no safety assessment and no proof of conformity "
    "with any rule or standard; have the machine judged by people qualified to do so, under the codes of its place.",
    "Gravity does not switch off. Whatever removes power (breaker, fuse, loose plug, reset, emergency stop) leaves the "
    "arm to fall or creep unless something mechanical holds it.",
    "A self-locking gear is not a brake: vibration, oil, wear or running-in can undo the locking, and so may motion "
    "when power goes. A shorted motor slows a fall and does not hold. Use a rated brake, a lock pin or a prop.",
    "Keep people out of the arm's path with guards, and block the arm mechanically, cut off and lock out the supply "
    "before reaching in. Chains, sprockets, gears, links and stops crush and draw in.",
    "A wound, stretched or gas spring, a pressed buffer, a counterweight, a raised arm and a turning rotor keep their "
    "energy with power off; a counterbalanced arm may rise when its load is taken off, and a stop may throw one back. "
    "Release that energy, or lock the arm against both ways, before work on it; never open a gas spring.",
    "Breakers and controllers that reset themselves start the motion again without warning. Software limits, current "
    "limits and breakers are not protective devices for people.",
    "Motors and brakes can burn skin while their windings are within limits, and a stalled one may smoke before "
    "anything trips.",
    "Batteries give kiloamperes into a short circuit, lead-acid ones give off hydrogen and lithium ones burn: fuse at "
    "the terminal, cover tools and rings. Low voltage is not low energy. Capacitors stay charged after disconnection.",
    "A lowering arm can push energy back into the supply; one that cannot take it lets the voltage rise for "
    "everything else on the bus.",
    "Torque at stall can exceed the strength of gears and shafts: compare it with the weakest part before stalling "
    "the machine on purpose.",
)


def not_modelled(load: str) -> tuple[str, ...]:
    """What is left out for a machine that moves an arm or a carriage."""
    return NOT_MODELLED if load == "arm" else (*NOT_MODELLED, *NOT_MODELLED_OF_CARRIAGES)
