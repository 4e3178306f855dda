"""Faults planted in calendars as written: the judge names each of them.

Tests of planner/judge/calendars/feeds.py, planner/judge/told.py.
"""

import re
from datetime import UTC, datetime

import pytest

from planner.files.ics_out import published
from planner.files.ics_out.published import PublishedState
from planner.judge import calendars_judged
from planner.usecases import write
from tests.support.judge import moved, task

NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)
CHOICES = (
    write.USUAL,
    write.CalendarChoices(links=True),
    write.CalendarChoices(local_times=True),
)


def written(plan, how=write.USUAL):
    return write.outputs(plan, state=PublishedState(), now=NOW, how=how)


@pytest.fixture(scope="module")
def files(planned):
    return written(planned["corner"].case[1])


def changed(path, pattern, new, count=1):
    """Change the bytes of one calendar, which must hold the pattern."""

    def spoil(files):
        found, times = re.subn(pattern, new, files[path], count=count)
        assert times, (path, pattern)
        return {**files, path: found}

    return spoil


def without_first(path):
    """Take the first entry out of a calendar."""
    return changed(path, rb"(?s)BEGIN:VEVENT.*?END:VEVENT\r\n", b"")


def twice_first(path):
    event = rb"(?s)(BEGIN:VEVENT.*?END:VEVENT\r\n)"
    return changed(path, event, rb"\1\1")


def left_out(path):
    return lambda files: {k: v for k, v in files.items() if k != path}


def stranger(files):
    return {**files, "people/nobody.ics": files["crew.ics"]}


SPOILT = (
    (
        "an hour",
        changed("crew.ics", rb"DTSTART:(\d+)T14", rb"DTSTART:\1T15"),
        "crew.ics",
    ),
    ("an end", changed("crew.ics", rb"DTEND:(\d+)T15", rb"DTEND:\1T16"), "crew.ics"),
    (
        "a title",
        changed("crew.ics", b"SUMMARY:Open the", b"SUMMARY:Shut the"),
        "missing",
    ),
    ("one gone", without_first("crew.ics"), "is missing"),
    ("one more", twice_first("crew.ics"), "not what the plan says"),
    ("free", changed("crew.ics", b"TRANSP:OPAQUE", b"TRANSP:TRANSPARENT"), "crew.ics"),
    (
        "cancelled",
        changed("crew.ics", b"STATUS:CONF.*", b"STATUS:CANCELLED\r"),
        "missing",
    ),
    ("tentative", changed("crew.ics", b"STATUS:CONF.*", b"STATUS:TENTATIVE\r"), "crew"),
    ("a person's", without_first("people/beatriz.ics"), "people/beatriz.ics"),
    ("a person's moved", changed("people/hedda.ics", b"0Z\r", b"5Z\r"), "hedda.ics"),
    ("no calendar", left_out("people/hedda.ics"), "people/hedda.ics: is not written"),
    ("a stranger's", stranger, "is nobody's of this plan"),
    ("closed", changed("closure.ics", rb"DATE:2027(\d+)", b"DATE:20270301"), "closed"),
    (
        "a return",
        changed("closure.ics", rb"DTSTART:(\d+)T", b"DTSTART:20270224T"),
        "light foot traffic",
    ),
    (
        "no return",
        changed("closure.ics", b"light foot traffic from", b"x from"),
        '"light foot traffic"',
    ),
    (
        "surely back",
        changed("closure.ics", b"STATUS:TENTATIVE", b"STATUS:CONFIRMED"),
        '"may not be back"',
    ),
    (
        "a wait",
        changed("waits.ics", rb"DTEND:(\d+)T(\d\d)..", rb"DTEND:\1T\g<2>07"),
        "no wait of the",
    ),
    ("no wait", without_first("waits.ics"), "is missing"),
    ("a busy wait", changed("waits.ics", b"TRANSPARENT", b"OPAQUE"), "takes time"),
    ("no waits", left_out("waits.ics"), "waits.ics: is not written"),
    ("no end", changed("waits.ics", rb"DTEND:.*\r\n", b""), "can't be read back"),
    (
        "floating",
        changed("crew.ics", rb"DTSTART:(\d+T\d+)Z", rb"DTSTART:\1"),
        "in no zone that the plan knows",
    ),
)


@pytest.mark.parametrize("how", CHOICES)
@pytest.mark.parametrize(
    "name", [pytest.param("corner", marks=pytest.mark.slow), "straight"]
)
def test_calendars_as_written_say_what_the_plan_says(planned, name, how):
    plan = planned[name].case[1]
    assert calendars_judged(plan, written(plan, how)) == ()


def test_a_calendar_that_cancels_what_left_the_plan_is_sound(planned):
    plan = planned["corner"].case[1]
    first = written(plan)
    later = moved("handover", plan.tasks[0].end - plan.tasks[0].start)
    new = later(planned["corner"].case)[1]
    state = published.from_bytes(first[published.FILE])
    files = write.outputs(new, state=state, now=NOW)
    assert calendars_judged(new, files) == ()
    assert calendars_judged(plan, files) != ()


@pytest.mark.parametrize(
    ("spoil", "words"), [pytest.param(s, w, id=i) for i, s, w in SPOILT]
)
def test_a_fault_planted_in_a_calendar_is_named(planned, files, spoil, words):
    plan = planned["corner"].case[1]
    found = calendars_judged(plan, spoil(files))
    assert any(words in fault for fault in found), found


def test_calendars_of_another_plan_are_refused_before_anything_is_written(planned):
    other = task("handover", title="Something else")(planned["corner"].case)[1]
    assert calendars_judged(other, written(planned["corner"].case[1])) != ()
