"""Joints that were logged to show through: what is done there, and before which task."""

from datetime import datetime

from planner.living.went import Went
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import bare
from planner.nouns.job import Shows
from planner.nouns.work import Task, Work

# What comes over a joint, in its order; then the stage is handed over.
COVERS = ("rub", "wipe", "prime", "colour", "second-colour", "handover")
LAST = ("", "handover")  # what a bay that is coated again lies before
PATCHES = ("spot-fill", "spot-sand", "spot-prime", "spot-colour")


def numbered(book: Logbook) -> tuple[tuple[int, Happening], ...]:
    """Return what was logged to show, counted from 1; what was undone keeps its number."""
    seen = sorted(
        (e for e in book.events if e.what is What.SHOWS), key=lambda e: e.logged
    )
    undone = book.undone
    return tuple((n, e) for n, e in enumerate(seen, start=1) if e.id not in undone)


def shown(book: Logbook, told: Went, work: Work) -> tuple[Shows, ...]:
    """Return each joint that shows with the task that it is filled before.

    That is the first over the bay that hadn't been begun when the filling was, or now.
    What shows after the last coat is coated again before hand-over, or after it; with
    a bay that is coated again already, if that hasn't been begun. Where nothing is taped
    no joint can show, whoever insists on it.
    """
    begun = {p.task: p.start for p in told.past.tasks}
    taped = {b for t in work.tasks if t.phase == "tape" for b in t.bays}
    out: list[Shows] = []
    for number, event in numbered(book):
        bay = bare(event.about)
        if event.at > told.past.now or (taped and bay not in taped):
            continue
        filled = [begun[t] for t in _patch(number, bay) if t in begun]
        since = min(filled, default=told.past.now)

        def is_ahead(task: str, since: datetime = since) -> bool:
            return task not in begun or begun[task] > since

        over = [t for t in sorted(work.tasks, key=_place) if t.phase in COVERS]
        ahead = [t.id for t in over if bay in t.bays and is_ahead(t.id)]
        before = ahead[0] if ahead else ""
        if before in LAST:
            again = [s for s in out if s.bay == bay and s.before in LAST]
            coats = [_patch(s.number, bay)[-1] for s in again]
            before = next(filter(is_ahead, coats), before)
        out.append(Shows(number=number, bay=bay, before=before))
    return tuple(out)


def _patch(number: int, bay: str) -> tuple[str, ...]:
    """Return the ids that the work at a place may have, in its order."""
    return tuple(f"{work}-{number}.{bay}" for work in PATCHES)


def _place(task: Task) -> tuple[int, str]:
    place = COVERS.index(task.phase) if task.phase in COVERS else len(COVERS)
    return place, task.id
