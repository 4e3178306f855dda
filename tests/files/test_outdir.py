"""Writing a plan's folder: whole or not at all, the old kept, nobody's file harmed.

Tests of planner/files/folder/ours.py, planner/files/folder/outdir.py.
"""

import errno
import functools
import hashlib
import itertools
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import warnings
from collections.abc import Callable, Collection, Iterator, Mapping
from pathlib import Path

import pytest

from planner.errors import OutputError
from planner.files.folder import ours as outdir_ours
from planner.files.folder import outdir
from tests.support.killed import kills, status_of, unix_only

OLD = {
    "plan.json": b'{"plan": 1}',
    "crew.ics": b"old crew\r\n" * 300,
    "people/ana.ics": b"old ana\r\n",
    "people/ben.ics": b"stays the same\r\n",
    "pages/old/page.html": b"gone in the new plan",
}
NEW = {
    "plan.json": b'{"plan": 2}',
    "crew.ics": b"new crew\r\n" * 400,
    "people/ana.ics": b"new ana\r\n",
    "people/ben.ics": b"stays the same\r\n",
    "board.svg": b"<svg/>",
}


def files_of(folder: Path) -> dict[str, bytes]:
    """Return what stands in a folder, the list of files and hidden folders left out."""
    return {
        str(path.relative_to(folder).as_posix()): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not path.relative_to(folder).parts[0].startswith(".")
        if path.name != outdir_ours.SUMS
    }


def plan_of(folder: Path) -> dict[str, bytes]:
    """Return the plan that stands, the earlier ones left out."""
    found = files_of(folder)
    return {path: data for path, data in found.items() if path[:8] != "earlier/"}


def write(folder: Path, files: Mapping[str, bytes]) -> outdir.Written:
    """Write a plan as a run does, the folder kept for it alone."""
    with outdir.alone(folder) as held:
        return outdir.write(held, files)


def check(folder: Path, paths: Collection[str]) -> None:
    """Ask as a run does whether a plan could be written, and write none."""
    with outdir.alone(folder) as held:
        outdir.check(held, paths)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Don't wait for the disk: a kill takes nothing from the system's own memory."""
    monkeypatch.setattr(os, "fsync", lambda handle: None)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder in which the old plan stands."""
    write(tmp_path / "plan", OLD)
    return tmp_path / "plan"


# --------------------------------------------------------------- the ordinary way


