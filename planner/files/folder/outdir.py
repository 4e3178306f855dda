"""A folder that holds one plan at a time, written so that nothing is ever lost.

::

    plan/
      plan.json, crew.ics, people/ana.ics     the plan that stands
      files.sha256                            what this program wrote here
      earlier/001/, earlier/002/              the plans that stood before, whole
      .writing/                               a new plan, not yet complete
      .ready/                                 a new plan, complete, being put in place

A run keeps the folder for itself from before its search until its plan is written,
and tries beforehand whether that plan's files can be made there. The plan is then
written in three steps. Every file that is new or differs, and a copy of all that
stand, go to `.writing` and are flushed to the disk. Then `.writing` is renamed
`.ready`: before this moment the old plan stands, after it the new one does, whatever
happens. Then the copy moves to `earlier`, each new file is renamed over its old one,
and files that the new plan doesn't have are removed.

A kill at any moment leaves either `.writing`, which the next run throws away, or
`.ready`, which the next run puts in place; `read` and `alone` do so first. No file
at its own place is ever half written or missing for a while. Between the first and
the last rename a reader that doesn't come through here may see files of both plans;
none is renamed unless all may be.

`files.sha256` can be checked with `sha256sum -c`. What it doesn't list is somebody
else's and is neither overwritten, moved nor removed; nor is a `.writing` or `.ready`
that this program didn't make (`outdir_ours`).
"""

import contextlib
import os
import sys
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from planner.errors import OutputError
from planner.files.folder import ours
from planner.files.folder.lock import WAIT_S, locked, unsaid
from planner.files.folder.ours import EARLIER, READY, SUMS, WRITING, listed, told

_READ_WAIT_S = 30.0  # for a run that is putting its plan in place


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a writing changed: paths within the folder, and where the old plan went."""

    changed: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    kept: Path | None = None


@dataclass(frozen=True, slots=True)
class HeldFolder:
    """A plan's folder that no other run may write now; `alone` gives it."""

    folder: Path


# -------------------------------------------------------------- the operations


@contextlib.contextmanager
def alone(
    folder: Path, *, tell: Callable[[str], None] = unsaid, wait_s: float = WAIT_S
) -> Iterator[HeldFolder]:
    """Keep a plan's folder for this run while it works; make it if needed.

    Finishes what an interrupted run left. A folder that was made and is still empty
    at the end is removed again.

    Parameters
    ----------
    folder
        The plan's folder.
    tell
        Gets a line if another run has to be waited for.
    wait_s
        How long another run is waited for. [s]

    Raises
    ------
    OutputError
        If the folder is a file, can't be written, or isn't let go of by another run.
    """
    with told(folder):
        ours.refuse_unusable(folder)
    with locked(folder, tell=tell, wait_s=wait_s):
        with told(folder):
            _settle(folder)
        yield HeldFolder(folder)


def check(held: HeldFolder, paths: Collection[str]) -> None:
    """Refuse a folder that the files couldn't be written to; leaves none of them.

    For the start of a run, so that a folder that won't do is told of before the plan
    is sought. Each file is made once, empty, and removed again: the disk itself says
    whether it takes the name.

    Raises
    ------
    OutputError
        If the folder can't be written, doesn't take one of the names, or holds
        somebody else's files under them.
    """
    folder = held.folder
    ours.check_names(paths)
    with told(folder):
        try:
            _rehearse(folder, paths)
        finally:
            ours.clear(folder / WRITING)
        _refuse(folder, paths)


def read(folder: Path, path: str) -> bytes | None:
    """Return a file of the plan that stands, or None if there is none.

    Finishes what an interrupted run left, and writes nothing otherwise.
    """
    with told(folder):
        if ours.in_hand(folder / READY):
            with locked(folder, tell=unsaid, wait_s=_READ_WAIT_S):
                _settle(folder)
        try:
            return (folder / path).read_bytes()
        except (FileNotFoundError, NotADirectoryError):
            return None


def read_unchanged(folder: Path, path: str) -> bytes | None:
    """Return a file as `read` does, if it still is as this program wrote it.

    Raises
    ------
    OutputError
        If it was changed since, or isn't on the list of what was written there.
    """
    content = read(folder, path)
    with told(folder):
        if content is None or ours.as_written(folder, path, content):
            return content
    raise OutputError(
        "is not as this program wrote it", where=str(folder / path), hint="plan again"
    )


