"""Which files of a plan's folder this program wrote, and which would be in its way.

`files.sha256` lists the files that were written there, and a folder of work in hand
holds a file of the name `MARK`. Whatever neither tells of is somebody else's.
"""

import contextlib
import errno
import hashlib
import os
import re
import shutil
import stat
import unicodedata
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path, PurePosixPath

from planner.errors import OutputError

SUMS = "files.sha256"
EARLIER = "earlier"
WRITING = ".writing"
READY = ".ready"
MARK = "made-by-covetime"
_TITLE = f"# files of one plan; check with: sha256sum -c {SUMS}\n"
_BAD_NAME = re.compile(r'[\x00-\x1f\x7f<>:"|?*\\]|[. ]$|^\.|^$')
_ELSEWHERE = "name another folder with --out"


@contextlib.contextmanager
def told(folder: Path) -> Iterator[None]:
    """Turn a failure of the disk into an error that a person can put right."""
    try:
        yield
    except OSError as error:
        full = error.errno in (errno.ENOSPC, errno.EDQUOT)
        what = "free some space" if full else "put it right"
        raise OutputError(
            f"can't be used: {error.strerror or error}",
            where=str(error.filename or folder),
            hint=f"{what}, or {_ELSEWHERE}; no earlier file is lost",
        ) from error


# -------------------------------------------------------------- the list of files


def sums(files: Mapping[str, bytes]) -> bytes:
    """Return the list of files and their checksums, as `sha256sum` reads it."""
    rows = [f"{hashlib.sha256(files[p]).hexdigest()}  {p}\n" for p in sorted(files)]
    return (_TITLE + "".join(rows)).encode()


def as_written(folder: Path, path: str, content: bytes) -> bool:
    """Tell whether the list says of a file just what it holds now."""
    row = f"{hashlib.sha256(content).hexdigest()}  {path}"
    sums_file = folder / SUMS
    return sums_file.exists() and row in sums_file.read_text("utf-8").splitlines()


def listed(path: Path) -> tuple[str, ...]:
    """Return the paths that a list of files names; none if there is no list.

    Raises
    ------
    OutputError
        If it isn't a list as `sums` makes it.
    """
    if not path.exists():
        return ()
    lines = path.read_bytes().decode(errors="replace").splitlines(keepends=True)
    rows = [re.fullmatch("[0-9a-f]{64}  (.+)\n", line) for line in lines[1:]]
    paths = tuple(row[1] for row in rows if row)
    if lines[:1] != [_TITLE] or len(paths) < len(rows) or not lie_within(paths):
        raise OutputError(
            "is not a list of files as this program writes it",
            where=str(path),
            hint=f"{_ELSEWHERE}, or move what is there away",
        )
    return paths


# --------------------------------------------------------------- the work in hand


def in_hand(place: Path) -> bool:
    """Tell whether a folder of work in hand is there and is this program's own.

    One that is empty counts as such: a kill may come before the mark is in it, and
    nobody loses anything with it.
    """
    if place.is_symlink() or not place.is_dir():
        return False
    return (place / MARK).exists() or not any(place.iterdir())


def take_in_hand(place: Path) -> None:
    """Make a folder for work in hand, with its mark."""
    place.mkdir(exist_ok=True)
    (place / MARK).touch()


def clear(place: Path) -> None:
    """Remove a folder of work in hand, its mark last; what others put there stays."""
    if not in_hand(place):
        return
    for inner in ("new", "old"):
        if (place / inner).exists():
            shutil.rmtree(place / inner)
    (place / MARK).unlink(missing_ok=True)
    place.rmdir()


# -------------------------------------------------------------- what is refused


def refuse_unusable(folder: Path) -> None:
    """Refuse a folder that is a file or that can't be written."""
    standing = next(p for p in (folder, *folder.absolute().parents) if p.exists())
    if not standing.is_dir():
        raise OutputError(
            "is a file, not a folder", where=str(standing), hint=_ELSEWHERE
        )
    if not os.access(standing, os.R_OK | os.W_OK | os.X_OK):
        raise _not_yours(standing)


def refuse_shut(folder: Path, paths: Collection[str]) -> None:
    """Refuse inner folders that can't be written, and files that can't be replaced.

    So that no plan is put in place by halves.
    """
    for inner in sorted({(folder / path).parent for path in (*paths, f"{EARLIER}/-")}):
        if inner.is_dir() and not os.access(inner, os.R_OK | os.W_OK | os.X_OK):
            raise _not_yours(inner)
    for path in paths:
        if (folder / path).is_file() and not _replaceable(folder / path):
            raise _not_yours(folder / path)


def _not_yours(path: Path) -> OutputError:
    return OutputError(
        "you have no right to read and write this",
        where=str(path),
        hint=f"ask for the right, or {_ELSEWHERE}",
    )


def _replaceable(path: Path) -> bool:
    """Tell whether a file can be copied and another put in its place.

    In a folder with the sticky bit only the owner of a file or folder may (POSIX).
    """
    if not os.access(path, os.R_OK):
        return False
    inner = path.parent.stat()
    if not inner.st_mode & stat.S_ISVTX or not hasattr(os, "geteuid"):
        return True
    return os.geteuid() in (0, inner.st_uid, path.stat().st_uid)


def refuse_foreign(
    folder: Path, paths: Collection[str], ours: Collection[str] = ()
) -> None:
    """Refuse to write over, or to remove, what this program didn't put there."""
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
    for path in (WRITING, READY):
        if os.path.lexists(folder / path) and not in_hand(folder / path):
            foreign.add(path)
    if foreign:
        raise OutputError(
            f"files stand there that this program didn't write: {', '.join(sorted(foreign))}",
            where=str(folder),
            hint=f"move them away, or {_ELSEWHERE}",
        )


def check_names(paths: Collection[str]) -> None:
    """Refuse paths that don't name files within the folder on every system.

    Paths that lead elsewhere are a mistake of this program. Those that clash may
    come from people's names, for some systems take "Ana" and "ana" for one name,
    or two spellings of "é".
    """
    if not paths or not lie_within(paths):
        raise ValueError(f"not the paths of a plan's files: {sorted(paths)}")
    alike: dict[str, list[str]] = {}
    for path in sorted(paths):
        name = unicodedata.normalize("NFKC", path).casefold()
        alike.setdefault(name, []).append(path)
    clashes = [", ".join(names) for names in alike.values() if len(names) > 1]
    if clashes:
        raise OutputError(
            f"some systems can't tell these files apart: {'; '.join(clashes)}",
            hint="give the people or runs they are named for other names",
        )


def lie_within(paths: Collection[str]) -> bool:
    """Return whether each path names a file of the folder, and no folder of another."""
    for path in paths:
        parts = path.split("/")
        if any(_BAD_NAME.search(part) for part in parts):
            return False
        if parts[0].casefold() in (EARLIER, SUMS):
            return False
    inner = {str(p) for path in paths for p in PurePosixPath(path).parents}
    return not inner & set(paths)
