"""What a revision moved: two plans of one job, task by task."""

from collections.abc import Iterator
from dataclasses import dataclass

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
