"""What a plan that was revised had elsewhere before: tasks that moved, or went otherwise."""

from dataclasses import dataclass
from datetime import datetime

Stretch = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierTask:
    """Where a task was planned: its stretches of work and its team (ids of people).

    Of a task that has begun it is the place that it had in the last plan before it
    began, so that it can be held against what happened.
    """

    task: str
    title: str
    bays: tuple[str, ...]
    on_stage: bool
    spans: tuple[Stretch, ...]
    team: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierPlaces:
    """The tasks whose place or team a revised plan changes; `now` is when it was made.

    What lies before `now` is past: there the plan in force says what happened.
    """

    now: datetime
    tasks: tuple[EarlierTask, ...]
