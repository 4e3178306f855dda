"""`covetime repaint`: which gaps hold painting floor and coves again, and when it is due.

Tests of planner/commands/repainting.py, planner/usecases/comparing/repaint.py,
planner/nouns/choices/repaints.py, planner/report/words/choices/repaint_text.py,
planner/usecases/comparing/closures.py, planner/usecases/read.py,
planner/files/tables/repaint_json.py, planner/report/calendars/holds_feed.py.
"""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from planner.errors import PlannerError
from planner.files.folder import planfile
from planner.files.tables.repaint_json import repaint_json
from planner.nouns.choices.closures import ClosureOption, Gap
from planner.nouns.choices.repaints import RepaintChoices, RepaintOption
from planner.report.choices.closures_picture import closures_svg
from planner.report.words.choices.repaint_text import repaint_words
from planner.usecases.comparing.closures import ClosuresRequest
from planner.usecases.comparing.holds import write_holds
from planner.usecases.comparing.repaint import RepaintAsked, Repainting, check_keep
from planner.usecases.comparing.season import season_of
from planner.usecases.read import read_inputs
from tests.support.command import covetime
from tests.support.side_by_side import SMALL, OneByOne
from tests.support.values import changed, job_file

NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)
# a building, whose file is used to paint again what was built
BUILT = changed(
    SMALL,
    ('apron = "0 m"', 'apron = "2 m"\nbookings = ["stage.ics"]'),
    ("earliest = 2027-02-08", "earliest = 2027-02-08\ndelivery = 2027-02-08T10:00:00"),
)


def entry(title: str, first: str, last: str) -> str:
    return (
        f"BEGIN:VEVENT\r\nUID:{title}@demo.example\r\nDTSTAMP:20270101T000000Z\r\n"
        f"SUMMARY:{title}\r\nDTSTART;VALUE=DATE:{first}\r\nDTEND;VALUE=DATE:{last}\r\n"
        "END:VEVENT\r\n"
    )


@pytest.fixture
def job(tmp_path) -> Path:
    """Mon 8 to Wed 10 Feb free, Fri 12 to Mon 22 free, from 24 on free."""
    head = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n"
    text = (
        head
        + entry("First", "20270210", "20270212")
        + entry("Second", "20270222", "20270224")
        + "END:VCALENDAR\r\n"
    )
    (tmp_path / "stage.ics").write_bytes(text.encode())
    return job_file(tmp_path, BUILT)


def work(job: Path, until: date | None = None, **wanted) -> Repainting:
    request = ClosuresRequest(job=job, until=until, futures=100, seed=1)
    return Repainting(request, RepaintAsked(**wanted), now=NOW)


def planned(job: Path, **wanted) -> tuple[Repainting, RepaintChoices]:
    made = work(job, **wanted)
    made.choosing.plan(OneByOne(), lambda one: None)
    return made, made.choices()


def log(job: Path, *words: str):
    ran = covetime("log", str(job), *words, "--now", "2027-03-30T09:00:00Z")
    assert ran.returncode == 0, ran.stderr


def test_the_gaps_are_written_as_they_are_numbered(job, tmp_path):
    """As JSON, drawn, and as tentative entries: the same gaps in the same order."""
    made, found = planned(job, until=date(2027, 2, 25))
    read = json.loads(repaint_json(found))
    held = [g for g in read["gaps"] if g["rank"]]
    assert [(g["rank"], g["worn_days"]) for g in held] == [(1, 2.0), (2, 4.0)]
    assert [g["worn_days"] for g in read["gaps"] if not g["rank"]] == [None]
    assert read["wear"]["painted"] is None
    assert read["repaint"]["coats"] == found.repaint.coats
    assert [d["day"] for d in read["wear"]["days"]][:2] == ["2027-02-10", "2027-02-11"]

    season = season_of(made.choosing.inputs, found.closures.shown_until)
    svg = closures_svg(found.closures, season).decode()
    assert "could be closed for painting again" in svg
    assert "2: closed from Wed 24 Feb 2027" in svg

    folder = tmp_path / "holds"

    def entries(choose=None):
        write_holds(found.closures, folder, job=made.job, now=NOW, choose=choose,
                    tell=print)  # fmt: skip
        text = (folder / "holds.ics").read_bytes().decode().replace("\r\n ", "")
        return [x for x in text.split("BEGIN:VEVENT")[1:] if "CANCELLED" not in x]

    both = entries()
    assert len(both) == 2
    assert all("may be closed for painting again (option)" in x for x in both)
    assert all("STATUS:TENTATIVE" in x for x in both)
    (left,) = entries(choose=2)
    assert "DTSTART;VALUE=DATE:20270224" in left


