"""Keys of chains and belts."""

import difflib
from typing import Annotated

from pydantic import BeforeValidator

from armsim.parts.belt import BeltProfile
from armsim.parts.chain_size import ChainSize
from armsim.scenario import dimensions as d
from armsim.scenario import forms
from armsim.scenario import readers as r
from armsim.scenario.chain_numbers import chain_number
from armsim.scenario.forms import Typed
from armsim.scenario.keys import Keys, Length, Part, Small, Teeth
from armsim.scenario.numbers import clean
from armsim.scenario.problems import Misreading
from armsim.scenario.source import Leaf
from armsim.scenario.stage_keys import StageKeys
from armsim.scenario.tables import belt_profiles

Tension = Annotated[float, r.quantity(d.FORCE, above=0.0, usual=(0.5, 1e5))]
Friction = Annotated[float, r.number(above=0.0, below=2.0)]
Reverse = Annotated[float, r.number(most=1.0)]
Service = Annotated[float, r.number(least=1.0, most=3.0)]


def belt_profile() -> BeforeValidator:
    """A toothed belt's profile by its standard's code."""

    def read(leaf: Leaf, reading: r.Reading) -> BeltProfile:
        typed, known = clean(leaf.text).upper().replace(" ", ""), belt_profiles()
        if typed not in known:
            inside = sorted((name for name in known if typed.endswith(name)), key=len, reverse=True)
            near = inside or difflib.get_close_matches(typed, list(known), 1, 0.6)
            hint = f"did you mean '{near[0]}'? " if near else ""
            raise Misreading("SCN115", f"unknown profile '{clean(leaf.text)}'", f"{hint}one of {', '.join(known)}")
        reading.understand(leaf, typed, known[typed].title)
        return known[typed]

    return r.reader(read, "a profile is wanted, such as 5M or XL", lambda: forms.likely(belt_profiles()))


def _teeth_alone() -> BeforeValidator:
    return Typed(lambda value: {"teeth": value} if isinstance(value, Leaf) else value, form=forms.teeth)


class Sprocket(Keys):
    """A chain wheel; a bare number is its teeth."""

    example = '{teeth: 45, number: "40", bore: 20 mm}'
    teeth: Teeth
    number: Annotated[ChainSize, chain_number()] | None = None
    bore: Small | None = None
    outside: Annotated[bool, r.yes_no()] = False


class Chain(StageKeys):
    """A roller chain over two sprockets."""

    example = 'chain: {number: "40", driver: 13, driven: 44}'
    number: Annotated[ChainSize, chain_number()]
    driver: Annotated[Sprocket, _teeth_alone()]
    driven: Annotated[Sprocket, _teeth_alone()]
    strands: Annotated[int, r.whole(1, 4, noun="strands")] | None = None
    centre_distance: Length | None = None
    links: Annotated[int, r.whole(10, 10000, noun="links")] | None = None
    sag: Small | None = None
    breaking_load: Tension | None = None
    allowable_load: Tension | None = None
    service_factor: Service | None = None
    efficiency: Part | None = None
    friction: Annotated[float, r.number(above=0.0, below=1.0)] | None = None
    reverse_efficiency: Reverse | None = None


class Pulley(Keys):
    """A toothed pulley; a bare number is its teeth."""

    example = "{teeth: 60, profile: 5M, bore: 12 mm}"
    teeth: Teeth
    profile: Annotated[BeltProfile, belt_profile()] | None = None
    bore: Small | None = None
    outside: Annotated[bool, r.yes_no()] = False


class Belt(StageKeys):
    """A toothed belt over two pulleys."""

    example = "belt: {profile: 5M, driver: 18, driven: 60, width: 15 mm}"
    profile: Annotated[BeltProfile, belt_profile()]
    driver: Annotated[Pulley, _teeth_alone()]
    driven: Annotated[Pulley, _teeth_alone()]
    width: Small | None = None
    belt_teeth: Annotated[int, r.whole(10, 10000, noun="teeth")] | None = None
    centre_distance: Length | None = None
    tension: Tension | None = None
    allowable_tension: Tension | None = None
    service_factor: Service | None = None
    efficiency: Part | None = None
    reverse_efficiency: Reverse | None = None
    material: Annotated[str, r.choice("steel", "brass", "aluminium", "plastic")] = "aluminium"


class FlatBelt(StageKeys):
    """A flat or round belt over two plain pulleys, given by the diameters at which the belt's middle runs."""

    example = "flat_belt: {driver: 40 mm, driven: 120 mm, centre_distance: 300 mm}"
    driver: Small
    driven: Small
    crossed: Annotated[bool, r.yes_no()] = False
    centre_distance: Length | None = None
    friction: Friction | None = None
    tension: Tension | None = None
    allowable_tension: Tension | None = None
    service_factor: Service | None = None
    efficiency: Part | None = None
    reverse_efficiency: Reverse | None = None
