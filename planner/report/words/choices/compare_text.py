"""What `compare` prints: each way to do the job with its figures, and what it wins."""

import shlex
from collections.abc import Iterator, Mapping
from zoneinfo import ZoneInfo

from planner.nouns.choices.comparison import (
    Alternative,
    BackBy,
    Comparison,
    Figures,
    Gain,
)
from planner.report.columns import item, labelled, wrapped
from planner.report.words.sure.promise import share_words
from planner.units import day_words, days_and_hours, moment_words

COLUMN = 23
TITLE, NUMBER = 39, 13  # widths of the table's columns
MOST_SAID = 5  # levers whose change is said as the command takes it
ASK = (
    "More people, more hours and more heat were assumed, not asked for; local rules on "
    "hours of work and what a product's sheet says come first."
)
MORE_DAYS = 0.25  # what a pair has to win beyond its two levers alone
LEAST_DAYS = 1 / 96  # a quarter of an hour: less is nothing gained


def comparison_words(found: Comparison, *, levers: bool) -> str:
    """Return a comparison in words: one by one, or levers in order of what they gain."""
    return levers_words(found) if levers else compare_words(found)


def compare_words(found: Comparison) -> str:
    """Return a comparison in words: each alternative, then all in one table."""
    lines = [f"{found.job}, times in {found.zone}", ""]
    for number, one in enumerate((found.as_it_is, *found.alternatives)):
        lines += _block(found, one, number)
    lines += table(found, found.alternatives)
    lines += _unfinished(found)
    return "\n".join([*lines, *_footnote(found)]) + "\n"


def levers_words(found: Comparison) -> str:
    """Return what each lever gains, the best first; what binds where one gains nothing."""
    ranked = found.ranked()
    alone = [one for one in ranked if not one.parts]
    won = {one.title: won for one in ranked if (won := found.gain(one)) is not None}
    gains = tuple(one for one in alone if one.title in won and _gains(won[one.title]))
    lines = [f"{found.job}, times in {found.zone}", ""]
    lines += _block(found, found.as_it_is, 0)
    lines += ["  What gains days on the date kept"] if gains else []
    lines += table(found, gains)
    lines += ["", "  What gains nothing, and what binds then"]
    for one in (one for one in alone if one not in gains):
        lines += item(f"{one.title}: {_in_vain(one, won.get(one.title))}", "    ")
    lines += _joined(found, won)
    lines += _unfinished(found)
    lines += ["", "  To have one of these alone, or with others joined by ;"]
    for one in gains[:MOST_SAID]:
        lines.append(f"    --change {shlex.quote(one.say)}")  # unwrapped, to be copied
    return (
        "\n".join([*lines, *_footnote(found), *wrapped(ASK, first="  ", rest="  ")])
        + "\n"
    )


def _gains(won: Gain) -> bool:
    return won.days >= LEAST_DAYS


def _in_vain(one: Alternative, won: Gain | None) -> str:
    if one.figures is None:
        return f"no plan: {one.why}"
    words = "not known" if won is None else gained_words(won)
    return f"{words}; {'; '.join(one.figures.binds)}"


def _joined(found: Comparison, won: Mapping[str, Gain]) -> Iterator[str]:
    """Yield the pairs that win more together than both do apart."""
    rows = tuple(
        one
        for one in found.ranked()
        if one.parts
        and one.title in won
        and won[one.title].days - MORE_DAYS
        >= sum(max(won[p].days, 0.0) if p in won else 0.0 for p in one.parts)
    )
    yield ""
    if rows:
        yield "  What gains more together than both alone"
        yield from table(found, rows)
    elif any(one.parts for one in found.alternatives):
        tried = sum(bool(one.parts) for one in found.alternatives)
        yield f"  None of {tried} pairs that were tried gains more than both alone"


def progress_row(one: Alternative, won: Gain | None, zone: ZoneInfo) -> str:
    """Return what became of an alternative in one line, as soon as it is known."""
    if one.figures is None:
        return f"{one.title}: no plan: {one.why}"
    full = one.figures.full
    words = f"back {moment_words(full.planned, zone)}, kept {_by(full, zone)}"
    tail = f", {gained_words(won)}" if won is not None and one.changes else ""
    return f"{one.title}: {words}{tail}"


