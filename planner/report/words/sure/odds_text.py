"""What `odds` prints: by when the stage is back, how sure that is, what threatens it."""

from collections.abc import Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

from planner.nouns.ids import bare
from planner.nouns.odds import (
    HindsightBound,
    Holder,
    Odds,
    ReturnOdds,
    Threat,
    ThreatOdds,
    tentative_percent,
)
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.report.columns import item, labelled, wrapped
from planner.report.words.sure.cases import (
    by_words,
    cases_words,
    share_words,
    until_words,
)
from planner.report.words.sure.promise import (
    back_words,
    by_worth,
    distance_words,
    worst_threat,
)
from planner.units import days_and_hours, duration_words, moment_words

COLUMN = 23
LEAST_FRAC = 0.02  # what is rarer than this isn't told of tasks and causes
MOST_HELD = 6
ADVICE = {
    Threat.AIR: " (measure it, and hold it)",
    Threat.DELIVERY: " (order earlier)",
    Threat.DAMAGE: " (order a spare piece)",
    Threat.BOOKING: " (leave hours between it and the closure)",
    Threat.ABSENCE: " (have somebody on call)",
}


def odds_words(plan: Plan, odds: Odds, as_of: datetime | None = None) -> str:
    """Return how sure a plan's returns are, in words; of what is left, as of when."""
    zone = ZoneInfo(plan.zone)
    left = "" if as_of is None else f"; what is left as of {moment_words(as_of, zone)}"
    lines = [
        f"{plan.job}, times in {plan.zone}{left}",
        *wrapped(owner_words(plan, odds), first="  ", rest="  "),
        "",
    ]
    for back in sorted(odds.returns, key=lambda r: r.planned):
        lines += _return(back, odds, zone)
    lines += _collisions(odds, zone)
    lines += _threats(plan, odds, zone)
    lines += _more(plan, odds, zone)
    lines += _held(plan, odds)
    lines += _held_for(plan, odds)
    lines += _money(plan, odds)
    lines += wrapped(
        f"Played {odds.futures:,} futures (seed {odds.seed}). How far things may differ "
        "stands in the job file's [odds]; what it leaves out is assumed, see covetime "
        "check. Dates are no promise of the weather or of people: they hold as far as "
        "these figures do.",
        first="  ",
        rest="  ",
    )
    return "\n".join(lines) + "\n"


def bound_words(plan: Plan, odds: Odds, bound: HindsightBound | None) -> str:
    """Return how far a promise is from what no plan can promise, in words."""
    if bound is None:
        said = (
            "What no plan could promise can't be told where readings make the air of "
            "the plan's own weeks."
        )
    else:
        full = next(r for r in odds.returns if r.kind is ReturnKind.FULL_SERVICE)
        promise = full.promised(bound.percent)
        said = distance_words(bound, promise, ZoneInfo(plan.zone))
        said = f"{said[:1].upper()}{said[1:]}"
    return "\n".join(["", *wrapped(said, first="  ", rest="  ")]) + "\n"


def owner_words(plan: Plan, odds: Odds) -> str:
    """Return what the owner wants to know, in one sentence or two."""
    zone = ZoneInfo(plan.zone)
    full = next(r for r in odds.returns if r.kind is ReturnKind.FULL_SERVICE)
    percents = dict.fromkeys((odds.sure_percent, tentative_percent(odds.sure_percent)))
    return back_words(
        full.kind,
        [(p, full.promised(p)) for p in percents],
        worst_threat(odds.threats, full.promised(odds.sure_percent), odds.looked_until),
        looked_until=odds.looked_until,
        zone=zone,
    )


def _return(back: ReturnOdds, odds: Odds, zone: ZoneInfo) -> Iterator[str]:
    yield f"  {back.kind[:1].upper()}{back.kind[1:]}"
    planned = moment_words(back.planned, zone)
    yield from labelled(
        "    working plan", f"{planned}, kept in {cases_words(back.kept_frac)}", COLUMN
    )
    for one in back.by:
        words = until_words(one.when, odds.looked_until, zone)
        label = f"    {share_words(one.percent)} cases"
        yield from labelled(label, words if one.when is None else f"by {words}", COLUMN)
    if back.late_days > 0.0:
        late = days_and_hours(round(back.late_days * 24) * 60)
        yield from labelled("    late on average", f"by {late}, over all cases", COLUMN)


