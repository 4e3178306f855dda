"""What a plan promises, in words: by when the stage is back, how sure, what threatens it."""

from collections.abc import Iterable
from datetime import datetime, tzinfo
from zoneinfo import ZoneInfo

from planner.nouns.odds import (
    Collision,
    HindsightBound,
    PlannedReturn,
    ThreatOdds,
    WantedBack,
)
from planner.nouns.plan import Plan, PlannedStage
from planner.nouns.work import ReturnKind
from planner.report.words.sure.cases import (
    by_words,
    cases_words,
    end_words,
    share_words,
    until_words,
)
from planner.units import day_words, days_and_hours, moment_words


def worst_threat(
    threats: Iterable[ThreatOdds], promise: datetime | None, looked_until: datetime
) -> ThreatOdds | None:
    """Return the cause whose going as planned would win most; None: none wins a thing."""
    found = by_worth(threats, looked_until)
    won = found and (found[0].without or looked_until) < (promise or looked_until)
    return found[0] if won else None


def by_worth(threats: Iterable[ThreatOdds], looked_until: datetime) -> list[ThreatOdds]:
    """Return the causes, first the one whose going as planned would win most."""
    return sorted(threats, key=lambda c: c.without or looked_until)


def back_words(
    kind: ReturnKind,
    promises: Iterable[tuple[int, datetime | None]],
    worst: ThreatOdds | None,
    *,
    looked_until: datetime,
    zone: tzinfo,
) -> str:
    """Return in one sentence by when the stage is back, how sure, what threatens it most.

    `promises` are dates with the number of a hundred cases that keep each.
    """
    parts = [
        f"{by_words(when, looked_until, zone)} in {share_words(percent)}"
        for percent, when in promises
    ]
    parts[0] += " cases"
    words = f"Back in {kind} {', '.join(parts)}"
    return f"{words}; what threatens it most: {worst.threat}." if worst else f"{words}."


def owner_words(plan: Plan, stage: PlannedStage) -> str:
    """Return what the owner wants to know of a stage, in one sentence."""
    full, sure = stage.returning(ReturnKind.FULL_SERVICE), stage.sureness
    promises = {
        sure.sure_percent: full.promise,
        sure.tentative_percent: full.tentative_until,
    }
    return back_words(
        full.kind,
        promises.items(),
        worst_threat(sure.threats, full.promise, sure.looked_until),
        looked_until=sure.looked_until,
        zone=ZoneInfo(plan.zone),
    )


def working_words(plan: Plan, stage: PlannedStage) -> str:
    """Return what the working plan's date is, and what it isn't."""
    full = stage.returning(ReturnKind.FULL_SERVICE)
    best = plan.aims[0] if plan.aims else None
    proven = best is not None and best.proven
    what = "the earliest possible" if proven else "the earliest that was found"
    tail = ": proven" if proven else ""
    rates = "if everything takes as long as its rate says"
    words = f"full service is {what} {rates}{tail}"
    if plan.made_to_be_kept and not proven:
        when = moment_words(full.when, ZoneInfo(plan.zone))
        words = f"full service {when} {rates}, chosen for the earlier promise"
    return f"{words}; kept in {cases_words(full.kept_frac)}"


def wanted_words(plan: Plan, stage: PlannedStage) -> str | None:
    """Return whether the stage is back when the job wants it; None: it doesn't say."""
    full, sure = stage.returning(ReturnKind.FULL_SERVICE), stage.sureness
    wanted, zone = sure.wanted, ZoneInfo(plan.zone)
    if wanted is None:
        return None
    words = f"by {end_words(wanted.by, zone)}"
    often = f"back by then in {cases_words(wanted.frac)}"
    if full.promise is not None and full.promise <= wanted.by:
        return f"{words}: promised. It is {often}."
    asked = f"{share_words(sure.sure_percent)} cases are asked for"
    return f"{words}: not promised. It is {often}, and {asked}{_later(full, wanted)}."


def distance_words(
    bound: HindsightBound, promise: datetime | None, zone: tzinfo
) -> str:
    """Return what no plan could promise, how far that is told, and the promise's distance."""
    if bound.when is None:
        return "what no plan could promise lies later than was looked at"
    between = " and ".join(
        "later than was looked at" if t is None else moment_words(t, zone)
        for t in (bound.low, bound.high)
    )
    said = (
        f"no plan, and no crew that knew everything beforehand, would be back before "
        f"{moment_words(bound.when, zone)} in {share_words(bound.percent)} cases. "
        f"That is told from {bound.futures} futures: for all of them it lies, 19 "
        f"times in 20, between {between}."
    )
    if promise is None:
        return said
    later = (promise - bound.when).total_seconds() / 60
    distance = f"{days_and_hours(later)} later" if later > 0 else "no later"
    return f"{said} The promise is {distance}."


def at_best_words(plan: Plan, stage: PlannedStage) -> str | None:
    """Return what no plan could promise, as a sentence; None: it isn't told."""
    bound, full = stage.sureness.bound, stage.returning(ReturnKind.FULL_SERVICE)
    if bound is None:
        return None
    said = distance_words(bound, full.promise, ZoneInfo(plan.zone))
    return f"{said[:1].upper()}{said[1:]}"


def _later(full: PlannedReturn, wanted: WantedBack) -> str:
    """Return by how much a promise is later than wanted."""
    if full.promise is None:
        return ""
    late = (full.promise - wanted.by).total_seconds() / 60
    return f"; the promise is {days_and_hours(late)} later"


def sure_words(plan: Plan, stage: PlannedStage, back: PlannedReturn) -> tuple[str, ...]:
    """Return by when the stage is back, how sure that is, and what the crew works for."""
    sure, zone = stage.sureness, ZoneInfo(plan.zone)
    works = f"The crew's working plan says {moment_words(back.when, zone)}"
    late = until_words(back.tentative_until, sure.looked_until, zone)
    return (
        f"Back for {back.kind} in {share_words(sure.sure_percent)} cases: "
        f"{promise_words(plan, stage, back)}",
        f"In {share_words(sure.tentative_percent)} cases: {late}",
        f"{works}, kept in {cases_words(back.kept_frac)}",
    )


def promise_words(plan: Plan, stage: PlannedStage, back: PlannedReturn) -> str:
    """Return when a return is promised, or that it is later than was looked at."""
    return until_words(back.promise, stage.sureness.looked_until, ZoneInfo(plan.zone))


def at_risk(stage: PlannedStage) -> tuple[Collision, ...]:
    """Return the bookings that begin before the stage is back for sure enough."""
    full, sure = stage.returning(ReturnKind.FULL_SERVICE), stage.sureness
    until = full.tentative_until or sure.looked_until
    return tuple(c for c in sure.collisions if c.start < until)


def risk_words(plan: Plan, stage: PlannedStage) -> tuple[tuple[str, str], ...]:
    """Return which bookings to move, and which are at risk, with how often they are met.

    Those before the promise are to be moved; the later ones may find the stage closed.
    """
    promise, zone = stage.promised_closure[1], ZoneInfo(plan.zone)
    rows: dict[str, list[str]] = {}
    for one in at_risk(stage):
        label = "To move" if one.start < promise else "At risk"
        name = one.words.rpartition(" (")[0] or one.words  # without its file
        often = cases_words(one.frac).removesuffix(" cases")
        said = f"{name}, {day_words(one.start, zone)} (closed in {often})"
        rows.setdefault(label, []).append(said)
    return tuple((label, "; ".join(said)) for label, said in rows.items())
