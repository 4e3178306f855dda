"""What befalls a job that is played, besides its pace, its waits and its air.

Each evening something may be heard of: somebody will be away, the stage is booked or a
booking goes, hours become quiet ones, a piece is damaged, a bay's base is damp, a joint
shows through. How often is invented, and higher than on most jobs, so that each kind is
met often enough. The odds of a plan know of late crates, of absence on a day and of
joints at the shadow check; of the rest they know nothing, and a promise that was made
before can't be held to it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any
from zlib import crc32

import numpy as np

from planner.nouns.happened import Happening, What
from planner.nouns.plan import Plan, PlannedTask

# Chances of each evening (invented, for the plays only).
AWAY, CALLED_OFF = 0.04, 0.2
BOOKED, RELEASED = 0.05, 0.1
QUIET, DAMAGED, DAMP, SHOWS = 0.05, 0.03, 0.03, 0.03
SHOWS_AT_THE_END = 0.1  # once, after the last coat
DAY = timedelta(days=1)
SHOWN_IN = frozenset({"rub", "wipe", "prime"})  # of these, what shows is seen
HANDLED = frozenset({"join", "set", "set-corner", "cut", "join-uprights", "trim"})
BEFALLS = frozenset(
    {
        *(What.AWAY, What.BOOKED, What.RELEASED, What.QUIET, What.DAMAGED),
        *(What.MOISTURE, What.SHOWS, What.LATE, What.UNDO),
    }
)
SINCE_MORNING, AT_THE_CHECK = "not there this morning", "at the shadow check"
FORESEEN = frozenset({SINCE_MORNING, AT_THE_CHECK, "late"})  # by the odds


def heard_words(event: Happening) -> str:
    """Return how an event that befell a job is counted."""
    own = (SINCE_MORNING, AT_THE_CHECK)
    return event.words if event.words in own else str(event.what)


@dataclass(frozen=True, kw_only=True)
class Heard:
    """What is heard of on an evening: fields of an event, and how it is counted."""

    what: What
    about: str = ""
    fields: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Fate:
    """What befalls one play, by its number; the same for each run of it."""

    seed: int
    number: int

    def _random(self, now: datetime, what: str) -> np.random.Generator:
        day = f"{now:%F} {what}"
        return np.random.default_rng([self.seed, self.number, crc32(day.encode())])

    def evening(
        self, plan: Plan, now: datetime, heard: Sequence[Happening]
    ) -> Iterator[Heard]:
        """Yield what is heard of on an evening; `heard` is what still counts."""
        chance = {
            What.AWAY: AWAY,
            What.BOOKED: BOOKED,
            What.QUIET: QUIET,
            What.DAMAGED: DAMAGED,
            What.MOISTURE: DAMP,
            What.SHOWS: SHOWS,
        }
        for what, often in chance.items():
            random = self._random(now, what)
            if random.random() < often:
                yield from getattr(self, what)(plan, now, random)
        for event in heard:
            to_come = event.start is not None and event.start > now + DAY / 2
            random = self._random(now, event.id)
            if event.what is What.BOOKED and to_come and random.random() < RELEASED:
                yield Heard(
                    what=What.RELEASED,
                    fields={"start": event.start, "until": event.until},
                )
            if event.what is What.AWAY and to_come and random.random() < CALLED_OFF:
                yield Heard(what=What.UNDO, about=event.id, fields={})

    def away(
        self, plan: Plan, now: datetime, random: np.random.Generator
    ) -> Iterator[Heard]:
        """Yield that somebody will be away for a day or two, from tomorrow or later."""
        who = plan.crew[int(random.integers(len(plan.crew)))].id
        first = midnight(now) + int(random.integers(1, 4)) * DAY
        until = first + int(random.integers(1, 3)) * DAY
        yield Heard(what=What.AWAY, about=who, fields={"start": first, "until": until})

    def booked(
        self, plan: Plan, now: datetime, random: np.random.Generator
    ) -> Iterator[Heard]:
        """Yield a day for a production: soon, or after what is promised."""
        promise = plan.stage.returns[-1].promise or now + 14 * DAY
        after = random.random() < 0.6
        since = max(promise, now + 2 * DAY) if after else now + 2 * DAY
        first = midnight(since.astimezone(now.tzinfo))
        first += int(random.integers(1, 8)) * DAY
        yield Heard(
            what=What.BOOKED,
            fields={
                "start": first + timedelta(hours=8),
                "until": first + timedelta(hours=20),
                "words": f"production {self.number}",
            },
        )

    def quiet(
        self, plan: Plan, now: datetime, random: np.random.Generator
    ) -> Iterator[Heard]:
        """Yield a morning without loud work."""
        first = midnight(now) + int(random.integers(1, 4)) * DAY
        yield Heard(
            what=What.QUIET,
            fields={
                "start": first + timedelta(hours=9),
                "until": first + timedelta(hours=13),
            },
        )

    def damaged(
        self, plan: Plan, now: datetime, random: np.random.Generator
    ) -> Iterator[Heard]:
        """Yield a damaged piece of a bay that isn't set yet, and when the next one comes."""
        left = [t for t in plan.tasks if t.phase in HANDLED and not t.happened]
        yield from _held(What.DAMAGED, left, now, random, 4)

    def moisture(
        self, plan: Plan, now: datetime, random: np.random.Generator
    ) -> Iterator[Heard]:
        """Yield a bay whose base is damp, and until when."""
        left = [t for t in plan.tasks if t.bays and t.product and not t.happened]
        yield from _held(What.MOISTURE, left, now, random, 3)

    def shows(
        self, plan: Plan, now: datetime, random: np.random.Generator
    ) -> Iterator[Heard]:
        """Yield a joint that shows where sanding or priming is done, colour isn't begun."""
        seen = [
            t
            for t in plan.tasks
            if t.phase in SHOWN_IN and t.happened == "done" and t.end <= now
        ]
        colour = [t for t in plan.tasks if t.phase == "colour"]
        joints = {b for t in plan.tasks if t.phase == "tape" for b in t.bays}
        bays = sorted({b for t in seen for b in t.bays} & joints)
        if bays and not any(t.happened for t in colour):
            bay = bays[int(random.integers(len(bays)))]
            yield Heard(what=What.SHOWS, about=bay, fields={})

    def at_the_end(self, plan: Plan, now: datetime) -> Iterator[Heard]:
        """Yield, once in many plays, a joint that shows after the last coat."""
        last = max((t for t in plan.tasks if t.phase == "colour"), key=lambda t: t.end)
        random = self._random(_EVER, "at the end")
        if random.random() < SHOWS_AT_THE_END:
            joints = {b for t in plan.tasks if t.phase == "tape" for b in t.bays}
            bays = sorted(set(last.bays) & joints)
            bay = bays[int(random.integers(len(bays)))]
            yield Heard(what=What.SHOWS, about=bay, fields={})

    def optimism(self) -> int:
        """Return by how many days too soon late crates are told of at first."""
        return int(self._random(_EVER, "crates").random() < 0.3)


_EVER = datetime(2027, 1, 1)  # noqa: DTZ001 - a name for draws of no day


def _held(
    what: What,
    left: Sequence[PlannedTask],
    now: datetime,
    random: np.random.Generator,
    days: int,
) -> Iterator[Heard]:
    bays = sorted({b for t in left for b in t.bays})
    if bays:
        bay = bays[int(random.integers(len(bays)))]
        until = midnight(now) + int(random.integers(1, days + 1)) * DAY
        until += timedelta(hours=10)
        yield Heard(what=what, about=bay, fields={"until": until, "words": str(what)})


def midnight(moment: datetime) -> datetime:
    """Return the midnight that a moment's day begins with."""
    return datetime.combine(moment.date(), time(), tzinfo=moment.tzinfo)
