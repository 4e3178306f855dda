"""A job without a plan: all reasons together, and changes that were found to make it fit.

Each job is the small wall of `tests/support/values.py` with something that can't be.

Tests of planner/planning/refusals/at_once.py, planner/planning/answering.py,
planner/planning/posing.py, planner/levers/ways_out.py,
planner/usecases/comparing/fitting.py.
"""

import re
import shlex
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from planner.errors import NoPlanError
from planner.files.job.edits.said_changes import changes_said
from planner.levers.ways_out import WayOut, ways_out
from planner.nouns.case import Case, ClosureWindow
from planner.planning.answer import Answer
from planner.planning.answering import answer, first_fit, fits
from planner.planning.posing import posed_from
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.units import moment_words
from planner.usecases.comparing import fitting
from planner.usecases.comparing.fitting import with_ways_out
from planner.usecases.read import Papers
from tests.support.command import covetime
from tests.support.ics import HALIFAX, calendar, event, put
from tests.support.side_by_side import SMALL
from tests.support.values import STRAIGHT, changed, job_file

SEARCH = Search(limits=SearchLimits())
COLD = '\n[air]\ntemperature = "8 C"\n'
SHORT = (
    'trades = ["carpenter", "finisher", "painter"]',
    'trades = ["carpenter", "finisher", "painter"]\nshifts = ["Mon-Fri 08:00-11:00"]',
)
NO_LABOURER = ('["labourer", "painter"]', '["finisher"]')
ALONE = changed(
    STRAIGHT, ('\n[[crew]]\nname = "Bo"\ntrades = ["labourer", "painter"]', "")
)


def refused(path: Path) -> NoPlanError:
    with pytest.raises(NoPlanError) as error:
        answer(Papers(path).case(), SEARCH)
    return error.value


