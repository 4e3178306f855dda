"""A folder that holds one plan at a time, written so that nothing is ever lost.

::

    plan/
      plan.json, crew.ics, people/ana.ics     the plan that stands
      files.sha256                            what this program wrote here
      earlier/001/, earlier/002/              the plans that stood before, whole
      .writing/                               a new plan, not yet complete
      .ready/                                 a new plan, complete, being put in place

A plan is written in three steps. Every file that is new or differs, and a copy of
all that stands, go to `.writing` and are flushed to the disk. Then `.writing` is
renamed `.ready`: before this moment the old plan stands, after it the new one does,
whatever happens. Then the copy moves to `earlier`, each new file is renamed over
its old one, and files that the new plan doesn't have are removed.

A kill at any moment leaves either `.writing`, which the next run throws away, or
`.ready`, which the next run puts in place; `read` and `write` do so first. No file
at its own place is ever half written or missing for a while. Between the first and
the last rename a reader that doesn't come through here may see files of both plans.

`files.sha256` can be checked with `sha256sum -c`. What it doesn't list is somebody
else's and is neither overwritten, moved nor removed.
"""

import contextlib
import errno
import hashlib
import os
import re
import shutil
import sys
import unicodedata
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from planner.errors import OutputError

if sys.platform != "win32":
    import fcntl

SUMS = "files.sha256"
EARLIER = "earlier"
_WRITING = ".writing"
_READY = ".ready"
_TITLE = f"# files of one plan; check with: sha256sum -c {SUMS}\n"
_BAD_NAME = re.compile(r'[\x00-\x1f\x7f<>:"|?*\\]|[. ]$|^\.|^$')


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a writing changed: paths within the folder, and where the old plan went."""

    changed: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    kept: Path | None = None


# -------------------------------------------------------------------- the deeds


def check(folder: Path, paths: Collection[str]) -> None:
    """Refuse a folder that the files couldn't be written to; writes none of them.

    For the start of a run, so that a folder that won't do is told of before the
    plan is sought. Finishes what an interrupted run left.

    Raises
    ------
    OutputError
        If the folder is a file, can't be written, is being written by another run,
        or holds somebody else's files under these names.
    """
    _check_names(paths)
    with _told(folder):
        _refuse_unusable(folder)
        if folder.exists():
            with _locked(folder):
                _settle(folder)
                _refuse_foreign(folder, paths, _listed(folder / SUMS))


def read(folder: Path, path: str) -> bytes | None:
    """Return a file of the plan that stands, or None if there is none.

    Finishes what an interrupted run left, and writes nothing otherwise.
    """
    with _told(folder):
        if (folder / _READY).exists():
            with _locked(folder):
                _settle(folder)
        try:
            return (folder / path).read_bytes()
        except (FileNotFoundError, NotADirectoryError):
            return None


def write(folder: Path, files: Mapping[str, bytes]) -> Written:
    """Return what changed after putting a whole plan into its folder.

    The folder then holds these files and no others of an earlier plan; if any file
    of that plan changed or went, all of it is kept in a folder under `earlier`.
    Files that are the same already aren't touched.

    Parameters
    ----------
    folder
        Made if it isn't there.
    files
        The content of each file by its path within the folder, parts divided by "/".

    Raises
    ------
    OutputError
        As `check`, or if the disk is full or fails. What stood before stands.
    """
    _check_names(files)
    with _told(folder):
        _refuse_unusable(folder)
        folder.mkdir(parents=True, exist_ok=True)
        with _locked(folder):
            _settle(folder)
            old = _listed(folder / SUMS)
            _refuse_foreign(folder, files, old)
            changed = tuple(p for p in sorted(files) if _differs(folder / p, files[p]))
            gone = tuple(p for p in old if p not in files and (folder / p).exists())
            sums = _sums(files)
            if not changed and not gone and not _differs(folder / SUMS, sums):
                return Written()
            try:
                fresh = {path: files[path] for path in changed} | {SUMS: sums}
                lost = [p for p in (*changed, *gone) if (folder / p).exists()]
                _stage(folder, fresh, keep=(*old, SUMS) if lost else ())
            except BaseException:
                shutil.rmtree(folder / _WRITING, ignore_errors=True)
                raise
            kept = _settle(folder)
    return Written(changed=changed, removed=gone, kept=kept)


@contextlib.contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Keep other runs out of a plan's folder, which is there, while a deed lasts."""
    with _locked(folder):
        yield


# -------------------------------------------------------------------- the steps


def _stage(folder: Path, fresh: Mapping[str, bytes], keep: Collection[str]) -> None:
    """Write a complete new plan beside the old, and declare it ready."""
    writing = folder / _WRITING
    for path, content in fresh.items():
        _write_through(writing / "new" / path, content)
    for path in keep:
        if (folder / path).exists():
            _write_through(writing / "old" / path, (folder / path).read_bytes())
    for inner, _, _ in os.walk(writing):
        _flush(Path(inner))
    writing.rename(folder / _READY)
    _flush(folder)


