"""What `closures` prints: when the stage could be closed, and which gaps are too short."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from planner.hours.open import entry_words
from planner.nouns.choices.closures import ClosureChoices, ClosureOption, Gap
from planner.nouns.odds import tentative_percent
from planner.nouns.purchase import days_touched
from planner.report.columns import item, labelled, wrapped
from planner.report.words.sure.cases import (
    cases_words,
    end_words,
    share_words,
)
from planner.units import day_words, days_and_hours, moment_words, year_once

COLUMN = 19
WIDTHS = (2, 17, 17, 5, 13, 15)
A_DAY = 1440  # minutes: of gaps that are shorter, only their number is told
LATER = "later than seen"  # a kept date beyond what was looked at


def closures_words(found: ClosureChoices) -> str:
    """Return the closures that could be, the best first, and what was ruled out."""
    zone = ZoneInfo(found.zone)
    lines = [f"{found.job}, times in {found.zone}"]
    for words in (*asked_words(found), *compared_words(found)):
        lines += wrapped(words)
    lines.append("")
    ranked = found.ranked()
    if ranked:
        lines += [*_table(found), ""]
    for number, option in enumerate(ranked, 1):
        lines += block(found, option, number, zone)
    if not ranked:
        lines += [f"  {none_words(found)}", ""]
    lines += _others(found)
    for words in footnotes(found):
        lines += wrapped(words, first="  ", rest="  ")
    return "\n".join(lines) + "\n"


def asked_words(found: ClosureChoices) -> tuple[str, ...]:
    """Return what was looked at, and by when the stage is wanted back."""
    zone = ZoneInfo(found.zone)
    looked = (
        f"Closures that begin from {day_words(found.since, zone)} "
        f"to {end_words(found.until, zone).removeprefix('the end of ')}"
    )
    if found.back_by is None:
        return (looked,)
    words = f"The stage is wanted back by {end_words(found.back_by, zone)}"
    if any(found.in_time(o) for o in found.ranked()):
        return looked, words
    share = share_words(found.sure_percent)
    none = "No closure" if found.whole else "None of the closures found by now"
    return looked, f"{words}. {none} keeps that in {share} cases."


def compared_words(found: ClosureChoices) -> tuple[str, ...]:
    """Return what the rows are to be compared with: the plan that stands, or none."""
    plan, zone = found.standing, ZoneInfo(found.zone)
    if plan is None:
        said = "Each row is a quick plan; covetime plan may find an earlier promise for it."
        return (said,) if found.ranked() else ()
    until = "later than was looked at"
    if plan.kept is not None:
        days = days_touched(plan.start, plan.kept, zone)
        until = f"{day_words(plan.kept, zone)}, {days} days"
    costs = _sums(found, ("stage", plan.stage_cost), ("labour", plan.labour_cost))
    words = (
        f"The plan that stands: closed {year_once(f'{day_words(plan.start, zone)} to {until}')}"
        f"{costs and f', {costs}'}; kept in {share_words(found.sure_percent)} cases"
    )
    if plan.hits:
        words += f"; late for a booking in {_of_100(plan.hits)} of 100"
    rows = (
        " Compare it with the rows below, which covetime plan may still improve."
        if found.ranked()
        else ""
    )
    return (f"{words}.{rows}",)


def none_words(found: ClosureChoices) -> str:
    """Return that no closure was found, and whether there may be one all the same."""
    if found.whole:
        return "None of the gaps between bookings holds the work."
    return "Nothing was found before the run was stopped; there may be a gap for it."


def footnotes(found: ClosureChoices) -> tuple[str, ...]:
    """Return how the closures were found and ranked, and what the words mean."""
    wish = "those back when wanted, then the least late, " if found.back_by else ""
    return (
        f"Ranked: {wish}the cheapest, the shortest, the earliest. Each date is the "
        "earliest return that was found in the gap, or from a first of the month on "
        "where a gap lasts longer. covetime plan looks for a plan that is made to be "
        "kept, and may promise an earlier date. Kept means: in "
        f"{share_words(found.sure_percent)} futures, in which work and waits differ "
        "from plan; days and costs of the stage go to that date. Bookings are moved only "
        "where the work doesn't fit otherwise, and what that costs is counted.",
    )


def cells(found: ClosureChoices, option: ClosureOption) -> tuple[str, ...]:
    """Return a closure as cells: from, kept by, days, costs, and next booking met."""
    zone, figures = ZoneInfo(found.zone), option.figures
    assert figures is not None
    start, back = figures.closure[0], figures.full.kept
    cost = "" if option.cost is None else f"{option.cost:,.0f} {found.currency}"
    known = option.gap.end is not None
    met = f"{_of_100(option.hits)} of 100" if known else "none known"
    return (
        day_words(start, zone),
        LATER if back is None else day_words(back, zone),
        str(found.days(option) or ""),
        cost.rstrip(),
        met,
    )


HEAD = ("Closed from", "Kept by", "Days", "Costs", "Late for next")


def _table(found: ClosureChoices) -> Iterator[str]:
    """Yield the closures that could be, a line each."""
    ranked = found.ranked()
    rows = [(str(n), *cells(found, o)) for n, o in enumerate(ranked, 1)]
    shown = shown_columns(rows)
    moves = ["", *(moving_words(found, o) for o in ranked)]
    for row, moved in zip((("", *HEAD), *rows), moves, strict=True):
        first = f"  {row[0]:>{WIDTHS[0]}}  {row[1]:<{WIDTHS[1]}}{row[2]:<{WIDTHS[2]}}"
        yield (first + "".join(f"{row[n]:>{WIDTHS[n]}}" for n in shown[3:])).rstrip()
        if moved:
            yield from item(f"moves {moved}", "      ")


def moving_words(found: ClosureChoices, option: ClosureOption) -> str:
    """Return the bookings that a closure needs moved, each with what it costs."""
    return " and ".join(
        entry_words(b)
        + (
            " (no price given)"
            if b.moving_cost is None
            else f" for {b.moving_cost:,.0f} {found.currency}".rstrip()
        )
        for b in option.gap.moving
    )


def shown_columns(rows: Sequence[tuple[str, ...]]) -> list[int]:
    """Return the columns that hold something in some row."""
    return [n for n in range(len(rows[0])) if any(row[n] for row in rows)]


def _of_100(frac: float) -> int:
    return max(round(frac * 100), 1) if frac else 0


def progress_row(option: ClosureOption, zone: ZoneInfo) -> str:
    """Return what became of a gap in one line, as soon as it is known."""
    head = gap_words(option.gap, zone)
    if option.figures is None:
        return f"{head}: {no_words(option, zone)}"
    return f"{head}: back {moment_words(option.figures.full.planned, zone)}"


def gap_words(gap: Gap, zone: ZoneInfo) -> str:
    """Return a gap by its moments, and how long it is."""
    start = moment_words(gap.start, zone)
    if gap.end is None or gap.minutes is None:
        return f"from {start}"
    length = days_and_hours(gap.minutes)
    return f"{start} to {moment_words(gap.end, zone)} ({length})"


def no_words(option: ClosureOption, zone: ZoneInfo) -> str:
    """Return why a gap holds no closure."""
    needs, back = option.needs_minutes, option.needs_until
    if option.too_late and back is not None:
        return f"too late: the stage isn't back before {moment_words(back, zone)}"
    if option.too_short and needs is not None and option.gap.minutes is not None:
        return (
            f"too short: needs {days_and_hours(needs)}, "
            f"has {days_and_hours(option.gap.minutes)}"
        )
    return option.why


def kept_words(kept: datetime | None, zone: ZoneInfo) -> str:
    """Return by when a return is kept."""
    if kept is None:
        return "kept later than looked at"
    return f"kept by {day_words(kept, zone)}"


def block(
    found: ClosureChoices, option: ClosureOption, number: int, zone: ZoneInfo
) -> Iterator[str]:
    """Yield a closure in columns, an empty line after it."""
    figures = option.figures
    assert figures is not None
    start, end = figures.closure
    yield from labelled(f"  {number}  Closed from", moment_words(start, zone), COLUMN)
    length = days_and_hours((end - start).total_seconds() / 60)
    yield from labelled(
        "            to", f"{moment_words(end, zone)}  ({length})", COLUMN
    )
    for back in figures.returns:
        by = kept_words(back.kept, zone)
        words = f"{back.kind.capitalize()} {moment_words(back.planned, zone)}, {by}"
        yield from labelled("     Returns", words, COLUMN, hang=2)
    for label, words in details(found, option):
        yield from labelled(f"     {label}", words, COLUMN)
    yield ""


def details(found: ClosureChoices, option: ClosureOption) -> Iterator[tuple[str, str]]:
    """Yield what else is to be known of a closure: a word for it, and what it is."""
    zone, figures, gap = ZoneInfo(found.zone), option.figures, option.gap
    assert figures is not None
    if found.back_by is not None:
        by = end_words(found.back_by, zone)
        often = (
            "never back by then"
            if not figures.wanted_frac
            else f"back by then in {cases_words(figures.wanted_frac)}"
        )
        yield "Wanted", f"by {by}: {often}"
    if gap.before:
        yield "After", gap.before
    if gap.after and gap.end is not None:
        yield "Next", _next(option, zone)
        if words := _or_moved(found, option, zone):
            yield "Or", words
    if option.moved:
        yield "If", "; ".join(option.moved)
    if option.cost is not None:
        yield "Costs", _cost(found, option)


def _cost(found: ClosureChoices, option: ClosureOption) -> str:
    assert option.figures is not None
    return _sums(
        found,
        ("stage", option.figures.stage_cost),
        ("labour", option.figures.labour_cost),
        ("moving bookings", option.gap.moving_cost or None),
    )


def _sums(found: ClosureChoices, *parts: tuple[str, float | None]) -> str:
    """Return sums of money with what they are for; empty where none is known."""
    said = [f"{what} {sum_:,.0f}" for what, sum_ in parts if sum_ is not None]
    return f"{' + '.join(said)} {found.currency}".rstrip() if said else ""


def _next(option: ClosureOption, zone: ZoneInfo) -> str:
    assert option.gap.end is not None
    words = f"{option.gap.after} on {day_words(option.gap.end, zone)}"
    if not option.hits:
        return f"{words}; the stage is back before it in every future"
    return (
        f"{words}; in {_of_100(option.hits)} of 100 futures it begins before the stage "
        "is back"
    )


def _or_moved(found: ClosureChoices, option: ClosureOption, zone: ZoneInfo) -> str:
    """Return what moving the next booking would save from a late return, and its price.

    Empty where it can't be moved, or where the stage is back before it in as many
    futures as a tentative date is kept in.
    """
    gap, figures = option.gap, option.figures
    assert figures is not None
    assert gap.end is not None
    latest, sure = figures.full.latest, tentative_percent(found.sure_percent)
    if option.hits <= 1.0 - sure / 100:
        return ""
    ahead = sorted(
        (b for b in found.bookings if b.start >= gap.end), key=lambda b: b.start
    )
    met = [b for b in ahead if b.start == gap.end]
    if not met or not all(b.movable for b in met):
        return ""
    cost = sum(b.moving_cost or 0.0 for b in met)
    price = f" for {cost:,.0f} {found.currency}".rstrip() if cost else ""
    words = f"{' and '.join(entry_words(b) for b in met)} moves{price}"
    rest = ahead[len(met) :]
    if not rest:
        return f"{words}; no booking is known after it"
    words += (
        f"; next is then {entry_words(rest[0])} on {day_words(rest[0].start, zone)}"
    )
    if latest is not None and latest <= rest[0].start:
        words += f", before which the stage is back in {share_words(sure)} futures"
    return words


def ruled_out(found: ClosureChoices) -> Iterator[str]:
    """Yield the gaps that hold no closure, each with the reason; the least as one."""
    zone = ZoneInfo(found.zone)
    least = [o for o in found.options if o.too_short and (o.gap.minutes or 0) < A_DAY]
    if len(least) > 1:
        first = moment_words(least[0].gap.start, zone)
        needs = days_and_hours(min(o.needs_minutes or 0 for o in least))
        yield (
            f"{len(least)} gaps of less than a day, the first from {first}: too short: "
            f"needs {needs} at least"
        )
    for option in found.options:
        if len(least) > 1 and option in least:
            continue
        if option.figures is None and not option.too_late:
            over = f", if {'; '.join(option.moved)}" if option.moved else ""
            yield f"{gap_words(option.gap, zone)}{over}: {no_words(option, zone)}"


def counted(found: ClosureChoices) -> Iterator[str]:
    """Yield what isn't shown: closures that are worse in every way, late, not reached."""
    zone = ZoneInfo(found.zone)
    beaten = found.beaten()
    if beaten:
        starts = "; ".join(
            day_words(o.figures.closure[0], zone) for o in beaten if o.figures
        )
        count = "1 closure is" if len(beaten) == 1 else f"{len(beaten)} closures are"
        yield (
            f"{count} worse in every way than one above, and left out: later, no "
            f"cheaper, no shorter and no surer; from {starts}"
        )
    late = sum(o.too_late for o in found.options)
    if late:
        count = "1 gap wasn't" if late == 1 else f"{late} gaps weren't"
        yield (
            f"{count} planned: the stage can't be back when it is wanted in them, "
            "whatever the plan, and in another it is"
        )
    if found.not_reached:
        more = (
            "1 more gap was"
            if found.not_reached == 1
            else (f"{found.not_reached} more gaps were")
        )
        yield f"Stopped before {more} planned"


def _others(found: ClosureChoices) -> Iterator[str]:
    none = list(ruled_out(found))
    if none:
        yield "  Holds no closure"
        for words in none:
            yield from item(words, "    ")
        yield ""
    for words in counted(found):
        yield from item(words)
        yield ""
