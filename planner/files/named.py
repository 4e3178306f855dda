"""Single files that the user named: refused before any work if they can't be made."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from planner.errors import Fault, OutputError, OutputsError, PlannerError


def check_new(*paths: Path | None, also: Callable[[], None] | None = None) -> None:
    """Refuse files that the user named and that can't be made, before any work.

    Each is made once, empty, and removed again when all have been: so the disk
    itself says, and two of the same name are found out. `also` is asked as well, for
    what else is to be written.

    Raises
    ------
    OutputError
        For the one of them that can't be made.
    OutputsError
        For all of them, where several can't.
    """
    made: list[Path] = []
    refused: list[PlannerError] = []

    def ask(question: Callable[[], None]) -> None:
        try:
            question()
        except PlannerError as error:
            refused.append(error)

    try:
        for path in paths:
            if path is not None:
                ask(partial(_made_once, path, made))
        if also is not None:
            ask(also)
    finally:
        for path in made:
            path.unlink(missing_ok=True)
    if len(refused) == 1:
        raise refused[0]
    if refused:
        raise OutputsError(
            tuple(
                Fault(where=e.where, message=e.message, hint=e.hint) for e in refused
            ),
            file=refused[0].where,
        )


def _made_once(path: Path, made: list[Path]) -> None:
    """Make a file, empty, unless it is one of those that were made."""
    if path.resolve() in (other.resolve() for other in made):
        raise OutputError(
            "is named for two files",
            where=str(path),
            hint="name another file for one of them",
        )
    _new(path, b"")
    made.append(path)


def write_new(path: Path, data: bytes) -> None:
    """Write a file that the user named; a file that is there is not overwritten.

    Raises
    ------
    OutputError
        When the file is there already or can't be written; none is left by halves.
    """
    _new(path, data)


def _new(path: Path, data: bytes) -> None:
    try:
        file = path.open("xb")
    except FileExistsError:
        what = (
            "can't be written: it is a folder" if path.is_dir() else "is there already"
        )
        raise OutputError(what, where=str(path), hint="name another file") from None
    except FileNotFoundError:
        raise OutputError(
            "can't be written: its folder is not there",
            where=str(path),
            hint="make the folder, or name a file elsewhere",
        ) from None
    except OSError as error:
        raise _unwritten(path, error) from None
    try:
        with file:
            file.write(data)
    except OSError as error:
        path.unlink(missing_ok=True)
        raise _unwritten(path, error) from None


def _unwritten(path: Path, error: OSError) -> OutputError:
    return OutputError(
        f"can't be written: {error.strerror}",
        where=str(path),
        hint="put it right, or name another file",
    )
