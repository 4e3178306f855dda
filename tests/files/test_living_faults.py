"""A log and a revision that are killed, run twice at once, or find the disk full.

Nothing logged is lost or half believed; a plan stands whole, with what it was revised by
and the notes that go with it, or the earlier one does.

Tests of planner/files/logbook/appending.py, planner/usecases/living/log.py,
planner/usecases/living/measured.py, planner/usecases/living/revise.py,
planner/usecases/write.py, planner/usecases/standing.py.
"""

import errno
import itertools
import multiprocessing
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from planner.errors import OutputError
from planner.files.folder import outdir, planfile
from planner.files.logbook.appending import read_log
from planner.usecases import write
from planner.usecases.living import log as logging
from planner.usecases.living import revise as revising
from planner.usecases.living import telling
from planner.usecases.living.measured import log_readings
from planner.usecases.plan import Choices
from planner.usecases.read import read_inputs
from planner.usecases.standing import revision_in
from tests.support.command import covetime
from tests.support.killed import kills, unix_only
from tests.support.values import STRAIGHT, job_file

NOW = datetime(2027, 2, 17, 18, 20, tzinfo=UTC)
HOUR = timedelta(hours=1)
LITTLE = ("--work-limit", "0.02")
CSV = "time,temp_C,rh_pct\n" + "".join(
    f"2027-02-17 {hour:02}:00,19.{hour % 10},5{hour % 10}\n" for hour in range(14)
)


@pytest.fixture
def quick(monkeypatch):
    """Don't wait for the disk: a kill takes nothing from the system's own memory."""
    monkeypatch.setattr(os, "fsync", lambda handle: None)


def noted(folder: Path, words: str) -> bool:
    said = logging.Said(what="note", about=words)
    logging.log(folder / "job.toml", said, now=NOW)
    return True