def _settle(folder: Path) -> Path | None:
    """Return where the old plan went, if a plan was ready and is now put in place.

    Each step leaves a state from which this same function goes on, so it may be
    killed and called again at any point. The list of files goes last: it says
    that all others are in place.
    """
    ready, new, old = folder / _READY, folder / _READY / "new", folder / _READY / "old"
    kept = None
    if old.exists():
        kept = _next_earlier(folder)
        kept.parent.mkdir(exist_ok=True)
        old.rename(kept)
        _flush(kept.parent)
    if (new / SUMS).exists():
        paths = _listed(new / SUMS)
        for path in paths:
            if (new / path).exists():
                (folder / path).parent.mkdir(parents=True, exist_ok=True)
                (new / path).replace(folder / path)
        for path in _listed(folder / SUMS):
            if path not in paths:
                (folder / path).unlink(missing_ok=True)
                _remove_if_empty(folder, (folder / path).parent)
        for inner in {(folder / path).parent for path in paths}:
            _flush(inner)
        (new / SUMS).replace(folder / SUMS)
        _flush(folder)
    for left in (ready, folder / _WRITING):
        if left.exists():
            shutil.rmtree(left)
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


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Keep other runs out of the folder; a kill lets go by itself.

    The lock is on the folder itself, so it leaves no file. Windows has none such,
    nor have some network disks.
    """
    if sys.platform == "win32":
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise OutputError(
                "another run is writing there",
                where=str(folder),
                hint="wait for it, or name another folder with --out",
            ) from error
        except OSError as error:
            if error.errno not in (errno.ENOLCK, errno.EOPNOTSUPP):
                raise
        yield
    finally:
        os.close(handle)


@contextlib.contextmanager
def _told(folder: Path) -> Iterator[None]:
    """Turn a failure of the disk into an error that a person can put right."""
    try:
        yield
    except OSError as error:
        full = error.errno in (errno.ENOSPC, errno.EDQUOT)
        what = "free some space" if full else "put it right"
        raise OutputError(
            f"can't be used: {error.strerror or error}",
            where=str(error.filename or folder),
            hint=f"{what}, or name another folder with --out; no earlier file is lost",
        ) from error


# ------------------------------------------------------------- ours and not ours


def _sums(files: Mapping[str, bytes]) -> bytes:
    rows = [f"{hashlib.sha256(files[p]).hexdigest()}  {p}\n" for p in sorted(files)]
    return (_TITLE + "".join(rows)).encode()


def _listed(sums: Path) -> tuple[str, ...]:
    """Return the paths that a list of files names; none if there is no list."""
    if not sums.exists():
        return ()
    lines = sums.read_bytes().decode(errors="replace").splitlines(keepends=True)
    rows = [re.fullmatch("[0-9a-f]{64}  (.+)\n", line) for line in lines[1:]]
    paths = tuple(row[1] for row in rows if row)
    if lines[:1] != [_TITLE] or len(paths) < len(rows) or not _lie_within(paths):
        raise OutputError(
            "is not a list of files as this program writes it",
            where=str(sums),
            hint="name another folder with --out, or move what is there away",
        )
    return paths


def _differs(path: Path, content: bytes) -> bool:
    return not path.is_file() or path.is_symlink() or path.read_bytes() != content


def _refuse_unusable(folder: Path) -> None:
    """Refuse a folder that is a file or that can't be written."""
    standing = next(p for p in (folder, *folder.absolute().parents) if p.exists())
    if not standing.is_dir():
        raise OutputError(
            "is a file, not a folder",
            where=str(standing),
            hint="name another folder with --out",
        )
    if not os.access(standing, os.W_OK | os.X_OK):
        raise OutputError(
            "may not be written by you",
            where=str(standing),
            hint="name another folder with --out",
        )


def _refuse_foreign(
    folder: Path, paths: Collection[str], ours: Collection[str]
) -> None:
    """Refuse to write over what this program didn't put there."""
    foreign = set()
    for path in paths:
        target = folder / path
        if target.is_dir() or (path not in ours and os.path.lexists(target)):
            foreign.add(path)
    inner = {str(p) for path in paths for p in PurePosixPath(path).parents if p.name}
    for path in (*inner, EARLIER):
        target = folder / path
        if target.is_symlink() or target.is_file():
            foreign.add(path)
    if foreign:
        raise OutputError(
            f"files there are not of this program: {', '.join(sorted(foreign))}",
            where=str(folder),
            hint="move them away, or name another folder with --out",
        )


def _check_names(paths: Collection[str]) -> None:
    """Refuse paths that don't name files within the folder on every system.

    Paths that lead elsewhere are a mistake of this program. Those that clash may
    come from people's names, for some systems take "Ana" and "ana" for one name,
    or two spellings of "é".
    """
    if not paths or not _lie_within(paths):
        raise ValueError(f"not the paths of a plan's files: {sorted(paths)}")
    alike: dict[str, list[str]] = {}
    for path in sorted(paths):
        name = unicodedata.normalize("NFKC", path).casefold()
        alike.setdefault(name, []).append(path)
    clashes = [", ".join(names) for names in alike.values() if len(names) > 1]
    if clashes:
        raise OutputError(
            f"files that some systems can't tell apart: {'; '.join(clashes)}",
            hint="give the people or runs they are named for other names",
        )


def _lie_within(paths: Collection[str]) -> bool:
    """Return whether each path names a file of the folder, and no folder of another."""
    for path in paths:
        parts = path.split("/")
        if any(_BAD_NAME.search(part) for part in parts):
            return False
        if parts[0].casefold() in (EARLIER, SUMS):
            return False
    inner = {str(p) for path in paths for p in PurePosixPath(path).parents}
    return not inner & set(paths)