def gained_words(won: Gain) -> str:
    """Return how many days an alternative wins on the date that is kept."""
    if abs(won.days) < LEAST_DAYS:
        return "gains nothing"
    length = days_and_hours(round(abs(won.days) * 24) * 60)
    return f"gains {length}" if won.days > 0.0 else f"loses {length}"


def _block(found: Comparison, one: Alternative, number: int) -> Iterator[str]:
    head = f"{number}  {one.title}" if number else one.title[:1].upper() + one.title[1:]
    yield from item(head, "  ")
    if one.figures is None:
        yield from labelled("    No plan", one.why, COLUMN)
        yield ""
        return
    zone, figures = ZoneInfo(found.zone), one.figures
    start, end = (moment_words(t, zone) for t in figures.closure)
    yield from labelled("    Closed from", start, COLUMN)
    length = days_and_hours(
        (figures.closure[1] - figures.closure[0]).total_seconds() / 60
    )
    yield from labelled("           to", f"{end}  ({length})", COLUMN)
    for back in figures.returns:
        words = f"{moment_words(back.planned, zone)}, kept {_by(back, zone)}"
        yield from labelled(f"    {back.kind.capitalize()}", words, COLUMN)
    yield from _money(figures, found.currency)
    yield from labelled("    Binds", "; ".join(figures.binds), COLUMN)
    won = found.gain(one) if number else None
    if won is not None:
        yield from labelled("    Against that", _won(won, found.currency), COLUMN)
    yield ""


def _by(back: BackBy, zone: ZoneInfo) -> str:
    return "later than looked at" if back.kept is None else f"by {_day(back, zone)}"


def _day(back: BackBy, zone: ZoneInfo) -> str:
    assert back.kept is not None
    return day_words(back.kept, zone)


def _money(figures: Figures, currency: str) -> Iterator[str]:
    parts = [
        f"{what} {value:,.0f}"
        for what, value in (
            ("stage", figures.stage_cost),
            ("labour", figures.labour_cost),
        )
        if value is not None
    ]
    if parts:
        yield from labelled("    Costs", f"{' + '.join(parts)} {currency}", COLUMN)


def _won(won: Gain, currency: str) -> str:
    words = f"{gained_words(won)} on the date kept"
    if won.cost is None:
        return words
    more = "more" if won.cost > 0 else "less"
    words += f", costs {abs(won.cost):,.0f} {currency} {more}"
    if won.per_day is not None and won.per_day > 0.0:
        words += f", {won.per_day:,.0f} {currency} for each day gained"
    return words


def table(found: Comparison, rows: tuple[Alternative, ...]) -> Iterator[str]:
    """Yield alternatives as a table: days gained, what that costs, and for each day."""
    money = found.as_it_is.figures is None or found.as_it_is.figures.cost is not None
    head = ("days gained", "costs more", "a day gained")[: 3 if money else 1]
    yield f"  {'':<{TITLE}}" + "".join(f"{h:>{NUMBER}}" for h in head)
    for one in rows:
        cells = _cells(found.gain(one)) if one.figures else ("no plan",)
        *first, last = wrapped(one.title, rest="  ", width=TITLE)
        yield from (f"  {line}" for line in first)
        yield (f"  {last:<{TITLE}}" + "".join(f"{c:>{NUMBER}}" for c in cells)).rstrip()


def _cells(won: Gain | None) -> tuple[str, ...]:
    if won is None:
        return ("not known",)
    if won.cost is None:
        return (f"{won.days:+.1f}",)
    saves = won.per_day is not None and won.per_day <= 0.0
    each = "" if won.per_day is None else f"{won.per_day:,.0f}"
    return f"{won.days:+.1f}", f"{won.cost:+,.0f}", "saves" if saves else each


def _unfinished(found: Comparison) -> Iterator[str]:
    if found.unfinished:
        yield ""
        yield from item(f"Stopped before: {'; '.join(found.unfinished)}")


def _footnote(found: Comparison) -> Iterator[str]:
    yield ""
    yield from wrapped(
        f"Kept is what is kept in {share_words(found.sure_percent)} of "
        f"{found.futures:,} futures, the same for all "
        f"(seed {found.seed}); days gained are days of that date. Each plan is the one "
        "planned to return earliest; another may keep a better date. Costs are of the "
        "stage's days and of labour: machines, materials and travel aren't counted.",
        first="  ",
        rest="  ",
    )
