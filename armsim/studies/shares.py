"""Shares of a sample and how sure they are, and where its middle and its ends lie."""

from dataclasses import dataclass

CONFIDENCE = 0.95  #: with which the interval of a share holds the true one
LEVELS = (0.05, 0.5, 0.95)  #: of what is told of a measure


@dataclass(frozen=True, kw_only=True)
class Chance:
    """A share of machines, with the interval that holds the true share with the stated confidence."""

    name: str
    met: int
    count: int  #: of machines judged; 0: not judged
    low: float
    high: float

    @property
    def share(self) -> float:
        """Of machines judged. [-]"""
        return self.met / self.count if self.count else float("nan")


@dataclass(frozen=True, kw_only=True)
class Percentiles:
    """Values of a measure below which 5, 50 and 95 % of the machines lie that have it."""

    name: str
    values: tuple[float, float, float]
    count: int  #: of machines that have it


def interval(met: int, count: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """The interval of a share by Clopper and Pearson (Biometrika 26, 1934, p. 404), from the binomial law.

    It holds the true share at least as often as stated for independent machines. Points of a scrambled Sobol sequence
    scatter less than independent ones where the share changes evenly over the inputs, so it is on the safe side.
    """
    from scipy.stats import beta

    tail = (1.0 - confidence) / 2.0
    low = 0.0 if met == 0 else float(beta.ppf(tail, met, count - met + 1))
    high = 1.0 if met == count else float(beta.ppf(1.0 - tail, met + 1, count - met))
    return low, high


def chance(name: str, met: int, count: int) -> Chance:
    """A share with its interval."""
    low, high = interval(met, count) if count else (0.0, 1.0)
    return Chance(name=name, met=met, count=count, low=low, high=high)
