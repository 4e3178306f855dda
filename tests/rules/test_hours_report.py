"""Which hours are open, day by day, and the reason of each that isn't.

Expected hours are worked by hand beside each case.

Tests of planner/files/job/sections/shift_words.py, planner/files/tables/hours_json.py,
planner/hours/account.py, planner/hours/open.py, planner/report/charts/hours_picture.py,
planner/report/columns.py, planner/report/words/hours_text.py.
"""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import PlannerError
from planner.files.job.jobfile import read_job
from planner.files.job.sections.shift_words import shift_of
from planner.files.tables.hours_json import hours_json
from planner.hours.account import (
    Account,
    Accounts,
    person_account,
    shown_days,
    stage_account,
    whose,
)
from planner.hours.grid import Grid
from planner.hours.open import person_hours
from planner.nouns.calendar import Busy
from planner.nouns.job import CrewMember
from planner.report.charts.hours_picture import hours_svg
from planner.report.words.hours_text import hours_words
from tests.support.values import STRAIGHT, changed, job_file

HALIFAX = ZoneInfo("America/Halifax")
MONDAY = date(2027, 2, 8)
SVG = "{http://www.w3.org/2000/svg}"


def grid(days: int = 7, first: date = MONDAY, minutes: int = 60) -> Grid:
    return Grid.from_day(first, days=days, tick_minutes=minutes, zone=HALIFAX)


def person(*shifts: str, rest_h: float = 11) -> CrewMember:
    return CrewMember(
        id="ana",
        name="Ana",
        trades=("painter",),
        shifts=tuple(shift_of(s) for s in shifts),
        rest_h=rest_h,
    )


def busy(start: tuple[int, int], end: tuple[int, int], title: str, **more) -> Busy:
    return Busy(
        start=datetime(2027, 2, *start, tzinfo=HALIFAX).astimezone(UTC),
        end=datetime(2027, 2, *end, tzinfo=HALIFAX).astimezone(UTC),
        **{"kind": "busy", "title": title, "file": "ana.ics", "uid": "u1", **more},
    )


def account(
    *shifts: str,
    taken: Sequence[Busy] = (),
    holidays: Sequence[tuple[date, str]] = (),
    on: Grid | None = None,
    rest_h: float = 11,
) -> Account:
    return person_account(
        person(*shifts, rest_h=rest_h),
        grid=on or grid(),
        busy=taken,
        holidays=holidays,
    )


def answer(*accounts: Account) -> Accounts:
    days = accounts[0].days
    return Accounts(
        job="a wall",
        first=days[0].day,
        last=days[-1].day,
        accounts=accounts,
        remarks=("ana.ics: something",),
    )


def told(found: Account, day: int = 0) -> list[tuple[int, int, bool, str]]:
    """Return a day's stretches in hours since its midnight."""
    here = found.days[day]
    return [
        (s.start - here.start, s.end - here.start, s.is_open, reasons(s.reasons))
        for s in here.stretches
    ]


def reasons(found) -> str:
    return "; ".join(r.words for r in found)


OFF = "outside the shifts"


def test_a_day_without_anything_taken():
    assert told(account("Mon 08:00-12:00 13:00-17:00")) == [
        (0, 8, False, OFF),
        (8, 12, True, ""),
        (12, 13, False, OFF),
        (13, 17, True, ""),
        (17, 24, False, OFF),
    ]


def test_shifts_come_last_so_an_entry_is_told_wherever_it_lies():
    """11 to 13 is taken: an hour of the shift and an hour after it."""
    found = account("Mon 08:00-12:00", taken=[busy((8, 11), (8, 13), "dentist")])
    assert told(found)[1:4] == [
        (8, 11, True, ""),
        (11, 13, False, '"dentist" (ana.ics)'),
        (13, 24, False, OFF),
    ]


def test_every_entry_of_an_hour_is_told_and_so_is_its_kind():
    both = [
        busy((8, 9), (8, 11), "dentist"),
        busy((8, 10), (8, 12), "", kind="tentative"),
    ]
    assert told(account("Mon 08:00-12:00", taken=both))[1:] == [
        (8, 9, True, ""),
        (9, 10, False, '"dentist" (ana.ics)'),
        (10, 11, False, '"dentist" (ana.ics); a private entry (ana.ics), tentative'),
        (11, 12, False, "a private entry (ana.ics), tentative"),
        (12, 24, False, OFF),
    ]


def test_an_entry_over_midnight_is_told_on_both_days():
    found = account("Mon-Tue 08:00-12:00", taken=[busy((8, 22), (9, 9), "night out")])
    assert told(found, 0)[-1] == (22, 24, False, '"night out" (ana.ics)')
    assert told(found, 1)[0] == (0, 9, False, '"night out" (ana.ics)')


