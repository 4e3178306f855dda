"""One run at a time in a plan's folder: who comes second waits, within a limit.

The lock is on the folder itself, so it leaves no file, and a kill lets go of it.
Windows has none such, nor have some network disks; there two runs at once aren't
kept apart.
"""

import contextlib
import errno
import os
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from planner.errors import OutputError
from planner.files.folder.ours import told

if sys.platform != "win32":
    import fcntl

WAIT_S = 600.0  # for another run; its search may take as long
_STEP_S = 0.1
_NO_LOCKS = (errno.ENOLCK, errno.EOPNOTSUPP, errno.EBADF)  # EBADF: NFS, flock(2)


def unsaid(_: str) -> None:
    """Say nothing."""


@contextlib.contextmanager
def locked(
    folder: Path, *, tell: Callable[[str], None], wait_s: float
) -> Iterator[None]:
    """Keep other runs out of a folder; make it if it isn't there.

    A folder made for this and still empty at the end is removed again. `tell` gets a
    line when another run has to be waited for. [wait_s: s]

    Raises
    ------
    OutputError
        If the folder can't be made, or another run doesn't let go of it in time.
    """
    made: list[Path] = []
    with told(folder):
        handle = _taken(folder, made, tell, wait_s)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):  # it isn't empty: a plan stands in it
            for inner in made:
                inner.rmdir()
        if handle is not None:
            os.close(handle)


def _taken(
    folder: Path, made: list[Path], tell: Callable[[str], None], wait_s: float
) -> int | None:
    """Return what holds the lock, once nobody else has it; None where there are none.

    The folders that were made for it are noted in `made`, the inner ones first.
    """
    until = time.monotonic() + wait_s
    said = False
    while True:
        places = (folder, *folder.absolute().parents)
        made[:0] = [p for p in places if p not in made and not p.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        if sys.platform == "win32":
            return None
        handle = os.open(folder, os.O_RDONLY)
        try:
            if _got(handle) and _still(handle, folder):
                handle, kept = -1, handle
                return kept
        finally:
            if handle >= 0:
                os.close(handle)
        if time.monotonic() > until:
            raise OutputError(
                f"another run has been at work there for {_words(wait_s)}",
                where=str(folder),
                hint="wait until it has ended, or name another folder with --out",
            )
        if not said:
            tell(
                f"{folder}: another run is at work there; waiting up to "
                f"{_words(wait_s)} for it to end (Ctrl-C stops the waiting)"
            )
            said = True
        time.sleep(_STEP_S)


def _got(handle: int) -> bool:
    """Tell whether the lock is ours now."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError as error:
        if error.errno not in _NO_LOCKS:
            raise
    return True


def _still(handle: int, folder: Path) -> bool:
    """Tell whether the folder is the one locked: another run may have removed it."""
    try:
        return os.path.samestat(os.fstat(handle), folder.stat())
    except FileNotFoundError:
        return False


def _words(seconds: float) -> str:
    return f"{seconds / 60:.0f} min" if seconds >= 60 else f"{seconds:g} s"
