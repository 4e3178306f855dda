"""Who has to be told what when a plan takes the place of another one.

`revise` and what is put back write the notes into the plan's folder; `publish` prints
the one that goes with the calendar it sends.
"""

from collections.abc import Iterator
from datetime import datetime

from planner.living.changed import changes
from planner.living.laid_over import effective
from planner.nouns.plan import Plan
from planner.report.living.log_text import run_words, runs
from planner.report.living.note_paths import FOLDER
from planner.report.living.notes import News, notes
from planner.usecases.living.revise import Facts, Revised

INPUTS_CHANGED = "The job file, a calendar or the readings are other ones than before"


def news_of(facts: Facts, revised: Revised) -> News:
    """Return what there is to tell of a revision."""
    before, after, now = revised.before, revised.after, revised.revision.now
    return News(
        before=before,
        after=after,
        now=now,
        people=changes(before, after, now=now),
        why=tuple(_why(facts)),
        unkept=revised.unkept,
        causes=tuple((c.words, c.minutes) for c in revised.causes),
    )


def put_back(facts: Facts, plan: Plan, *, now: datetime) -> News:
    """Return what there is to tell when an earlier plan is put back."""
    return News(
        before=facts.plan,
        after=plan,
        now=now,
        people=changes(facts.plan, plan, now=now),
        why=("The plan that stood before was put back",),
        is_revised=False,
    )


def _why(facts: Facts) -> Iterator[str]:
    """Yield what counts now and didn't when the plan that stands was made."""
    plan, last = facts.plan, facts.revised
    names = {
        **{t.id: t.title for t in plan.tasks},
        **{p.id: p.name for p in facts.inputs.job.crew},
    }
    zone, units = facts.inputs.job.zone, facts.inputs.job.units
    known = set(last.events) if last else set()
    # in the order in which it was logged, so that a logger's file stays together
    counting = sorted(effective(facts.book), key=lambda e: (e.logged, e.at))
    for together in runs([e for e in counting if e.id not in known]):
        yield run_words(together, names, zone, units)
    gone = known - {e.id for e in counting}
    for together in runs([e for e in facts.book.events if e.id in gone]):
        yield f"taken back: {run_words(together, names, zone, units)}"
    inputs = last.inputs if last else plan.fingerprint
    if inputs != facts.inputs.fingerprint:
        yield INPUTS_CHANGED


def told_words(news: News) -> str:
    """Return for whom there are notes, in a line; nothing where nobody is to be told."""
    names = {p.id: p.name for p in news.people}
    whom = [
        names.get(note.path.rpartition("/")[2], note.path.rpartition("/")[2])
        for note in notes(news)
    ]
    return f"to be told, in {FOLDER}/: {', '.join(whom)}\n" if whom else ""