def fit(path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return what is found to make a job fit, however slow the machine is."""
    monkeypatch.setattr(fitting, "LOOKED_S", 120.0)
    found = with_ways_out(path, refused(path), lambda: False, None)
    return list(found.fits)


# ------------------------------------------------------------- reasons, all together


def test_reasons_that_need_no_search_are_told_together(tmp_path):
    """Nobody paints, and it is too cold for every coat: each would be enough."""
    text = changed(
        STRAIGHT,
        (', "painter"]\n\n', "]\n\n"),
        ('["labourer", "painter"]', '["labourer"]'),
    )
    error = refused(job_file(tmp_path, text + COLD))
    assert error.message == (
        "the crew has nobody for some of the work; no hour keeps what some of the "
        "coats need of the air"
    )
    assert any(
        '"Primer coat 1"' in c and c.endswith("a painter; nobody of the crew is one")
        for c in error.conflict
    )
    cold = [c for c in error.conflict if c.startswith("no hour keeps Flat colour")]
    assert cold
    # how much is needed and how much there is
    assert "10 °C (50 °F) or more" in cold[0]
    assert cold[0].endswith("; surfaces are at 8 °C (46 °F)")
    assert "humidity" not in cold[0]
    assert error.facts[0] == "nobody"
    assert {f.partition(":")[0] for f in error.facts[1:]} == {"limits"}


def test_a_single_reason_is_told_as_it_was(tmp_path):
    text = changed(
        STRAIGHT,
        (', "painter"]\n\n', "]\n\n"),
        ('["labourer", "painter"]', '["labourer"]'),
    )
    error = refused(job_file(tmp_path, text))
    assert error.message == "the crew has nobody for some of the work"
    assert error.facts == ("nobody",)


# ----------------------------------------------------------------- what makes it fit


def test_some_plan_is_enough_to_fit_and_none_is_none(tmp_path):
    papers = Papers(job_file(tmp_path))
    assert fits(papers.case(), SEARCH)
    cold = changes_said("air.temperature=8 C", "")
    assert not fits(papers.case(*cold), SEARCH)
    nobody = changes_said('crew.Ana.trades=["finisher"]', "")
    assert not fits(papers.case(*nobody), SEARCH)


def test_one_of_the_missing_trade_is_told_and_with_them_there_is_a_plan(
    tmp_path, monkeypatch
):
    text = changed(STRAIGHT, ('"carpenter", ', ""))
    path = job_file(tmp_path, text)
    (first, *_) = fit(path, monkeypatch)
    assert first.startswith("one more carpenter, needed in the plan found from ")
    assert "(--change 'more.crew=[" in first
    assert fits(Papers(path).case(*said(first)), SEARCH)


@pytest.mark.slow
def test_bookings_that_clash_are_told_with_when_the_stage_may_be_let_again(
    tmp_path, monkeypatch
):
    """A show on Sundays from the 14th on, and what the work needs from the first on."""
    show = event(
        "SUMMARY:Sunday show",
        "DTSTART;TZID=America/Halifax:20270207T160000",
        "DTEND;TZID=America/Halifax:20270207T230000",
        "RRULE:FREQ=WEEKLY",
        uid="show",
    )
    put(tmp_path, calendar(show), "shows.ics")
    booked = changed(SMALL, ("[stage]", '[stage]\nbookings = ["shows.ics"]'))
    path = job_file(tmp_path, booked)
    first, second, *_ = fit(path, monkeypatch)
    assert first.startswith(
        "the stage free from Sun 14 Feb 2027, 23:00 on and let again from "
    )
    assert ', so without "Sunday show" (shows.ics) on Sun 21 Feb 2027' in first
    assert second.startswith('without the booking "Sunday show" (shows.ics) (--change ')
    # it is the moment at which the best plan without those shows has the stage back
    inputs = Papers(path).inputs()
    last = datetime(2027, 2, 21, tzinfo=inputs.job.zone)
    left = tuple(b for b in inputs.hours.bookings if b.end < last)
    free = replace(inputs, hours=replace(inputs.hours, bookings=left))
    start = datetime(2027, 2, 14, 23, tzinfo=inputs.job.zone)
    plan = answer(Case(inputs=free, window=ClosureWindow(not_before=start)), SEARCH)
    assert f"again from {moment_words(plan.closure[1], inputs.job.zone)}, " in first


def test_somebody_away_for_good_may_have_a_stand_in_and_says_when(
    tmp_path, monkeypatch
):
    away = event("DTSTART:20270101T000000Z", "DTEND:20290101T000000Z", "SUMMARY:Leave")
    put(tmp_path, calendar(away), "ana.ics")
    text = changed(SMALL, ('name = "Ana"', 'name = "Ana"\ncalendar = "ana.ics"'))
    path = job_file(tmp_path, text)
    error = refused(path)
    assert any(
        c.endswith(
            'Ana isn\'t open on any day until Mon 14 Feb 2028: "Leave" (ana.ics)'
        )
        for c in error.conflict
    )
    assert "person:ana" in error.facts
    found = fit(path, monkeypatch)
    (stand_in,) = [
        f for f in found if f.startswith("a stand-in for Ana, needed in the")
    ]
    case = Papers(path).case(*said(stand_in))
    assert fits(case, SEARCH)
    assert case.inputs.job.crew[-1].trades == case.inputs.job.crew[0].trades


def said(words: str):
    """Return the changes that a way out says."""
    (_, told) = shlex.split(words[words.rindex("(--change") + 1 : -1])
    return changes_said(told, "")


@pytest.mark.slow
def test_the_least_warmth_that_was_tried_and_does_is_told(tmp_path, monkeypatch):
    """10 °C is asked for, 8 °C is there: one degree more doesn't do, two do."""
    path = job_file(tmp_path, STRAIGHT + COLD)
    (first, *_) = fit(path, monkeypatch)
    assert first.startswith("the room warmer by 2.0 °C (3.6 °F)")
    job = Papers(path).case(*said(first)).inputs.job
    assert job.air.day_c == pytest.approx(10.0)
    assert not fits(Papers(path).case(*changes_said("air.temperature=9 C", "")), SEARCH)


@pytest.mark.slow
def test_crates_that_come_on_a_day_off_come_on_the_first_day_that_does(
    tmp_path, monkeypatch
):
    """14 February 2027 is a Sunday; the 15th isn't marked as a holiday in this file."""
    text = changed(STRAIGHT, ("[survey]", "delivery = 2027-02-14T10:00:00\n[survey]"))
    path = job_file(tmp_path, text)
    found = fit(path, monkeypatch)
    assert found[0] == (
        "the crates come Mon 15 Feb 2027, 10:00 "
        "(--change job.delivery=2027-02-15T10:00:00)"
    )


def test_ways_are_told_of_what_clashes_alone():
    way = WayOut(levers=(), of=("delivery", "person:"))
    assert way.may_ease(("person:ana", "limits:topping"))
    assert not way.may_ease(("limits:topping",))
    assert way.may_ease(())  # nothing is known of what clashes


def test_bookings_and_quiet_hours_that_clash_are_left_out_one_by_one(tmp_path):
    path = job_file(tmp_path)
    file = {"stage": {"quiet": ["cal/quiet.ics"], "bookings": ["cal/client.ics"]}}
    named = ("booking:client.ics:a-1", "person:ana")
    found = [
        (one.title, one.say, way.of)
        for way in ways_out(Papers(path).inputs().job, file, named)
        for one in way.levers
        if one.title.startswith("without")
    ]
    assert found == [
        (
            "without the quiet hours of quiet.ics",
            'without=["stage.quiet.1"]',
            ("quiet:quiet.ics",),
        ),
        (
            "without the booking a-1 of client.ics",
            'more.calendars.leave_out=[{file = "cal/client.ics", uid = "a-1"}]',
            ("booking:client.ics:a-1",),
        ),
    ]


def test_who_doesnt_wait_gets_the_refusal_as_it_is(tmp_path):
    path = job_file(tmp_path, STRAIGHT + COLD)
    error = refused(path)
    assert with_ways_out(path, error, lambda: True, None).lines() == error.lines()
    assert with_ways_out(path, error, lambda: False, 0.0).lines() == error.lines()
    gone = tmp_path / "gone.toml"
    assert with_ways_out(gone, error, lambda: False, None) is error


def test_the_command_tells_what_makes_it_fit(tmp_path, monkeypatch):
    monkeypatch.setattr(fitting, "LOOKED_S", 120.0)
    path = job_file(tmp_path, STRAIGHT + COLD)
    ran = covetime("plan", str(path))
    assert ran.returncode == 1
    warmer = "  makes it fit: the room warmer by 2.0 °C (3.6 °F), from "
    assert warmer in ran.stderr


# ------------------------------------------------------------ other air from a day on


def warm_from(path: Path, since: datetime) -> Answer | None:
    """Return a first plan of a job that is too cold until a moment."""
    papers = Papers(path)
    cold, warm = papers.inputs(), papers.case(*changes_said("air.temperature=20 C", ""))
    return first_fit(warm, SEARCH, partial(posed_from, before=cold, since=since))


def test_other_air_is_told_from_a_day_on_and_from_then_on_it_is_enough(
    tmp_path, monkeypatch
):
    path = job_file(tmp_path, SMALL + COLD)
    (first, *_) = fit(path, monkeypatch)
    told = re.search(r", from \w+ (\d+ \w+ \d+) on \(--change ", first)
    assert told, first
    day = datetime.strptime(told[1], "%d %b %Y").replace(tzinfo=HALIFAX)
    found = warm_from(path, day)
    assert found is not None
    coats = [p for p in found.placements if p.task.startswith(("prime", "colour"))]
    assert coats
    assert all(found.grid.instant(p.start) >= day for p in coats)
    assert warm_from(path, day + timedelta(weeks=60)) is None  # never warm enough


def test_where_no_plan_shows_the_day_the_coats_of_the_plan_found_are_told(
    tmp_path, monkeypatch
):
    whole = first_fit

    def no_day(case, search, pose=None):
        return whole(case, search) if pose is None else None

    monkeypatch.setattr(fitting, "first_fit", no_day)
    (first, *_) = fit(job_file(tmp_path, SMALL + COLD), monkeypatch)
    assert ", for coats that the plan found has from " in first