def read(folder: Path) -> bool:
    """Log a logger's file."""
    log_readings(
        folder / "job.toml", folder / "tern.csv", by=(), insisted=False, now=NOW
    )
    return True


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A folder with a job and a log of two notes."""
    folder = tmp_path / "job"
    folder.mkdir()
    job_file(folder, STRAIGHT)
    (folder / "tern.csv").write_text(CSV, encoding="utf-8")
    for words in ("one", "two"):
        noted(folder, words)
    return folder


def words(folder: Path) -> list[str]:
    return [e.words for e in read_log(folder / "job-log.txt").events]


# ------------------------------------------------------------------------ the log


@unix_only
@pytest.mark.usefixtures("quick")
def test_a_kill_at_any_step_of_a_log_loses_no_event_and_believes_no_half_one(job):
    before = (job / "job-log.txt").read_bytes()
    steps, ends = 0, set()
    for copy in kills(job, partial(noted, words="three"), whole_files=True):
        steps += 1
        assert (copy / "job-log.txt").read_bytes().startswith(before)
        found = words(copy)
        ends.add(len(found))
        assert found in (["one", "two"], ["one", "two", "three"])
        noted(copy, "four")  # the lock is free, and a half line harms nobody
        assert words(copy) == [*found, "four"]
        assert len(read_log(copy / "job-log.txt").broken) <= 1
    assert steps >= 6  # job file, log, lock, write, two waits for the disk
    assert ends == {2, 3}


@unix_only
@pytest.mark.usefixtures("quick")
def test_a_logger_file_that_is_killed_is_made_whole_by_giving_it_again(job):
    parts = set()
    for copy in kills(job, read, whole_files=True):
        parts.add(len(words(copy)) - 2)
        read(copy)
        assert len(words(copy)) == 2 + 14
        assert len(read_log(copy / "job-log.txt").broken) <= 1
    assert {0, 14} < parts  # nothing, all, and some of it


def test_a_full_disk_takes_none_of_a_logger_file(job, monkeypatch):
    before = (job / "job-log.txt").read_bytes()
    real = os.write
    monkeypatch.setattr(os, "write", lambda h, data: real(h, data[:300]))
    with pytest.raises(OutputError, match="nothing was logged: No space left"):
        read(job)
    assert (job / "job-log.txt").read_bytes() == before


@unix_only
def test_of_two_who_give_files_and_notes_at_once_nothing_is_lost(job):
    context = multiprocessing.get_context("fork")
    writers = [
        context.Process(target=read, args=(job,)),
        *(
            context.Process(target=noted, args=(job, f"w{n}"))
            for n in range(6)
        ),
    ]  # fmt: skip
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
    book = read_log(job / "job-log.txt")
    assert book.broken == ()
    assert {f"w{n}" for n in range(6)} < {e.words for e in book.events}
    assert sum(e.reading_of == "tern.csv" for e in book.events) == 14


# --------------------------------------------------------------------- a revision


@pytest.fixture(scope="module")
def revised(tmp_path_factory):
    """A job with its plan, something logged, and the files of its revision, unwritten."""
    folder = tmp_path_factory.mktemp("revised")
    job = job_file(folder, STRAIGHT)
    ran = covetime("plan", str(job), *LITTLE)
    assert ran.returncode == 0, ran.stderr
    facts = revising.facts_of(job, folder / "plan")
    end = facts.plan.task("tape.wall").end + 7 * HOUR
    said = logging.Said(what="done", about="tape.wall", at=end.isoformat())
    logging.log(job, said, now=end)
    facts = revising.facts_of(job, folder / "plan")
    found = revising.revise(facts, Choices(work_limit=0.02), now=end)
    news = telling.news_of(facts, found)
    return folder, facts, found, news, end


def stand(folder: Path, revised) -> tuple[str, ...]:
    """Write the revision as the command does, its search being over."""
    _, facts, found, news, end = revised
    job = facts.inputs.job
    with write.place_for(job, folder / "plan", tell=lambda line: None) as held:
        return write.stand(held, job, news, found.revision, now=end)


def whole(folder: Path, revised) -> str:
    """Return which plan stands; check that all that stands beside it is of that plan."""
    _, facts, found, _, _ = revised
    stored = outdir.read(folder / "plan", "plan.json")
    assert stored is not None
    plan = planfile.read_plan(stored, file="plan.json")
    last = revision_in(folder / "plan", plan)
    notes = sorted(p.name for p in (folder / "plan" / "changes").rglob("*.txt"))
    if plan.fingerprint == facts.plan.fingerprint:
        assert (last, notes) == (None, [])
        return "old"
    assert plan.fingerprint == found.after.fingerprint
    assert last == found.revision
    assert notes == ["ana.txt", "bo.txt", "manager.txt", "owner.txt"]
    return "new"


def files(folder: Path) -> dict[str, bytes]:
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def put(folder: Path, made: Mapping[str, bytes]) -> bool:
    """Ask for the folder and write into it, as `stand` does with what it has made."""
    with outdir.alone(folder / "plan") as held:
        outdir.check(held, made)
        outdir.write(held, made)
    return True


@pytest.mark.slow
@unix_only
@pytest.mark.usefixtures("quick")
def test_a_kill_at_any_step_of_a_revision_leaves_one_plan_whole(revised, tmp_path):
    """Each step that writes; what comes before, the search above all, only reads."""
    folder, wanted = tmp_path / "job", tmp_path / "wanted"
    for copy in (folder, wanted):
        shutil.copytree(revised[0], copy)
    log = (folder / "job-log.txt").read_bytes()
    written = stand(wanted, revised)
    made = {name: (wanted / "plan" / name).read_bytes() for name in written}
    ends = []
    for copy in kills(folder, partial(put, made=made)):
        ends.append(whole(copy, revised))
        assert (copy / "job-log.txt").read_bytes() == log
        put(copy, made)  # refuses nothing, whatever was left
        assert files(copy / "plan") == files(wanted / "plan")
    turn = ends.index("new")  # the old plan up to there, then the new
    assert turn > 20
    assert ends == ["old"] * turn + ["new"] * (len(ends) - turn)


@pytest.mark.slow
@unix_only
def test_a_kill_in_the_middle_of_a_search_leaves_the_plan_and_the_log(
    revised, tmp_path
):
    """Killed as each line is told: once begun, at each aim, at the odds, when written."""
    log = (revised[0] / "job-log.txt").read_bytes()
    now = f"{revised[4].astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    ends, told = [], []
    for count in itertools.count(1):
        folder = tmp_path / f"job-{count}"
        shutil.copytree(revised[0], folder)
        words = ("revise", str(folder / "job.toml"), *LITTLE, "--now", now)
        with subprocess.Popen(
            [sys.executable, "-u", "-m", "planner.cli", *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        ) as run:
            assert run.stdout is not None
            lines = [line for _, line in zip(range(count), run.stdout, strict=False)]
            run.kill()
        ends.append(whole(folder, revised))
        assert (folder / "job-log.txt").read_bytes() == log
        if ends[-1] == "new":
            break
        told.append(lines[-1])
        before = files(revised[0] / "plan")
        kept = {k: v for k, v in files(folder / "plan").items() if "." in k}
        assert {k: kept[k] for k in before} == before
    assert len(told) >= 5  # some of them in the search
    assert any("least change from what was agreed" in t for t in told)
    assert any("playing" in t for t in told)
    assert ends == ["old"] * len(told) + ["new"]
    # what a killed run left behind keeps nobody from revising
    left = tmp_path / "job-1" / "job.toml"
    ran = covetime("revise", str(left), *LITTLE, "--now", now)
    assert ran.returncode == 0, ran.stderr
    assert whole(left.parent, revised) == "new"


@pytest.mark.slow
def test_a_full_disk_leaves_the_plan_that_stands(revised, tmp_path, monkeypatch):
    """The disk is full from the nth wait for it on, for some n; the plan stands."""
    real, failed = os.fsync, 0
    for n in (0, 20):
        folder = tmp_path / f"job-{n}"
        shutil.copytree(revised[0], folder)
        before = files(folder)
        left = itertools.count(n, -1)

        def full(handle: int, left=left) -> None:
            if next(left) <= 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            real(handle)

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(OutputError, match="No space left on device"):
            stand(folder, revised)
        monkeypatch.setattr(os, "fsync", real)
        failed += 1
        assert whole(folder, revised) == "old"
        kept = {k: v for k, v in files(folder).items() if "/." not in k}
        assert kept == before
        stand(folder, revised)
        assert whole(folder, revised) == "new"
    assert failed == 2


@pytest.mark.slow
def test_what_is_logged_while_a_revision_is_made_is_new_to_it(revised, tmp_path):
    """Whoever logs doesn't wait for whoever plans, and is told so by the next command."""
    folder = tmp_path / "job"
    shutil.copytree(revised[0], folder)
    job, end = folder / "job.toml", revised[4]
    inputs = read_inputs(revised[0] / "job.toml").job
    with write.place_for(inputs, folder / "plan", tell=lambda line: None) as held:
        said = logging.Said(
            what="away", about="Bo", start="2027-02-15", until="2027-02-15"
        )
        logging.log(job, said, now=end)  # the folder is held meanwhile
        write.stand(held, inputs, revised[3], revised[2].revision, now=end)
    facts = revising.facts_of(job, folder / "plan")
    assert whole(folder, revised) == "new"
    assert not facts.is_current
    ran = covetime("today", str(job), "--now", f"{end:%Y-%m-%dT%H:%M:%SZ}")
    assert "logged since the plan was made" in " ".join(ran.stdout.split())


@pytest.mark.slow
def test_two_revisions_at_once_wait_for_one_another(revised, tmp_path, monkeypatch):
    """The second is refused after its wait, and nothing of the first is touched."""
    folder = tmp_path / "job"
    shutil.copytree(revised[0], folder)
    before = files(folder)
    inputs = revised[1].inputs.job
    patched = partial(outdir.alone, wait_s=0.05)
    with outdir.alone(folder / "plan"):
        monkeypatch.setattr(outdir, "alone", patched)
        with (
            pytest.raises(OutputError),
            write.place_for(inputs, folder / "plan", tell=lambda line: None),
        ):
            pass
    kept = {k: v for k, v in files(folder).items() if "/." not in k}
    assert kept == before
