"""`covetime revise` as it is printed, and what it leaves in the plan's folder.

Tests of planner/commands/living.py, planner/usecases/living/revise.py,
planner/usecases/standing.py, planner/usecases/write.py,
planner/files/folder/revision.py, planner/report/living/revised_text.py,
planner/living/moved.py, planner/usecases/living/left_odds.py,
planner/commands/futures.py.
"""

import json
import re
import shutil
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.errors import PlannerError
from planner.files.folder import revision
from planner.files.folder.revision import Revision
from planner.nouns.living.earlier import EarlierTask
from planner.units import day_words, moment_words
from tests.support.command import covetime
from tests.support.values import STRAIGHT, changed, job_file

LITTLE = ("--work-limit", "0.02")
HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def once(tmp_path_factory):
    """A job with its plan; copied for each test."""
    folder = tmp_path_factory.mktemp("once")
    ran = covetime("plan", str(job_file(folder, STRAIGHT)), *LITTLE)
    assert ran.returncode == 0, ran.stderr
    return folder


@pytest.fixture
def job(once, tmp_path):
    shutil.copytree(once, tmp_path, dirs_exist_ok=True)
    return tmp_path / "job.toml"


def said(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def log(job, *words: str, now: datetime):
    ran = covetime("log", str(job), *words, "--now", said(now))
    assert ran.returncode == 0, ran.stderr


def revise(job, *words: str, now: datetime):
    return covetime("revise", str(job), *words, *LITTLE, "--now", said(now))


def tasks(job):
    plan = json.loads((job.parent / "plan" / "plan.json").read_bytes())
    return {t["id"].partition(":")[2]: t for t in plan["tasks"]}


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def files(job) -> dict[str, bytes]:
    folder = job.parent / "plan"
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def promise(job) -> datetime:
    """Return by when full service is promised in the plan that stands."""
    plan = json.loads((job.parent / "plan" / "plan.json").read_bytes())
    returns = {r["kind"]: r for r in plan["stages"][0]["returns"]}
    return moment(returns["full service"]["promise"])


def late(job) -> datetime:
    """Log that the joints were taped seven hours later than planned; return when."""
    end = moment(tasks(job)["tape.wall"]["end"]) + 7 * HOUR
    log(job, "done", "tape.wall", "--at", said(end), now=end)
    return end


# ------------------------------------------------------------ nothing happened


def test_with_nothing_logged_and_nothing_changed_no_byte_changes(job):
    before = files(job)
    begin = moment(tasks(job)["fasten.wall"]["start"])
    for now in (begin - 90 * HOUR, begin + HOUR / 4, begin + 900 * HOUR):
        ran = revise(job, now=now)
        assert ran.returncode == 0, ran.stderr
        assert ran.stdout == (
            "nothing was logged and nothing changed: the plan stands as it is\n"
        )
    assert files(job) == before


def test_a_note_changes_no_byte_either(job):
    before = files(job)
    now = moment(tasks(job)["fasten.wall"]["start"])
    log(job, "note", "lift stuck", now=now)
    assert "the plan stands as it is" in revise(job, now=now).stdout
    assert files(job) == before


# --------------------------------------------------------------- what moved


def test_what_moved_is_said_in_a_line_each_and_the_earlier_plan_is_kept(job):
    before = files(job)
    now = late(job)
    ran = revise(job, now=now)
    assert ran.returncode == 0, ran.stderr
    lines = ran.stdout.splitlines()
    assert lines[0].startswith("a wall: what is left, as of ")
    assert lines[1].startswith("  Light foot traffic: ")
    assert lines[2].startswith("  Full service: ")
    assert lines[3].startswith("  Promised in 8 of 10 cases: ")
    assert lines[4].startswith("    in 19 of 20 cases: ")
    assert lines[5] == "    for how the work has gone, and what is no longer unsure"
    assert lines[6].startswith("  Keep the stage clear until ")
    assert lines.index("What moved") in (7, 8)  # the line before it may be wrapped
    promised = moment_words(promise(job), ZoneInfo("America/Halifax"))
    assert f" cases: {promised}, " in lines[3]
    assert max(map(len, lines[:-2])) <= 80  # the last name paths
    whole = ran.stdout.replace("\n      ", " ")  # as before it was wrapped
    coat = next(x for x in whole.splitlines() if "(setting-coat-1.wall)" in x)
    assert " later; " in coat
    assert "Not logged, taken as planned: " in ran.stdout
    assert "tape.wall" not in lines[-4]
    assert lines[-3] == "to be told, in changes/: Ana, Bo, manager, owner"
    assert lines[-2].endswith("the earlier plan is kept (--put-back)")
    assert lines[-1] == f"What to do now: covetime today {job}"
    kept = job.parent / "plan" / "earlier" / "001" / "plan.json"
    assert kept.read_bytes() == before["plan.json"]
    assert tasks(job)["tape.wall"]["happened"] == "done"
    _told_by_notes(job)
    _bound_is_of_the_teams(job)
    _past_is_kept(before, files(job), now)


def _told_by_notes(job):
    notes = {n: d for n, d in files(job).items() if n.startswith("changes/")}
    whom = ("manager", "owner", "people/ana", "people/bo")
    assert set(notes) == {f"changes/{w}.{e}" for w in whom for e in ("txt", "html")}
    said = " ".join(notes["changes/people/ana.txt"].decode().split())
    assert "(setting-coat-1.wall): " in said
    assert "(tape.wall)" not in said
    why = " ".join(notes["changes/owner.txt"].decode().split())
    assert "What the earlier plan didn't know " in why
    assert "done: Tape" in why


def _bound_is_of_the_teams(job):
    """What the search proved, it proved of the teams that were agreed, and says so."""
    plan = json.loads((job.parent / "plan" / "plan.json").read_bytes())
    last = plan["aims"][0]
    assert (last["proven"], last["bound"]) == (False, 0)
    assert last["words"].startswith(
        "not proven for other teams; with those of the earlier plan"
    )
    page = (job.parent / "plan" / "plan.html").read_text()
    assert f"The earliest return that was found; {last['words']}." in page
    reference = (job.parent / "plan" / "dependencies.html").read_text()
    assert "<p>Only the teams of an earlier plan were weighed, and where " in reference


def _past_is_kept(before, after, now):
    """In each calendar, what ended before and wasn't logged is the same to the byte."""
    kept = 0
    for name in (n for n in before if n.endswith(".ics") and n != "waits.ics"):
        old, new = (_entries(f[name]) for f in (before, after))
        assert set(old) <= set(new)  # changed in place, under the same name
        for uid, lines in old.items():
            end = re.search(r"^DTEND:(\d{8}T\d{6}Z)$", lines, re.M)
            past = end and datetime.fromisoformat(end[1]) <= now
            if past and "tape.wall" not in lines and "coat-1.wall" not in lines:
                assert new[uid] == lines
                kept += 1
    assert kept > 10


def _entries(data: bytes) -> dict[str, str]:
    text = data.decode().replace("\r\n ", "").replace("\r\n", "\n")
    found = re.findall(r"BEGIN:VEVENT\n.*?END:VEVENT", text, re.S)
    return {x.partition("\nUID:")[2].partition("\n")[0]: x for x in found}


@pytest.mark.slow
def test_revising_again_with_nothing_new_changes_no_byte(job):
    now = late(job)
    revise(job, now=now)
    before = files(job)
    again = revise(job, now=now + 5 * HOUR)
    assert "nothing was logged and nothing changed" in again.stdout
    assert files(job) == before


@pytest.mark.slow
def test_a_revision_is_revised(job):
    now = late(job)
    revise(job, now=now)
    first = tasks(job)
    coat = moment(first["setting-coat-1.wall"]["end"]) + HOUR
    log(job, "done", "setting-coat-1.wall", "--at", said(coat), now=coat)
    ran = revise(job, now=coat)
    assert ran.returncode == 0, ran.stderr
    then = tasks(job)
    assert then["tape.wall"] == {
        **first["tape.wall"],
        "held_by": then["tape.wall"]["held_by"],
    }
    assert moment(then["setting-coat-1.wall"]["end"]) == coat


@pytest.mark.slow
def test_a_dry_run_writes_nothing(job):
    now = late(job)
    before = files(job)
    ran = revise(job, "--dry-run", now=now)
    assert ran.returncode == 0, ran.stderr
    assert "What moved" in ran.stdout
    assert ran.stdout.splitlines()[-1] == "nothing was written"
    assert files(job) == before


def test_strict_asks_for_what_wasnt_logged(job):
    now = late(job)
    before = files(job)
    ran = revise(job, "--strict", now=now)
    assert ran.returncode == 2
    assert "the log doesn't say how these went: " in ran.stderr
    assert "mark.wall" in ran.stderr
    assert "tape.wall" not in ran.stderr
    assert files(job) == before


@pytest.mark.slow
def test_the_earlier_plan_is_put_back_whole(job):
    before = json.loads(files(job)["plan.json"])
    now = late(job)
    revise(job, now=now)
    revised = files(job)["plan.json"]
    ran = covetime("revise", str(job), "--put-back")
    assert ran.returncode == 0, ran.stderr
    assert json.loads(files(job)["plan.json"]) == before
    assert "revision.json" not in files(job)
    covetime("revise", str(job), "--put-back")
    assert files(job)["plan.json"] == revised
    assert "nothing was logged" in revise(job, now=now).stdout


def test_without_an_earlier_plan_none_is_put_back(job):
    ran = covetime("revise", str(job), "--put-back")
    assert ran.returncode == 2
    assert "no earlier plan is kept" in ran.stderr


def test_without_a_plan_there_is_nothing_to_revise(tmp_path):
    ran = covetime("revise", str(job_file(tmp_path, STRAIGHT)))
    assert ran.returncode == 2
    assert "there is no plan to revise" in ran.stderr
    assert f"plan first: covetime plan {tmp_path}/job.toml" in ran.stderr


# ------------------------------------------------------------ what doesn't fit


@pytest.mark.slow
def test_a_booking_within_the_closure_no_longer_fits_and_is_named(job):
    day = moment(tasks(job)["prime-1"]["start"])
    now = moment(tasks(job)["fasten.wall"]["end"])
    stretch = ("--from", said(day), "--until", said(day + 3 * HOUR))
    log(job, "booked", "a shoot", *stretch, now=now)
    ran = revise(job, now=now)
    assert ran.returncode == 0, ran.stderr
    lines = ran.stdout.replace("\n      ", " ").splitlines()
    at = lines.index("What no longer fits")
    assert lines[at + 1].startswith('  "a shoot" (job-log.txt), ')
    assert "the wall is open, and the stage is closed until" in lines[at + 1]


@pytest.mark.slow
def test_before_the_closure_a_booking_is_kept(job):
    day = moment(tasks(job)["prime-1"]["start"])
    now = moment(tasks(job)["mark.wall"]["start"]) - 3 * HOUR
    stretch = ("--from", said(day), "--until", said(day + 3 * HOUR))
    log(job, "booked", "a shoot", *stretch, now=now)
    ran = revise(job, now=now)
    assert ran.returncode == 0, ran.stderr
    assert "What no longer fits" not in ran.stdout
    assert " later; " in ran.stdout


@pytest.mark.slow
def test_where_nothing_is_left_what_would_help_was_planned_from_now_on(job):
    """The only finisher has gone: somebody like her makes the rest fit."""
    now = moment(tasks(job)["tape.wall"]["end"])
    gone = ("--from", said(now), "--until", said(now + 3 * 365 * 24 * HOUR))
    log(job, "away", "Ana", *gone, now=now)
    before = files(job)
    ran = covetime("revise", str(job), "--now", said(now))
    assert ran.returncode == 1
    fits = [x for x in ran.stderr.splitlines() if x.startswith("  makes it fit: ")]
    assert any("one more finisher, needed in the plan found from" in x for x in fits)
    first = day_words(now, ZoneInfo("America/Halifax"))
    assert all(first in x or day_words(now + 24 * HOUR, ZoneInfo("America/Halifax")) in x
               for x in fits)  # fmt: skip
    assert files(job) == before


# -------------------------------------------------------------- other commands


def test_a_job_with_a_log_isnt_planned_from_its_start(job):
    late(job)
    before = files(job)
    ran = covetime("plan", str(job), *LITTLE)
    assert ran.returncode == 2
    assert "things are logged for this job" in ran.stderr
    assert f"plan what is left: covetime revise {job}" in ran.stderr
    assert files(job) == before


@pytest.mark.slow
def test_a_job_with_a_log_is_planned_anew_when_told(job):
    late(job)
    assert covetime("plan", str(job), "--anew", *LITTLE).returncode == 0


def test_odds_of_a_plan_that_does_not_know_the_log_are_not_told(job):
    now = late(job)
    odds = covetime("odds", str(job))
    assert odds.returncode == 2
    assert (
        "things were logged, or changed, that the plan doesn't know yet" in odds.stderr
    )
    assert f"covetime revise {job}" in odds.stderr
    bound = covetime("odds", str(job), "--bound", "--now", said(now))
    assert bound.returncode == 2
    assert "--bound: what no plan could promise isn't worked out" in bound.stderr


@pytest.mark.slow
def test_a_revised_plan_is_explained_and_its_odds_are_those_of_what_is_left(
    job, tmp_path
):
    now = late(job)
    revise(job, now=now)
    why = covetime("why", str(job), "prime-1")
    assert why.returncode == 0, why.stderr
    zone = ZoneInfo("America/Halifax")

    def odds(at, *words):
        file = tmp_path / f"{len(words)}{at:%d%H}.json"
        ran = covetime("odds", str(job), "--json", str(file), "--now", said(at), *words)
        assert ran.returncode == 0, ran.stderr
        told = json.loads(file.read_bytes())
        (full,) = (r for r in told["returns"] if r["kind"] == "full service")
        return ran.stdout, {**full, "as_of": moment(told["left_as_of"])}

    text, full = odds(now)
    as_of = moment_words(now, zone)
    assert text.startswith(
        f"a wall, times in America/Halifax; what is left as of {as_of}"
    )
    assert moment(full["promise"]) == promise(job)
    assert full["as_of"] == now
    assert odds(now - 300 * HOUR)[1] == full  # not before the plan was made
    # with nothing more logged, all went as planned until then: little may go wrong
    coated = moment(tasks(job)["colour-1"]["end"])
    later, less = odds(coated, "--futures", "2000")
    assert f"what is left as of {moment_words(coated, zone)}" in later
    assert less["kept"] > full["kept"]


@pytest.mark.slow
def test_remarks_on_the_log_are_made(job):
    now = late(job)
    path = job.parent / "job-log.txt"
    path.write_bytes(path.read_bytes() + b"half a li")
    log(job, "begun", "tape.wall", "--anyway", now=now + HOUR)
    job_file(job.parent, changed(STRAIGHT, ("[stage]", "[stage]")))
    ran = revise(job, "--dry-run", now=now + HOUR)
    assert "line 3 of the log can't be used: it is cut off" in ran.stderr
    assert "begun tape.wall: kept though questioned: it was done" in ran.stderr


# -------------------------------------------------------------- revision.json


NINTH = datetime(2027, 2, 9, tzinfo=UTC)
MADE = Revision(
    plan="ab",
    inputs="cd",
    events=("01", "02"),
    now=NINTH,
    earlier=(
        EarlierTask(
            task="s:tape.a",
            title="Tape, a",
            bays=("s:a",),
            on_stage=True,
            spans=((NINTH, NINTH + HOUR),),
            team=("bo",),
        ),
    ),
)


def test_a_revision_is_read_back():
    assert revision.from_bytes(revision.to_bytes(MADE), file="x") == MADE


@pytest.mark.parametrize(
    ("old", "new"),
    [(b'"format": 1', b'"format": 2'), (b"+00:00", b""), (b'"plan"', b'"plane"'),
     (b"{", b"["), (b"T01:00", b"T00:00"), (b'"bays"', b'"bay"')],
)  # fmt: skip
def test_a_damaged_revision_is_told(old, new):
    data = revision.to_bytes(MADE)
    assert old in data
    with pytest.raises(PlannerError, match="is damaged"):
        revision.from_bytes(data.replace(old, new), file="x")


def test_who_came_on_a_day_that_they_were_away_from_is_called_once_less(job):
    """The judge once counted a shift for them that the plan had no open hour of."""
    first = min(tasks(job).items(), key=lambda item: item[1]["start"])[0]
    one = tasks(job)[first]
    start, end = moment(one["start"]), moment(one["end"])
    (who, *_) = one["team"]
    day = f"{start.astimezone(ZoneInfo('America/Halifax')):%Y-%m-%d}"
    for words in (
        ("begun", first, "--at", said(start)),
        ("done", first, "--at", said(end)),
        ("away", who, "--from", day, "--until", day),
    ):
        log(job, *words, "--anyway", now=end + 2 * HOUR)
    ran = revise(job, now=end + 3 * HOUR)
    assert ran.returncode == 0, ran.stderr


def test_what_would_be_done_by_now_but_for_what_it_follows_is_named(job):
    first, second = sorted(tasks(job).items(), key=lambda item: item[1]["start"])[:2]
    late = moment(second[1]["start"]) + timedelta(minutes=15)
    now = moment(second[1]["end"]) + 2 * HOUR
    log(job, "begun", first[0], "--at", said(moment(first[1]["start"])), now=now)
    log(job, "done", first[0], "--at", said(late), now=now)
    ran = revise(job, "--dry-run", now=now)
    assert ran.returncode == 0, ran.stderr
    words = " ".join(ran.stdout.split())
    assert f"so still to come: {second[0]}" in words
    assert "Log as done those that were, and revise again" in words
