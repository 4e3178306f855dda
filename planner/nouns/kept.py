"""A cache of results, found again by the values that they were worked out from."""

from collections.abc import Callable
from functools import lru_cache
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")

MOST = 128  # results kept of each function; a look-up of six weeks takes some 100 kB
FEW = 3  # of a function whose results take tens of megabytes


class Kept:
    """Results of functions of plain values, each worked out once for equal values.

    Several cases of a job share one of these, so that what a change leaves as it was
    is not worked out again. A function sees nothing but the values that its result is
    kept by, so it can't matter who asked first. It isn't sent to other processes:
    there it begins empty.
    """

    def __init__(self) -> None:
        self._known: dict[Callable[..., object], Callable[..., object]] = {}

    def of(self, work: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
        """Return `work(*args, **named)`; every value must be hashable."""
        return self._of(MOST, work, *args, **named)

    def large_of(self, work: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
        """Return `work(*args, **named)` as `of` does, of which only few are kept."""
        return self._of(FEW, work, *args, **named)

    def _of(
        self, most: int, work: Callable[P, T], *args: P.args, **named: P.kwargs
    ) -> T:
        if work not in self._known:
            self._known[work] = lru_cache(maxsize=most)(work)
        return self._known[work](*args, **named)  # type: ignore[return-value]  # a T

    def times(self, work: Callable[..., object]) -> int:
        """Return how often a function was carried out."""
        known = self._known.get(work)
        return 0 if known is None else known.cache_info().misses  # type: ignore[attr-defined]  # of lru_cache

    def __reduce__(self) -> tuple[type["Kept"], tuple[()]]:
        """Begin empty in another process."""
        return Kept, ()
