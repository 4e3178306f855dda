"""What plays of a living job came to: a line for each, and what all of them say.

A promise is judged if nothing came after it that the odds know nothing of: no booking,
absence that was announced, quiet hours, damaged piece, damp base, or joint that showed
elsewhere than at the shadow check. Any promise that was broken must have been told to be
before its day came.
"""

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np

from tests.benchmarks.living_events import FORESEEN


@dataclass(frozen=True, kw_only=True)
class Evening:
    """What one revision came to."""

    now: datetime
    promise: datetime | None
    called: int  # shifts of the next two days by the plan before
    kept: int  # of them, those that the revised plan still has
    anew: int | None  # of them, those that a plan made anew has; None: not made
    heard: tuple[str, ...] = ()  # what befell the job that evening, besides its work


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one play; `faults` are breaches of what must hold, in words."""

    number: int
    first: datetime | None  # the promise before the work began
    back: datetime
    evenings: tuple[Evening, ...]
    faults: tuple[str, ...]
    processor_s: float = 0.0

    def promises(self) -> Iterator[tuple[datetime | None, datetime, bool]]:
        """Yield each promise, the moment of it, and whether it may be judged."""
        heard = [(e.now, set(e.heard)) for e in self.evenings]
        last = max((now for now, w in heard if w - FORESEEN), default=None)
        if self.evenings:
            yield self.first, self.evenings[0].now, last is None
        for e in self.evenings:
            yield e.promise, e.now, last is None or e.now >= last

    def is_kept(self, promise: datetime | None) -> bool:
        """Tell whether a promise was kept; one that none was made of wasn't."""
        return promise is not None and self.back <= promise

    def is_told(self, promise: datetime) -> bool:
        """Tell whether somebody was told of a later promise before one's day."""
        return any(
            e.promise is None or e.promise > promise
            for e in self.evenings
            if e.now < promise
        )


def summary(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """Yield what the plays came to."""
    evenings = [e for o in outcomes for e in o.evenings]
    yield f"{len(outcomes)} plays, {len(evenings)} revisions"
    heard = Counter(h for e in evenings for h in e.heard)
    yield "heard of: " + ", ".join(f"{n} {what}" for what, n in sorted(heard.items()))
    faults = [f for o in outcomes for f in o.faults]
    yield f"breaches: {len(faults)} {faults[:3]}"
    yield from _kept(outcomes)
    called, kept = sum(e.called for e in evenings), sum(e.kept for e in evenings)
    yield f"called shifts that survive: {kept} of {called}"
    calm = [e for e in evenings if not e.heard]
    yield (
        f"on evenings on which nothing befell: {sum(e.kept for e in calm)} of "
        f"{sum(e.called for e in calm)}"
    )
    both = [e for e in evenings if e.anew is not None]
    if both:
        yield (
            f"where compared: {sum(e.kept for e in both)} of "
            f"{sum(e.called for e in both)} near, {sum(e.anew or 0 for e in both)} anew"
        )


def _kept(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """Yield how often promises were kept, and broken ones told of."""
    first = [(o, p) for o in outcomes for p, _, ok in [*o.promises()][:1] if ok]
    kept = sum(o.is_kept(p) for o, p in first)
    yield f"first promise kept: {kept} of {len(first)}{_share(kept, len(first))}"
    of_plays = [
        np.mean([o.is_kept(p) for p, _, ok in o.promises() if ok])
        for o in outcomes
        if o.evenings
    ]
    if of_plays:
        error = float(np.std(of_plays)) / sqrt(len(of_plays))
        yield (
            "promise of an evening kept, mean of the plays: "
            f"{np.mean(of_plays):.3f} +- {error:.3f}"
        )
    broken = [
        (o, p)
        for o in outcomes
        for p in {p for p, _, _ in o.promises() if p is not None}
        if o.back > p
    ]
    told = sum(o.is_told(p) for o, p in broken)
    yield f"broken, and told before its day: {told} of {len(broken)}"


def _share(kept: int, of: int) -> str:
    if not of:
        return ""
    share = kept / of
    return f", {share:.3f} +- {sqrt(share * (1 - share) / of):.3f}"


# --------------------------------------------------------------------- a line for each


def line_of(outcome: Outcome) -> str:
    """Return a play as a line of JSON."""
    return json.dumps(asdict(outcome), default=datetime.isoformat)


def outcomes_in(path: Path) -> list[Outcome]:
    """Return the plays that a file holds."""
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    return [_outcome(json.loads(line)) for line in lines]


def _outcome(read: dict[str, Any]) -> Outcome:
    evenings = tuple(
        Evening(
            now=datetime.fromisoformat(e["now"]),
            promise=_moment(e["promise"]),
            called=e["called"],
            kept=e["kept"],
            anew=e["anew"],
            heard=tuple(e["heard"]),
        )
        for e in read["evenings"]
    )
    return Outcome(
        number=read["number"],
        first=_moment(read["first"]),
        back=datetime.fromisoformat(read["back"]),
        evenings=evenings,
        faults=tuple(read["faults"]),
        processor_s=read["processor_s"],
    )


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
