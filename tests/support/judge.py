"""Finished plans for the judge, each made once, and ways to spoil them on purpose."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from planner.judge import judged
from planner.nouns.calendar import Busy
from planner.nouns.case import Case as Asked
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan, PlannedTask
from planner.nouns.product import Product
from planner.planning.answering import answer
from planner.usecases.plan import Choices
from planner.usecases.read import read_inputs
from tests.support.finished import finished
from tests.support.plans import changed
from tests.support.values import kit

Case = tuple[Inputs, Plan]
MINUTE = timedelta(minutes=1)
SMALL = f"""
[job]
name = "a small room"
time_zone = "Europe/Tallinn"
earliest = 2027-04-05
tick = "15 min"
[survey]
own_making = true
{kit()}[stage]
ceiling = "2.7 m"
wall = "board on wood studs"
apron = "2 m"
[[stage.run]]
name = "long"
length = "3 m"
meets = "short"
[[stage.run]]
name = "short"
length = "2.5 m"
[methods]
[[crew]]
name = "Ana"
trades = ["carpenter", "finisher", "painter"]
shifts = ["Mon-Fri 07:00-13:00 13:30-17:30"]
[[crew]]
name = "Bo"
trades = ["carpenter", "labourer", "painter"]
shifts = ["Mon-Fri 07:00-13:00 13:30-17:30"]
[[crew]]
name = "Cleo"
trades = ["finisher", "painter", "labourer"]
shifts = ["Mon-Fri 07:00-13:00 13:30-17:30"]
"""


def case_of(path: Path, work_limit: float) -> Case:
    """Return a job's facts and a plan of it, found with little work."""
    inputs = read_inputs(path)
    case = Asked(inputs=inputs)
    return inputs, finished(case, answer(case, Choices(work_limit=work_limit).search()))


# ------------------------------------------------------------- what is spoilt


def of(plan: Plan, phase: str, number: int = 0) -> PlannedTask:
    """Return a task of a kind of work, in the order of the plan."""
    return [t for t in plan.tasks if t.phase == phase][number]


def task(id_: str, **changes: Any) -> Callable[[Case], Case]:
    """Change a task of the plan."""
    return lambda case: (case[0], with_task(case[1], id_, **changes))


def with_task(plan: Plan, id_: str, **changes: Any) -> Plan:
    """Return the plan with a task changed; its stage may be left out of the id."""
    id_ = plan.task(id_).id
    return replace(
        plan,
        tasks=tuple(replace(t, **changes) if t.id == id_ else t for t in plan.tasks),
    )


def moved(id_: str, by: timedelta) -> Callable[[Case], Case]:
    """Move a task, with all its stretches."""

    def spoil(case: Case) -> Case:
        t = case[1].task(id_)
        spans = tuple((a + by, b + by) for a, b in t.spans)
        return case[0], with_task(
            case[1], id_, start=t.start + by, end=t.end + by, spans=spans
        )

    return spoil


def placed(id_: str, start: Callable[[Plan], datetime]) -> Callable[[Case], Case]:
    """Move a task so that it begins at a moment of the plan."""
    return lambda case: moved(id_, start(case[1]) - case[1].task(id_).start)(case)


def without(*ids: str) -> Callable[[Case], Case]:
    """Leave tasks out of the plan."""

    def spoil(case: Case) -> Case:
        gone = {case[1].task(id_).id for id_ in ids}
        kept = tuple(t for t in case[1].tasks if t.id not in gone)
        assert len(kept) + len(ids) == len(case[1].tasks)
        return case[0], replace(case[1], tasks=kept)

    return spoil


def plan(**changes: Any) -> Callable[[Case], Case]:
    """Change the plan itself, or its one stage."""
    return lambda case: (case[0], changed(case[1], **changes))


def with_list(case: Case, name: str, items: list[Any]) -> Case:
    """Return a case whose plan has other items in one of its lists."""
    changes: dict[str, Any] = {name: tuple(items)}
    return case[0], changed(case[1], **changes)


def in_plan(plan: Plan, name: str) -> list[Any]:
    """Return one of the lists of a plan or of its one stage."""
    return list(getattr(plan if hasattr(plan, name) else plan.stage, name))


def listed(name: str, number: int = 0, **changes: Any) -> Callable[[Case], Case]:
    """Change one of the plan's lists: its waits, links, returns, crew ..."""

    def spoil(case: Case) -> Case:
        items = in_plan(case[1], name)
        items[number] = replace(items[number], **changes)
        return with_list(case, name, items)

    return spoil


def shortened(name: str, number: int = 0) -> Callable[[Case], Case]:
    """Take one out of one of the plan's lists."""

    def spoil(case: Case) -> Case:
        items = in_plan(case[1], name)
        del items[number]
        return with_list(case, name, items)

    return spoil


def job(**changes: Any) -> Callable[[Case], Case]:
    """Change what the job says."""
    return lambda case: (
        replace(case[0], job=replace(case[0].job, **changes)),
        case[1],
    )


def part(name: str, **changes: Any) -> Callable[[Case], Case]:
    """Change a part of the job: its methods, stage, kit, rates."""
    return lambda case: job(**{name: replace(getattr(case[0].job, name), **changes)})(
        case
    )


def person(number: int, **changes: Any) -> Callable[[Case], Case]:
    """Change what the job says of one of the crew."""

    def spoil(case: Case) -> Case:
        crew = list(case[0].job.crew)
        crew[number] = replace(crew[number], **changes)
        return job(crew=tuple(crew))(case)

    return spoil


def product(id_: str, change: Callable[[Product], Product]) -> Callable[[Case], Case]:
    """Change what is known of a product."""

    def spoil(case: Case) -> Case:
        known = {**case[0].products, id_: change(case[0].products[id_])}
        return replace(case[0], products=known), case[1]

    return spoil


def limits(id_: str, **changes: Any) -> Callable[[Case], Case]:
    """Change the air that a product must have."""
    return product(id_, lambda p: replace(p, limits=replace(p.limits, **changes)))


def hours(id_: str, stage: str, **numbers: float) -> Callable[[Case], Case]:
    """Change the numbers of a stage of a product's hardening."""

    def change(p: Product) -> Product:
        return replace(
            p,
            stages=tuple(
                replace(s, numbers=tuple({**dict(s.numbers), **numbers}.items()))
                if s.stage == stage
                else s
                for s in p.stages
            ),
        )

    return product(id_, change)


def entry(start: datetime, end: datetime, file: str = "other.ics") -> Busy:
    """Return an entry of a calendar."""
    return Busy(start=start, end=end, kind="busy", title="x", file=file, uid="x")


def calendars(change: Callable[[Case], dict[str, Any]]) -> Callable[[Case], Case]:
    """Change what the calendars say."""

    def spoil(case: Case) -> Case:
        read = replace(case[0].hours, **change(case))
        return replace(case[0], hours=read), case[1]

    return spoil


def both(*steps: Callable[[Case], Case]) -> Callable[[Case], Case]:
    """Do one change after the other."""

    def spoil(case: Case) -> Case:
        for step in steps:
            case = step(case)
        return case

    return spoil


def named(case: Case, words: str) -> None:
    """Fail unless the judge names a fault in these words."""
    found = judged(*case)
    assert any(words in fault for fault in found), found
