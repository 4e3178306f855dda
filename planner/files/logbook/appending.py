"""Adding lines to a log so that no event is lost, and none is half written.

What is logged at once is added by one write at the end of the file (O_APPEND), under a lock on the
file itself, and is on the disk before the command says so. If the disk takes only a
part of it, that part is taken away again and nothing was logged. A kill in the middle
may leave a part: the next line then begins on a line of its own, and who reads the log
is told which line is broken. Windows has no such lock, nor have some network disks;
there, two who log in the same moment rely on the one write alone.
"""

import contextlib
import errno
import os
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from planner.errors import OutputError
from planner.files.logbook.lines import TITLE, logbook_of
from planner.files.plain import PlainFileError, read_plain
from planner.nouns.happened import Logbook

if sys.platform != "win32":
    import fcntl

MOST_BYTES = 20_000_000
WAIT_S = 20.0  # for somebody else who is logging just now: milliseconds, as a rule
_STEP_S = 0.02
_NO_LOCKS = (errno.ENOLCK, errno.EOPNOTSUPP, errno.EBADF)


def log_of(job: Path) -> Path:
    """Return where the log of a job file stands: `job.toml` → `job-log.txt`."""
    return job.with_name(f"{job.stem}-log.txt")


def read_log(path: Path) -> Logbook:
    """Return what was logged; an empty book where there is no log yet.

    Raises
    ------
    OutputError
        When what stands there can't be read.
    """
    if not os.path.lexists(path):
        return Logbook()
    try:
        return logbook_of(read_plain(path, most=MOST_BYTES))
    except PlainFileError as error:
        raise OutputError(str(error), where=str(path)) from None


def append(path: Path, *lines: str) -> None:
    """Add lines to a log, which is made if it isn't there.

    Raises
    ------
    OutputError
        When nothing could be logged: the disk is full, the file can't be written,
        somebody else doesn't let go of it.
    """
    try:
        flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
        handle = os.open(path, flags, 0o666)
        try:
            with _alone(handle, path):
                _add(handle, lines)
        finally:
            os.close(handle)
        _flush(path.absolute().parent)
    except OSError as error:
        full = error.errno in (errno.ENOSPC, errno.EDQUOT)
        raise OutputError(
            f"nothing was logged: {error.strerror or error}",
            where=str(path),
            hint="free some space, then log it again" if full else "put it right first",
        ) from error


def _add(handle: int, lines: Sequence[str]) -> None:
    """Write lines at the end, whole or not at all, and wait for the disk."""
    size = os.fstat(handle).st_size
    last = b"\n"
    if size:
        os.lseek(handle, size - 1, os.SEEK_SET)
        last = os.read(handle, 1)
    before = f"{TITLE}\n" if not size else "" if last == b"\n" else "\n"
    data = "".join((before, *(f"{line}\n" for line in lines))).encode()
    try:
        if os.write(handle, data) < len(data):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        os.fsync(handle)
    except OSError:
        with contextlib.suppress(OSError):
            os.ftruncate(handle, size)
        raise


@contextlib.contextmanager
def _alone(handle: int, path: Path) -> Iterator[None]:
    """Hold the lock on the log, which a kill lets go of."""
    until = time.monotonic() + WAIT_S
    while not _got(handle):
        if time.monotonic() > until:
            raise OutputError(
                f"nothing was logged: somebody else has held it for {WAIT_S:g} s",
                where=str(path),
                hint="log it again",
            )
        time.sleep(_STEP_S)
    yield  # closing the file lets go


def _got(handle: int) -> bool:
    if sys.platform == "win32":
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError as error:
        if error.errno not in _NO_LOCKS:
            raise
    return True


def _flush(folder: Path) -> None:
    """Wait until the disk has the log's name too (Windows can't be asked to)."""
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
