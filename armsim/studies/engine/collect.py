"""Answers from columns of any length, read chunk by chunk: nothing here holds more than a chunk and its own answer."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from armsim.studies.engine.plan import Columns
from armsim.studies.engine.store import Store

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

DIGITS = 65_536  #: values of the sixteen bits that one reading of a column settles
SIGN = np.uint64(1 << 63)


class Readable(Protocol):
    """Columns that can be read chunk by chunk, as often as need be: a Store, or what shows a part of one."""

    def chunks(self, names: Sequence[str] | None = None) -> Iterable[Columns]:
        """These columns, or all, in the order of rows."""
        ...


def counts(store: Readable, name: str) -> dict[float, int]:
    """How often each value of a column comes, the commonest first; for columns of few values. nan is left out."""
    found: Counter[float] = Counter()
    for column in _each(store, name):
        known = column[~np.isnan(column)]
        values, numbers = np.unique(known, return_counts=True)
        found.update(dict(zip(values.tolist(), numbers.tolist(), strict=True)))
    return dict(found.most_common())


def quantiles(store: Readable, name: str, shares: Sequence[float]) -> list[float]:
    """The values below which these shares (0 to 1) of a column lie, exactly, as numpy.quantile gives them.

    nan does not count; of none, nan. The column is read five times: to count it, and then to find the values that stand
    at the wanted places sixteen bits at a time. Floating numbers sort as their bits do, once negative ones are turned
    round.
    """
    count = sum(int(np.count_nonzero(~np.isnan(column))) for column in _each(store, name))
    if not count:
        return [float("nan")] * len(shares)
    places = [share * (count - 1) for share in shares]
    below = [int(place) for place in places]
    wanted = sorted({*below, *(min(place + 1, count - 1) for place in below)})
    value_at = dict(zip(wanted, _standing_at(store, name, wanted), strict=True))
    return [
        float(_between(value_at[low], value_at[min(low + 1, count - 1)], place - low))
        for low, place in zip(below, places, strict=True)
    ]


def best(store: Store, name: str, most: int, *, largest: bool = False) -> tuple[Whole, Columns]:
    """Numbers and columns of the rows with the least (or largest) values of a column, best first, ties by row."""
    rows, kept = np.empty(0, dtype=np.int64), None
    for first, columns in store.numbered():
        known = np.flatnonzero(~np.isnan(columns[name].astype(float)))
        rows, kept = _joined(rows, kept, first + known, _taken(columns, known))
        key = kept[name].astype(float)
        order = np.argsort(-key if largest else key, kind="stable")[:most]
        rows, kept = rows[order], _taken(kept, order)
    return rows, kept or {}


def non_dominated(
    store: Store, least: Sequence[str] = (), largest: Sequence[str] = (), among: str | None = None
) -> tuple[Whole, Columns]:
    """Numbers and columns of the rows that no other beats: none as good in all of these columns and better in one.

    `least` are columns of which less is better, `largest` those of which more is. Only rows count in which all are
    known and, with `among`, in which that column is true. Equal rows stay all. In the order of rows.
    """
    rows, kept = np.empty(0, dtype=np.int64), None
    for first, columns in store.numbered():
        usable = ~np.isnan(_costs(columns, least, largest)).any(axis=1)
        if among is not None:
            usable &= columns[among] == 1
        some = np.flatnonzero(usable)
        some = some[unbeaten(_costs(columns, least, largest)[some])]  # before joining: those kept are met by few
        rows, kept = _joined(rows, kept, first + some, _taken(columns, some))
        left = np.flatnonzero(unbeaten(_costs(kept, least, largest)))
        rows, kept = rows[left], _taken(kept, left)
    return rows, kept or {}


def unbeaten(costs: Floats) -> NDArray[np.bool_]:
    """Which rows no other row beats, less being better in every column; costs (rows, measures) without nan."""
    order = np.lexsort(costs.T[::-1])  # who comes later never beats who comes before
    good = np.zeros(len(costs), dtype=bool)
    while order.size:
        cost, left = costs[order[0]], costs[order]
        good[order[(left == cost).all(axis=1)]] = True
        order = order[~(left >= cost).all(axis=1)]
    return good


def _each(store: Readable, name: str) -> Iterator[Floats]:
    for columns in store.chunks([name]):
        yield columns[name].astype(float)


def _standing_at(store: Readable, name: str, ranks: Sequence[int]) -> Floats:
    """The values at these places of a sorted column, by its bits from the highest."""
    prefixes = np.zeros(len(ranks), dtype=np.uint64)
    before = np.zeros(len(ranks), dtype=np.int64)  # values whose higher bits are less
    for shift in (48, 32, 16, 0):
        found: dict[int, Whole] = {prefix: np.zeros(DIGITS, dtype=np.int64) for prefix in prefixes.tolist()}
        for column in _each(store, name):
            bits = _sortable(column[~np.isnan(column)])
            higher = bits >> np.uint64(shift + 16) if shift < 48 else np.zeros_like(bits)
            for prefix, numbers in found.items():
                digits = (bits[higher == prefix] >> np.uint64(shift)) & np.uint64(DIGITS - 1)
                numbers += np.bincount(digits.astype(np.int64), minlength=DIGITS)
        for k, rank in enumerate(ranks):
            up_to = np.cumsum(found[int(prefixes[k])])
            digit = int(np.searchsorted(up_to, rank - before[k], side="right"))
            before[k] += up_to[digit - 1] if digit else 0
            prefixes[k] = (prefixes[k] << np.uint64(16)) | np.uint64(digit)
    return np.where(prefixes & SIGN, prefixes ^ SIGN, ~prefixes).view(np.float64)


def _sortable(values: Floats) -> NDArray[np.uint64]:
    bits = np.ascontiguousarray(values).view(np.uint64)
    return np.where(bits & SIGN, ~bits, bits | SIGN)


def _between(low: float, high: float, share: float) -> float:
    return low if low == high or share == 0.0 else low + (high - low) * share


def _costs(columns: Columns, least: Sequence[str], largest: Sequence[str]) -> Floats:
    return np.column_stack(
        [*(columns[name].astype(float) for name in least), *(-columns[name].astype(float) for name in largest)]
    )


def _joined(rows: Whole, kept: Columns | None, more_rows: Whole, more: Columns) -> tuple[Whole, Columns]:
    if kept is None:
        return more_rows, more
    return np.concatenate([rows, more_rows]), {name: np.concatenate([kept[name], more[name]]) for name in more}


def _taken(columns: Columns, index: Whole) -> Columns:
    return {name: column[index] for name, column in columns.items()}
