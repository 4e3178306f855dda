"""When the stage comes back: the returns, the days of the stage, what holds the date."""

from dataclasses import dataclass
from datetime import date, timedelta

from planner.nouns.odds import Sureness
from planner.nouns.plan import CUT_SHORT, MADE_TO_BE_KEPT, PlannedWait, Taken
from planner.nouns.work import ReturnKind
from planner.report.drawing.view import View, minutes_between, passes
from planner.report.drawing.week_rows import midnight, reach
from planner.report.words.binding import OF_HOURS
from planner.report.words.sure.promise import (
    at_best_words,
    owner_words,
    risk_words,
    sure_words,
    wanted_words,
    working_words,
)
from planner.units import duration_words

LONG_WAITS = 3


MEANS = {
    ReturnKind.LIGHT_FOOT_TRAFFIC: "People may walk on it in clean, soft shoes. Nothing "
    "stands on it yet.",
    ReturnKind.FULL_SERVICE: "It may be worked on. When heavy loads may stand on it, and "
    "tape, the crew's page says.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnWords:
    """A return to service: what it means, the moment promised, how sure that is."""

    name: str
    means: str
    day: str
    clock: str
    sure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StageDay:
    """A day of the stage: `kind` is open, booked, closed, light, back or tentative."""

    day: str
    kind: str
    words: tuple[str, ...]


def returns(view: View) -> tuple[ReturnWords, ...]:
    """Return the two returns in words."""
    stage = view.plan.stage
    looked_until = view.day(stage.sureness.looked_until)
    out = []
    for r in stage.returns:
        said = view.when(r.promise) if r.promise else ""
        out.append(
            ReturnWords(
                name=r.kind,
                means=MEANS[r.kind],
                day=said[:-7] or f"later than {looked_until}",
                clock=said[-5:],
                sure=". ".join((*sure_words(view.plan, stage, r), ""))[:-1],
            )
        )
    return tuple(out)


def _played(sure: Sureness) -> str:
    """Return what the promise rests on."""
    return (
        f"The promise comes of {sure.futures:,} futures of this plan (seed {sure.seed}), "
        "each with another pace, other waits, other air, late crates, joints that show "
        "through and people away, as far as the job file's [odds] has it."
    )


def closed_words(view: View) -> str:
    """Return for how long to keep the stage clear."""
    stage = view.plan.stage
    start, end = stage.promised_closure
    if stage.returning(ReturnKind.FULL_SERVICE).promise is None:
        return f"{view.when(start)} until later than {view.day(end)}"
    return view.span(start, end)


def how_promised(view: View) -> tuple[str, ...]:
    """Return how sure the promise is, what it rests on, and what the working plan is."""
    plan, stage = view.plan, view.plan.stage
    sure = stage.sureness
    return (
        owner_words(plan, stage),
        *((f"Wanted back {wanted}",) if (wanted := wanted_words(plan, stage)) else ()),
        *((best,) if (best := at_best_words(plan, stage)) else ()),
        f"Working plan: {working_words(plan, stage)}.",
        *(f"{r}." for r in plan.remarks if r.startswith((MADE_TO_BE_KEPT, CUT_SHORT))),
        *(f"{label}: {said}." for label, said in risk_words(plan, stage)),
        _played(sure),
    )


def holding(view: View) -> tuple[str, ...]:
    """Return in words what holds the date: the last wait, the long ones, the rest."""
    last, wait = view.return_terms(ReturnKind.FULL_SERVICE)[0]
    said = []
    if wait is None:
        said.append(f"Full service comes when {last.title} ends.")
    else:
        said.append(f"Full service comes last: {_wait(view, wait)}.")
    long = sorted(
        (
            w
            for w in view.plan.waits
            if view.binds(w) and view.gates(w) and w.ready > w.begins
        ),
        key=lambda w: (w.begins - w.ready, w.begins),
    )[:LONG_WAITS]
    said += [
        f"On the way {_wait(view, w)}." for w in sorted(long, key=lambda w: w.begins)
    ]
    said += _hours(view)
    first = view.chain_rows()
    if first:
        said.append(
            f"{len(first)} tasks in a row hold each other from "
            f"“{first[0][0].title}” on; “What waits for what” marks them and says why."
        )
    best = view.plan.aims[0] if view.plan.aims else None
    if best is not None and best.proven:
        said.append(
            "If every task takes as long as planned, no earlier return exists with these "
            "people, hours, methods and this air: that is proven."
        )
    elif best is not None:
        said.append(
            "Another plan returns sooner if all goes as planned, but its promise is later."
            if view.plan.made_to_be_kept
            else f"The earliest return that was found; {best.words}."
        )
    return tuple(said)


def _hours(view: View) -> list[str]:
    """Return what the hours of people and rooms take, by the one account of the page."""
    return [
        f"{s.part.capitalize()}: {duration_words(s.minutes)} of its closure."
        for s in sorted(view.plan.stage.division, key=lambda s: -s.minutes)
        if s.part in OF_HOURS and s.minutes
    ]


def _wait(view: View, wait: PlannedWait) -> str:
    hours = duration_words(minutes_between(wait.begins, wait.ready))
    title = view.tasks[wait.task].title
    return f"“{title}” {passes(wait.way)} {hours}, until {view.when(wait.ready)}"


def bookings_met(view: View) -> tuple[str, ...]:
    """Return the bookings that the closure may meet, and the first one after it."""
    stage = view.plan.stage
    shut, back = stage.promised_closure
    until = stage.returning(ReturnKind.FULL_SERVICE).tentative_until or back
    rows = sorted(stage.bookings, key=lambda b: (b.start, b.end, b.reason))
    inside = [b for b in rows if b.start < back and b.end > shut]
    after = [b for b in rows if b.start >= back]
    near = [b for b in after if b.start < until]
    said = [f"inside: {_booking(view, b)}" for b in inside] or ["inside: none"]
    said += [f"while it may not be back yet: {_booking(view, b)}" for b in near]
    if len(after) > len(near):
        said.append(f"then: {_booking(view, after[len(near)])}")
    return tuple(said)


def _booking(view: View, booking: Taken) -> str:
    return f"{booking.reason}, {view.span(booking.start, booking.end)}"


def _reach(view: View) -> tuple[date, date]:
    """Return the first day of the plan, and the last on which the stage may be closed."""
    first, last = reach(view)
    full = view.plan.stage.returning(ReturnKind.FULL_SERVICE)
    until = full.tentative_until or view.plan.stage.promised_closure[1]
    return first, max(last, (until - timedelta(seconds=1)).astimezone(view.zone).date())


def stage_weeks(view: View) -> tuple[tuple[StageDay, ...], ...]:
    """Return the days of the stage in weeks from Monday, the plan's days and around."""
    first, last = _reach(view)
    at = first - timedelta(days=first.weekday())
    weeks = []
    while at <= last:
        weeks.append(tuple(_day(view, at + timedelta(days=n)) for n in range(7)))
        at += timedelta(days=7)
    return tuple(weeks)


def _day(view: View, day: date) -> StageDay:
    start = midnight(day, view.zone)
    end = midnight(day + timedelta(days=1), view.zone)
    plan = view.plan
    shut, back = plan.stage.promised_closure
    light = plan.stage.returning(ReturnKind.LIGHT_FOOT_TRAFFIC).promise or back
    until = plan.stage.returning(ReturnKind.FULL_SERVICE).tentative_until or back
    words = []
    kind = "open"
    if any(b.start < end and b.end > start for b in plan.stage.bookings):
        kind, words = "booked", ["booked"]
    if start < back and end > shut:
        kind = "light" if light <= start else "closed"
        if shut >= start and shut > start:
            words.append(f"closed from {view.when(shut)[-5:]}")
        elif light > start:
            words.append("closed")
        if start < light < end and light < back:
            words.append(f"light foot traffic from {view.when(light)[-5:]}")
        elif light <= start:
            words.append("light foot traffic")
        if start < back < end:
            kind = "back"
            words.append(f"full service from {view.when(back)[-5:]}")
    if back < end and until > start:
        kind = "tentative" if back <= start else kind
        words.append("may not be back yet")
    return StageDay(
        day=" ".join(view.day(start).split()[1:3]),
        kind=kind,
        words=tuple(words) or ("open",),
    )
