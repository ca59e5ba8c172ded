"""Spur or helical gears on parallel shafts: a driver, any idlers, a driven gear."""

from armsim.parts.stage import ConstantEfficiency, Stage, disc_inertia, mesh_product


def gear_stage(
    *,
    driver: int,
    driven: int,
    idlers: tuple[int, ...] = (),
    module: float | None,
    pressure_angle: float,
    face_width: float | None,
    efficiency: float,
    reverse: float | None,
    density: float,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """External gears in one plane, driver to driven by way of the idlers, given by their teeth.

    The reduction is driven over driver; an idler leaves it alone, turns the sense round and costs one more mesh.
    `efficiency` is per mesh, `reverse` of the whole stage (None: 2 - 1/eta_f of each mesh). Each gear is a solid disc
    of its pitch diameter (`module` [m], `face_width` [m], `density` [kg/m3]); idlers count on the input shaft, times
    (z1/z_idler)^2. Inertias given outright replace that; without module or width they are 0. `pressure_angle` [rad];
    `backlash` [rad] of all meshes, at the driven gear.
    """
    teeth = (driver, *idlers, driven)
    forward, chained = mesh_product(efficiency, len(teeth) - 1)
    on_input, on_output = _disc_inertias(teeth, module, face_width, density)
    return Stage(
        kind="gears",
        name=name,
        reduction=driven / driver,
        law=ConstantEfficiency(forward=forward, reverse=chained if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=on_input if input_inertia is None else input_inertia,
        output_inertia=on_output if output_inertia is None else output_inertia,
        backlash=backlash,
        sense=-1 if len(teeth) % 2 == 0 else 1,
        driver_radius=None if module is None else module * driver / 2.0,
        details={"meshes": len(teeth) - 1, "pressure_angle": pressure_angle, **_geometry(teeth, module, face_width)},
    )


def _disc_inertias(
    teeth: tuple[int, ...], module: float | None, face_width: float | None, density: float
) -> tuple[float, float]:
    """Inertia on the input shaft (idlers referred to it) and on the output shaft. [kg*m2]"""
    if module is None or face_width is None:
        return 0.0, 0.0
    *turning_with_input, driven = teeth
    on_input = sum(disc_inertia(density, face_width, module * z) * (teeth[0] / z) ** 2 for z in turning_with_input)
    return on_input, disc_inertia(density, face_width, module * driven)


def _geometry(teeth: tuple[int, ...], module: float | None, face_width: float | None) -> dict[str, float | str]:
    """Pitch diameters and centre distances, in order from the driver. [m]"""
    if module is None:
        return {}
    shown: dict[str, float | str] = {"module": module}
    if face_width is not None:
        shown["face_width"] = face_width
    for place, z in enumerate(teeth):
        shown[f"pitch_diameter_{_gear_name(place, len(teeth))}"] = module * z
    for place in range(len(teeth) - 1):
        pair = f"{_gear_name(place, len(teeth))}_to_{_gear_name(place + 1, len(teeth))}"
        shown[f"centre_distance_{pair}"] = module * (teeth[place] + teeth[place + 1]) / 2.0
    return shown


def _gear_name(place: int, count: int) -> str:
    if place == 0:
        return "driver"
    return "driven" if place == count - 1 else f"idler_{place}"
