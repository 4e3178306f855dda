"""Promises spoilt on purpose: the judge must name each of them.

Tests of planner/judge/promise.py, planner/judge/returns.py.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from planner.judge import calendars_judged, judged
from planner.nouns.odds import Factor, HindsightBound
from planner.nouns.plan import Plan
from tests.support.plans import changed

Spoil = Callable[[Plan], Plan]
DAY, TICK = timedelta(days=1), timedelta(minutes=15)


def changed_return(plan: Plan, number: int, **changes: Any) -> Plan:
    """Change a return, light foot traffic or full service; lengths of time are added."""
    returns = list(plan.stage.returns)
    new = {
        k: getattr(returns[number], k) + v if isinstance(v, timedelta) else v
        for k, v in changes.items()
    }
    returns[number] = replace(returns[number], **new)
    return changed(plan, returns=tuple(returns))


def back(number: int, **changes: Any) -> Spoil:
    return lambda plan: changed_return(plan, number, **changes)


def as_worked(number: int) -> Spoil:
    """Promise a return for when the crew's plan has it."""

    def spoil(plan: Plan) -> Plan:
        when = plan.stage.returns[number].when
        return changed_return(plan, number, promise=when)

    return spoil


def sure_of(plan: Plan, **changes: Any) -> Plan:
    return changed(plan, sureness=replace(plan.stage.sureness, **changes))


def sure(**changes: Any) -> Spoil:
    return lambda plan: sure_of(plan, **changes)


def spread(**changes: Any) -> Spoil:
    return lambda plan: sure_of(
        plan, spread=replace(plan.stage.sureness.spread, **changes)
    )


def bound(
    *, low: timedelta = -DAY, high: timedelta = DAY, percent: int = 80
) -> HindsightBound:
    """Return what no plan could promise, between dates so far from it."""
    when = datetime(2027, 3, 1, 12, tzinfo=UTC)
    return HindsightBound(
        percent=percent, futures=32, when=when, low=when + low, high=when + high
    )


def test_a_sound_bound_is_no_fault(planned):
    inputs, plan = planned["corner"].case
    assert not [*judged(inputs, sure_of(plan, bound=bound()))]


def met(**changes: Any) -> Spoil:
    """Change the first booking that the promise may meet."""

    def spoil(plan: Plan) -> Plan:
        first, *others = plan.stage.sureness.collisions
        return sure_of(plan, collisions=(replace(first, **changes), *others))

    return spoil


def threats_left_out(plan: Plan) -> Plan:
    return sure_of(plan, threats=plan.stage.sureness.threats[1:])


def stage_cost(plan: Plan) -> Plan:
    """Pay the stage for the days of the working plan only."""
    start, end = (x.astimezone(plan.stage.air.start.tzinfo) for x in plan.stage.closure)
    days = (end.date() - start.date()).days + 1
    return replace(plan, cost=replace(plan.cost, stage=1900.0 * days))


