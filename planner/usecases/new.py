"""The use case of `new`: a first job file with its calendars, which reads without fault."""

import re
import tempfile
from collections.abc import Sequence
from pathlib import Path

from planner.errors import JobFileError, OutputError
from planner.files.job.jobfile import job_of
from planner.files.job.starter import Beginning, starter_files

_NUMBER = r"\d+(?:\.\d+)?(?: \d+/\d+)?"
_LENGTH = re.compile(rf"(?:{_NUMBER}\s*(?:ft|in|mm|cm|m|['\"\u2032\u2033])\s*)+$")


def begin(beginning: Beginning, folder: Path) -> tuple[Path, ...]:
    """Write a new job into a folder that doesn't hold one; return what was written.

    Nothing is written unless the job file reads without fault, and nothing that is
    there is written over.

    Raises
    ------
    JobFileError
        With every fault of what was said, as in a job file.
    OutputError
        When one of the files is there already, or can't be written.
    """
    files = starter_files(beginning)
    _read(files, shown=folder / "job.toml")
    paths = [folder / name for name in files]
    there = [str(p) for p in paths if p.exists() or p.is_symlink()]
    if there:
        raise OutputError(
            f"{', '.join(there)} {'is' if len(there) == 1 else 'are'} there already",
            hint="choose another folder; nothing was written",
        )
    done: list[Path] = []
    try:
        for path, content in zip(paths, files.values(), strict=True):
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("xb") as file:
                done.append(path)
                file.write(content)
    except OSError as error:
        for path in done:  # ours: each was made by this run
            path.unlink(missing_ok=True)
        raise OutputError(
            f"{error.filename or folder} can't be written: {error.strerror}",
            hint="nothing was kept",
        ) from None
    return tuple(paths)


def _read(files: dict[str, bytes], *, shown: Path) -> None:
    """Read the job as it would stand, with its calendars beside it."""
    with tempfile.TemporaryDirectory() as place:
        for name, content in files.items():
            path = Path(place, name)
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(content)
        try:
            job_of(files["job.toml"], Path(place, "job.toml"))
        except JobFileError as error:
            raise JobFileError(error.faults, file=f"{shown} as it would be") from None


def walls_of(said: str) -> tuple[tuple[str, str], ...]:
    """Return the walls of a line such as "back wall 7.2 m, side wall 4.8 m".

    A wall without a length keeps an empty one, which the job file then names as a fault.
    """
    walls = []
    for number, part in enumerate(_parts(said, ","), 1):
        found = _LENGTH.search(part)
        length = found[0] if found else ""
        name = part[: found.start()] if found else part
        walls.append((name.strip(" :") or f"wall {number}", length.strip()))
    return tuple(walls)


def people_of(said: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the people of a line such as "Ana: carpenter, finisher; Li: painter"."""
    people = []
    for part in _parts(said, ";"):
        name, _, trades = part.partition(":")
        people.append((name.strip(), tuple(_parts(trades, ","))))
    return tuple(people)


def pieces_of(said: Sequence[str]) -> dict[str, str]:
    """Return the kit's measures of words such as "radius=30 in", by their keys.

    What stands there without a measure keeps an empty one, and a key that there isn't
    stays: the job file then names both as faults.
    """
    parts = (one.partition("=") for one in said)
    return {key.strip(): measure.strip() for key, _, measure in parts}


def _parts(said: str, mark: str) -> list[str]:
    return [p.strip() for p in said.split(mark) if p.strip()]
