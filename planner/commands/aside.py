"""Save the best plan found so far in a file of its own if the program fails."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import typer

from planner.errors import PlannerError
from planner.planning.problem import Problem
from planner.report.words.as_found import as_found_text
from planner.schedule.problem.outcome import Placement

Found = Callable[[Problem, tuple[Placement, ...]], None]


@contextmanager
def kept_aside(folder: Path) -> Iterator[Found]:
    """Yield a notepad for the plans that a search finds; on a fault keep the last.

    It is written as text to a new file beside `folder`, never into it: what stands
    there is a checked plan. The fault then carries a note that says where.
    """
    found: list[tuple[Problem, tuple[Placement, ...]]] = []

    def note(problem: Problem, placements: tuple[Placement, ...]) -> None:
        found[:] = [(problem, placements)]

    try:
        yield note
    except (PlannerError, typer.Exit):
        raise
    except Exception as fault:
        if found:
            fault.add_note(_kept(folder, as_found_text(*found[0])))
        else:
            fault.add_note("no plan had been found by then")
        if (folder / "plan.json").exists():
            fault.add_note(f"the plan that stands in {folder}/ is as it was")
        raise


def _kept(folder: Path, text: str) -> str:
    """Return where the text was written, or that it couldn't be, in words."""
    beside = folder.resolve().parent
    why = ""
    for place in (beside, Path(tempfile.gettempdir())):
        try:
            path = _written(place, folder.name, text)
        except OSError as error:
            why = error.strerror or type(error).__name__
        else:
            return f"the best plan found so far, not checked, is kept in {path}"
    return f"the best plan found so far couldn't be kept: {why}"


def _written(place: Path, name: str, text: str) -> Path:
    """Return the file that the text was written to, one that wasn't there."""
    for number in count(1):
        path = place / f"{name}-not-checked-{number:03}.txt"
        try:
            with path.open("x", encoding="utf-8") as file:
                file.write(text)
        except FileExistsError:
            continue
        return path
    raise AssertionError("numbers don't end")
