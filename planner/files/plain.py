"""The bytes of a file that the user named: a plain file, and not too large a one.

A pipe would be waited for, a device may never end, a folder holds no bytes.
"""

import stat
from pathlib import Path

_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


class PlainFileError(Exception):
    """A file can't be read as a plain one; says why, without naming it."""


def other_kind(path: Path) -> str:
    """Return what a path is, such as "a folder"; empty if it is a plain file.

    Raises
    ------
    OSError, ValueError
        When it can't be told: it isn't there, or no file can have that name.
    """
    mode = path.stat().st_mode
    if stat.S_ISREG(mode):
        return ""
    return next((words for test, words in _KINDS if test(mode)), "something else")


def read_plain(path: Path, *, most: int) -> bytes:
    """Return a plain file's bytes.

    Parameters
    ----------
    path : Path
        The file.
    most : int
        How large it may be. [bytes]

    Raises
    ------
    PlainFileError
        When it isn't there, isn't a plain file, can't be read or is larger.
    """
    try:
        if kind := other_kind(path):
            raise PlainFileError(f"is {kind}, not a file")
        with path.open("rb") as stream:
            data = stream.read(most + 1)
    except OSError as error:
        why = error.strerror or type(error).__name__
        raise PlainFileError(f"can't be read ({why})") from None
    except ValueError as error:
        raise PlainFileError(f"can't be read ({error})") from None
    if len(data) > most:
        raise PlainFileError(f"is larger than {most:,} bytes")
    return data
