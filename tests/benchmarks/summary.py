"""Rows of runs brought together: a line for each set and solver, a table of text."""

import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.benchmarks.measure import Row


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What the runs of one solver on one set came to.

    Times are of all runs, unproven ones with the time that they took. Gaps are in
    percent; `facts` is the median number of clashing facts; `unsteady` counts the
    instances that were run several times and gave different plans; `peak_mib` is the
    most memory that any of the runs ended with.
    """

    set: str
    solver: str
    least_size: int
    size: int
    runs: int
    planned: int
    proven: int
    median_s: float
    p90_s: float
    max_s: float
    cpu_median_s: float
    first_median_s: float | None
    search_median_s: float | None
    gap_mean_pct: float | None
    gap_max_pct: float | None
    equal_known: int | None
    above_known_mean_pct: float | None
    facts: float | None
    instances: int
    unsteady: int
    peak_mib: int


def lines(rows: Sequence[Row]) -> list[Line]:
    """Return a line for each set and solver, in the order in which they came."""
    keys = dict.fromkeys((row.set, row.solver) for row in rows)
    return [_line([r for r in rows if (r.set, r.solver) == key]) for key in keys]


def _line(rows: list[Row]) -> Line:
    seconds = sorted(r.seconds for r in rows)
    first = [r.first_s for r in rows if r.first_s is not None]
    search = [r.seconds - r.first_s for r in rows if r.first_s is not None]
    gaps = [r.gap_pct for r in rows if r.gap_pct is not None]
    above = [p for r in rows if (p := r.above_known_pct) is not None]
    plans: dict[str, set[str]] = {}
    for r in rows:
        plans.setdefault(r.instance, set()).add(r.plan)
    return Line(
        set=rows[0].set,
        solver=rows[0].solver,
        least_size=min(r.size for r in rows),
        size=max(r.size for r in rows),
        runs=len(rows),
        planned=sum(r.value is not None for r in rows),
        proven=sum(r.proven for r in rows),
        median_s=statistics.median(seconds),
        p90_s=seconds[-(-9 * len(seconds) // 10) - 1],
        max_s=seconds[-1],
        cpu_median_s=statistics.median(r.cpu_s for r in rows),
        first_median_s=statistics.median(first) if first else None,
        search_median_s=statistics.median(search) if search else None,
        gap_mean_pct=statistics.fmean(gaps) if gaps else None,
        gap_max_pct=max(gaps, default=None),
        equal_known=sum(p <= 0 for p in above) if above else None,
        above_known_mean_pct=statistics.fmean(above) if above else None,
        facts=statistics.median(len(r.facts) for r in rows if r.facts)
        if any(r.facts for r in rows)
        else None,
        instances=len(plans),
        unsteady=sum(len(found) > 1 for found in plans.values()),
        peak_mib=max(r.peak_mib for r in rows),
    )


HEADINGS = (
    "set",
    "tasks",
    "solver",
    "runs",
    "plans",
    "proven",
    "median s",
    "p90 s",
    "max s",
    "cpu s",
    "first s",
    "after s",
    "gap %",
    "max gap %",
    "= known",
    "above %",
    "facts",
    "MiB",
)
LEGEND = (
    "times are of the whole call, unproven runs included; cpu: median of\n"
    "all threads together; first: until the first plan;\n"
    "after: from the first plan to the end; gap: mean way from the proven bound;\n"
    "= known: plans as short as the best published; above: mean way above it;\n"
    "MiB: the most memory that the process had used by the end of a run"
)


def table(found: Iterable[Line]) -> str:
    """Return the lines as a table of text with a legend."""
    rows = [HEADINGS, *(_cells(line) for line in found)]
    return f"{_aligned(rows, left={0, 2})}\n{LEGEND}\n"


def aim_table(rows: Sequence[Row]) -> str:
    """Return a table of each aim of runs with several; empty where there are none."""
    cells = [("set", "solver", "aim", "runs", "proven", "gap %")]
    keys = dict.fromkeys(
        (r.set, r.solver, a.aim) for r in rows for a in r.aims if len(r.aims) > 1
    )
    for group, solver, aim in keys:
        of = [
            a
            for r in rows
            if (r.set, r.solver) == (group, solver)
            for a in r.aims
            if a.aim == aim
        ]
        gap = statistics.fmean(100 * (a.value - a.bound) / max(a.value, 1) for a in of)
        proven = sum(a.bound >= a.value for a in of)
        cells.append((group, solver, aim, str(len(of)), str(proven), _number(gap, 2)))
    return _aligned(cells, left={0, 1, 2}) if keys else ""


def again(found: Iterable[Line]) -> str:
    """Return in how many instances that ran more than once all plans are the same."""
    return "".join(
        f"{line.set}, {line.solver}: {line.instances - line.unsteady} of "
        f"{line.instances} with the same plan each time\n"
        for line in found
        if line.runs > line.instances
    )


def _aligned(rows: Sequence[tuple[str, ...]], *, left: set[int]) -> str:
    """Return rows of cells in columns, some of them to the left."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return "".join(
        "  ".join(
            cell.ljust(width) if k in left else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        + "\n"
        for row in rows
    )


def sizes(line: Line) -> str:
    """Return the number of tasks, or from the least to the most."""
    if line.least_size == line.size:
        return str(line.size)
    return f"{line.least_size}-{line.size}"


def _cells(line: Line) -> tuple[str, ...]:
    return (
        line.set,
        sizes(line),
        line.solver,
        str(line.runs),
        str(line.planned),
        str(line.proven),
        _number(line.median_s, 3),
        _number(line.p90_s, 3),
        _number(line.max_s, 3),
        _number(line.cpu_median_s, 3),
        _number(line.first_median_s, 3),
        _number(line.search_median_s, 3),
        _number(line.gap_mean_pct, 2),
        _number(line.gap_max_pct, 2),
        "" if line.equal_known is None else str(line.equal_known),
        _number(line.above_known_mean_pct, 2),
        _number(line.facts, 1),
        str(line.peak_mib or ""),
    )


def _number(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"