def _collisions(odds: Odds, zone: ZoneInfo) -> Iterator[str]:
    near = [c for c in odds.collisions if c.frac >= 0.005]
    if not near:
        yield "  No booking meets the closed stage in more than 1 of 200 cases"
        return
    yield "  Bookings that begin while the stage is still closed"
    for one in near:
        start = moment_words(one.start, zone)
        yield from item(f"{one.words}, {start}: in {cases_words(one.frac)}", "    ")


def _threats(plan: Plan, odds: Odds, zone: ZoneInfo) -> Iterator[str]:
    known = [c for c in odds.threats if (c.share_frac or 0.0) >= LEAST_FRAC]
    if not known:
        return
    yield "  What makes the date of full service unsure"
    for one in by_worth(known, odds.looked_until):
        yield from item(_threat(one, plan, odds, zone), "    ")


def _threat(one: ThreatOdds, plan: Plan, odds: Odds, zone: ZoneInfo) -> str:
    return (
        f"{one.threat}{ADVICE.get(one.threat, '')}: if it went as planned, back "
        f"{by_words(one.without, odds.looked_until, zone)} in "
        f"{share_words(odds.sure_percent)} cases, {_won(one.days, one.cost, plan)}; "
        f"{(one.share_frac or 0.0) * 100:.0f} % of the variance alone"
    )


def _won(days: float, cost: float | None, plan: Plan) -> str:
    """Return how much sooner something is on average, and what the stage then costs less."""
    hours = round(days * 24)
    if hours == 0:
        return "no sooner on average"
    words = f"{days_and_hours(abs(hours) * 60)} {'sooner' if hours > 0 else 'later'}"
    if cost is None:
        return f"{words} on average"
    money = f"{abs(cost):,.0f} {plan.cost.currency}".rstrip()
    return f"{words} and {money} {'less' if cost >= 0 else 'more'} on average"


def _more(plan: Plan, odds: Odds, zone: ZoneInfo) -> Iterator[str]:
    if not odds.more:
        return
    yield "  What one more person would win, their pay not counted"
    people = {p.id: p for p in plan.crew}
    for one in sorted(odds.more, key=lambda m: -m.days):
        like = people[one.like]
        words = f"like {like.name} ({', '.join(like.trades)})"
        back = (
            f"back {by_words(one.when, odds.looked_until, zone)} in "
            f"{share_words(odds.sure_percent)} cases"
        )
        won = _won(one.days, one.cost, plan)
        yield from item(f"{words}: {back}, {won}", "    ")


def _held(plan: Plan, odds: Odds) -> Iterator[str]:
    titles = {bare(t.id): t.title for t in plan.tasks}
    held = sorted((h for h in odds.held if h.frac >= 0.1), key=lambda h: -h.frac)
    rarer = [h for h in held if h.frac < 0.995]
    always = len(held) - len(rarer)
    if not held:
        return
    yield "  What holds the date of full service"
    if always:
        yield from item(f"{always} tasks in all cases", "    ")
    for one in rarer[:MOST_HELD]:
        yield from item(f"{titles[one.task]}: in {cases_words(one.frac)}", "    ")


def _held_for(plan: Plan, odds: Odds) -> Iterator[str]:
    """Yield the people and the waits that hold the date, the more often the sooner."""
    names = {p.id: p.name for p in plan.crew}
    titles = {f"{w.product}:{w.stage}": w.product_title for w in plan.waits}
    rows = (
        (Holder.PERSON, "  Who holds it, still busy with what comes before"),
        (Holder.WAIT, "  What hardens and holds it"),
    )
    for holder, heading in rows:
        found = [h for h in odds.held_for if h.holder is holder and h.frac >= 0.1]
        if not found:
            continue
        yield heading
        for one in sorted(found, key=lambda h: -h.frac)[:MOST_HELD]:
            if holder is Holder.PERSON:
                name = names.get(one.name, one.name)
            else:
                product, _, stage = one.name.partition(":")
                name = f"{titles.get(one.name, product)}, {stage}"
            yield from item(f"{name}: in {cases_words(one.frac)}", "    ")


def _money(plan: Plan, odds: Odds) -> Iterator[str]:
    if odds.late_cost is not None:
        cost = f"{odds.late_cost:,.0f} {plan.cost.currency}".rstrip()
        yield from labelled(
            "  Late days cost", f"{cost} of the stage's rate, on average", COLUMN
        )
    if odds.overtime_h >= 0.1:
        hours = duration_words(round(odds.overtime_h * 60))
        yield from labelled(
            "  Overtime",
            f"{hours} of one person on average, to finish work in one go",
            COLUMN,
        )
