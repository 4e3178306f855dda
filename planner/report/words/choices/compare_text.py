"""What `compare` prints: each way to do the job with its figures, and what it wins."""

import shlex
from collections.abc import Iterator
from zoneinfo import ZoneInfo

from planner.nouns.choices.comparison import (
    Alternative,
    BackBy,
    Comparison,
    Figures,
    Gain,
    HowFound,
)
from planner.report.columns import item, labelled, wrapped
from planner.report.words.sure.cases import share_words
from planner.units import day_words, days_and_hours, moment_words

COLUMN = 23
TITLE, NUMBER = 39, 13  # widths of the table's columns
MOST_SAID = 5  # levers whose change is said as the command takes it
ASK = (
    "More people, more hours and more heat were assumed, not asked for; local rules on "
    "hours of work and what a product's sheet says come first."
)
IN_VAIN = "What gains less than two hours or loses days, and what binds then"
STANDS = "that of the job as it is, which holds and keeps a better date than a new one"
MORE_DAYS = 0.25  # what a pair has to win beyond its two levers alone
TOLD_APART = 1 / 12  # two hours: less, a lever's plan may win or lose by its search


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
    gains = gaining(found)
    lines = [f"{found.job}, times in {found.zone}", ""]
    lines += _block(found, found.as_it_is, 0)
    lines += ["  What gains days on the date kept"] if gains else []
    lines += table(found, gains) if gains else []
    lines += ["", f"  {IN_VAIN}"]
    for one in in_vain(found):
        lines += item(f"{one.title}: {vain_words(found, one)}", "    ")
    lines += _joined(found)
    lines += _unfinished(found)
    if gains:
        lines += ["", "  To have one of these alone, or with others joined by ;"]
    for one in gains[:MOST_SAID]:
        lines.append(f"    {said(one)}")  # unwrapped, to be copied
    lines += [*_footnote(found), *wrapped(ASK, first="  ", rest="  ")]
    return "\n".join(lines) + "\n"


def said(one: Alternative) -> str:
    """Return an alternative as the command line takes it."""
    return f"--change {shlex.quote(one.say)}"


def gaining(found: Comparison) -> tuple[Alternative, ...]:
    """Return the levers that gain days alone, the best first."""
    return tuple(x for x in found.ranked() if not x.parts and _gains(found.gain(x)))


def in_vain(found: Comparison) -> tuple[Alternative, ...]:
    """Return the levers that gain next to nothing alone, those first that lose least."""
    return tuple(x for x in found.ranked() if not x.parts and not _gains(found.gain(x)))


def together(found: Comparison) -> tuple[Alternative, ...]:
    """Return the pairs that win more together than both do apart."""
    won = {one.title: won for one in found.ranked() if (won := found.gain(one))}
    return tuple(
        one
        for one in found.ranked()
        if one.parts
        and one.title in won
        and won[one.title].days - MORE_DAYS
        >= sum(max(won[p].days, 0.0) if p in won else 0.0 for p in one.parts)
    )


def _gains(won: Gain | None) -> bool:
    return won is not None and won.days >= TOLD_APART


def vain_words(found: Comparison, one: Alternative) -> str:
    """Return what an alternative comes to that gains little, and what binds then."""
    if one.found is HowFound.RULED_OUT:
        return f"gains nothing, shown without a search: {one.why}"
    if one.figures is None:
        return f"no plan: {one.why}"
    won = found.gain(one)
    words = "not known" if won is None else gained_words(won)
    plan = ", with the plan as it is" if one.found is HowFound.STANDS else ""
    return f"{words}{plan}; {'; '.join(one.figures.binds)}"


def _joined(found: Comparison) -> Iterator[str]:
    """Yield the pairs that win more together than both do apart."""
    yield ""
    if rows := together(found):
        yield "  What gains more together than both alone"
        yield from table(found, rows)
    elif none := none_together(found):
        yield f"  {none}"


