"""What a revision moved: two plans of one job, task by task."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from planner.nouns.living.earlier import EarlierPlaces, EarlierTask
from planner.nouns.plan import Plan, PlannedTask


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A task to come that lies elsewhere than before, or has others at it.

    `before` is None for a task that the earlier plan hadn't, `after` for one that the
    new plan hasn't.
    """

    before: PlannedTask | None
    after: PlannedTask | None

    @property
    def task(self) -> PlannedTask:
        """The task as it is planned now, else as it was."""
        found = self.after or self.before
        assert found is not None
        return found

    @property
    def minutes(self) -> int:
        """How much later it begins; less than 0: sooner. [min]."""
        if self.before is None or self.after is None:
            return 0
        return round((self.after.start - self.before.start).total_seconds() / 60)


def moves(before: Plan, after: Plan) -> tuple[Move, ...]:
    """Return what moved of the work to come, in order of time."""
    found = _moves({t.id: t for t in before.tasks}, {t.id: t for t in after.tasks})
    return tuple(sorted(found, key=lambda m: (m.task.start, m.task.id)))


def _moves(
    olds: dict[str, PlannedTask], news: dict[str, PlannedTask]
) -> Iterator[Move]:
    for id_ in dict.fromkeys((*olds, *news)):
        old, new = olds.get(id_), news.get(id_)
        if new is not None and new.happened == "done":
            continue
        if old is None or new is None:
            yield Move(before=old, after=new)
        elif new.happened:
            if old.end != new.end:
                yield Move(before=old, after=new)
        elif (old.start, set(old.team)) != (new.start, set(new.team)):
            yield Move(before=old, after=new)


def earlier_places(
    before: Plan, after: Plan, last: EarlierPlaces | None, *, now: datetime
) -> EarlierPlaces:
    """Return where the tasks were planned that lie elsewhere now, or went otherwise.

    `last` is the same of the earlier plan, if that was revised itself: it knows where
    tasks had been planned that had begun by then.
    """
    news = {t.id: t for t in after.tasks}
    known = {t.task: t for t in last.tasks} if last else {}
    found = []
    for old in before.tasks:
        place = known.get(old.id) if old.happened else None
        place = place or _place(old)
        new = news.get(old.id)
        if new is None or (place.spans, set(place.team)) != (new.spans, set(new.team)):
            found.append(place)
    return EarlierPlaces(now=now, tasks=tuple(found))


def _place(task: PlannedTask) -> EarlierTask:
    return EarlierTask(
        task=task.id,
        title=task.title,
        bays=task.bays,
        on_stage=task.on_stage,
        spans=task.spans,
        team=task.team,
    )
