"""What `repaint` prints: how worn the colour is, and which gaps hold painting it again."""

from collections.abc import Iterator
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from planner.nouns.choices.repaints import RepaintChoices, RepaintOption
from planner.report.columns import item, labelled, wrapped
from planner.report.words.choices.closures_text import (
    COLUMN,
    block,
    gap_words,
    no_words,
    none_words,
)
from planner.report.words.sure.cases import share_words
from planner.units import day_words

CAUTIONS = (
    "Ventilate while you wash, paint and dry, and keep others out: 2 to 3 days where "
    "possible (US EPA and CPSC, Healthy Indoor Painting Practices). Sanding: vacuum and "
    "dust mask; old paint of unknown make may hold lead, and is surveyed first. A colour "
    "with solvent: vapour filters, no sparks. The makers' sheets, local codes and "
    "licensed practice come first."
)


def repaint_words(found: RepaintChoices) -> str:
    """Return how worn the colour is, the gaps that hold the work, and what to mind."""
    choices, repaint = found.closures, found.repaint
    zone = ZoneInfo(choices.zone)
    coats = "1 coat" if repaint.coats == 1 else f"{repaint.coats} coats"
    colour = "the same colour" if repaint.colour == "same" else "another colour"
    lines = [f"{choices.job}, times in {choices.zone}"]
    lines += item(
        f"To paint again: {repaint.area}, {colour}, {coats} of {found.product}", hang=2
    )
    for words in _wear(found, zone):
        lines += item(words, hang=2)
    lines.append("")
    for number, option in enumerate(found.options, 1):
        lines += list(block(choices, option.closure, number, zone))[:-1]
        lines += labelled("     Wear", _worn(option, found), COLUMN)
        if marks := _marks(option, found):
            lines += labelled("     Choose it", "; ".join(marks), COLUMN)
        lines.append("")
    if not found.options:
        lines += [f"  {none_words(choices)}", ""]
    lines += _others(found, zone)
    lines += wrapped(
        "Each date is the earliest return that was found in the gap. Kept means: in "
        f"{share_words(choices.sure_percent)} futures, in which work and waits differ "
        "from plan. Wear counts days of use: common practice, no source.",
        first="  ",
        rest="  ",
    )
    lines += wrapped(CAUTIONS, first="  ", rest="  ")
    return "\n".join(lines) + "\n"


def _wear(found: RepaintChoices, zone: ZoneInfo) -> Iterator[str]:
    """Yield since when the colour is used, and when it is worn."""
    wear = found.wear
    lasts = f"it lasts {_days(wear.lasts_days)} of use without protection"
    if wear.painted is None:
        yield (
            f"When it was painted last isn't logged: wear counts from what is known of; "
            f"{lasts}. To log it: covetime log JOB painted --at DAY"
        )
    else:
        yield f"Painted last on {_day(wear.painted, zone)}; {lasts}"
    logged = sum(d.is_logged for d in wear.days)
    booked = len(wear.days) - logged
    yield (
        f"Days of use: {logged} logged, {booked} taken from bookings, which count as "
        "without protection"
    )
    due = wear.due
    if due is None:
        yield "By what is booked it isn't worn yet"
    else:
        yield f"Due: by what is logged and booked it is worn on {_day(due, zone)}"


def _worn(option: RepaintOption, found: RepaintChoices) -> str:
    lasts = found.wear.lasts_days
    words = f"{option.worn_days:g} of {_days(lasts)} of use by then"
    return f"{words}: it is worn before" if option.worn_days >= lasts else words


def _marks(option: RepaintOption, found: RepaintChoices) -> list[str]:
    """Return what speaks for an option, where there are several."""
    if len(found.options) < 2:
        return []
    out = []
    if option is found.least_worn:
        out.append("for the least wear until then")
    if option is found.cheapest and option.cost:
        out.append("for the least cost")
    if option is found.last_in_time:
        last = "of these" if found.wear.due is None else "gap before it is worn"
        out.append(f"to use the colour the longest: the last {last}")
    return out


def _others(found: RepaintChoices, zone: ZoneInfo) -> Iterator[str]:
    none = [o for o in found.closures.options if o.figures is None]
    if none:
        yield "  Holds no repaint"
        for option in none:
            over = f", if {'; '.join(option.moved)}" if option.moved else ""
            words = f"{gap_words(option.gap, zone)}{over}: {no_words(option, zone)}"
            yield from item(words, "    ")
        yield ""
    if left := found.closures.not_reached:
        yield from item(f"Stopped before {left} more gaps were planned")
        yield ""


def _days(count: float) -> str:
    return "1 day" if count == 1 else f"{count:g} days"


def _day(day: date, zone: ZoneInfo) -> str:
    return day_words(datetime.combine(day, time(), tzinfo=zone), zone)
