"""A figure with the words that go with it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A figure, its file stem, and one or two sentences with the finding (also its alternative text)."""

    name: str
    heading: str
    text: str
    figure: "Figure"
