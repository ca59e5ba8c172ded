"""The keys of a stock list: what a shop or shelf has, each item as a scenario would write it, with price and mass."""

import math
from typing import Annotated

from pydantic import BeforeValidator, Field

from armsim.parts.belt import BeltProfile
from armsim.parts.chain_size import ChainSize
from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario.chain_numbers import chain_number
from armsim.scenario.flexible_keys import Tension, belt_profile
from armsim.scenario.gear_keys import HelixAngle, Material, Module, Pitch, Planetary, PressureAngle
from armsim.scenario.keys import Keys, Mass, Name, Small, Stress, Teeth, Text
from armsim.scenario.schema import Gearbox, Motor
from armsim.scenario.source import Leaf
from armsim.scenario.worm_keys import Worm

Price = Annotated[float, r.number(least=0.0)]
Available = Annotated[int, r.whole(0, 100_000, noun="pieces")]
Profile = Annotated[BeltProfile, belt_profile()]
Number = Annotated[ChainSize, chain_number()]


def _teeth_alone(value: object) -> object:
    return {"teeth": value} if isinstance(value, Leaf) and not value.empty else value


class Wheel(Keys):
    """One size of a set of wheels; a bare number is its teeth. What it says stands before what its set says."""

    example = "{teeth: 14, price: 6.5, mass: 40 g}"
    teeth: Teeth
    name: Name | None = None
    price: Price | None = None
    mass: Mass | None = None
    available: Available | None = None
    bore: Small | None = None
    face_width: Small | None = None
    material: Material | None = None
    allowable_bending: Stress | None = None
    allowable_contact: Stress | None = None


WheelOrTeeth = Annotated[Wheel, BeforeValidator(_teeth_alone)]


class WheelSet(Keys):
    """What wheels of one set have in common."""

    name: Name | None = None
    teeth: Annotated[list[WheelOrTeeth], r.one_or_more()]
    price: Price | None = None
    mass: Mass | None = None
    available: Available | None = None
    bore: Small | None = None
    source: Text = ""


class StockGears(WheelSet):
    """Spur or helical gears of one pitch."""

    example = "- {module: 1.5 mm, face_width: 15 mm, teeth: [12, 18, {teeth: 60, price: 21}]}"
    module: Module | None = None
    diametral_pitch: Pitch | None = None
    pressure_angle: PressureAngle = math.radians(20.0)
    helix_angle: HelixAngle = 0.0
    face_width: Small | None = None
    material: Material = "steel"
    allowable_bending: Stress | None = None
    allowable_contact: Stress | None = None


class StockSprockets(WheelSet):
    """Sprockets for one size of chain, and what a loop of it bears."""

    example = '- {number: "40", teeth: [13, 18, {teeth: 52, price: 24}]}'
    number: Number
    breaking_load: Tension | None = None
    allowable_load: Tension | None = None


class StockPulleys(WheelSet):
    """Toothed pulleys for one belt profile and width."""

    example = "- {profile: 5M, width: 15 mm, teeth: [18, 30, {teeth: 60, price: 19}]}"
    profile: Profile
    width: Small | None = None
    allowable_tension: Tension | None = None


class StockMotor(Motor):
    """A motor as a scenario describes it, with what it costs."""

    example = (
        "- {name: Wiper motor, price: 38, nominal_voltage: 12 V, no_load_speed: 65 rpm, no_load_current: 1.5 A, "
        "stall_torque: 20 N*m, stall_current: 24 A}"
    )
    name: Name
    price: Price | None = None
    mass: Mass | None = None
    available: Available | None = None


class StockWorm(Worm):
    """A worm with its wheel."""

    example = "- {starts: 1, wheel: 30, lead_angle: 4.8 deg, price: 46}"
    price: Price | None = None
    mass: Mass | None = None
    available: Available | None = None
    source: Text = ""


class StockPlanetary(Planetary):
    """A whole planetary set."""

    example = "- {sun: 21, planet: 27, ring: 75, planets: 3, price: 58}"
    price: Price | None = None
    mass: Mass | None = None
    available: Available | None = None
    rated_torque: Annotated[float, r.quantity(d.TORQUE, above=0.0, usual=(1e-3, 1e5))] | None = None
    source: Text = ""


class StockGearbox(Gearbox):
    """A gearbox by its sheet, with the output torque that it is rated for."""

    example = "- {reduction: 71, efficiency: 0.73, rated_torque: 18 N*m, price: 74}"
    price: Price | None = None
    mass: Mass | None = None
    available: Available | None = None
    rated_torque: Annotated[float, r.quantity(d.TORQUE, above=0.0, usual=(1e-3, 1e5))] | None = None
    source: Text = ""


class StockFile(Keys):
    """A whole stock list."""

    title: Annotated[str, r.text(200)]
    about: Annotated[str, r.text(20_000)] = ""
    motors: list[StockMotor] = Field(default_factory=list)
    gears: list[StockGears] = Field(default_factory=list)
    sprockets: list[StockSprockets] = Field(default_factory=list)
    pulleys: list[StockPulleys] = Field(default_factory=list)
    worms: list[StockWorm] = Field(default_factory=list)
    planetaries: list[StockPlanetary] = Field(default_factory=list)
    gearboxes: list[StockGearbox] = Field(default_factory=list)
