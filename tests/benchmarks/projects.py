"""Published problems in one form: activities, arcs, and pools that are shared.

A job shop is one too, each machine a pool of one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    Closure,
    Demand,
    Link,
    Mode,
    Pool,
    Term,
)

Shop = Sequence[Sequence[tuple[int, int]]]  # a row a job: (machine, ticks) in order


@dataclass(frozen=True, slots=True, kw_only=True)
class Project:
    """Activities numbered from 0: ticks, what each takes of each pool, and arcs.

    `best_known` is the length of the best plan that has been published, and
    `proven_bound` what has been published as the least possible.
    """

    set: str
    name: str
    ticks: tuple[int, ...]
    needs: tuple[tuple[int, ...], ...]  # by activity, by pool
    capacity: tuple[int, ...]
    arcs: tuple[tuple[int, int], ...]  # (before, after)
    best_known: int | None = None
    proven_bound: int | None = None

    @property
    def size(self) -> int:
        """The number of activities."""
        return len(self.ticks)

    @property
    def sinks(self) -> tuple[int, ...]:
        """The activities that nothing comes after."""
        return tuple(sorted(set(range(self.size)) - {a for a, _ in self.arcs}))

    @property
    def longest(self) -> int:
        """The length of one activity after the other."""
        return sum(self.ticks)


def shop_project(
    name: str, shop: Shop, *, best_known: int | None = None, group: str = "shops"
) -> Project:
    """Return a job shop as a project; `best_known` is its proven optimum."""
    steps = [step for job in shop for step in job]
    machines = sorted({machine for machine, _ in steps})
    arcs, first = [], 0
    for job in shop:
        arcs += list(pairwise(range(first, first + len(job))))
        first += len(job)
    return Project(
        set=group,
        name=name,
        ticks=tuple(ticks for _, ticks in steps),
        needs=tuple(tuple(int(m == at) for m in machines) for at, _ in steps),
        capacity=(1,) * len(machines),
        arcs=tuple(arcs),
        best_known=best_known,
        proven_bound=best_known,
    )


def as_instance(project: Project) -> Instance:
    """Return the project as an instance in which nobody is needed."""
    tasks = tuple(
        Activity(
            id=task_name(k),
            modes=(Mode(size=0, ticks=ticks),),
            demands=tuple(
                Demand(pool=f"pool{j}", amount=amount)
                for j, amount in enumerate(project.needs[k])
                if amount
            ),
        )
        for k, ticks in enumerate(project.ticks)
    )
    return Instance(
        horizon=project.longest,
        tasks=tasks,
        pools=tuple(
            Pool(id=f"pool{j}", capacity=n) for j, n in enumerate(project.capacity)
        ),
        links=tuple(
            Link(before=task_name(a), after=task_name(b)) for a, b in project.arcs
        ),
        closures=(
            Closure(
                id="project",
                tasks=tuple(t.id for t in tasks),
                terms=tuple(Term(task=task_name(k)) for k in project.sinks),
            ),
        ),
        aims=(AimKind.LAST_RETURN,),
    )


def task_name(activity: int) -> str:
    """Return the task that stands for an activity."""
    return f"a{activity:03d}"


def placed(project: Project, starts: Iterable[int]) -> tuple[Placement, ...]:
    """Return the starts of all activities, in order, as a plan of the instance."""
    return tuple(
        Placement(
            task=task_name(k),
            team=(),
            start=start,
            end=start + ticks,
            worked=Spans(((start, start + ticks),)),
        )
        for k, (start, ticks) in enumerate(zip(starts, project.ticks, strict=True))
    )