def test_on_a_public_holiday_no_shift_begins_but_the_night_before_ends():
    found = account("Sun-Mon 22:00-06:00", holidays=[(MONDAY, "Demo Day")])
    assert told(found) == [
        (0, 6, True, ""),  # Sunday's night
        (6, 24, False, "Demo Day (public holiday)"),
    ]
    assert told(found, 1) == [(0, 24, False, OFF)]


def test_a_shift_too_soon_after_another_is_open_only_after_the_rest():
    """Monday ends at 23:00; 11 hours on is 10:00 of Tuesday."""
    found = account("Mon 14:00-23:00", "Tue 07:00-15:00")
    rest = "only after 11 h of rest from the shift before"
    assert told(found, 1)[1:3] == [(7, 10, True, rest), (10, 15, True, "")]
    shorter = account("Mon 14:00-23:00", "Tue 07:00-15:00", rest_h=8)
    assert told(shorter, 1)[1] == (7, 15, True, "")


def test_rest_after_each_of_several_short_shifts_is_told_once():
    """16 h of rest after 2:00 and after 10:00 both close 17:00 to 18:00."""
    found = account("Mon 00:00-02:00", "Mon 09:00-10:00", "Mon 17:00-18:00", rest_h=16)
    rest = "only after 16 h of rest from the shift before"
    assert [s for s in told(found) if s[2]] == [
        (0, 2, True, ""),
        (9, 10, True, rest),
        (17, 18, True, rest),
    ]


def test_a_shift_that_is_taken_whole_asks_for_no_rest_after_it():
    away = busy((8, 12), (9, 0), "away")
    found = account("Mon 14:00-23:00", "Tue 07:00-15:00", taken=[away])
    assert told(found, 1)[1] == (7, 15, True, "")


def test_days_with_a_clock_change_are_an_hour_short_or_long():
    """Clocks in Halifax: forward 14 March 2027 at 2:00, back 7 November at 2:00."""
    for first, hours in ((date(2027, 3, 14), 23), (date(2027, 11, 7), 25)):
        found = account("Sun 00:00-06:00", on=grid(1, first))
        assert found.days[0].end - found.days[0].start == hours
        # from midnight to 6:00 by the clock: five hours, or seven
        assert found.open_ticks == hours - 24 + 6
        way = "forward" if hours == 23 else "back"
        assert f"clocks go {way}, {hours} h" in hours_words(answer(found))
        assert ">06:00<" in hours_svg(answer(found)).decode()


def stage(**more) -> Account:
    given = {"hours": (time(7), time(22)), "bookings": (), "quiet": (), **more}
    return stage_account("the stage", grid=grid(), **given)


def test_the_stage_is_closed_by_bookings_and_quiet_for_its_neighbours():
    found = stage(
        bookings=[busy((8, 9), (8, 12), "shoot", file="stage.ics")],
        quiet=[busy((8, 11), (8, 14), "quartet", file="next.ics")],
    )
    off = "outside the building's hours"
    assert told(found) == [
        (0, 7, False, off),
        (7, 9, True, ""),
        (9, 12, False, '"shoot" (stage.ics)'),
        (12, 14, True, 'no loud work: "quartet" (next.ics)'),
        (14, 22, True, ""),
        (22, 24, False, off),
    ]


def test_a_building_that_never_closes():
    assert told(stage(hours=None)) == [(0, 24, True, "")]


def test_a_week_of_the_stage_is_closed_each_night():
    """15 hours a day from 7:00 to 22:00; a booking over midnight takes four of them."""
    found = stage(bookings=[busy((9, 20), (10, 9), "shoot", file="stage.ics")])
    off = "outside the building's hours"
    shoot = '"shoot" (stage.ics)'
    assert told(found, 1) == [
        (0, 7, False, off),
        (7, 20, True, ""),
        (20, 24, False, shoot),
    ]
    assert told(found, 2) == [
        (0, 9, False, shoot),
        (9, 22, True, ""),
        (22, 24, False, off),
    ]
    assert found.open_ticks == 7 * 15 - 2 - 2


def test_rest_is_asked_for_after_each_shift_of_a_week():
    """Late and early in turn: 23:00 and 11 hours on are 10:00, each second day."""
    found = account("Mon,Wed,Fri 14:00-23:00", "Tue,Thu,Sat 07:00-15:00")
    rest = "only after 11 h of rest from the shift before"
    for day in (1, 3, 5):
        assert told(found, day)[1:3] == [(7, 10, True, rest), (10, 15, True, "")]
    for day in (0, 2, 4):
        assert told(found, day)[1] == (14, 23, True, "")


