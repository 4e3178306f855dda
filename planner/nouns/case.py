"""A case: all that was read for a job, and what is asked of its plan besides."""

import hashlib
from dataclasses import dataclass, fields
from datetime import UTC, datetime

from planner.nouns.inputs import Inputs
from planner.nouns.protection import UNPROTECTED, Protection


def _refuse_floating(**moments: datetime | None) -> None:
    for name, moment in moments.items():
        if moment is not None and moment.utcoffset() is None:
            raise ValueError(f"{name}: {moment} has no zone")


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureWindow:
    """When the stage may be closed: from a moment on, back in full service by another.

    Work off the stage may lie before it. Moments have a zone; None: no limit.
    """

    not_before: datetime | None = None
    not_after: datetime | None = None

    def __post_init__(self) -> None:
        """Refuse moments without a zone, and a window that has no length."""
        _refuse_floating(not_before=self.not_before, not_after=self.not_after)
        first, last = self.not_before, self.not_after
        if first is not None and last is not None and first >= last:
            raise ValueError(f"window: {first} is not before {last}")


ANY_TIME = ClosureWindow()


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledTask:
    """A task that is carried out, and of which the fields given can't move.

    `start` and `end` lie on the job's step; `team` are ids of the crew.
    """

    task: str
    start: datetime | None = None
    end: datetime | None = None
    team: tuple[str, ...] | None = None

    def __post_init__(self) -> None:
        """Refuse moments without a zone."""
        _refuse_floating(start=self.start, end=self.end)


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreedTask:
    """Where a task lay in the plan that was last told to people, and who was to do it."""

    task: str
    start: datetime
    team: tuple[str, ...]

    def __post_init__(self) -> None:
        """Refuse a moment without a zone."""
        _refuse_floating(start=self.start)


@dataclass(frozen=True, slots=True, kw_only=True)
class PastTask:
    """A task that was begun, as it went: when, by whom, what is left of it.

    Moments lie on the job's step. `end` is None while it is under way; then `left_h`
    are hours of work of one person that are still to be done from the moment of
    revising on, setting up on the days to come among them. `spans` are the stretches worked until then. `found_dry` and
    `found_wet` are when its coat was last found so; the later of both counts.
    """

    task: str
    start: datetime
    end: datetime | None
    team: tuple[str, ...]
    spans: tuple[tuple[datetime, datetime], ...]
    left_h: float = 0.0
    found_dry: datetime | None = None
    found_wet: datetime | None = None

    def __post_init__(self) -> None:
        """Refuse moments without a zone, and a task that ends before it begins."""
        _refuse_floating(
            start=self.start,
            end=self.end,
            found_dry=self.found_dry,
            found_wet=self.found_wet,
        )
        if self.end is not None and self.end <= self.start:
            raise ValueError(f"{self.task}: {self.start} is not before {self.end}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What happened until a moment, `now`: nothing else begins before it."""

    now: datetime
    tasks: tuple[PastTask, ...]

    def __post_init__(self) -> None:
        """Refuse a moment without a zone."""
        _refuse_floating(now=self.now)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What is to be planned.

    `settled` tasks can't move; what was `agreed` moves as little as an early return
    and a short closure let it. `protection` makes work and waits longer in the search;
    a plan is told with an unprotected case. Of a job that has begun, `past` says how far
    it has come.
    """

    inputs: Inputs
    window: ClosureWindow = ANY_TIME
    settled: tuple[SettledTask, ...] = ()
    agreed: tuple[AgreedTask, ...] = ()
    protection: Protection = UNPROTECTED
    past: Past | None = None

    @property
    def fingerprint(self) -> str:
        """What tells this case from every other one, in hexadecimal digits.

        It is that of the inputs where nothing is asked besides.
        """
        asked: tuple[object, ...] = (self.window, self.settled, self.agreed)
        guarded = self.protection != UNPROTECTED
        if asked == (ANY_TIME, (), ()) and not guarded and self.past is None:
            return self.inputs.fingerprint
        if guarded:
            asked = (*asked, self.protection)
        if self.past is not None:
            asked = (*asked, self.past)
        said = f"{self.inputs.fingerprint} {_plain(asked)!r}"
        return hashlib.sha256(said.encode()).hexdigest()


def _plain(value: object) -> object:
    """Return records and moments as plain values, the same for the same instant."""
    match value:
        case datetime():
            return value.astimezone(UTC).isoformat()
        case tuple():
            return [_plain(v) for v in value]
        case (
            ClosureWindow()
            | SettledTask()
            | AgreedTask()
            | Protection()
            | Past()
            | PastTask()
        ):
            return [_plain(getattr(value, f.name)) for f in fields(value)]
        case _:
            return value
