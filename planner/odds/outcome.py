"""What became of a plan in many futures, and what each start was held by."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.nouns.odds import Holder
from planner.nouns.work import ReturnKind

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Played:
    """What became of a plan in many futures; ticks, one entry for each future.

    A tick past the horizon stands for: later than was looked at. `held_by` names, for
    each step, the step before that held its start, or -1; `held_for` is the number of
    what it was held for: a person still busy with that step, a wait after it, or 0 for
    anything else.
    """

    starts: Mapping[str, Ints]
    ends: Mapping[str, Ints]
    returns: Mapping[ReturnKind, Ints]
    held_by: Mapping[str, Ints]
    held_for: Mapping[str, Ints]
    holders: tuple[tuple[Holder, str], ...]  # by number: a person's id, a wait's name
    last: Ints  # the step that full service waited for
    last_for: Ints  # and what for
    overtime: Ints  # ticks of one-go work past its open hours, people together


@dataclass(slots=True, eq=False)
class Waiting:
    """What each future waits for last: until when, after which step, and what for."""

    until: Ints
    by: Ints
    what: Ints

    @classmethod
    def for_nothing(cls, futures: int) -> "Waiting":
        """Return that nothing is waited for."""
        zeros, none = np.zeros((2, futures), np.int64), np.full(futures, -1)
        return cls(zeros[0], none, zeros[1])

    def wait(
        self, until: Ints, by: Ints | int, what: int, at: Ints | None = None
    ) -> None:
        """Wait until then, too, in some of the futures; None: in all of them."""
        later = np.flatnonzero(until > (self.until if at is None else self.until[at]))
        where = later if at is None else at[later]
        self.until[where] = until[later]
        self.by[where] = by if isinstance(by, int) else by[later]
        self.what[where] = what
