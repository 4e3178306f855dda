"""What no plan can promise lies before what any plan comes to, future by future.

Tests of planner/promise/hindsight.py.
"""

from datetime import UTC, datetime, timedelta
from math import comb

import numpy as np
import pytest

from planner.nouns.case import Case
from planner.nouns.odds import Threat
from planner.nouns.work import ReturnKind
from planner.odds.play import play
from planner.odds.script import script_in
from planner.planning.answering import answer
from planner.planning.searching import Search
from planner.promise.hindsight import Hindsight, _Future, _interval, hindsight_bound
from planner.promise.improving import as_arranged
from planner.schedule.check.verify import values, verify
from planner.schedule.climb.solve import solve
from planner.schedule.first.reordered import Reordering
from planner.schedule.problem.limits import SearchLimits, StoppedError
from planner.schedule.problem.outcome import Planned
from planner.schedule.problem.parts import AimKind
from planner.schedule.space import teams
from planner.usecases.read import read_inputs
from tests.support.values import STRAIGHT, changed, job_file

LITTLE = Search(limits=SearchLimits(work=0.05))
FUTURES = 12
KINDS = {
    "as it is": STRAIGHT,
    "crates late, joints seen": changed(
        STRAIGHT,
        (
            "earliest = 2027-02-08",
            "earliest = 2027-02-08\ndelivery = 2027-02-09T10:00:00",
        ),
        ("[stage]", '[odds]\nlate_crates = "60 %"\npace = "30 %"\n[stage]'),
    ),
    "a booking before it": changed(
        STRAIGHT, ("[stage]", '[stage]\nbookings = ["bookings.ics"]')
    ),
    "damp": STRAIGHT + '[air]\ntemperature = "58 F"\nhumidity = "78 %"\n',
}
# half an hour of the stage's second week: no closure fits in before it
BOOKED = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//covetime//tests//EN
BEGIN:VEVENT
UID:booked@covetime.invalid
DTSTAMP:20270101T000000Z
DTSTART:20270217T190000Z
DTEND:20270217T193000Z
END:VEVENT
END:VCALENDAR
"""


def case_of(folder, kind):
    (folder / "bookings.ics").write_text(BOOKED.replace("\n", "\r\n"))
    return Case(inputs=read_inputs(job_file(folder, KINDS[kind])))


@pytest.mark.parametrize(
    "kind",
    [
        pytest.param(k, marks=[pytest.mark.slow] if n else [])
        for n, k in enumerate(reversed(KINDS))
    ],
)
def test_no_plan_returns_before_what_is_known_of_a_future(tmp_path, kind):
    case = case_of(tmp_path, kind)
    first = answer(case, LITTLE)
    known = Hindsight(case, max(r.when for r in first.returns), seed=3, futures=FUTURES)
    assert known.holds
    least = np.array([known.least_return(f) for f in range(FUTURES)])
    assert len(set(least.tolist())) > 1
    order, teams = as_arranged(known.problem, first.placements)
    passes = Reordering(known.problem.instance)
    plans = [first.placements, passes.plan(order, {}), passes.plan(order[::-1], teams)]
    tight = 0
    for plan in plans:
        assert plan is not None
        played = play(script_in(known.rooms[0], plan), known.draws)
        back = played.returns[ReturnKind.FULL_SERVICE]
        assert (least <= back).all()
        tight += int((back - least <= 4 * 24 * 3).sum())
    assert tight > 0  # it isn't true because it says nothing


@pytest.mark.parametrize(
    ("kind", "future"),
    [
        ("as it is", 1),
        # work that must lie between two times would fit in sooner, but not in any order
        pytest.param("a booking before it", 3, marks=pytest.mark.slow),
    ],
)
def test_a_crew_that_knew_a_future_could_be_back_when_the_bound_says(
    tmp_path, kind, future
):
    """By a plan that passes the checker of the rules that are left in that future."""
    case = case_of(tmp_path, kind)
    until = datetime(2027, 3, 20, tzinfo=UTC)
    known = Hindsight(case, until, seed=3, futures=8)
    instance = _Future(known, future).instance()
    found = solve(instance)
    assert isinstance(found, Planned)
    assert verify(instance, found.placements) == ()
    back = values(instance, found.placements)[AimKind.LAST_RETURN]
    assert known.least_return(future) == back


@pytest.mark.slow
def test_teams_that_are_not_weighed_leave_the_bound_true(tmp_path, monkeypatch):
    """The only one weighed for each task is of who is there the longest, alone."""
    crew = changed(
        STRAIGHT,
        (
            'name = "Bo"\ntrades = ["labourer", "painter"]',
            'name = "Bo"\ntrades = ["carpenter", "finisher", "labourer", "painter"]\n\n'
            '[[crew]]\nname = "Cy"\n'
            'trades = ["carpenter", "finisher", "labourer", "painter"]\n'
            'shifts = ["Mon,Tue,Wed,Thu,Fri,Sat,Sun 08:00-20:00"]',
        ),
    )
    case = Case(inputs=read_inputs(job_file(tmp_path, crew)))
    until = datetime(2027, 3, 20, tzinfo=UTC)
    of_all = Hindsight(case, until, seed=3, futures=2)
    best = [of_all.least_return(f) for f in range(2)]
    monkeypatch.setattr(teams, "MOST_TEAMS", 1)
    of_some = Hindsight(case, until, seed=3, futures=2)
    assert of_some.closed_from <= of_all.closed_from
    assert 0 < of_some.planned <= of_all.planned
    for future, back in enumerate(best):
        assert of_all.closed_from < of_some.least_return(future) <= back


def test_what_was_not_looked_at_to_its_end_is_not_told(tmp_path):
    case = Case(inputs=read_inputs(job_file(tmp_path)))
    until = datetime(2027, 3, 20, tzinfo=UTC)
    with pytest.raises(StoppedError):
        hindsight_bound(case, until, percent=80, futures=1, over=lambda: True)


@pytest.mark.slow
def test_the_stage_is_not_closed_before_a_booking_that_no_plan_could_end_before(
    tmp_path,
):
    """What a crew that knew everything did in the gap before it, no plan could begin."""
    case = case_of(tmp_path, "a booking before it")
    booked = datetime(2027, 2, 17, 19, 30, tzinfo=UTC)
    known = Hindsight(case, booked + timedelta(weeks=4), seed=3, futures=1)
    grid = known.problem.grid
    assert grid.instant(known.closed_from) >= booked
    assert known.least_return(0) > known.closed_from
    free = case_of(tmp_path, "as it is")
    sooner = Hindsight(free, booked + timedelta(weeks=4), seed=3, futures=1)
    assert sooner.closed_from < grid.floor(booked)
    assert sooner.least_return(0) < known.least_return(0)


@pytest.mark.slow
def test_no_crew_lays_a_coat_in_air_that_its_sheet_forbids(tmp_path, monkeypatch):
    case = case_of(tmp_path, "damp")
    until = datetime(2027, 3, 1, tzinfo=UTC)
    known = Hindsight(case, until, seed=3, futures=4)
    free = Hindsight(case, until, seed=3, futures=4)
    monkeypatch.setattr(free.rooms[0], "limits", lambda _: ())
    late = [known.least_return(f) - free.least_return(f) for f in range(4)]
    assert min(late) == 0
    assert max(late) > 0


def test_crates_that_come_late_hold_a_crew_that_knew_it_by_whatever_day_they_were_due(
    tmp_path,
):
    late = changed(STRAIGHT, ("[stage]", '[odds]\nlate_crates = "100 %"\n[stage]'))
    known = Hindsight(
        Case(inputs=read_inputs(job_file(tmp_path, late))),
        datetime(2027, 3, 20, tzinfo=UTC),
        seed=3,
        futures=2,
    )
    days = known.draws.late_days()
    future = int(days.argmax())
    back = known.least_return(future)
    per_day = round(24 * 60 / known.problem.grid.tick_minutes)
    known.draws = known.draws.as_planned(Threat.DELIVERY)
    in_time = known.least_return(future)
    assert days[future] >= 1
    assert in_time < back <= in_time + (days[future] + 7) * per_day


def test_nothing_is_promised_before_the_working_plan_is_over(tmp_path):
    """Of a job whose work would always be quicker than its rates."""
    quick = changed(
        STRAIGHT,
        (
            "[stage]",
            '[odds]\npace = { p10 = "40 %", p90 = "50 %" }\n'
            'waits = { p10 = "40 %", p90 = "50 %" }\ntouch_up = "5 min"\n[stage]',
        ),
    )
    case = Case(inputs=read_inputs(job_file(tmp_path, quick)))
    first = answer(case, LITTLE)
    last = max(r.when for r in first.returns)
    known = Hindsight(case, last, seed=1, futures=4)
    assert known.planned > max(known.least_return(f) for f in range(4))
    found = hindsight_bound(case, last, percent=80, futures=4)
    assert found is not None
    assert found.when == known.problem.grid.instant(known.planned)
    assert found.when <= last


def test_readings_of_a_room_whose_air_no_coat_changes_leave_the_bound_true(tmp_path):
    told = "time,temp_C,rh_pct\n2027-02-09 08:00,16,60\n2027-02-09 12:00,17,55\n"
    (tmp_path / "air.csv").write_text(told)
    read = STRAIGHT + '[air]\nreadings = "air.csv"\n'
    described = read + '[air.room]\nvolume = "180 m3"\n'
    for text, holds in ((read, True), (described, False)):
        case = Case(inputs=read_inputs(job_file(tmp_path, text)))
        until = datetime(2027, 3, 1, tzinfo=UTC)
        assert Hindsight(case, until, seed=1, futures=1).holds is holds


def test_the_bound_of_a_promise_lies_within_its_own_error(tmp_path):
    case = Case(inputs=read_inputs(job_file(tmp_path)))
    first = answer(case, LITTLE)
    found = hindsight_bound(
        case, max(r.when for r in first.returns), percent=50, futures=FUTURES
    )
    assert found is not None
    assert found.low is not None
    assert found.when is not None
    assert found.high is not None
    assert found.low <= found.when <= found.high


@pytest.mark.parametrize(("count", "share"), [(32, 0.8), (12, 0.5), (24, 0.95)])
def test_the_places_hold_the_quantile_nineteen_times_in_twenty(count, share):
    """The binomial distribution, summed up from its own terms."""
    low, high = _interval(count, share)

    def below(number):
        terms = (
            comb(count, k) * share**k * (1 - share) ** (count - k)
            for k in range(number + 1)
        )
        return sum(terms)

    assert below(low) <= 0.025 < below(low + 1)
    assert high == count or below(high) >= 0.975
    assert below(high - 1) < 0.975
