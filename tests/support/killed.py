"""Deeds in a process of their own that is killed at each step that it takes with files."""

import functools
import itertools
import os
import shutil
import signal
import stat
import sys
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

unix_only = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and kill")

_STEPS = {
    *("open", "os.rename", "os.mkdir", "os.remove", "os.rmdir"),
    *("os.truncate", "fcntl.flock"),
}


def status_of(deed: Callable[[], object]) -> int:
    """Do a deed in a process of its own; return its wait status, 0 if it said True."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # forking with threads: this child uses none
        child = os.fork()
    if child == 0:
        end = 1
        try:
            end = 0 if deed() is True else 2
        finally:
            os._exit(end)
    return os.waitpid(child, 0)[1]


def killed_at(
    step: int, deed: Callable[[], object], within: Path, *, whole_files: bool = False
) -> bool:
    """Do a deed in a process of its own, killed at its nth step; False if it ended.

    A step is anything the system is asked to do with a file (open, rename, make, remove,
    lock, cut, write to its handle) and each wait for the disk. At such a wait the file is
    cut to half first, and of a write half is written, as if the kill had come in the
    middle of it. With `whole_files` a file that is waited for is not cut: it was written
    before, by others too.
    """
    left = step

    def one_step() -> None:
        nonlocal left
        left -= 1
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)

    def heard(event: str, args: tuple[object, ...]) -> None:
        # a truncation and a lock name a handle, not a path
        of_handle = bool(args) and isinstance(args[0], int)
        if event in _STEPS and (of_handle or str(args[0]).startswith(str(within))):
            one_step()

    fsync, write = os.fsync, os.write

    def half_written_sync(handle: int) -> None:
        cut = left == 1 and not whole_files
        if cut and not stat.S_ISDIR(os.fstat(handle).st_mode):
            os.ftruncate(handle, os.fstat(handle).st_size // 2)
        one_step()
        fsync(handle)

    def half_a_write(handle: int, data: bytes) -> int:
        if left == 1:
            write(handle, data[: len(data) // 2])
        one_step()
        return write(handle, data)

    def watched() -> bool:
        sys.addaudithook(heard)
        os.fsync = half_written_sync  # type: ignore[assignment]  # one kind is used
        os.write = half_a_write  # type: ignore[assignment]  # bytes are written
        deed()
        return True

    status = status_of(watched)
    assert status in (0, signal.SIGKILL)
    return status == signal.SIGKILL


def kills(
    folder: Path, deed: Callable[[Path], object], *, whole_files: bool = False
) -> Iterator[Path]:
    """Yield a copy of the folder for each step at which the deed was killed there."""
    for step in itertools.count(1):
        copy = folder.with_name(f"{folder.name}-{step}")
        shutil.copytree(folder, copy)
        deed_there = functools.partial(deed, copy)
        killed = killed_at(step, deed_there, copy, whole_files=whole_files)
        if killed:
            yield copy
        shutil.rmtree(copy)
        if not killed:
            return