def none_together(found: Comparison) -> str:
    """Return that no pair gains more than both alone; empty where none was tried."""
    count = sum(bool(one.parts) for one in found.alternatives)
    if not count or together(found):
        return ""
    return f"None of {count} pairs that were tried gains more than both alone"


def progress_row(one: Alternative, won: Gain | None, zone: ZoneInfo) -> str:
    """Return what became of an alternative in one line, as soon as it is known."""
    if one.found is HowFound.RULED_OUT:
        return f"{one.title}: gains nothing: {one.why}"
    if one.figures is None:
        return f"{one.title}: no plan: {one.why}"
    full = one.figures.full
    words = f"back {moment_words(full.planned, zone)}, kept {_by(full, zone)}"
    tail = f", {gained_words(won)}" if won is not None and one.changes else ""
    return f"{one.title}: {words}{tail}"


def gained_words(won: Gain) -> str:
    """Return how many days an alternative wins on the date that is kept."""
    hours = round(abs(won.days) * 24)
    if not hours:
        return "gains nothing"
    length = days_and_hours(hours * 60)
    return f"gains {length}" if won.days > 0.0 else f"loses {length}"


def _block(found: Comparison, one: Alternative, number: int) -> Iterator[str]:
    head = f"{number}  {one.title}" if number else one.title[:1].upper() + one.title[1:]
    yield from item(head, "  ")
    if one.figures is None:
        yield from labelled("    No plan", one.why, COLUMN)
        yield ""
        return
    zone, figures = ZoneInfo(found.zone), one.figures
    if one.found is HowFound.STANDS:
        yield from labelled("    Plan", STANDS, COLUMN)
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
        cells = gain_cells(found.gain(one)) if one.figures else ("no plan",)
        *first, last = wrapped(row_title(one), rest="  ", width=TITLE)
        yield from (f"  {line}" for line in first)
        yield (f"  {last:<{TITLE}}" + "".join(f"{c:>{NUMBER}}" for c in cells)).rstrip()


def row_title(one: Alternative) -> str:
    """Return what a table calls an alternative."""
    plan = ", with the plan as it is" if one.found is HowFound.STANDS else ""
    return f"{one.title}{plan}"


def gain_cells(won: Gain | None) -> tuple[str, ...]:
    """Return days gained, what that costs more, and for each day, as far as known."""
    if won is None:
        return ("not known",)
    if won.cost is None:
        return (f"{won.days:+.1f}",)
    more = round(won.cost)
    each = "" if won.per_day is None else f"{won.per_day:,.0f}"
    if won.per_day is not None and more <= 0:
        each = "saves" if more < 0 else "nothing"
    return f"{won.days:+.1f}", f"{more:+,d}" if more else "0", each


def _unfinished(found: Comparison) -> Iterator[str]:
    if found.unfinished:
        yield ""
        yield from item(f"Stopped before: {'; '.join(found.unfinished)}")


def _footnote(found: Comparison) -> Iterator[str]:
    yield ""
    yield from wrapped(footnote_words(found), first="  ", rest="  ")


def footnote_words(found: Comparison) -> str:
    """Return how the figures were come by, and what isn't counted in them."""
    near = any(one.found is HowFound.NEAR for one in found.alternatives)
    return (
        f"Kept is what is kept in {share_words(found.sure_percent)} of "
        f"{found.futures:,} futures, the same for all "
        f"(seed {found.seed}); days gained are days of that date. "
        f"{NEAR if near else ALL_KEPT} Costs are of the stage's days and of labour: "
        "machines, materials and travel aren't counted."
    )


ALL_KEPT = (
    "Each plan is made to be kept, as covetime plan makes it, or is the plan of the job as "
    "it is where that holds and keeps a better date; another may do better still."
)
NEAR = (
    "The plan of the job as it is is made to be kept, as covetime plan makes it. For each "
    "lever its order and teams were changed a little: over that plan a lever gains at least "
    "that much, and levers less than half a day apart may change places by the search. "
    "--change with one of them looks for a plan as long as covetime plan does."
)
