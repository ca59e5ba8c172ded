"""A bought gearbox, known by its sheet: reduction, efficiency, drag and inertia, no teeth."""

from armsim.parts.stage import ConstantEfficiency, Stage, reverse_of


def gearbox_stage(
    *,
    reduction: float,
    efficiency: float,
    reverse: float | None,
    input_inertia: float = 0.0,
    output_inertia: float = 0.0,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    backlash: float | None = None,
    sense: int | None,
    name: str,
) -> Stage:
    """A gearbox of `reduction` input turns per output turn and overall `efficiency`, 0..1.

    `reverse` None takes 2 - 1/eta_f, the rule for one mesh: a box of several meshes turns back more easily than it
    says (three of 0.78 make 0.47 forward and still 0.37 back, where the rule says -0.11). `drag` [N*m] and
    `viscous_drag` [N*m*s/rad] act at the input shaft; inertias [kg*m2] sit on the shaft they are named after;
    `backlash` [rad] is at the output shaft.
    """
    return Stage(
        kind="gearbox",
        name=name,
        reduction=reduction,
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=input_inertia,
        output_inertia=output_inertia,
        backlash=backlash,
        sense=sense,
    )
