"""`closures`: each gap between bookings with its best plan, or by how much it is short.

Tests of planner/usecases/comparing/closures.py, planner/nouns/choices/closures.py,
planner/planning/least_return.py, planner/report/words/choices/closures_text.py,
planner/files/tables/closures_json.py, planner/commands/closing.py,
planner/usecases/comparing/holds.py, planner/report/calendars/holds_feed.py.
"""

import json
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from itertools import product
from pathlib import Path
from random import Random

import pytest
from icalendar import Calendar

from planner.errors import NoPlanError, PlannerError
from planner.nouns.calendar import Busy
from planner.nouns.case import Case, ClosureWindow
from planner.nouns.choices.closures import ClosureChoices, Gap, criteria
from planner.planning.answering import answer
from planner.planning.least_return import least_return
from planner.planning.searching import Search
from planner.report.words.choices.closures_text import closures_words
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.comparing.closures import LOOK_DAYS, Choosing, gaps_of, with_moves
from planner.usecases.comparing.compare import CompareRequest
from planner.usecases.read import Papers
from tests.support.command import covetime
from tests.support.side_by_side import SMALL, OneByOne
from tests.support.values import changed, job_file

DAY = timedelta(days=1)
LATEST = datetime(2027, 3, 1, tzinfo=UTC)  # gaps after it need the job moved


def entry(title: str, first: str, last: str, more: str = "") -> str:
    """Return an all-day booking, the last day excluded."""
    return (
        f"BEGIN:VEVENT\r\nUID:{title}@demo.example\r\nDTSTAMP:20270101T000000Z\r\n"
        f"SUMMARY:{title}\r\nDTSTART;VALUE=DATE:{first}\r\nDTEND;VALUE=DATE:{last}\r\n"
        f"{more}END:VEVENT\r\n"
    )


def booked_job(folder: Path, *entries: str) -> Path:
    """Return a small job on a stage with bookings."""
    head = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n"
    text = head + "".join(entries) + "END:VCALENDAR\r\n"
    (folder / "stage.ics").write_bytes(text.encode())
    job = changed(SMALL, ('apron = "0 m"', 'apron = "0 m"\nbookings = ["stage.ics"]'))
    return job_file(folder, job)


def choosing(path: Path, until: date | None = None) -> Choosing:
    """Return closures that aren't planned yet."""
    wanted = CompareRequest(job=path, futures=100, seed=1)
    return Choosing(wanted, Papers(path), until)


def chosen(path: Path, until: date | None = None) -> ClosureChoices:
    """Return the closures of a job, planned in this process."""
    made = choosing(path, until)
    made.plan(OneByOne(), lambda one: None)
    return made.choices()


BOOKED = (
    entry("First", "20270210", "20270212"),
    entry("Second", "20270215", "20270217"),
    entry("Maybe", "20270310", "20270312", "STATUS:TENTATIVE\r\n"),
    entry("Third", "20270316", "20270320"),
)


def busy(start: int, end: int, kind: str = "busy") -> Busy:
    base = datetime(2027, 2, 1, tzinfo=UTC)
    return Busy(
        start=base + start * DAY, end=base + end * DAY,
        kind=kind, title=f"{start}", file="s.ics", uid=f"{start}",
    )  # fmt: skip


def days(gaps: Sequence[Gap]) -> list[tuple[int, int | None]]:
    base = datetime(2027, 2, 1, tzinfo=UTC)
    return [
        ((g.start - base).days, (g.end - base).days if g.end else None) for g in gaps
    ]


@pytest.mark.parametrize("seed", range(20))
def test_gaps_are_the_free_days_and_nothing_else(seed):
    r = Random(seed)
    bookings = [busy(a, a + r.randint(1, 4)) for a in r.choices(range(40), k=8)]
    base = datetime(2027, 2, 1, tzinfo=UTC)
    taken = {
        d for b in bookings
        for d in range((b.start - base).days, (b.end - base).days)
    }  # fmt: skip
    gaps = days(gaps_of(bookings, base, base + 60 * DAY))
    inside = {d for a, b in gaps for d in range(a, b or 60)}
    assert inside == set(range(60)) - taken
    assert gaps[-1][1] is None


def test_a_gap_that_begins_later_than_asked_is_left_out():
    base = datetime(2027, 2, 1, tzinfo=UTC)
    bookings = [busy(3, 5), busy(8, 9)]
    assert days(gaps_of(bookings, base, base + 4 * DAY)) == [(0, 3)]
    assert days(gaps_of(bookings, base, base + 6 * DAY)) == [(0, 3), (5, 8)]


def test_what_would_be_free_if_tentative_bookings_moved_is_looked_at_too():
    base = datetime(2027, 2, 1, tzinfo=UTC)
    bookings = [busy(3, 5, "tentative"), busy(8, 9)]
    found = with_moves(bookings, base, base + 10 * DAY)
    assert days(found) == [(0, 3), (0, 8), (5, 8), (9, None)]
    assert [len(g.moving) for g in found] == [0, 1, 0, 0]


@pytest.fixture(scope="module")
def found(tmp_path_factory) -> ClosureChoices:
    return chosen(booked_job(tmp_path_factory.mktemp("stage"), *BOOKED))


def test_every_gap_is_told_and_each_closure_lies_in_its_gap(found):
    for option in found.options:
        gap, figures = option.gap, option.figures
        if figures is None:
            assert option.why or option.needs_until
            continue
        assert figures.closure[0] >= gap.start
        assert gap.end is None or figures.closure[1] <= gap.end
    assert any(o.figures for o in found.options)
    assert any(o.needs_until for o in found.options)
    assert found.not_reached == 0


