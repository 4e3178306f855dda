"""Reader of single-mode project files (`.sm`) as the project scheduling library has them.

A file has sections under lines of asterisks. `PRECEDENCE RELATIONS` lists for each job
its number of modes, its number of successors and these; `REQUESTS/DURATIONS` its mode,
its duration and what it takes of each resource; `RESOURCEAVAILABILITIES` what there
is. The first and the last job stand for begin and end: they take no time, and are
left out here.

A folder may hold a table `best_known.csv` with the columns set, instance,
lower_bound and best_known.

References
----------
R. Kolisch, A. Sprecher, "PSPLIB - a project scheduling problem library", *European
Journal of Operational Research* 96 (1997), pp. 205-216.
"""

import csv
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from tests.benchmarks.projects import Project


def read_folder(folder: Path) -> tuple[Project, ...]:
    """Return every `.sm` file of a folder, with best known values where it has them."""
    table = folder / "best_known.csv"
    known: dict[str, dict[str, str]] = {}
    if table.exists():
        with table.open(encoding="utf-8", newline="") as file:
            known = {row["instance"]: row for row in csv.DictReader(file)}
    projects = []
    for path in sorted(folder.glob("*.sm"), key=lambda p: (len(p.stem), p.stem)):
        project = read_project(path.stem, path.read_text(encoding="latin-1"))
        if row := known.get(path.name):
            project = replace(
                project,
                set=row["set"],
                best_known=int(row["best_known"]),
                proven_bound=int(row["lower_bound"]),
            )
        projects.append(project)
    return tuple(projects)


def read_project(name: str, text: str) -> Project:
    """Return the project that a file describes; its set is `j` and the size.

    Raises
    ------
    ValueError
        Where a section is missing, a row is short, or a job has several modes.
    """
    arcs, jobs = _arcs(name, text), _jobs(name, text)
    (capacity,) = _rows(name, text, "RESOURCEAVAILABILITIES")
    first, last = 1, len(jobs)
    if jobs[first][0] or jobs[last][0]:
        raise ValueError(f"{name}: the first and the last job must take no time")
    kept = range(first + 1, last)
    for job in kept:
        ticks, needs = jobs[job]
        if ticks < 1 or len(needs) != len(capacity):
            raise ValueError(f"{name}: job {job} takes {ticks} ticks, needs {needs}")
    return Project(
        set=f"j{len(kept)}",
        name=name,
        ticks=tuple(jobs[job][0] for job in kept),
        needs=tuple(jobs[job][1] for job in kept),
        capacity=tuple(capacity),
        arcs=tuple((a - 2, b - 2) for a, b in arcs if a in kept and b in kept),
    )


def _arcs(name: str, text: str) -> list[tuple[int, int]]:
    arcs = []
    for job, modes, count, *after in _rows(name, text, "PRECEDENCE RELATIONS"):
        if modes != 1 or len(after) != count:
            raise ValueError(
                f"{name}: job {job} has {modes} modes, {len(after)} of {count} successors"
            )
        arcs += [(job, other) for other in after]
    return arcs


def _jobs(name: str, text: str) -> dict[int, tuple[int, tuple[int, ...]]]:
    """Return the duration and the needs of each job."""
    rows = _rows(name, text, "REQUESTS/DURATIONS")
    jobs = {job: (ticks, tuple(needs)) for job, _mode, ticks, *needs in rows}
    if list(jobs) != list(range(1, len(jobs) + 1)) or len(jobs) < 3:
        raise ValueError(f"{name}: the jobs aren't numbered from 1 on")
    return jobs


def _rows(name: str, text: str, title: str) -> Iterator[list[int]]:
    """Yield the numbers of each row of a section, after its header."""
    lines = iter(text.splitlines())
    if not any(line.startswith(title) for line in lines):
        raise ValueError(f"{name}: no section {title}")
    next(lines, None)
    for line in lines:
        if line.startswith("*"):
            return
        if not line.startswith("-"):
            yield [int(word) for word in line.split()]
