"""Roller chain between two sprockets: reduction, pull radius, loop geometry and inertia."""

import math

from armsim.parts.stage import ConstantEfficiency, Stage, disc_inertia, reverse_of


def chain_stage(
    *,
    pitch: float,
    driver: int,
    driven: int,
    sprocket_width: float,
    efficiency: float,
    reverse: float | None,
    density: float,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    centre_distance: float | None,
    mass_per_length: float,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
    number: str,
) -> Stage:
    """A chain of `pitch` [m] over sprockets given by their teeth, both inside the loop, so that they turn alike.

    The reduction is the ratio of teeth, never of pitch diameters. Pull acts at the mean radius z p/(2 pi). Sprockets
    are solid discs of their pitch circles, `sprocket_width` [m] wide, of `density` [kg/m3]; with a `centre_distance`
    [m] the whole loop, `mass_per_length` [kg/m], moves with the driver's pitch line and counts on the input shaft.
    Inertias given outright replace all that. `reverse` None: 2 - 1/eta_f; `backlash` [rad] at the driven sprocket.
    Raises ValueError when the shafts are too close for the sprockets.
    """
    radius = mean_radius(pitch, driver)
    loop = {} if centre_distance is None else _loop(pitch, driver, driven, centre_distance)
    chain_mass = mass_per_length * pitch * float(loop.get("length_in_pitches", 0.0))
    on_input = disc_inertia(density, sprocket_width, pitch_diameter(pitch, driver)) + chain_mass * radius**2
    on_output = disc_inertia(density, sprocket_width, pitch_diameter(pitch, driven))
    return Stage(
        kind="chain",
        name=name,
        reduction=driven / driver,
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=on_input if input_inertia is None else input_inertia,
        output_inertia=on_output if output_inertia is None else output_inertia,
        backlash=backlash,
        sense=1,
        driver_radius=radius,
        details={
            "number": number,
            "pitch": pitch,
            "pitch_diameter_driver": pitch_diameter(pitch, driver),
            "pitch_diameter_driven": pitch_diameter(pitch, driven),
            "speed_ripple_driver": polygon_ripple(driver),
            **loop,
        },
    )


def mean_radius(pitch, teeth):
    """Radius at which the mean pull makes the torque, z p/(2 pi): a tooth carries on one pitch. [m]"""
    return teeth * pitch / math.tau


def pitch_diameter(pitch, teeth):
    """Diameter of the circle through the pin centres, p/sin(pi/z). [m] (ISO 606)"""
    return pitch / math.sin(math.pi / teeth)


def outside_diameter(pitch, teeth):
    """Diameter over the teeth, about p (0.6 + cot(pi/z)). [m] (ASME B29.1)"""
    return pitch * (0.6 + 1.0 / math.tan(math.pi / teeth))


def polygon_ripple(teeth):
    """Peak-to-peak ripple of chain speed over its mean, from the chain lying on a polygon: (pi/z) tan(pi/(2 z)). [-]"""
    return math.pi / teeth * math.tan(math.pi / (2.0 * teeth))


def length_in_pitches(pitch: float, teeth: int, other_teeth: int, centre_distance: float) -> float:
    """Length of the taut loop, X = 2 C cos(b) + (z1 + z2)/2 + b D/pi, sin(b) = D/(2 pi C), C in pitches. [-]

    Raises ValueError when the sprockets overlap at this centre distance [m].
    """
    centre, difference = centre_distance / pitch, abs(other_teeth - teeth)
    if centre_distance <= (pitch_diameter(pitch, teeth) + pitch_diameter(pitch, other_teeth)) / 2.0:
        raise ValueError(f"sprockets of {teeth} and {other_teeth} teeth overlap at {centre_distance * 1e3:.4g} mm")
    slant = math.asin(difference / (math.tau * centre))
    return 2.0 * centre * math.cos(slant) + (teeth + other_teeth) / 2.0 + slant * difference / math.pi


def centre_distance_for(pitch: float, teeth: int, other_teeth: int, pitches: float) -> float:
    """Centre distance at which a loop of so many pitches runs taut. [m]

    With unequal sprockets the slant b solves cot(b) + b = pi ((X - z1)/D - 1/2), z1 the smaller (falling in b, so it is
    bracketed); then C = D p/(2 pi sin(b)). Raises ValueError when the loop is too short to go round.
    """
    small, difference = min(teeth, other_teeth), abs(other_teeth - teeth)
    if difference == 0:
        return pitch * (pitches - teeth) / 2.0
    target = math.pi * ((pitches - small) / difference - 0.5)
    low, high = 1e-9, math.pi / 2.0
    if target <= high:
        raise ValueError(f"{pitches:g} pitches do not go round sprockets of {teeth} and {other_teeth} teeth")
    while high - low > 1e-14:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if 1.0 / math.tan(middle) + middle > target else (low, middle)
    return pitch * difference / (math.tau * math.sin(0.5 * (low + high)))


def wrap_angle(pitch: float, teeth: int, other_teeth: int, centre_distance: float) -> float:
    """Arc of the smaller sprocket that the chain lies on, pi - 2 asin((D2 - D1)/(2 C)). [rad]"""
    step = abs(pitch_diameter(pitch, other_teeth) - pitch_diameter(pitch, teeth))
    return math.pi - 2.0 * math.asin(step / (2.0 * centre_distance))


def _loop(pitch: float, driver: int, driven: int, centre_distance: float) -> dict[str, float | str]:
    """What the loop of a given centre distance looks like, and the centre distance of the next even loop up."""
    length = length_in_pitches(pitch, driver, driven, centre_distance)
    even = 2.0 * math.ceil(length / 2.0 - 1e-9)  # an odd number needs a cranked link, which is weaker
    return {
        "centre_distance": centre_distance,
        "length_in_pitches": length,
        "even_pitches": even,
        "centre_distance_even_pitches": centre_distance_for(pitch, driver, driven, even),
        "wrap_angle": wrap_angle(pitch, driver, driven, centre_distance),
    }
