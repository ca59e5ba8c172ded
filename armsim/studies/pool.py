"""The best of very many by their bounds, kept in bounded memory and gone on with where an earlier pass ended."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Order = tuple[Array, Array, Index]  #: bound, bound among equals, number of the combination


@dataclass(frozen=True, kw_only=True)
class Pool:
    """Combinations best first by their bounds, as many as are kept."""

    number: Index
    first: Array
    second: Array
    cut: bool  #: there were more

    def __len__(self) -> int:
        return len(self.number)


class Best:
    """Keeps the first `most` of what it is given, in bounded memory, beyond where an earlier pass ended."""

    def __init__(self, most: int, beyond: tuple[float, float, int] | None = None) -> None:
        self._most, self._beyond = most, beyond
        self._kept: list[Order] = []
        self._count = 0
        self._worst = np.inf
        self._cut = False

    def add(self, first: Array, second: Array, number: Index) -> None:
        """Offer some."""
        keep = first <= self._worst
        if self._beyond is not None:
            a, b, n = self._beyond
            keep &= (first > a) | ((first == a) & ((second > b) | ((second == b) & (number > n))))
        self._cut |= bool(np.any(first > self._worst))
        self._kept.append((first[keep], second[keep], number[keep]))
        self._count += int(np.count_nonzero(keep))
        if self._count > 2 * self._most:
            self._shrink()

    def _shrink(self) -> None:
        first, second, number = (np.concatenate(part) for part in zip(*self._kept, strict=True))
        order = np.lexsort((number, second, first))
        if len(order) > self._most:
            self._cut = True
            order = order[: self._most]
            self._worst = float(first[order[-1]])
        self._kept = [(first[order], second[order], number[order])]
        self._count = len(order)

    def pool(self) -> Pool:
        """What is kept, in order."""
        if not self._kept:
            nothing = np.zeros(0)
            return Pool(number=nothing.astype(np.int64), first=nothing, second=nothing, cut=False)
        self._shrink()
        first, second, number = self._kept[0]
        return Pool(number=number, first=first, second=second, cut=self._cut)
