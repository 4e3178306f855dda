"""Worked examples of the critical path method go through the same engine.

Without people, pools and calendars, earliest dates are what the aim "early" gives, and
slack is total and free float. Units are days or weeks as printed; one tick is one unit.

References
----------
NINE: scribd.com/document/458251733, "Example 3" (course assignment on total float):
    durations, predecessors, dates and total float are printed; free float is worked out
    by its definition, least start of what follows less own finish.
EIGHT: slideplayer.com/slide/3283910 (slides on the critical path method): durations and
    all eight pairs of dates are printed; the predecessors are inferred from them, the
    floats worked out.
TEN: ru.scribd.com/presentation/365103865 (slides, weeks): durations, predecessors, the
    four path lengths and the critical path are printed; the floats are worked out.

Tests of planner/schedule/climb/solve.py, planner/schedule/why/chain.py,
planner/schedule/why/explain.py, planner/schedule/why/slack.py.
"""

import pytest

from planner.schedule.climb.solve import solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Cause, Placement, Planned
from planner.schedule.problem.parts import Activity, AimKind, Closure, Link, Mode, Term
from planner.schedule.why.explain import holding_chain, slack

Net = dict[str, tuple[int, str]]  # activity: duration, predecessors

NINE: Net = {
    "A": (3, ""),
    "B": (5, "A"),
    "C": (8, "A"),
    "D": (10, "B"),
    "E": (5, "B"),
    "F": (7, "C"),
    "G": (12, "D"),
    "H": (8, "EF"),
    "I": (3, "GH"),
}
# ES, EF, LS, LF, total float, free float
NINE_DATES = {
    "A": (0, 3, 0, 3, 0, 0),
    "B": (3, 8, 3, 8, 0, 0),
    "C": (3, 11, 7, 15, 4, 0),
    "D": (8, 18, 8, 18, 0, 0),
    "E": (8, 13, 17, 22, 9, 5),
    "F": (11, 18, 15, 22, 4, 0),
    "G": (18, 30, 18, 30, 0, 0),
    "H": (18, 26, 22, 30, 4, 4),
    "I": (30, 33, 30, 33, 0, 0),
}
EIGHT: Net = {
    "A": (4, ""),
    "B": (3, "A"),
    "C": (5, "A"),
    "D": (2, "A"),
    "E": (5, "BC"),
    "F": (6, "CD"),
    "G": (4, "EF"),
    "H": (3, "G"),
}
TEN: Net = {
    "A": (2, ""),
    "B": (3, ""),
    "C": (4, ""),
    "D": (1, "A"),
    "E": (2, "B"),
    "F": (5, "B"),
    "G": (7, "C"),
    "H": (2, "DE"),
    "I": (3, "FG"),
    "J": (1, "HI"),
}


def as_instance(net: Net, last: str) -> Instance:
    """Return the network as an instance in which nobody is needed."""
    return Instance(
        horizon=60,
        tasks=tuple(
            Activity(id=k, modes=(Mode(size=0, ticks=ticks),))
            for k, (ticks, _) in net.items()
        ),
        links=tuple(
            Link(before=b, after=k) for k, (_, before) in net.items() for b in before
        ),
        closures=(Closure(id="project", tasks=tuple(net), terms=(Term(task=last),)),),
        aims=(AimKind.LAST_RETURN, AimKind.EARLY),
    )


def planned(net: Net, last: str) -> tuple[Instance, dict[str, Placement], int]:
    """Return the instance, its placements by activity, and the project's length."""
    instance = as_instance(net, last)
    outcome = solve(instance)
    assert isinstance(outcome, Planned)
    assert all(aim.proven for aim in outcome.aims)
    return instance, {p.task: p for p in outcome.placements}, outcome.aims[0].value


def floats(net: Net, last: str) -> dict[str, tuple[int, int]]:
    """Return total and free float of each activity."""
    instance, plan, _ = planned(net, last)
    return slack(instance, tuple(plan.values()))


def critical(net: Net, last: str) -> str:
    """Return what holds the end, from first to last activity."""
    instance, plan, _ = planned(net, last)
    steps = holding_chain(instance, tuple(plan.values()), "project")
    assert {s.cause for s in steps} == {Cause.LINK, Cause.BEGIN}
    return "".join(s.task for s in reversed(steps))


def test_nine_activities_have_every_printed_date_and_float():
    instance, plan, length = planned(NINE, "I")
    found = slack(instance, tuple(plan.values()))
    dates = {
        k: (p.start, p.end, p.start + found[k][0], p.end + found[k][0], *found[k])
        for k, p in plan.items()
    }
    assert dates == NINE_DATES
    assert length == 33


def test_eight_activities_have_every_printed_date():
    _, plan, length = planned(EIGHT, "H")
    assert {k: (p.start, p.end) for k, p in plan.items()} == {
        "A": (0, 4),
        "B": (4, 7),
        "C": (4, 9),
        "D": (4, 6),
        "E": (9, 14),
        "F": (9, 15),
        "G": (15, 19),
        "H": (19, 22),
    }
    assert length == 22


def test_eight_activities_have_the_floats_of_their_dates():
    found = floats(EIGHT, "H")
    assert {k: v for k, v in found.items() if v != (0, 0)} == {
        "B": (3, 2),
        "D": (3, 3),
        "E": (1, 1),
    }


def test_ten_activities_take_fifteen_weeks():
    assert planned(TEN, "J")[2] == 15


def test_ten_activities_have_the_floats_of_their_dates():
    total = {"A": 9, "B": 3, "D": 9, "E": 7, "F": 3, "H": 7}
    free = {"D": 2, "F": 3, "H": 7}
    assert floats(TEN, "J") == {k: (total.get(k, 0), free.get(k, 0)) for k in TEN}


@pytest.mark.parametrize(
    ("net", "last", "path"),
    [(NINE, "I", "ABDGI"), (EIGHT, "H", "ACFGH"), (TEN, "J", "CGIJ")],
    ids=["nine", "eight", "ten"],
)
def test_binding_chain_is_the_printed_critical_path(net, last, path):
    assert critical(net, last) == path
