"""What a revision moved: from where to where, and what happened otherwise than planned."""

from collections.abc import Iterable
from dataclasses import dataclass

from planner.nouns.living.earlier import EarlierPlaces, EarlierTask
from planner.nouns.plan import PlannedTask
from planner.report.drawing.view import View


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedRow:
    """A task: where it was planned, where it is now or how it went, and who does it."""

    title: str
    was: str
    now: str
    who: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedTables:
    """What moved of the work to come, and what happened otherwise; `as_of` a moment."""

    as_of: str
    to_come: tuple[MovedRow, ...]
    happened: tuple[MovedRow, ...]


def moved_tables(view: View, earlier: EarlierPlaces) -> MovedTables:
    """Return both tables, in order of time."""
    to_come: list[MovedRow] = []
    happened: list[MovedRow] = []
    for place in sorted(earlier.tasks, key=lambda t: (t.spans[0], t.task)):
        task = view.tasks.get(place.task)
        past = task is not None and task.happened
        (happened if past else to_come).append(_row(view, place, task))
    return MovedTables(
        as_of=view.when(earlier.now),
        to_come=tuple(to_come),
        happened=tuple(happened),
    )


def _row(view: View, place: EarlierTask, task: PlannedTask | None) -> MovedRow:
    was = view.span(place.spans[0][0], place.spans[-1][1])
    if task is None:
        return MovedRow(title=place.title, was=was, now="falls away", who="")
    now = view.span(task.start, task.end)
    who = view.team(task)
    if set(task.team) != set(place.team):
        who += f" instead of {_names(view, place.team)}"
    if task.happened == "begun":
        now += ", under way"
    return MovedRow(title=task.title, was=was, now=now, who=who)


def _names(view: View, team: Iterable[str]) -> str:
    return ", ".join(view.names.get(p, p) for p in team)
