"""Joints that were logged to show through: what is done there, and before which task."""

from planner.living.went import Went
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import bare
from planner.nouns.job import Shows
from planner.nouns.work import Task, Work

COVERS = ("rub", "wipe", "prime", "colour")  # what comes over a joint, in its order
PATCHES = ("spot-fill", "spot-sand", "spot-prime")


def numbered(book: Logbook) -> tuple[tuple[int, Happening], ...]:
    """Return what was logged to show, counted from 1; what was undone keeps its number."""
    seen = sorted(
        (e for e in book.events if e.what is What.SHOWS), key=lambda e: e.logged
    )
    undone = book.undone
    return tuple((n, e) for n, e in enumerate(seen, start=1) if e.id not in undone)


def shown(book: Logbook, told: Went, work: Work) -> tuple[Shows, ...]:
    """Return each joint that shows with the task that it is filled before.

    That is the first over the bay that hadn't been begun when it was logged. What shows
    after the last coat was begun isn't among them: nothing that is planned covers it.
    """
    begun = {p.task: p.start for p in told.past.tasks}
    out = []
    for number, event in numbered(book):
        bay = bare(event.about)
        ahead = [
            t
            for t in sorted(work.tasks, key=_place)
            if t.phase in COVERS and bay in t.bays
            if t.id not in begun or begun[t.id] > event.at
        ]
        if event.at <= told.past.now and ahead:
            out.append(Shows(number=number, bay=bay, before=ahead[0].id))
    return tuple(out)


def _place(task: Task) -> tuple[int, str]:
    place = COVERS.index(task.phase) if task.phase in COVERS else len(COVERS)
    return place, task.id
