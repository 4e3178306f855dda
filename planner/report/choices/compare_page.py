"""A comparison as a page of its own: the picture, its table, what gains nothing."""

from collections.abc import Iterator, Sequence
from zoneinfo import ZoneInfo

from planner.nouns.choices.comparison import Alternative, Comparison
from planner.report.choices.compare_picture import compare_node
from planner.report.choices.page import ChoicePage, ChoicePart, ChoiceTable, choice_page
from planner.report.words.choices.compare_text import (
    ASK,
    IN_VAIN,
    MOST_SAID,
    footnote_words,
    gain_cells,
    gaining,
    in_vain,
    none_together,
    row_title,
    said,
    together,
    vain_words,
)
from planner.report.words.sure.cases import share_words
from planner.units import day_words, moment_words


def compare_page(found: Comparison, *, levers: bool) -> bytes:
    """Return the page: of levers, those that gain nothing apart; else all in one table."""
    parts = (_as_it_is(found), *(_of_levers(found) if levers else _of_changes(found)))
    notes = (footnote_words(found), *((ASK,) if levers else ()))
    return choice_page(
        ChoicePage(
            job=found.job,
            answers="what would bring it forward" if levers else "what if",
            facts=(f"Times in {found.zone}",),
            parts=(*parts, ChoicePart(heading="How this was found", says=notes)),
        )
    )


def _as_it_is(found: Comparison) -> ChoicePart:
    one, zone = found.as_it_is, ZoneInfo(found.zone)
    if one.figures is None:
        return ChoicePart(heading="The job as it is", says=(f"No plan: {one.why}",))
    figures = one.figures
    closed, planned = figures.closure[0], figures.full.planned
    says = [
        f"Closed from {moment_words(closed, zone)}; in full service "
        f"{moment_words(planned, zone)} if all goes as planned, and by "
        f"{_day(one, zone)} in {share_words(found.sure_percent)} futures."
    ]
    if figures.cost is not None:
        says.append(f"Costs {figures.cost:,.0f} {found.currency}.")
    says.append(f"What binds: {'; '.join(figures.binds)}.")
    return ChoicePart(heading="The job as it is", says=tuple(says))


def _day(one: Alternative, zone: ZoneInfo) -> str:
    kept = None if one.figures is None else one.figures.full.kept
    return "a date later than was looked at" if kept is None else day_words(kept, zone)


def _of_levers(found: Comparison) -> Iterator[ChoicePart]:
    gains, pairs = gaining(found), together(found)
    yield ChoicePart(
        heading="What gains days on the date kept",
        says=() if gains else ("Nothing that was tried gains a day.",),
        picture=compare_node(found),
        narrow=compare_node(found, narrow=True),
        table=_table(found, gains, "what gains days") if gains else None,
    )
    if pairs:
        yield ChoicePart(
            heading="What gains more together than both alone",
            table=_table(found, pairs, "what gains more together"),
        )
    elif none := none_together(found):
        yield ChoicePart(heading="Two at a time", says=(f"{none}.",))
    if vain := in_vain(found):
        yield ChoicePart(
            heading=IN_VAIN,
            items=tuple(f"{one.title}: {vain_words(found, one)}" for one in vain),
        )
    yield from _unfinished(found)
    if gains:
        yield ChoicePart(
            heading="To have one of these",
            says=(
                "As covetime compare takes them; with --keep FILE, one is written into a "
                "copy of the job file.",
            ),
            code=tuple(said(one) for one in gains[:MOST_SAID]),
        )


def _of_changes(found: Comparison) -> Iterator[ChoicePart]:
    rows = [one for one in found.ranked() if one.figures is not None]
    yield ChoicePart(
        heading="What each change comes to",
        picture=compare_node(found),
        narrow=compare_node(found, narrow=True),
        table=_table(found, rows, "what each change comes to") if rows else None,
        items=tuple(
            f"{one.title}: no plan: {one.why}"
            for one in found.alternatives
            if one.figures is None
        ),
    )
    yield from _unfinished(found)


def _unfinished(found: Comparison) -> Iterator[ChoicePart]:
    if found.unfinished:
        yield ChoicePart(heading="Stopped before", items=found.unfinished)


def _table(found: Comparison, rows: Sequence[Alternative], caption: str) -> ChoiceTable:
    zone = ZoneInfo(found.zone)
    base = found.as_it_is.figures
    money = base is None or base.cost is not None
    costs = (f"costs more, {found.currency}", "each day gained") if money else ()
    return ChoiceTable(
        caption=caption,
        head=("change", "back by", "days gained", *costs, "what binds then"),
        rows=tuple(
            (
                row_title(one),
                _day(one, zone),
                *_cells(found, one, 3 if money else 1),
                "; ".join(one.figures.binds) if one.figures else "",
            )
            for one in rows
        ),
        numbers=frozenset(range(2, 5 if money else 3)),
    )


def _cells(found: Comparison, one: Alternative, count: int) -> tuple[str, ...]:
    cells = gain_cells(found.gain(one))
    return (*cells, *("" for _ in range(count)))[:count]