def test_two_holidays_are_each_told_on_their_day():
    found = account(
        "Mon-Fri 08:00-12:00",
        holidays=[(MONDAY, "One Day"), (date(2027, 2, 10), "Another")],
    )
    assert told(found, 0) == [(0, 24, False, "One Day (public holiday)")]
    assert told(found, 1)[1] == (8, 12, True, "")
    assert told(found, 2) == [(0, 24, False, "Another (public holiday)")]


def test_an_entry_that_ends_where_another_begins_is_told_no_longer():
    taken = [busy((8, 9), (8, 10), "first"), busy((8, 10), (8, 11), "second")]
    assert told(account("Mon 08:00-12:00", taken=taken))[2:4] == [
        (9, 10, False, '"first" (ana.ics)'),
        (10, 11, False, '"second" (ana.ics)'),
    ]


def test_days_shown_include_the_first_and_the_last_asked_for():
    found = shown_days(account("Mon 08:00-12:00"), MONDAY, date(2027, 2, 10))
    assert [d.day.day for d in found.days] == [8, 9, 10]


@pytest.mark.parametrize(
    ("names", "ids"),
    [
        ((), {"ana-ruiz", "bo-berg", "stage"}),
        (("Ana Ruiz",), {"ana-ruiz"}),
        (("BO BERG", "ana-ruiz"), {"ana-ruiz", "bo-berg"}),
        (("bo-berg",), {"bo-berg"}),
        (("stage",), {"stage"}),
        (("Studio A", "bo berg"), {"stage", "bo-berg"}),
    ],
)
def test_hours_are_asked_for_by_name_id_or_the_stages_name(tmp_path, names, ids):
    job = read_job(job_file(tmp_path, changed(STRAIGHT, *NAMED)))
    assert whose(job, names) == ids


NAMED = (
    ("[stage]", '[stage]\nname = "Studio A"'),
    ('name = "Ana"', 'name = "Ana Ruiz"'),
    ('name = "Bo"', 'name = "Bo Berg"'),
)


def test_a_name_that_is_nobodys_is_told_with_the_nearest_or_all(tmp_path):
    job = read_job(job_file(tmp_path, changed(STRAIGHT, *NAMED)))
    with pytest.raises(PlannerError, match='"Anna Ruiz" is none of the crew') as near:
        whose(job, ["bo berg", "Anna Ruiz"])
    assert near.value.hint == 'did you mean "ana ruiz"?'
    with pytest.raises(PlannerError, match='"xyz" is none of the crew') as far:
        whose(job, ["xyz"])
    assert far.value.hint == "known: Ana Ruiz, Bo Berg, stage"


# --------------------------------------------------------------------------- laws

stretches = st.lists(
    st.tuples(st.integers(0, 24 * 14), st.integers(1, 30)), min_size=0, max_size=12
)


@settings(max_examples=60)
@given(
    found=stretches,
    shift=st.sampled_from(("Mon-Fri 08:00-12:00 13:00-17:00", "Wed-Sun 20:00-06:00")),
    holiday=st.integers(0, 13),
)
def test_open_is_what_the_planner_takes_for_open_and_each_closed_hour_has_a_reason(
    found, shift, holiday
):
    first = datetime(2027, 3, 8, tzinfo=HALIFAX).astimezone(UTC)  # over a change
    hour = timedelta(hours=1)
    taken = [
        Busy(
            start=first + a * hour,
            end=first + (a + n) * hour,
            kind="busy",
            title=str(a),
            file="a.ics",
            uid=str(a),
        )
        for a, n in found
    ]
    on = grid(14, date(2027, 3, 8), 30)
    days_off = [(date(2027, 3, 8) + timedelta(days=holiday), "Demo Day")]
    ana = person(shift)
    got = person_account(ana, grid=on, busy=taken, holidays=days_off)
    theirs = person_hours(ana, grid=on, busy=taken, holidays=days_off)
    opened = {
        t
        for d in got.days
        for s in d.stretches
        if s.is_open
        for t in range(s.start, s.end)
    }
    assert opened == {t for a, b in theirs.open for t in range(a, b)}
    at = 0
    for day in got.days:
        assert day.start == at
        for s in day.stretches:
            assert s.start == at < s.end
            assert s.is_open or s.reasons
            at = s.end
        assert day.end == at
    assert at == on.ticks


# ------------------------------------------------------------------ as it is shown


def sample() -> Accounts:
    taken = [busy((8, 9), (8, 10), "dentist"), busy((9, 9), (9, 10), "")]
    ana = account("Mon-Fri 08:00-12:00", taken=taken)
    quiet = [busy((8, 11), (8, 14), "quartet", file="next.ics")]
    return answer(ana, stage(quiet=quiet))


