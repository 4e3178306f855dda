"""An unchecked plan in words, as the search found it, for when the program fails."""

from collections.abc import Sequence

from planner.planning.problem import Problem
from planner.planning.wording.chain_words import moment
from planner.schedule.problem.outcome import Placement

WARNING = (
    "NOT CHECKED. The program failed after the search had found this plan. Nothing has\n"
    "compared it with the job, its days may be wrong, and it has no waits: go by it\n"
    "only where you can tell for yourself that it is right.\n"
)


def as_found_text(problem: Problem, placements: Sequence[Placement]) -> str:
    """Return when each task begins and ends and who does it, a line each."""
    titles = {t.id: t.title for t in problem.work.tasks}
    names = {p.id: p.name for p in problem.job.crew}
    lines = [
        f"{moment(problem.grid, p.start)} to {moment(problem.grid, p.end)}  "
        f"{titles[p.task]}: {', '.join(names[who] for who in p.team) or 'nobody'}\n"
        for p in sorted(placements, key=lambda p: (p.start, p.end, p.task))
    ]
    head = f"{problem.job.name}, times in {problem.grid.zone.key}\n\n"
    return head + WARNING + "\n" + "".join(lines)