def write(held: HeldFolder, files: Mapping[str, bytes]) -> Written:
    """Return what changed after putting a whole plan into its folder.

    The folder then holds these files and no others of an earlier plan; if any file
    of that plan changed or went, all of it is kept in a folder under `earlier`.
    Files that are the same already aren't touched.

    Parameters
    ----------
    held
        The folder, kept for this run.
    files
        The content of each file by its path within the folder, parts divided by "/".

    Raises
    ------
    OutputError
        As `check`, or if the disk is full or fails. What stood before stands.
    """
    folder = held.folder
    ours.check_names(files)
    with told(folder):
        old = _refuse(folder, files)
        changed = tuple(p for p in sorted(files) if _differs(folder / p, files[p]))
        gone = tuple(p for p in old if p not in files and (folder / p).exists())
        sums = ours.sums(files)
        if not changed and not gone and not _differs(folder / SUMS, sums):
            return Written()
        try:
            fresh = {path: files[path] for path in changed} | {SUMS: sums}
            lost = [p for p in (*changed, *gone) if (folder / p).exists()]
            _stage(folder, fresh, keep=(*old, SUMS) if lost else ())
        except BaseException:
            with contextlib.suppress(OSError):  # the error that led here is told
                ours.clear(folder / WRITING)
            raise
        kept = _settle(folder)
    return Written(changed=changed, removed=gone, kept=kept)


# -------------------------------------------------------------------- the steps


def _refuse(folder: Path, paths: Collection[str]) -> tuple[str, ...]:
    """Return the files that this program wrote there, if a plan may replace them."""
    old = listed(folder / SUMS)
    ours.refuse_foreign(folder, paths, old)
    ours.refuse_shut(folder, (*paths, *old, SUMS))
    return old


def _rehearse(folder: Path, paths: Collection[str]) -> None:
    """Make an empty file of each name where the new plan is written."""
    writing = folder / WRITING
    ours.take_in_hand(writing)
    _flush(writing)
    for path in paths:
        tried = writing / "new" / path
        try:
            tried.parent.mkdir(parents=True, exist_ok=True)
            tried.touch()
        except OSError as error:
            person = tried.parent.name == "people"
            name = "give this one of the crew another name, or " if person else ""
            raise OutputError(
                f"a file of this name can't be made: {error.strerror}",
                where=str(folder / path),
                hint=f"{name}name another folder with --out",
            ) from None


def _stage(folder: Path, fresh: Mapping[str, bytes], keep: Collection[str]) -> None:
    """Write a complete new plan beside the old, and declare it ready."""
    writing = folder / WRITING
    ours.take_in_hand(writing)
    _flush(writing)
    for path, content in fresh.items():
        _write_through(writing / "new" / path, content)
    for path in keep:
        if (folder / path).exists():
            _write_through(writing / "old" / path, (folder / path).read_bytes())
    for inner, _, _ in os.walk(writing):
        _flush(Path(inner))
    writing.rename(folder / READY)
    _flush(folder)


def _settle(folder: Path) -> Path | None:
    """Return where the old plan went, if a plan was ready and is now put in place.

    Each step leaves a state from which this same function goes on, so it may be
    killed and called again at any point. The list of files goes last: it says
    that all others are in place.
    """
    ours.refuse_foreign(folder, ())
    ready, new, old = folder / READY, folder / READY / "new", folder / READY / "old"
    paths = listed(new / SUMS)
    if paths:
        ours.refuse_shut(folder, (*paths, *listed(folder / SUMS), SUMS))
    kept = None
    if old.exists():
        kept = _next_earlier(folder)
        kept.parent.mkdir(exist_ok=True)
        old.rename(kept)
        _flush(kept.parent)
    if paths:
        for path in paths:
            if (new / path).exists():
                (folder / path).parent.mkdir(parents=True, exist_ok=True)
                (new / path).replace(folder / path)
        for path in listed(folder / SUMS):
            if path not in paths:
                (folder / path).unlink(missing_ok=True)
                _remove_if_empty(folder, (folder / path).parent)
        for inner in {(folder / path).parent for path in paths}:
            _flush(inner)
        (new / SUMS).replace(folder / SUMS)
        _flush(folder)
    for left in (ready, folder / WRITING):
        ours.clear(left)
    return kept


def _next_earlier(folder: Path) -> Path:
    """Return the next free place under `earlier`, counted from 001."""
    earlier = folder / EARLIER
    names = [p.name for p in earlier.iterdir()] if earlier.exists() else []
    last = max(
        (int(name) for name in names if name.isascii() and name.isdigit()), default=0
    )
    return earlier / f"{last + 1:03}"


def _remove_if_empty(folder: Path, inner: Path) -> None:
    while inner != folder and inner.exists() and not any(inner.iterdir()):
        inner.rmdir()
        inner = inner.parent


# --------------------------------------------------------------- files and disks


def _write_through(path: Path, content: bytes) -> None:
    """Write a new file and wait until the disk has it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb", buffering=0) as file:
        left = memoryview(content)
        while left:
            left = left[file.write(left) :]
        os.fsync(file.fileno())


def _flush(folder: Path) -> None:
    """Wait until the disk has the names in a folder (Windows can't be asked to)."""
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _differs(path: Path, content: bytes) -> bool:
    return not path.is_file() or path.is_symlink() or path.read_bytes() != content