def test_the_text_as_it_is_printed():
    two = sample()
    short = replace(
        two,
        accounts=tuple(
            shown_days(a, MONDAY, MONDAY + timedelta(days=1)) for a in two.accounts
        ),
    )
    assert hours_words(short) == (
        "Open hours: a wall\n"
        "Mon 8 Feb 2027 to Tue 9 Feb 2027, times in America/Halifax, steps of 60 min\n"
        "\n"
        "Ana: 6 h open; hours not listed are outside the shifts\n"
        "  Mon 8 Feb  3 h          open    08:00-09:00, 10:00-12:00\n"
        '                          closed  09:00-10:00 "dentist" (ana.ics)\n'
        "  Tue 9 Feb  3 h          open    08:00-09:00, 10:00-12:00\n"
        "                          closed  09:00-10:00 a private entry (ana.ics)\n"
        "\n"
        "the stage: 30 h open; hours not listed are outside the building's hours\n"
        "  Mon 8 Feb  15 h         open    07:00-22:00\n"
        "                          but     11:00-14:00 no loud work: "
        '"quartet" (next.ics)\n'
        "  Tue 9 Feb  15 h         open    07:00-22:00\n"
        "\n"
        "note: ana.ics: something\n"
    )


@pytest.mark.parametrize("title", ["x" * 300, "a word " * 40, "ends\u202e\u0007 here"])
def test_no_line_is_wider_than_80(title):
    found = account("Mon 08:00-12:00", taken=[busy((8, 9), (8, 10), title)])
    assert max(map(len, hours_words(answer(found)).splitlines())) <= 80


def test_the_json_holds_the_same_and_keeps_private_entries_private():
    whole = json.loads(hours_json(sample()))
    ana, the_stage = whole["owners"]
    assert (ana["name"], ana["kind"], the_stage["kind"]) == ("Ana", "person", "stage")
    # five days of four hours less two
    assert ana["open_minutes"] == 18 * 60
    assert [d["day"] for d in ana["days"]] == [f"2027-02-{n:02}" for n in range(8, 15)]
    monday, tuesday = ana["days"][:2]
    assert monday["stretches"][2] == {
        "start": "2027-02-08T13:00:00Z",  # 9:00 in Halifax, four hours behind
        "end": "2027-02-08T14:00:00Z",
        "state": "closed",
        "reasons": [
            {
                "why": "entry",
                "file": "ana.ics",
                "kind": "busy",
                "title": "dentist",
                "uid": "u1",
            }
        ],
    }
    assert tuesday["stretches"][2]["reasons"] == [
        {"why": "entry", "file": "ana.ics", "kind": "busy"}
    ]
    assert the_stage["days"][0]["stretches"][2]["state"] == "open"
    assert the_stage["days"][0]["stretches"][2]["reasons"][0]["why"] == "quiet hours"


def test_the_picture_says_what_it_shows_and_hatches_what_is_closed():
    root = ET.fromstring(hours_svg(sample()))
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert title.text == "Open hours, Mon 8 Feb 2027 to Sun 14 Feb 2027"
    assert desc is not None
    assert desc.text is not None
    assert "Ana: 18 h open on 5 of 7 days." in desc.text
    patterns = {p.get("id") for p in root.iter(f"{SVG}pattern")}
    blocks = [r for r in root.iter(f"{SVG}rect") if r.find(f"{SVG}title") is not None]
    tips: dict[str, str] = {}
    for rect in blocks:
        tip = rect.find(f"{SVG}title")
        assert tip is not None
        tips[tip.text or ""] = rect.get("fill", "")
    assert tips['09:00-10:00 closed: "dentist" (ana.ics)'] == "url(#hours-entry)"
    assert tips['11:00-14:00 open: no loud work: "quartet" (next.ics)'] == (
        "url(#hours-quiet-hours)"
    )
    assert tips["08:00-09:00 open"] == ""  # a tone of its own, and an edge
    used = {f[5:-1] for f in tips.values() if f}
    assert used <= patterns


def test_blocks_of_the_picture_are_as_long_as_their_hours():
    """A lath of 24 hours is 736 wide: an hour is 30.67, three are 92."""
    root = ET.fromstring(hours_svg(sample()))
    widths = {
        str(tip.text): float(rect.get("width", "0"))
        for rect in root.iter(f"{SVG}rect")
        for tip in rect.iter(f"{SVG}title")
    }
    assert widths["08:00-09:00 open"] == pytest.approx(30.7, abs=0.05)
    assert widths['11:00-14:00 open: no loud work: "quartet" (next.ics)'] == (
        pytest.approx(92, abs=0.05)
    )
