"""What binds a plan, in a few words: the longest waits that hold its date, and hours."""

from itertools import pairwise

from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.report.drawing.view import View, minutes_between, passes
from planner.units import duration_words

MOST = 3  # told of a plan
LEAST_MIN = 60  # shorter ones aren't told
OF_HOURS = (  # parts of the closure that no coat explains
    "waiting for people",
    "waiting for the stage or quiet hours",
    "waiting for the air",
    "nights and days off",
)


def binding_words(plan: Plan) -> tuple[str, ...]:
    """Return what takes most of the time that holds the date, the longest first."""
    found = [*_waits(View(plan)), *_hours(plan)]
    found.sort(key=lambda f: (-f[0], f[1]))
    return tuple(words for _, words in found[:MOST])


def _waits(view: View) -> list[tuple[float, str]]:
    """Return the waits that lie on the way to the date, with their minutes."""
    rows = [task for task, _ in view.chain_rows()]
    found = []
    for task, after in pairwise(rows):
        waits = [
            view.waits[(task.id, x.product, x.stage)]
            for x in view.plan.links
            if (x.before, x.after) == (task.id, after.id) and x.product and x.stage
        ]
        if waits:
            found.append((task, max(waits, key=lambda w: w.ready)))
    last, wait = view.return_terms(ReturnKind.FULL_SERVICE)[0]
    if wait is not None:
        found.append((last, wait))
    out = []
    for task, wait in found:
        minutes = minutes_between(wait.begins, wait.ready)
        if minutes >= LEAST_MIN:
            words = f"{task.title} {passes(wait.way)} {duration_words(minutes)}"
            out.append((minutes, words))
    return out


def _hours(plan: Plan) -> list[tuple[float, str]]:
    """Return the parts of the closure that the hours of people and rooms explain."""
    return [
        (float(s.minutes), f"{s.part} {duration_words(s.minutes)}")
        for s in plan.stage.division
        if s.part in OF_HOURS and s.minutes >= LEAST_MIN
    ]
