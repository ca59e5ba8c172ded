"""What building a machine adds to what was written."""

from collections.abc import Callable
from dataclasses import dataclass, field

from armsim.scenario.problems import Misreading
from armsim.scenario.records import Assumption
from armsim.scenario.validate import Path

Note = Callable[[str, str], None]  #: key, text


@dataclass
class Notes:
    """What building adds to the scenario: assumptions, and faults that only building finds."""

    assumptions: list[Assumption] = field(default_factory=list)
    faults: list[tuple[Path, Misreading]] = field(default_factory=list)

    def default(self, key: str, text: str) -> None:
        """A value shipped with the package."""
        self.assumptions.append(Assumption(key=key, text=text, origin="default"))

    def derived(self, key: str, text: str) -> None:
        """A value computed from others that were given."""
        self.assumptions.append(Assumption(key=key, text=text, origin="derived"))

    def fitted(self, key: str, text: str) -> None:
        """A value fitted to data that were given."""
        self.assumptions.append(Assumption(key=key, text=text, origin="fitted"))
