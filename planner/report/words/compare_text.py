"""What `compare` prints: each way to do the job with its figures, and what it wins."""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from planner.nouns.comparison import Alternative, BackBy, Comparison, Figures, Gain
from planner.report.columns import item, labelled, wrapped
from planner.units import day_words, days_and_hours, moment_words

COLUMN = 23
TITLE, NUMBER = 39, 13  # widths of the table's columns
LEAST_DAYS = 1 / 96  # a quarter of an hour: less is nothing gained


def compare_words(found: Comparison) -> str:
    """Return a comparison in words: each alternative, then all in one table."""
    lines = [f"{found.job}, times in {found.zone}", ""]
    for number, one in enumerate((found.as_it_is, *found.alternatives)):
        lines += _block(found, one, number)
    lines += table(found, found.alternatives)
    lines += _unfinished(found)
    return "\n".join([*lines, *_footnote(found)]) + "\n"


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
        f"Kept is what is kept in 8 of 10 of {found.futures:,} futures, the same for all "
        f"(seed {found.seed}); days gained are days of that date. Costs are of the "
        "stage's days and of labour: machines, materials and travel aren't counted.",
        first="  ",
        rest="  ",
    )
