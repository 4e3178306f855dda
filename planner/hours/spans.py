"""Sets of whole ticks, held as half-open spans: start included, end excluded."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Spans:
    """An immutable set of ticks: sorted, disjoint, non-touching half-open spans.

    Build one with `Spans.of`, which sorts and joins; the constructor refuses
    anything that isn't in that form.
    """

    items: tuple[Span, ...] = ()

    def __post_init__(self) -> None:
        """Refuse empty, touching or unsorted spans."""
        last: int | None = None
        for start, end in self.items:
            if start >= end:
                raise ValueError(f"spans: empty or backward span {(start, end)}")
            if last is not None and start <= last:
                raise ValueError(f"spans: {(start, end)} touches what ends at {last}")
            last = end

    @classmethod
    def of(cls, items: Iterable[Span]) -> Self:
        """Return the union of `items`, which may overlap, touch or be empty."""
        joined: list[Span] = []
        for start, end in sorted(i for i in items if i[0] < i[1]):
            if joined and start <= joined[-1][1]:
                joined[-1] = (joined[-1][0], max(joined[-1][1], end))
            else:
                joined.append((start, end))
        return cls(tuple(joined))

    @classmethod
    def from_mask(cls, mask: NDArray[np.bool_]) -> Self:
        """Return the ticks at which `mask` is true; index 0 is tick 0."""
        padded = np.concatenate(([False], mask, [False])).astype(np.int8)
        edges = np.diff(padded)
        starts = np.flatnonzero(edges == 1).tolist()
        ends = np.flatnonzero(edges == -1).tolist()
        return cls(tuple(zip(starts, ends, strict=True)))

    def mask(self, ticks: int) -> NDArray[np.bool_]:
        """Return a boolean array of length `ticks`, true inside the set."""
        out = np.zeros(ticks, dtype=np.bool_)
        for start, end in self.items:
            out[max(start, 0) : max(end, 0)] = True
        return out

    def __iter__(self) -> Iterator[Span]:
        """Iterate over the spans in order."""
        return iter(self.items)

    def __bool__(self) -> bool:
        """Tell whether there is any tick in the set."""
        return bool(self.items)

    def __contains__(self, tick: int) -> bool:
        """Tell whether `tick` lies in the set."""
        return any(start <= tick < end for start, end in self.items)

    def __or__(self, other: Self) -> Self:
        """Return the ticks in either set."""
        return type(self).of((*self.items, *other.items))

    def __and__(self, other: Self) -> Self:
        """Return the ticks in both sets."""
        out: list[Span] = []
        a, b = iter(self.items), iter(other.items)
        left, right = next(a, None), next(b, None)
        while left is not None and right is not None:
            start, end = max(left[0], right[0]), min(left[1], right[1])
            if start < end:
                out.append((start, end))
            if left[1] <= right[1]:
                left = next(a, None)
            else:
                right = next(b, None)
        return type(self)(tuple(out))

    def __sub__(self, other: Self) -> Self:
        """Return the ticks of this set that aren't in `other`."""
        out: list[Span] = []
        for start, end in self.items:
            cursor = start
            for cut_start, cut_end in other.items:
                if cut_end <= cursor or cut_start >= end:
                    continue
                if cut_start > cursor:
                    out.append((cursor, cut_start))
                cursor = max(cursor, cut_end)
            if cursor < end:
                out.append((cursor, end))
        return type(self)(tuple(out))

    @property
    def total(self) -> int:
        """The number of ticks in the set."""
        return sum(end - start for start, end in self.items)

    def clip(self, start: int, end: int) -> Self:
        """Return the part of the set inside [start, end)."""
        return self & type(self).of([(start, end)])