def test_a_gap_that_is_too_short_holds_no_plan_and_is_told_how_much(found):
    short = [o for o in found.options if o.needs_until is not None]
    for option in short:
        assert option.gap.end is not None
        assert option.needs_until is not None
        assert option.needs_until > option.gap.end
    words = " ".join(closures_words(found).split())
    assert words.count("too short: the stage isn't back before") == len(short)


def test_what_needs_a_tentative_booking_moved_says_so(found):
    wider = [o for o in found.options if o.gap.moving]
    assert wider
    assert all('"Maybe" (stage.ics) moves' in o.moved for o in wider)


@pytest.mark.slow
def test_no_day_of_a_gap_gives_an_earlier_return_and_short_ones_give_none(tmp_path):
    """Closing on every possible day, by brute force."""
    path = booked_job(tmp_path, *BOOKED[:3])
    found = chosen(path, date(2027, 3, 1))
    limits = SearchLimits()
    for option in found.options:
        gap = option.gap
        inputs = Papers(path).inputs()
        if gap.moving or gap.end is None or gap.start > LATEST:
            continue
        backs = []
        for number in range((gap.end - gap.start).days + 1):
            begin = gap.start + number * DAY
            if begin >= gap.end:
                continue
            window = ClosureWindow(not_before=begin, not_after=gap.end)
            case = Case(inputs=inputs, window=window)
            try:
                backs.append(
                    answer(case, Search(limits=limits, explain=False)).closure[1]
                )
            except NoPlanError:
                continue
        if option.figures is None:
            assert not backs
        else:
            assert min(backs) == option.figures.full.planned


def test_the_least_return_is_never_later_than_a_plan_s(tmp_path):
    inputs = Papers(booked_job(tmp_path)).inputs()
    start = datetime.combine(inputs.job.earliest, time(), tzinfo=inputs.job.zone)
    for number in (0, 3, 6):
        begin = start + number * DAY
        case = Case(inputs=inputs, window=ClosureWindow(not_before=begin))
        back = answer(case, Search(limits=SearchLimits())).closure[1]
        least = least_return(inputs, begin)
        assert least is not None
        assert begin < least <= back


def test_what_is_left_out_is_worse_in_every_way_than_something_shown(found):
    kept, beaten = found.kept(), found.beaten()
    assert len(kept) + len(beaten) == sum(o.figures is not None for o in found.options)
    for one, other in product(found.options, repeat=2):  # a plain filter of pairs
        if one.figures is None or other.figures is None:
            continue
        worse = all(a <= b for a, b in zip(criteria(one), criteria(other), strict=True))
        if worse and criteria(one) != criteria(other):
            assert other not in kept


def test_the_command_prints_and_writes_what_was_found(tmp_path):
    path = booked_job(tmp_path, *BOOKED[:2])
    out = tmp_path / "closures.json"
    ran = covetime("closures", str(path), "--until", "2027-02-20", "--json", str(out))
    assert ran.returncode == 0, ran.stderr
    assert "Closed from" in ran.stdout
    assert max(map(len, ran.stdout.splitlines())) <= 80
    rows = json.loads(out.read_text("utf-8"))["gaps"]
    assert [r["plan"] is not None for r in rows][-1]
    assert "too short" in ran.stderr


def test_a_day_out_of_reach_is_refused(tmp_path):
    path = booked_job(tmp_path)
    for day in (date(2026, 1, 1), date(2029, 1, 1)):
        with pytest.raises(PlannerError, match="not within a year"):
            choosing(path, day)
    assert choosing(path).until.date() > date(2027, 2, 8) + timedelta(
        days=LOOK_DAYS - 1
    )


def entries(path: Path) -> dict[str, tuple[str, str]]:
    """Return the day and the status of each entry of a calendar, by its UID."""
    calendar = Calendar.from_ical(path.read_bytes())
    return {
        str(e["UID"]): (f"{e.decoded('DTSTART'):%m-%d}", str(e["STATUS"]))
        for e in calendar.walk("VEVENT")
    }


@pytest.mark.slow
def test_holds_are_tentative_and_go_when_one_is_chosen(tmp_path):
    path, folder = booked_job(tmp_path, *BOOKED[:2]), tmp_path / "holds"
    said = ("closures", str(path), "--until", "2027-02-20", "--holds", str(folder))
    ran = covetime(*said, "--now", "2027-01-05T08:00:00Z")
    assert ran.returncode == 0, ran.stderr
    first = entries(folder / "holds.ics")
    assert first
    assert {status for _, status in first.values()} == {"TENTATIVE"}
    text = (folder / "holds.ics").read_text("utf-8").replace("\r\n ", "")
    assert "This is an option" in text
    (folder / "holds.ics").rename(tmp_path / "before.ics")  # what somebody took over
    other = changed(
        path.read_text("utf-8"), ("earliest = 2027-02-08", "earliest = 2027-02-15")
    )
    path.write_text(other, "utf-8")
    again = covetime(*said, "--now", "2027-01-06T08:00:00Z", "--choose", "1")
    assert again.returncode == 0, again.stderr
    second = entries(folder / "holds.ics")
    gone = {uid for uid, (_, status) in second.items() if status == "CANCELLED"}
    assert gone == set(first) - {u for u, (_, s) in second.items() if s == "TENTATIVE"}
    assert sum(status == "TENTATIVE" for _, status in second.values()) == 1


def test_holds_are_refused_before_anything_is_planned(tmp_path):
    path = booked_job(tmp_path)
    assert covetime("closures", str(path), "--choose", "1").returncode == 2
    mine = tmp_path / "holds"
    mine.mkdir()
    (mine / "holds.ics").write_text("mine")
    ran = covetime("closures", str(path), "--holds", str(mine))
    assert ran.returncode == 2
    assert (mine / "holds.ics").read_text() == "mine"