def test_gaps_that_hold_it_are_told_with_wear_cost_and_odds(job):
    """From the file of a building nothing is built: no crates, no modules."""
    made, found = planned(job, until=date(2027, 2, 25))
    held = [o.closure.gap.start.astimezone(made.job.zone).day for o in found.options]
    assert held == [12, 24]
    # two days booked before the first of them, four before the second
    assert [o.worn_days for o in found.options] == [2.0, 4.0]
    words = repaint_words(found)
    flat = " ".join(words.split())
    assert "To paint again: floor and coves, the same colour, 1 coat of Flat" in flat
    assert "isn't logged: wear counts from what is known of; it lasts 15 days" in flat
    assert "Days of use: 0 logged, 4 taken from bookings" in flat
    assert "By what is booked it isn't worn yet" in flat
    assert "2 of 15 days of use by then" in flat
    assert "Choose it for the least wear until then" in flat
    assert "to use the colour the longest: the last of these" in flat  # not worn yet
    assert "Holds no repaint Mon 8 Feb 2027, 00:00 to Wed 10 Feb 2027, 00:00" in flat
    assert "(2 days): too short: needs " in flat
    assert "in every future" in flat or "of 100 futures" in flat
    assert "local codes and licensed practice come first" in flat
    assert "the crates come" not in flat
    assert max(map(len, words.splitlines())) <= 80


def test_wear_counts_what_was_logged_and_says_when_it_is_due(job):
    job_file(job.parent, changed(BUILT, ("[survey]", "[repaint]\nlasts = 3\n[survey]")))
    log(job, "painted", "--at", "2 Feb 2027 16:00")
    log(job, "used", "rain boots", "--from", "2027-02-03", "--until", "2027-02-04",
        "--floor", "overshoes")  # fmt: skip
    made = work(job, until=date(2027, 2, 25))
    words = " ".join(repaint_words(made.choices()).split())
    # 2 days at a half, then 10 and 11 Feb: 1 + 1 + 1 = 3 of 3 on the 11th
    assert "Painted last on Tue 2 Feb 2027; it lasts 3 days of use" in words
    assert "Days of use: 2 logged, 4 taken from bookings" in words
    assert "Due: by what is logged and booked it is worn on Thu 11 Feb 2027" in words
    assert "Nothing was found before the run was stopped" in words
    assert "None of the gaps" not in words


def test_what_is_asked_for_lies_over_what_the_file_says(job):
    text = '[repaint]\narea = "all"\ncolour = "another"\n[survey]'
    job_file(job.parent, changed(BUILT, ("[survey]", text)))
    as_said = work(job).job.repaint
    asked = work(job, area="floor", colour="same").job.repaint
    assert as_said is not None
    assert asked is not None
    assert (as_said.area, as_said.colour, as_said.coats) == ("all", "another", 2)
    assert (asked.area, asked.colour, asked.coats) == ("floor", "same", 1)
    three = work(job, coats=3).job.repaint
    assert three is not None
    assert three.coats == 3


def test_what_was_wished_for_the_building_isnt_wished_for_the_paint(job):
    built = changed(
        BUILT,
        ("earliest = 2027-02-08", "earliest = 2027-02-08\nback_by = 2027-03-31"),
    )
    own = changed(built, ("[survey]", "[repaint]\n[survey]"))
    assert work(job_file(job.parent, built)).job.back_by is None
    assert work(job_file(job.parent, own)).job.back_by is not None


@pytest.mark.parametrize(
    ("now", "since", "first"),
    [
        (NOW, None, date(2027, 2, 8)),  # the job's earliest
        (datetime(2027, 2, 15, 9, tzinfo=UTC), None, date(2027, 2, 15)),  # today
        (NOW, date(2027, 3, 1), date(2027, 3, 1)),
    ],
)
def test_gaps_begin_with_the_day_asked_for(job, now, since, first):
    request = ClosuresRequest(job=job, futures=100, seed=1)
    made = Repainting(request, RepaintAsked(since=since), now=now)
    assert made.job.earliest == first
    assert all(g.end is None or g.end.date() >= first for g in made.choosing.gaps)