def test_a_plan_is_written_into_a_folder_made_for_it(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b" / "plan"
    written = write(folder, OLD)
    assert files_of(folder) == OLD
    assert written == outdir.Written(changed=tuple(sorted(OLD)))
    assert not (folder / "earlier").exists()


def test_a_new_plan_replaces_the_old_and_keeps_all_of_it(folder: Path) -> None:
    written = write(folder, NEW)
    assert plan_of(folder) == NEW
    assert files_of(folder / "earlier" / "001") == OLD
    assert written == outdir.Written(
        changed=("board.svg", "crew.ics", "people/ana.ics", "plan.json"),
        removed=("pages/old/page.html",),
        kept=folder / "earlier" / "001",
    )
    assert not (folder / "pages").exists()  # a folder that is empty now goes too


def test_the_same_plan_again_touches_nothing(folder: Path) -> None:
    before = {p: p.stat().st_mtime_ns for p in folder.rglob("*")}
    assert write(folder, OLD) == outdir.Written()
    assert {p: p.stat().st_mtime_ns for p in folder.rglob("*")} == before


def test_an_unchanged_file_is_left_as_it_is(folder: Path) -> None:
    before = (folder / "people/ben.ics").stat()
    write(folder, NEW)
    after = (folder / "people/ben.ics").stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


def test_each_plan_that_stood_is_kept_under_its_own_number(folder: Path) -> None:
    write(folder, NEW)
    write(folder, OLD)
    write(folder, NEW)
    kept = [files_of(folder / "earlier" / n) for n in ("001", "002", "003")]
    assert kept == [OLD, NEW, OLD]


def test_numbers_go_on_after_999(folder: Path) -> None:
    (folder / "earlier" / "999").mkdir(parents=True)
    (folder / "earlier" / "notes").mkdir()
    assert write(folder, NEW).kept == folder / "earlier" / "1000"


def test_a_file_edited_by_hand_is_kept_as_edited(folder: Path) -> None:
    (folder / "crew.ics").write_bytes(b"edited by hand")
    write(folder, OLD)
    assert plan_of(folder) == OLD
    assert (folder / "earlier/001/crew.ics").read_bytes() == b"edited by hand"


def test_files_added_to_a_plan_need_no_copy_of_it(folder: Path) -> None:
    assert write(folder, {**OLD, "more.txt": b"more"}).kept is None
    assert not (folder / "earlier").exists()


def test_a_file_deleted_by_hand_comes_back(folder: Path) -> None:
    (folder / "crew.ics").unlink()
    assert write(folder, OLD).changed == ("crew.ics",)
    assert files_of(folder) == OLD


def test_the_list_of_files_is_what_sha256sum_reads(folder: Path) -> None:
    # GNU coreutils: lines of digest, two blanks, name; "#" begins a comment
    lines = (folder / outdir_ours.SUMS).read_text().splitlines()
    assert lines[0].startswith("# ")
    assert lines[1:] == [
        f"{hashlib.sha256(OLD[path]).hexdigest()}  {path}" for path in sorted(OLD)
    ]
    if shutil.which("sha256sum"):
        command = ["sha256sum", "--check", "--strict", "--status", outdir_ours.SUMS]
        assert subprocess.run(command, cwd=folder, check=False).returncode == 0


def test_reading_gives_the_plan_that_stands(folder: Path) -> None:
    assert outdir.read(folder, "plan.json") == OLD["plan.json"]
    assert outdir.read(folder, "none.json") is None
    assert outdir.read(folder / "nowhere", "plan.json") is None


# ----------------------------------------------------------------- killed at work


def nothing_is_lost(folder: Path) -> None:
    """Check that every file is whole, and every old one still somewhere."""
    for path, data in plan_of(folder).items():
        assert data in (OLD.get(path), NEW.get(path)), path
    safe = (folder, folder / "earlier" / "001", folder / ".ready" / "old")
    for path, data in OLD.items():
        places = [place / path for place in safe if (place / path).is_file()]
        assert data in [place.read_bytes() for place in places], path
    for path in OLD.keys() & NEW.keys():  # never missing for a while
        assert (folder / path).is_file()


@unix_only
@pytest.mark.usefixtures("quick")
def test_a_kill_at_any_step_leaves_the_old_plan_or_the_new(folder: Path) -> None:
    ends = []
    for copy in kills(folder, lambda copy: write(copy, NEW)):
        nothing_is_lost(copy)
        plan = outdir.read(copy, "plan.json")
        assert plan_of(copy) == (OLD if plan == OLD["plan.json"] else NEW)
        ends.append(plan)
        check(copy, list(NEW))
        assert not [p.name for p in copy.iterdir() if p.name.startswith(".")]

        write(copy, NEW)
        assert plan_of(copy) == NEW
        assert [p.name for p in (copy / "earlier").iterdir()] == ["001"]
        assert files_of(copy / "earlier" / "001") == OLD
    turn = ends.index(NEW["plan.json"])  # the old plan up to there, then the new
    assert turn > 20
    assert len(ends) > turn + 10
    assert ends == [OLD["plan.json"]] * turn + [NEW["plan.json"]] * (len(ends) - turn)


@pytest.mark.slow
@unix_only
@pytest.mark.usefixtures("quick")
def test_a_second_kill_while_the_first_is_made_good_loses_nothing(folder: Path) -> None:
    tried = 0
    kills_of_the_writing = kills(folder, lambda copy: write(copy, NEW))
    for first in itertools.islice(kills_of_the_writing, 0, None, 4):  # to save time
        if not (first / ".ready").exists():
            continue
        for copy in kills(first, lambda copy: outdir.read(copy, "plan.json")):
            nothing_is_lost(copy)
            write(copy, NEW)
            assert plan_of(copy) == NEW
            assert files_of(copy / "earlier" / "001") == OLD
            assert len(list((copy / "earlier").iterdir())) == 1
            tried += 1
    assert tried > 100


@pytest.mark.slow
@unix_only
@pytest.mark.usefixtures("quick")
def test_a_kill_in_a_fresh_folder_leaves_a_whole_plan_or_none(tmp_path: Path) -> None:
    (tmp_path / "fresh").mkdir()
    tried = 0
    for copy in kills(tmp_path / "fresh", lambda copy: write(copy, NEW)):
        outdir.read(copy, "plan.json")
        assert files_of(copy) in ({}, NEW)
        write(copy, NEW)
        assert files_of(copy) == NEW
        assert not (copy / "earlier").exists()
        tried += 1
    assert tried > 20


def run(folder: Path, files: Mapping[str, bytes]) -> None:
    """Do as a whole run does: keep the folder, ask, search, write."""
    with outdir.alone(folder) as held:
        outdir.check(held, files)
        outdir.write(held, files)


@pytest.mark.slow
@unix_only
@pytest.mark.usefixtures("quick")
def test_a_kill_at_any_step_of_a_run_leaves_a_plan_and_no_riddle(folder: Path) -> None:
    steps, in_hand = 0, 0
    for copy in kills(folder, lambda copy: run(copy, NEW)):
        nothing_is_lost(copy)
        in_hand += (copy / ".writing").exists()
        plan = outdir.read(copy, "plan.json")
        assert plan_of(copy) == (OLD if plan == OLD["plan.json"] else NEW)
        run(copy, NEW)  # refuses nothing, whatever was left
        assert plan_of(copy) == NEW
        assert files_of(copy / "earlier" / "001") == OLD
        assert not [p.name for p in copy.iterdir() if p.name.startswith(".")]
        steps += 1
    assert steps > 60
    assert in_hand > 40


@unix_only
@pytest.mark.usefixtures("quick")
@pytest.mark.slow
def test_a_kill_while_a_first_folder_is_made_leaves_one_that_can_be_used(
    tmp_path: Path,
) -> None:
    (tmp_path / "fresh").mkdir()
    steps = 0
    for copy in kills(tmp_path / "fresh", lambda copy: run(copy / "a" / "plan", NEW)):
        outdir.read(copy / "a" / "plan", "plan.json")
        assert files_of(copy / "a" / "plan") in ({}, NEW)
        run(copy / "a" / "plan", NEW)
        assert files_of(copy / "a" / "plan") == NEW
        steps += 1
    assert steps > 40


@unix_only
def test_a_run_that_is_killed_lets_go_of_the_folder(folder: Path) -> None:
    def first() -> None:
        with outdir.alone(folder):
            os.write(told[1], b"x")
            time.sleep(60)

    told = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        child = os.fork()
    if child == 0:
        try:
            first()
        finally:
            os._exit(1)
    os.read(told[0], 1)
    killing = threading.Timer(0.3, os.kill, (child, signal.SIGKILL))
    killing.start()
    lines: list[str] = []
    with outdir.alone(folder, tell=lines.append, wait_s=20) as held:
        outdir.write(held, NEW)
    os.waitpid(child, 0)
    for end in told:
        os.close(end)
    assert plan_of(folder) == NEW
    assert len(lines) == 1  # it was waited for


@unix_only
@pytest.mark.usefixtures("quick")
def test_runs_at_once_and_killed_leave_one_whole_plan_at_any_moment(
    tmp_path: Path,
) -> None:
    # three writers, one of whom is killed again and again, and a reader
    folder = tmp_path / "plan"
    plans = {b"A": OLD, b"B": NEW}

    def writing(plan: bytes) -> int:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            child = os.fork()
        if child:
            return child
        end = 1
        try:
            for n in range(12):
                run(folder, plans[b"A" if (n + (plan == b"B")) % 2 else b"B"])
            end = 0
        finally:
            os._exit(end)

    steady = [writing(b"A"), writing(b"B")]
    until = time.monotonic() + 60
    ended: list[int] = []
    whole = {OLD["plan.json"], NEW["plan.json"], None}
    while len(ended) < 2:
        assert time.monotonic() < until
        victim = writing(b"A")
        time.sleep(0.02)
        os.kill(victim, signal.SIGKILL)
        os.waitpid(victim, 0)
        assert outdir.read(folder, "plan.json") in whole
        for child in steady:
            if child not in ended and os.waitpid(child, os.WNOHANG)[0]:
                ended.append(child)
    run(folder, NEW)
    assert plan_of(folder) == NEW
    assert not [p.name for p in folder.iterdir() if p.name.startswith(".")]
    kept = [files_of(place) for place in (folder / "earlier").iterdir()]
    assert len(kept) > 5
    assert all(plan in (OLD, NEW) for plan in kept)


def test_all_is_on_the_disk_before_the_new_plan_stands(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # POSIX: a rename may reach the disk before the content of what is renamed
    seen: list[tuple[str, str]] = []
    fsync, rename = os.fsync, Path.rename

    def noted_sync(handle: int) -> None:
        if sys.platform == "linux":
            seen.append(("sync", str(Path(f"/proc/self/fd/{handle}").readlink())))
        fsync(handle)

    def noted_rename(path: Path, target: Path) -> Path:
        seen.append(("rename", str(path)))
        return rename(path, target)

    monkeypatch.setattr(os, "fsync", noted_sync)
    monkeypatch.setattr(Path, "rename", noted_rename)
    write(folder, NEW)
    if sys.platform != "linux":
        pytest.skip("names of open files are known on Linux only")
    turn = seen.index(("rename", str(folder / ".writing")))
    synced = {path for deed, path in seen[:turn] if deed == "sync"}
    new, old = folder / ".writing/new", folder / ".writing/old"
    changed = ("plan.json", "crew.ics", "people/ana.ics", "board.svg", outdir_ours.SUMS)
    assert {str(new / path) for path in changed} <= synced
    assert {str(old / path) for path in (*OLD, outdir_ours.SUMS)} <= synced
    assert {str(new), str(new / "people"), str(old), str(old / "pages/old")} <= synced
    assert ("sync", str(folder)) in seen[turn:]


# ------------------------------------------------------------ what can't be written


def refusal(deed: Callable[[], object]) -> OutputError:
    with pytest.raises(OutputError) as caught:
        deed()
    return caught.value


def test_a_disk_that_fills_up_at_any_write_leaves_the_old_plan(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    waits: list[int] = []
    monkeypatch.setattr(os, "fsync", waits.append)
    write(folder, NEW)
    write(folder, OLD)
    shutil.rmtree(folder / "earlier")
    assert len(waits) > 40

    for step in range(1, len(waits) // 2 + 1):
        left = iter(range(step - 1, -1, -1))

        def full(handle: int, left: Iterator[int] = left) -> None:
            if next(left, 1) == 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        monkeypatch.setattr(os, "fsync", full)
        error = refusal(lambda: write(folder, NEW))
        monkeypatch.undo()
        assert os.strerror(errno.ENOSPC) in error.message
        assert "free some space" in error.hint
        nothing_is_lost(folder)
        if (folder / ".ready").exists():  # too late to take it back: goes on next time
            break
        assert files_of(folder) == OLD
        assert not (folder / ".writing").exists()
    assert step > 10
    assert outdir.read(folder, "plan.json") == NEW["plan.json"]
    assert plan_of(folder) == NEW
    assert files_of(folder / "earlier/001") == OLD


@unix_only
def test_a_file_too_large_for_the_system_is_told_of(folder: Path) -> None:
    import resource

    def limited() -> bool:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        error = refusal(lambda: write(folder, {"plan.json": b"x" * 10_000}))
        return "File too large" in error.message

    assert status_of(limited) == 0
    assert files_of(folder) == OLD


def as_nobody(deed: Callable[[], bool]) -> int:
    """Do a deed in a process of its own that isn't the superuser's."""

    def as_another() -> bool:
        if os.geteuid() == 0:  # who may write everywhere
            os.setuid(65534)
        return deed()

    return status_of(as_another)


@unix_only
@pytest.mark.parametrize("shut", ["people", "earlier", "people/ana.ics"])
def test_where_one_file_couldnt_be_replaced_none_is(shut: str) -> None:
    # people/ shut: the closure would be of the new plan, the crew's of the old
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "plan"
        write(folder, NEW)
        write(folder, OLD)
        for place in (Path(name), folder, *folder.rglob("*")):
            os.chown(place, 65534, 65534)
        (folder / shut).chmod(0o000 if shut.endswith(".ics") else 0o555)
        before = files_of(folder)

        def refused() -> bool:
            errors = [
                refusal(functools.partial(deed, folder, NEW)) for deed in (check, write)
            ]
            words = "you have no right to read and write this"
            return {(e.message, e.where) for e in errors} == {
                (words, str(folder / shut))
            }

        assert as_nobody(refused) == 0
        assert files_of(folder) == before
        (folder / shut).chmod(0o777)
        assert as_nobody(lambda: bool(write(folder, NEW).changed)) == 0
        assert plan_of(folder) == NEW


@unix_only
def test_a_plan_that_is_ready_is_put_in_place_whole_or_not_yet() -> None:
    # killed once the new plan was complete; then somebody shuts people/
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "plan"
        write(folder, OLD)
        killed = kills(folder, lambda copy: write(copy, NEW))
        copy = next(copy for copy in killed if (copy / ".ready").exists())
        for place in (Path(name), copy, *copy.rglob("*")):
            os.chown(place, 65534, 65534)
        (copy / "people").chmod(0o555)
        words = "you have no right to read and write this"
        deeds = (lambda: outdir.read(copy, "plan.json"), lambda: write(copy, NEW))
        told = as_nobody(lambda: {refusal(d).message for d in deeds} == {words})
        assert told == 0
        assert plan_of(copy) == OLD
        (copy / "people").chmod(0o755)
        assert as_nobody(lambda: outdir.read(copy, "plan.json") is not None) == 0
        assert plan_of(copy) == NEW


@unix_only
def test_a_folder_that_may_not_be_written_is_refused_before_and_while_writing() -> None:
    with tempfile.TemporaryDirectory() as name:
        shut = Path(name)
        shut.chmod(0o555)

        def refused() -> bool:
            deeds = (
                lambda: check(shut, ["plan.json"]),
                lambda: check(shut / "deeper" / "plan", ["plan.json"]),
                lambda: write(shut, OLD),
                lambda: write(shut / "plan", OLD),
            )
            return {refusal(deed).message for deed in deeds} == {
                "you have no right to read and write this"
            }

        assert as_nobody(refused) == 0
        assert list(shut.iterdir()) == []


@pytest.mark.parametrize("letter", ["a", "é", "Ж", "न", "山", "🎬"])
def test_a_name_longer_than_the_disk_takes_is_told_of_before_the_search(
    folder: Path, letter: str
) -> None:
    # most file systems take 255 bytes or characters a name
    before = files_of(folder)
    long = f"people/{letter * 260}.ics"
    error = refusal(lambda: check(folder, [*NEW, long]))
    assert error.where == str(folder / long)
    assert "a file of this name can't be made: " in error.message
    assert "give this one of the crew another name" in error.hint
    assert files_of(folder) == before
    assert not [p.name for p in folder.iterdir() if p.name.startswith(".")]


def test_asking_leaves_no_trace_beside_the_plan(folder: Path) -> None:
    before = {p: p.stat().st_mtime_ns for p in folder.rglob("*")}
    check(folder, [*NEW, "people/carla.ics"])
    assert {p: p.stat().st_mtime_ns for p in folder.rglob("*")} == before


@pytest.mark.parametrize("name", [".writing", ".ready"])
@pytest.mark.parametrize(
    "make",
    [
        lambda p: (p.mkdir(), (p / "mine.txt").write_text("mine")),
        lambda p: (p.mkdir(), (p / "new").mkdir(), (p / "old").mkdir()),
        lambda p: p.write_text("mine"),
        lambda p: p.symlink_to(p.parent),
    ],
    ids=["folder", "our own inner names", "file", "link"],
)
def test_a_folder_of_the_users_with_a_name_of_ours_stays(
    folder: Path, name: str, make: Callable[[Path], object]
) -> None:
    make(folder / name)
    before = sorted(folder.rglob("*"))
    for deed in (check, write):
        error = refusal(functools.partial(deed, folder, NEW))
        assert (
            error.message == f"files stand there that this program didn't write: {name}"
        )
    assert outdir.read(folder, "plan.json") == OLD["plan.json"]  # which can be read
    assert sorted(folder.rglob("*")) == before
    assert plan_of(folder) == OLD


def test_what_the_user_laid_into_a_folder_of_ours_stays(folder: Path) -> None:
    ours = folder / ".writing"
    outdir_ours.take_in_hand(ours)
    (ours / "mine.txt").write_text("mine")
    for deed in (check, write):
        refusal(functools.partial(deed, folder, NEW))
    assert (ours / "mine.txt").read_text() == "mine"
    assert plan_of(folder) == OLD


@pytest.mark.parametrize("within", ["", "deeper/plan"])
def test_a_file_where_the_folder_should_be_is_refused(
    tmp_path: Path, within: str
) -> None:
    (tmp_path / "plan").write_text("mine")
    for deed in (check, write):
        error = refusal(functools.partial(deed, tmp_path / "plan" / within, OLD))
        assert error.message == "is a file, not a folder"
        assert error.where == str(tmp_path / "plan")
        assert error.exit_status == 2
    assert (tmp_path / "plan").read_text() == "mine"


def test_files_of_others_are_never_written_over_and_all_are_named(
    tmp_path: Path,
) -> None:
    (tmp_path / "people").mkdir()
    (tmp_path / "plan.json").write_text("mine")
    (tmp_path / "people/ana.ics").write_text("mine too")
    before = files_of(tmp_path)
    for deed in (check, write):
        error = refusal(functools.partial(deed, tmp_path, OLD))
        assert error.lines() == (
            f"{tmp_path}: files stand there that this program didn't write: "
            "people/ana.ics, plan.json",
            "  move them away, or name another folder with --out",
        )
    assert files_of(tmp_path) == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["people", "plan.json"]


def test_files_of_others_beside_the_plan_stay(folder: Path) -> None:
    (folder / "job.toml").write_bytes(b"mine")
    (folder / "people/notes.txt").write_bytes(b"mine too")
    write(folder, {"plan.json": b"{}"})
    assert plan_of(folder) == {
        "plan.json": b"{}",
        "job.toml": b"mine",
        "people/notes.txt": b"mine too",
    }
    assert files_of(folder / "earlier/001") == OLD  # ours alone is moved


@pytest.mark.parametrize(
    ("place", "make"),
    [
        pytest.param("plan.json", lambda p: p.mkdir(), id="folder for file"),
        pytest.param("people", lambda p: p.write_text("x"), id="file for folder"),
        pytest.param("people", lambda p: p.symlink_to("/"), id="link for folder"),
        pytest.param("plan.json", lambda p: p.symlink_to("no"), id="link for file"),
        pytest.param("earlier", lambda p: p.write_text("x"), id="file for earlier"),
    ],
)
def test_what_stands_in_the_way_is_refused(
    tmp_path: Path, place: str, make: Callable[[Path], object]
) -> None:
    make(tmp_path / place)
    error = refusal(lambda: write(tmp_path, OLD))
    assert error.message == f"files stand there that this program didn't write: {place}"
    assert [p.name for p in tmp_path.iterdir()] == [place]


@pytest.mark.parametrize(
    "text",
    [
        f"{'0' * 64}  holiday.jpg\n",  # somebody's own list: would have been removed
        f"# something else\n{'0' * 64}  holiday.jpg\n",
        f"{outdir_ours._TITLE}{'0' * 64}  ../holiday.jpg\n",
        f"{outdir_ours._TITLE}{'0' * 64}  /etc/passwd\n",
        f"{outdir_ours._TITLE}{'0' * 64}  holiday.jpg",  # cut off
        f"{outdir_ours._TITLE}0  holiday.jpg\n",
        "",
        "\x00\xff",
    ],
)
def test_a_list_that_isnt_ours_removes_nothing(tmp_path: Path, text: str) -> None:
    folder = tmp_path / "plan"
    folder.mkdir()
    (folder / outdir_ours.SUMS).write_text(text)
    for path in (folder / "holiday.jpg", tmp_path / "holiday.jpg"):
        path.write_text("mine")
    error = refusal(lambda: write(folder, OLD))
    assert error.where == str(folder / outdir_ours.SUMS)
    assert (folder / "holiday.jpg").exists()
    assert (tmp_path / "holiday.jpg").exists()
    assert not (folder / "plan.json").exists()


@unix_only
def test_two_runs_dont_write_one_folder(folder: Path) -> None:
    def second() -> None:
        with outdir.alone(folder, tell=lines.append, wait_s=0.2):
            raise AssertionError("both have the folder")

    lines: list[str] = []
    with outdir.alone(folder) as held:
        error = refusal(second)
        outdir.write(held, NEW)
    assert error.message == "another run has been at work there for 0.2 s"
    assert error.where == str(folder)
    assert "--out" in error.hint
    assert len(lines) == 1
    assert "another run is at work there; waiting up to 0.2 s" in lines[0]
    assert plan_of(folder) == NEW


@unix_only
def test_the_second_run_goes_on_as_soon_as_the_first_has_ended(tmp_path: Path) -> None:
    # the first makes the folder, fails, and takes it away again as it is empty
    folder, began = tmp_path / "a" / "plan", threading.Event()
    lines: list[str] = []

    def first() -> None:
        with outdir.alone(folder):
            began.set()
            while not lines:
                time.sleep(0.01)

    run = threading.Thread(target=first)
    run.start()
    assert began.wait(10)
    with outdir.alone(folder, tell=lines.append, wait_s=20) as held:
        run.join(10)
        outdir.write(held, NEW)
    assert files_of(folder) == NEW
    assert len(lines) == 1


@unix_only
def test_waiting_for_another_run_ends_with_ctrl_c(folder: Path) -> None:
    def interrupt(_: str) -> None:
        signal.raise_signal(signal.SIGINT)

    def second() -> None:
        with outdir.alone(folder, tell=interrupt, wait_s=20):
            raise AssertionError("both have the folder")

    with outdir.alone(folder), pytest.raises(KeyboardInterrupt):
        second()


def test_a_folder_made_for_nothing_goes_again(tmp_path: Path) -> None:
    check(tmp_path / "a" / "b" / "plan", list(NEW))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "paths",
    [
        [],
        ["/plan.json"],
        ["../plan.json"],
        ["people/../plan.json"],
        ["people//ana.ics"],
        ["./plan.json"],
        ["people\\ana.ics"],
        [".hidden"],
        ["earlier/plan.json"],
        ["Earlier/plan.json"],
        [outdir_ours.SUMS],
        ["ana\n.ics"],
        ["con:stream"],
        ["ends.with.dot."],
        ["people", "people/ana.ics"],
    ],
)
def test_paths_that_lead_elsewhere_are_a_mistake_of_ours(
    tmp_path: Path, paths: list[str]
) -> None:
    with pytest.raises(ValueError, match="not the paths"):
        write(tmp_path, dict.fromkeys(paths, b""))
    with pytest.raises(ValueError, match="not the paths"):
        check(tmp_path, paths)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "paths",
    [
        ["people/Ana.ics", "people/ana.ics"],
        ["people/\u00e9.ics", "people/e\u0301.ics"],  # é, spelled in two ways
        ["people/strasse.ics", "people/stra\u00dfe.ics"],
    ],
)
def test_names_that_some_systems_cant_tell_apart_are_refused(
    tmp_path: Path, paths: list[str]
) -> None:
    for deed in (check, write):
        error = refusal(functools.partial(deed, tmp_path, dict.fromkeys(paths, b"")))
        assert ", ".join(sorted(paths)) in error.message
    assert list(tmp_path.iterdir()) == []
