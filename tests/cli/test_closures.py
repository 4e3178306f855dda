"""`closures`: each gap between bookings with its best plan, or by how much it is short.

Tests of planner/usecases/comparing/closures.py, planner/nouns/choices/closures.py,
planner/planning/least_return.py, planner/report/words/choices/closures_text.py,
planner/files/tables/closures_json.py, planner/commands/closing.py,
planner/commands/gaps.py,
planner/usecases/comparing/holds.py, planner/report/calendars/holds_feed.py.
"""

import json
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from planner.errors import NoPlanError, PlannerError, TimeUpError
from planner.nouns.case import Case, ClosureWindow
from planner.nouns.choices.closures import ClosureChoices
from planner.planning.answering import answer
from planner.planning.least_return import least_return
from planner.planning.searching import Search
from planner.report.words.choices.closures_text import closures_words
from planner.schedule.problem.limits import SearchLimits
from planner.units import days_and_hours
from planner.usecases.comparing.closures import (
    LOOK_DAYS,
    Choosing,
    ClosuresRequest,
    standing_closure,
)
from planner.usecases.comparing.holds import check_whole
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
    request = ClosuresRequest(job=path, until=until, futures=100)
    return Choosing(request, Papers(path))


def chosen(path: Path, until: date | None = None) -> ClosureChoices:
    """Return the closures of a job, planned in this process."""
    made = choosing(path, until)
    made.plan(OneByOne(), lambda one: None)
    return made.choices()


BOOKED = (
    entry("First", "20270210", "20270212"),
    entry("Second", "20270215", "20270217"),
    entry("Maybe", "20270222", "20270224", "STATUS:TENTATIVE\r\n"),
    entry("Third", "20270316", "20270320"),
)


@pytest.fixture(scope="module")
def found(tmp_path_factory) -> ClosureChoices:
    path = booked_job(tmp_path_factory.mktemp("stage"), *BOOKED)
    return chosen(path, date(2027, 3, 21))


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


def test_a_gap_that_is_too_short_is_told_with_what_it_needs_and_what_it_has(found):
    short = [o for o in found.options if o.too_short]
    assert short
    for option in short:
        assert option.needs_minutes is not None
        assert option.gap.minutes is not None
        assert option.needs_minutes > option.gap.minutes
    words = " ".join(closures_words(found).split())
    assert words.count("too short: needs ") == len(short)
    first = short[0]
    has = days_and_hours(first.gap.minutes or 0)
    needs = days_and_hours(first.needs_minutes or 0)
    assert f"({has}): too short: needs {needs}, has {has}" in words


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


def test_the_plan_that_stands_is_told_while_its_job_is_the_same(tmp_path):
    path, out = booked_job(tmp_path, *BOOKED[:2]), tmp_path / "closures.json"
    assert standing_closure(choosing(path).inputs, path) is None
    ran = covetime("plan", str(path))
    assert ran.returncode == 0, ran.stderr
    stands = json.loads((tmp_path / "plan" / "plan.json").read_bytes())
    said = ("closures", str(path), "--until", "2027-02-08", "--json", str(out))
    ran = covetime(*said)
    assert ran.returncode == 0, ran.stderr
    assert "The plan that stands: closed " in ran.stdout
    told = json.loads(out.read_text("utf-8"))["plan_that_stands"]
    stage = stands["stages"][0]
    full = next(r for r in stage["returns"] if r["kind"] == "full service")
    assert told["closed_from"] == stage["closure"][0]
    assert told["kept"] == full["promise"]
    plan = tmp_path / "plan" / "plan.json"
    plan.write_text("not a plan")  # its folder is no matter of closures
    assert standing_closure(choosing(path).inputs, path) is None
    plan.write_text(json.dumps(stands))
    assert standing_closure(choosing(path).inputs, path) is not None
    path.write_text(changed(path.read_text("utf-8"), ("2027-02-08", "2027-02-09")))
    assert standing_closure(choosing(path).inputs, path) is None


def test_a_day_out_of_reach_is_refused(tmp_path):
    path = booked_job(tmp_path)
    for day, said in (
        (
            date(2026, 1, 1),
            "before the first day on which it may be closed, 2027-02-08",
        ),
        (date(2029, 1, 1), "too far ahead: calendars are read until 2028-02-14"),
    ):
        with pytest.raises(PlannerError, match=said):
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


def wished_job(folder: Path) -> Path:
    """Return a job that is wanted back by a day."""
    path = booked_job(folder, *BOOKED[:2])
    wish = "earliest = 2027-02-08\nback_by = 2027-03-31"
    path.write_text(path.read_text("utf-8").replace("earliest = 2027-02-08", wish))
    return path


def test_a_run_that_is_cut_short_rules_no_gap_out(tmp_path):
    found = choosing(wished_job(tmp_path)).choices()
    words = " ".join(closures_words(found).split())
    assert "Nothing was found before the run was stopped; there may be" in words
    assert "None of the closures found by now keeps that in 8 of 10 cases" in words
    assert "None of the gaps" not in words
    with pytest.raises(TimeUpError, match="left as it was, as not every gap"):
        check_whole(found, tmp_path)


@pytest.mark.slow
def test_a_run_that_is_cut_short_cancels_no_hold(tmp_path):
    """What wasn't planned isn't gone: those who hold the day would be told it is."""
    path, folder = wished_job(tmp_path), tmp_path / "holds"
    said = ("closures", str(path), "--until", "2027-02-20", "--holds", str(folder))
    ran = covetime(*said, "--seconds", "0.1")
    assert ran.returncode == 3, ran.stderr
    assert "left as it was, as not every gap was planned" in ran.stderr
    assert not (folder / "holds.ics").exists()
    assert "None of the gaps" not in ran.stdout


def test_a_job_that_has_begun_is_refused_with_what_to_use(tmp_path):
    path = job_file(tmp_path)
    began = "2027-02-08T12:00:00Z"
    logged = covetime("log", str(path), "begun", "intake", "--now", began)
    assert logged.returncode == 0, logged.stderr
    ran = covetime("closures", str(path))
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "a plan from its start knows nothing of them" in ran.stderr
    assert f"covetime revise {path}" in ran.stderr.replace("\n", " ")


def test_holds_are_refused_before_anything_is_planned(tmp_path):
    path = booked_job(tmp_path)
    assert covetime("closures", str(path), "--choose", "1").returncode == 2
    mine = tmp_path / "holds"
    mine.mkdir()
    (mine / "holds.ics").write_text("mine")
    ran = covetime("closures", str(path), "--holds", str(mine))
    assert ran.returncode == 2
    assert (mine / "holds.ics").read_text() == "mine"
