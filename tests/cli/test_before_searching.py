"""Whatever can refuse a plan does so before the search, and each file is read once.

Tests of planner/commands/planning.py, planner/files/folder/lock.py,
planner/files/named.py, planner/usecases/standing.py, planner/usecases/write.py.
"""

import os
import signal
import stat
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest

from planner.errors import OutputError
from planner.files import named
from planner.files.folder import outdir, revision
from planner.files.ics_out.published import Published, PublishedState
from planner.files.job.jobfile import read_job
from planner.report.calendars.plan_feeds import feeds
from planner.report.living.note_paths import note_paths
from planner.usecases import write
from planner.usecases.opening import opening_of
from planner.usecases.read import read_inputs
from tests.support.command import covetime
from tests.support.odds import no_odds
from tests.support.places import ROOT
from tests.support.plans import made_plan
from tests.support.values import STRAIGHT, changed, job_file, put

NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)


# The plan that stands in for a search is none of the job's, so nobody can play it.
ODDS = "planner.usecases.odds.odds_of_plan"


class SearchedError(Exception):
    """The search began."""


@pytest.fixture
def unsearched(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a search that begins be an error of its own."""

    def searched(*_: object) -> None:
        raise SearchedError

    monkeypatch.setattr("planner.usecases.plan.plan_inputs", searched)


def refused(*args: str) -> str:
    """Return what a command says that ends with status 2 and without a search."""
    ran = covetime(*args)
    assert ran.returncode == 2, ran.stderr
    assert ran.stdout == ""
    return ran.stderr


# ----------------------------------------------------------------- every name


def test_the_names_asked_for_are_those_written() -> None:
    plan = made_plan()
    job = read_job(ROOT / "examples/corner/job.toml")
    gone = Published(
        feed="people/dora",
        key="task/x/1",
        uid="u",
        sequence=0,
        changed=NOW,
        digest="0" * 64,
        title="x",
        start="20270115T090000Z",
        end="20270115T100000Z",
        cancelled=False,
    )
    files: dict[str, bytes] = {}
    for state in (PublishedState(), PublishedState(entries=(gone,))):
        files = write.outputs(plan, state=state, now=NOW, prepared=opening_of(job))
        # what a plan was revised by, and whom to tell, is written by `revise` alone
        left = {f.feed.removeprefix("people/") for f in state.entries}
        told = note_paths((*(c.id for c in plan.crew), *left))
        assert {*files, revision.FILE, *told} == set(
            write.paths_of(plan.stage.id, (c.id for c in plan.crew), state)
        )
    assert {"people/dora.ics", "people/p0.ics"} < set(files)
    assert set(feeds(plan)) <= set(files)


@pytest.mark.usefixtures("unsearched")
@pytest.mark.parametrize(
    "path",
    [
        *(
            "plan.json",
            "plan.html",
            "crew.html",
            "board.svg",
            "day-sheets.txt",
            "waits.ics",
        ),
        *("dependencies.txt", "dependencies.html", "quantities.txt", "quantities.csv"),
        *("opening.txt", "opening.svg", "published.json", "closure.ics", "crew.ics"),
        *(
            "people/ana.ics",
            "people/bo.ics",
            "people",
            "revision.json",
            "changes/people/ana.txt",
            "changes/owner.html",
            ".writing/x",
            ".ready/x",
        ),
    ],
)
def test_a_file_of_the_users_under_any_name_is_told_of_before_the_search(
    tmp_path: Path, path: str
) -> None:
    job = job_file(tmp_path)
    mine = tmp_path / "plan" / path
    mine.parent.mkdir(parents=True)
    mine.write_text("mine")
    said = refused("plan", str(job))
    assert path.removesuffix("/x") in said
    assert mine.read_text() == "mine"
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == sorted([job, mine])


@pytest.mark.usefixtures("unsearched")
@pytest.mark.parametrize("letter", ["é", "ж", "न", "山", "𐌰"])
def test_a_name_of_any_script_that_no_file_can_have_is_told_of_before_the_search(
    tmp_path: Path, letter: str
) -> None:
    # a job file takes 200 letters, file systems of Linux 255 bytes of UTF-8
    text = changed(STRAIGHT, ('name = "Bo"', f'name = "{letter * 200}"'))
    said = refused("plan", str(job_file(tmp_path, text)))
    assert "a file of this name can't be made: " in said
    assert "give this one of the crew another name" in said
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


# ------------------------------------------------------------- what else refuses


@pytest.mark.usefixtures("unsearched")
@pytest.mark.parametrize("zone", ["Africa/Casablanca", "America/Santiago"])
def test_a_zone_whose_times_cant_be_written_is_told_of_before_the_search(
    tmp_path: Path, zone: str
) -> None:
    text = changed(STRAIGHT, ("America/Halifax", zone))
    said = refused("plan", str(job_file(tmp_path, text)), "--tz")
    assert f"{zone} doesn't change its clocks once a year" in said
    assert "leave --tz out" in said


@pytest.mark.usefixtures("unsearched")
def test_a_damaged_record_is_told_of_before_the_search(tmp_path: Path) -> None:
    job = job_file(tmp_path)
    put(made_plan(), tmp_path / "plan", now=NOW)
    record = tmp_path / "plan" / "published.json"
    record.write_bytes(record.read_bytes()[:-20])
    said = refused("plan", str(job))
    assert f"{record}: the record of what was published can't be read" in said


@pytest.mark.usefixtures("unsearched")
@pytest.mark.parametrize("feed", ["../closure", "/etc/x", "people/../x", ".hidden"])
def test_a_record_that_names_a_calendar_elsewhere_is_told_of(
    tmp_path: Path, feed: str
) -> None:
    job = job_file(tmp_path)
    put(made_plan(), tmp_path / "plan", now=NOW)
    record = tmp_path / "plan" / "published.json"
    record.write_text(record.read_text("utf-8").replace('"crew"', f'"{feed}"'))
    said = refused("plan", str(job))
    assert f"feed is '{feed}', not the path of a calendar" in said


@pytest.mark.usefixtures("unsearched")
def test_a_task_that_isnt_there_is_told_of_before_the_search(tmp_path: Path) -> None:
    said = refused("why", str(job_file(tmp_path)), "prime-l")
    assert 'there is no task "prime-l"' in said
    assert "did you mean prime-" in said


def test_a_run_that_finds_the_folder_taken_waits_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = job_file(tmp_path)
    monkeypatch.setattr("planner.usecases.plan.plan_inputs", lambda *_: made_plan())
    monkeypatch.setattr(ODDS, lambda _, made, **__: no_odds(made))
    alone = partial(outdir.alone, wait_s=0.2)
    with outdir.alone(tmp_path / "plan"), pytest.MonkeyPatch.context() as patch:
        patch.setattr(outdir, "alone", alone)
        ran = covetime("plan", str(job))
    assert ran.returncode == 2
    first, second, hint = ran.stderr.splitlines()
    assert "another run is at work there; waiting up to 0.2 s for it to end" in first
    assert "another run has been at work there for 0.2 s" in second
    assert "--out" in hint
    assert covetime("plan", str(job)).returncode == 0


def test_ctrl_c_ends_the_waiting_for_another_run(tmp_path: Path) -> None:
    job = job_file(tmp_path)
    command = [sys.executable, "-m", "planner.cli", "plan", str(job)]
    with (
        outdir.alone(tmp_path / "plan"),
        subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
        ) as run,
    ):
        assert run.stderr is not None
        assert "another run is at work there" in run.stderr.readline()
        run.send_signal(signal.SIGINT)
        out, err = run.communicate(timeout=60)
    assert run.returncode in (3, 130)  # no plan was found, or nothing begun
    assert out == ""
    assert "stopped" in err
    assert "Traceback" not in err


# --------------------------------------------------------------- files by option


@pytest.mark.parametrize(
    ("command", "option"),
    [
        *(("hours", "--json"), ("hours", "--picture"), ("air", "--csv")),
        *(("air", "--picture"), ("quantities", "--csv"), ("quantities", "--json")),
        *(("quantities", "--page"), ("opening", "--picture")),
    ],
)
@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("job.toml", "is there already"),
        ("folder", "it is a folder"),
        ("nowhere/x", "its folder is not there"),
        ("job.toml/x", "Not a directory"),
        ("x" * 300, "File name too long"),
        ("dangling", "is there already"),
    ],
)
def test_a_target_that_cant_be_written_is_told_of_before_any_work(
    tmp_path: Path, command: str, option: str, target: str, words: str
) -> None:
    job = job_file(tmp_path, "[job")  # a fault that reading would tell of
    (tmp_path / "folder").mkdir()
    (tmp_path / "dangling").symlink_to(tmp_path / "none")
    said = refused(command, str(job), option, str(tmp_path / target))
    assert said.startswith(f"{tmp_path / target}: ")
    assert words in said
    assert "TOML" not in said
    names = sorted(p.name for p in tmp_path.iterdir())
    assert names == ["dangling", "folder", "job.toml"]


def test_two_options_with_one_target_are_told_of_before_any_work(
    tmp_path: Path,
) -> None:
    same = str(tmp_path / "x")
    said = refused("hours", str(job_file(tmp_path)), "--json", same, "--picture", same)
    assert said.startswith(f"{same}: is named for two files")
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


def test_all_targets_that_cant_be_written_are_told_of_together(tmp_path: Path) -> None:
    job = str(job_file(tmp_path, "[job"))
    folder, mine = tmp_path / "folder", tmp_path / "holds"
    folder.mkdir()
    mine.mkdir()
    (mine / "published.json").write_text("mine")
    said = refused(
        "closures", job, "--json", job, "--picture", str(folder), "--page",
        str(tmp_path / "none" / "x"), "--holds", str(mine),
    ).splitlines()  # fmt: skip
    assert len(said) == 4
    for line, (place, words) in zip(
        said,
        (
            (job, "is there already"),
            (folder, "it is a folder"),
            (tmp_path / "none" / "x", "its folder is not there"),
            (mine, "published.json"),
        ),
        strict=True,
    ):
        assert line.startswith(f"{place}: ")
        assert words in line
    assert sorted(p.name for p in tmp_path.iterdir()) == ["folder", "holds", "job.toml"]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_target_in_a_folder_that_cant_be_written_is_told_of() -> None:
    with tempfile.TemporaryDirectory() as name:
        shut = Path(name)
        shut.chmod(0o555)

        def told() -> bool:
            if os.geteuid() == 0:
                os.setuid(65534)
            with pytest.raises(OutputError, match="Permission denied"):
                named.check_new(None, shut / "x")
            return True

        assert _status_of(told) == 0
        shut.chmod(stat.S_IRWXU)


def _status_of(deed: Callable[[], bool]) -> int:
    child = os.fork()
    if child == 0:
        end = 1
        try:
            end = 0 if deed() else 2
        finally:
            os._exit(end)
    return os.waitpid(child, 0)[1]


def test_a_file_that_the_disk_has_no_room_for_isnt_left_by_halves(
    tmp_path: Path,
) -> None:
    full = Path("/dev/full")  # Linux: every write to it finds no space left
    if not full.exists():
        pytest.skip("there is no /dev/full")
    target = tmp_path / "x"
    real = Path.open

    def opened(path: Path, *args: object, **how: object) -> object:
        if path != target:
            return real(path, *args, **how)  # type: ignore[call-overload]
        target.touch(exist_ok=False)
        return real(full, "wb")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "open", opened)
        with pytest.raises(OutputError, match="No space left"):
            named.write_new(target, b"x" * 100)
    assert not target.exists()


# ------------------------------------------------------------------ one reading


@pytest.mark.parametrize("edit", ["[job", STRAIGHT.replace('"5 m"', '"9 m"')])
def test_an_edit_during_the_search_changes_nothing_of_what_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, edit: str
) -> None:
    job = job_file(tmp_path)
    plan = replace(made_plan(), fingerprint=read_inputs(job).fingerprint)

    def searched(*_: object) -> object:
        job.write_text(edit)
        return plan

    monkeypatch.setattr("planner.usecases.plan.plan_inputs", searched)
    monkeypatch.setattr(ODDS, lambda _, made, **__: no_odds(made))
    ran = covetime("plan", str(job))
    assert ran.returncode == 0, ran.stderr
    written = (tmp_path / "plan" / "opening.txt").read_text("utf-8")
    job_file(tmp_path)
    assert written == covetime("opening", str(job)).stdout


def test_each_file_of_a_job_is_opened_once(tmp_path: Path) -> None:
    (tmp_path / "air.csv").write_text(
        "time,temp_C,rh_pct\n2027-02-08 07:00,19.5,52\n2027-02-08 08:00,19.8,51\n"
    )
    text = changed(STRAIGHT, ("[stage]", '[air]\nreadings = "air.csv"\n[stage]'))
    job = job_file(tmp_path, text)
    opened: list[str] = []
    real = Path.open

    def noted(path: Path, *args: object, **how: object) -> object:
        opened.append(path.name)
        return real(path, *args, **how)  # type: ignore[call-overload]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "open", noted)
        read_inputs(job)
    assert sorted(n for n in opened if n in ("job.toml", "air.csv")) == [
        "air.csv",
        "job.toml",
    ]