def test_a_chosen_gap_becomes_a_job_of_its_own(job):
    made, found = planned(job, area="floor", until=date(2027, 2, 20))
    text = made.job_in(1, found).decode()
    kept = job.parent / "again.toml"
    kept.write_text(text, encoding="utf-8")
    inputs = read_inputs(kept)
    assert inputs.job.repaint is not None
    assert inputs.job.repaint.area == "floor"
    assert inputs.job.earliest == date(2027, 2, 12)
    with pytest.raises(PlannerError, match="there is no option 2"):
        made.job_in(2, found)


def test_choosing_and_keeping_go_together_beside_the_job_file(job, tmp_path):
    check_keep(job, None, None)
    check_keep(job, 1, job.parent / "again.toml")
    for choose, keep in ((1, None), (None, job.parent / "again.toml")):
        with pytest.raises(PlannerError, match="go together"):
            check_keep(job, choose, keep)
    with pytest.raises(PlannerError, match="must stand beside the job file"):
        check_keep(job, 1, tmp_path / "elsewhere" / "again.toml")


def test_the_last_gap_in_time_is_one_before_the_colour_is_worn():
    gap = Gap(start=NOW, end=None)

    def option(worn):
        return RepaintOption(closure=ClosureOption(gap=gap), worn_days=worn)

    from planner.nouns.job import Repaint
    from planner.nouns.living.wear import Wear

    def found(*worn):
        return RepaintChoices(
            closures=None,  # type: ignore[arg-type]  # not looked at
            repaint=Repaint(area="floor", coats=1),
            product="x",
            wear=Wear(painted=None, days=(), lasts_days=10.0),
            options=tuple(map(option, worn)),
        )

    assert found(2.0, 8.0, 10.0).last_in_time == option(8.0)
    assert found(10.0, 12.0).last_in_time is None
    assert found(3.0, 2.0).least_worn == option(2.0)
    assert found().least_worn is None
    assert found().cheapest is None


def test_a_fault_of_the_command_line_is_told(job):
    for words, said in (
        (("--area", "walls"), "--area"),
        (("--colour", "blue"), "--colour"),
        (("--coats", "9"), "--coats"),
        (("--until", "2026-01-01"), "--until"),
    ):
        ran = covetime("repaint", str(job), *words, "--now", "2027-01-15T09:00:00Z")
        assert ran.returncode == 2
        assert said in ran.stderr


@pytest.mark.slow
def test_the_command_prints_the_gaps_and_keeps_a_job_file(job):
    keep = job.parent / "again.toml"
    words = ("--until", "2027-02-20", "--choose", "1", "--keep", str(keep))
    ran = covetime("repaint", str(job), *words, "--now", "2027-01-15T09:00:00Z")
    assert ran.returncode == 0, ran.stderr
    assert "  1  Closed from   Fri 12 Feb 2027" in ran.stdout
    assert f"plan it: covetime plan {keep}" in ran.stderr
    planned = covetime("plan", str(keep), "--work-limit", "0.02")
    assert planned.returncode == 0, planned.stderr
    again = covetime("repaint", str(job), *words, "--now", "2027-01-15T09:00:00Z")
    assert again.returncode == 2
    assert "is there already" in again.stderr


@pytest.mark.slow
def test_a_repaint_that_has_begun_is_revised_and_what_shows_is_patched(job):
    job_file(job.parent, changed(BUILT, ("[survey]", "[repaint]\n[survey]")))
    ran = covetime("plan", str(job), "--work-limit", "0.02")
    assert ran.returncode == 0, ran.stderr
    found = planfile.read_plan(
        (job.parent / "plan" / "plan.json").read_bytes(), file="plan.json"
    )
    now = f"{found.task('clear').end + timedelta(hours=1):%Y-%m-%dT%H:%M:%SZ}"
    for words in (("done", "clear"), ("shows", "wall")):
        ran = covetime("log", str(job), *words, "--now", now)
        assert ran.returncode == 0, ran.stderr
    ran = covetime("revise", str(job), "--now", now, "--work-limit", "0.02")
    assert ran.returncode == 0, ran.stderr
    plan = planfile.read_plan(
        (job.parent / "plan" / "plan.json").read_bytes(), file="plan.json"
    )
    assert plan.task("clear").happened == "done"
    patched = [t for t in plan.tasks if t.phase == "spot-fill"]
    assert len(patched) == 1
    assert patched[0].end <= plan.task("colour-1").start
