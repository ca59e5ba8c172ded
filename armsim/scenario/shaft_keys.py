"""Keys of a shaft and of what sits on it."""

import re
from typing import Annotated

from pydantic import BeforeValidator

from armsim.scenario import forms
from armsim.scenario import readers as r
from armsim.scenario.keys import Keys, Small, Stress
from armsim.scenario.numbers import clean
from armsim.scenario.problems import Misreading, quoted
from armsim.scenario.source import Leaf
from armsim.scenario.tables import screw_rows, shaft_rows


def screw_size() -> BeforeValidator:
    """A size of the set-screw chart, with or without its inch sign: #10, no. 10, 1/4 in."""

    def read(leaf: Leaf, reading: r.Reading) -> str:
        word = re.sub(r'(?i)\s*(?:"|in|inch)$', "", clean(leaf.text))
        word = re.sub(r"(?i)^(?:#|no\.?)\s*", "#", word)
        known = screw_rows()
        if word not in known:
            hint = f"one of {', '.join(known)}"
            metric = re.fullmatch(r"(?i)m\s*([0-9.]+)", word)
            smaller = [n for n, row in known.items() if metric and row.diameter * 1e3 <= float(metric[1]) + 1e-9]
            hint += f"; the next smaller is {smaller[-1]}" if smaller else ""
            raise Misreading("SCN115", f"no holding force is known for a set screw {quoted(leaf.text)}", hint)
        reading.understand(leaf, word, word)
        return word

    return r.reader(read, 'a size of set screw is wanted, such as "1/4" or "#10"', lambda: forms.likely(screw_rows()))


class Key(Keys):
    """A parallel key; the standard one for the shaft unless told otherwise."""

    example = "{length: 18 mm}"
    width: Small | None = None
    height: Small | None = None
    length: Small


class SetScrews(Keys):
    """Cup-point set screws on a plain shaft."""

    example = '{size: "1/4"}'
    size: Annotated[str, screw_size()]
    count: Annotated[int, r.whole(1, 6, noun="screws")] = 1


class Shaft(Keys):
    """A shaft, round or hexagonal, and how every wheel on it is fastened."""

    example = "{diameter: 10 mm, length: 80 mm, key: {length: 18 mm}}"
    diameter: Small | None = None
    hex: Small | None = None
    length: Small | None = None
    material: Annotated[str, r.choice(*shaft_rows())] = "steel"
    allowable_shear: Stress | None = None
    bore: Small | None = None
    key: Key | None = None
    set_screw: SetScrews | None = None
    hub_length: Small | None = None
    hub_material: Annotated[str, r.choice("steel", "aluminium")] = "steel"
