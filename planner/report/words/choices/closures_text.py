"""What `closures` prints: when the stage could be closed, and which gaps are too short."""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from planner.nouns.choices.closures import ClosureChoices, ClosureOption, Gap
from planner.report.columns import item, labelled, wrapped
from planner.report.words.sure.promise import share_words
from planner.units import day_words, days_and_hours, moment_words

COLUMN = 19


def closures_words(found: ClosureChoices) -> str:
    """Return the closures that could be, in order of time, and what was ruled out."""
    zone = ZoneInfo(found.zone)
    lines = [f"{found.job}, times in {found.zone}"]
    lines += wrapped(f"Closures that begin before {day_words(found.until, zone)}")
    lines.append("")
    kept = found.kept()
    for number, option in enumerate(kept, 1):
        lines += _block(option, number, zone, found.currency)
    if not kept:
        lines += ["  None of the gaps between bookings holds the work.", ""]
    lines += _others(found, zone)
    lines += wrapped(
        "Each date is the earliest return that was found in the gap. Kept means: in "
        f"{share_words(found.sure_percent)} futures, in which work and waits differ from "
        "plan.",
        first="  ",
        rest="  ",
    )
    return "\n".join(lines) + "\n"


def progress_row(option: ClosureOption, zone: ZoneInfo) -> str:
    """Return what became of a gap in one line, as soon as it is known."""
    head = gap_words(option.gap, zone)
    if option.figures is None:
        return f"{head}: {no_words(option, zone)}"
    return f"{head}: back {moment_words(option.figures.full.planned, zone)}"


def gap_words(gap: Gap, zone: ZoneInfo) -> str:
    """Return a gap by its moments, and how long it is."""
    start = moment_words(gap.start, zone)
    if gap.end is None:
        return f"from {start}"
    length = days_and_hours((gap.end - gap.start).total_seconds() / 60)
    return f"{start} to {moment_words(gap.end, zone)} ({length})"


def no_words(option: ClosureOption, zone: ZoneInfo) -> str:
    """Return why a gap holds no closure."""
    if option.needs_until is None:
        return option.why
    needs = (option.needs_until - option.gap.start).total_seconds() / 60
    return (
        f"too short: the stage isn't back before {moment_words(option.needs_until, zone)}, "
        f"{days_and_hours(needs)} after the gap begins"
    )


def _block(
    option: ClosureOption, number: int, zone: ZoneInfo, currency: str
) -> Iterator[str]:
    figures = option.figures
    assert figures is not None
    start, end = figures.closure
    yield from labelled(f"  {number}  Closed from", moment_words(start, zone), COLUMN)
    length = days_and_hours((end - start).total_seconds() / 60)
    yield from labelled(
        "            to", f"{moment_words(end, zone)}  ({length})", COLUMN
    )
    for back in figures.returns:
        kept = back.kept
        by = (
            "kept later than looked at"
            if kept is None
            else f"kept by {day_words(kept, zone)}"
        )
        words = f"{back.kind.capitalize()} {moment_words(back.planned, zone)}, {by}"
        yield from labelled("     Returns", words, COLUMN, hang=2)
    if option.gap.before:
        yield from labelled("     After", option.gap.before, COLUMN)
    if option.gap.after and option.gap.end is not None:
        yield from labelled("     Next", _next(option, zone), COLUMN)
    if option.moved:
        yield from labelled("     If", "; ".join(option.moved), COLUMN)
    if figures.cost is not None:
        yield from labelled("     Costs", f"{figures.cost:,.0f} {currency}", COLUMN)
    yield ""


def _next(option: ClosureOption, zone: ZoneInfo) -> str:
    assert option.gap.end is not None
    words = f"{option.gap.after} on {day_words(option.gap.end, zone)}"
    if not option.hits:
        return f"{words}; the stage is back before it in every future"
    of_100 = max(round(option.hits * 100), 1)
    return f"{words}; in {of_100} of 100 futures it begins before the stage is back"


def _others(found: ClosureChoices, zone: ZoneInfo) -> Iterator[str]:
    none = [o for o in found.options if o.figures is None]
    if none:
        yield "  Holds no closure"
        for option in none:
            over = f", if {'; '.join(option.moved)}" if option.moved else ""
            words = f"{gap_words(option.gap, zone)}{over}: {no_words(option, zone)}"
            yield from item(words, "    ")
        yield ""
    beaten = found.beaten()
    if beaten:
        starts = "; ".join(
            moment_words(o.figures.closure[0], zone) for o in beaten if o.figures
        )
        count = "1 closure is" if len(beaten) == 1 else f"{len(beaten)} closures are"
        yield from item(
            f"{count} later, no cheaper and no surer than one above, and left out: "
            f"from {starts}"
        )
        yield ""
    if found.not_reached:
        yield from item(f"Stopped before {found.not_reached} more gaps were planned")
        yield ""