SPOILT = {
    "surer than asked": (sure(sure_percent=90), "the job asks for 80 %"),
    "tentative for less": (sure(tentative_percent=90), "tentative until 90 %, not 95"),
    "no futures": (sure(futures=0), "comes of no futures"),
    "a threat left out": (threats_left_out, "not each of what threatens it"),
    "another pace": (spread(pace_job=Factor(frac=0.0)), "played with another pace"),
    "another air": (spread(air_delta_k=0.0), "played with another temperature"),
    "own waits": (
        spread(own_waits=(("topping", Factor(frac=0.5)),)),
        "another pace or wait",
    ),
    "another chance of damage": (
        spread(damaged_chance=0.2),
        "played with another damaged_pieces",
    ),
    "another booking before": (spread(overrun_h=9.0), "another booking_late_by"),
    "less possible than that": (
        sure(bound=bound(low=2 * DAY)),
        "it lies outside its own error",
    ),
    "more possible than that": (
        sure(bound=bound(high=-DAY)),
        "it lies outside its own error",
    ),
    "possible for another certainty": (
        sure(bound=bound(percent=50)),
        "not as sure as the promise",
    ),
    "no touch-ups": (spread(touch_ups=False), "without touch-ups"),
    "promised before the working date": (
        back(1, promise=-30 * DAY),
        "full service: its promise lies before",
    ),
    "promised as the crew works": (as_worked(1), "is kept too seldom"),
    "kept more often": (back(1, kept_frac=0.85), "kept more often than its promise"),
    "kept more often than surely": (back(1, kept_frac=1.2), "kept in 1.2"),
    "tentative before the promise": (
        back(1, tentative_until=-30 * DAY),
        "its tentative date lies before",
    ),
    "no moment": (back(0, promise=TICK / 3), "is no moment of the futures played"),
    "light foot traffic after full service": (
        back(0, promise=8 * DAY, tentative_until=8 * DAY),
        "light foot traffic: promised after full service",
    ),
    "tentative within what isn't known": (
        back(1, promise=None),
        "its tentative date lies before",
    ),
    "a booking that isn't there": (met(start=None), "no booking begins"),
    "the stage's days": (stage_cost, "for the stage, days, hours and rates give"),
    "promised earlier, the money as it was": (
        back(1, promise=-3 * DAY),
        "for the stage, days, hours and rates give",
    ),
    "when trolleys may stand there": (back(1, promise=-3 * DAY), "trolleys is told"),
}


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_promise_is_named(planned, name):
    inputs, plan = planned["corner"].case
    spoil, words = SPOILT[name]
    if name == "a booking that isn't there":
        spoil = met(start=plan.stage.sureness.collisions[0].start + DAY)
    found = judged(inputs, spoil(plan))
    assert any(words in fault for fault in found), found


def test_a_booking_after_the_promise_is_met_no_more_often_than_the_promise_is_broken(
    planned,
):
    inputs, plan = planned["corner"].case
    last = plan.stage.sureness.collisions[-1]
    assert last.start > plan.stage.returns[1].promise
    often = (*plan.stage.sureness.collisions[:-1], replace(last, frac=0.4))
    found = judged(inputs, sure_of(plan, collisions=often))
    assert any("though it begins after the promise" in fault for fault in found)


@pytest.mark.parametrize("often", [0.01, None])
def test_a_booking_before_the_promise_is_told_as_often_as_that_is_so(planned, often):
    """A booking half-way between working plan and promise, told too seldom or not at all."""
    inputs, plan = planned["corner"].case
    full = plan.stage.returns[1]
    start = full.when + (full.promise - full.when) / 2
    first = inputs.hours.bookings[0]
    one = replace(first, start=start, end=start + 8 * TICK)
    hours = replace(inputs.hours, bookings=(*inputs.hours.bookings, one))
    told = plan.stage.sureness.collisions
    if often is not None:
        told += (replace(told[0], start=one.start, end=one.end, frac=often),)
    found = judged(replace(inputs, hours=hours), sure_of(plan, collisions=told))
    assert any("though it begins before the promise" in fault for fault in found)


def test_calendars_go_by_the_promise(planned):
    """The working closure, a promise a day off, and one in other words are found."""
    got = planned["corner"]
    _, plan = got.case
    files = {
        str(p.relative_to(got.folder)): p.read_bytes()
        for p in got.folder.rglob("*.ics")
    }
    assert calendars_judged(plan, files) == ()
    for spoil in (
        as_worked(1),
        back(1, promise=-DAY),
        back(1, tentative_until=DAY),
        back(0, promise=TICK),
        back(0, when=TICK),
    ):
        assert calendars_judged(spoil(plan), files)
    other = {
        p: d.replace(b"Keep the stage", b"Leave the stage") for p, d in files.items()
    }
    (fault, *_) = calendars_judged(plan, other)
    assert "closed for the backdrop" in fault
