"""Closures as a page of its own: the strip, the table, what was ruled out."""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from planner.nouns.choices.closures import ClosureChoices, ClosureOption, Season
from planner.report.choices.closures_picture import closures_node
from planner.report.choices.page import ChoicePage, ChoicePart, ChoiceTable, choice_page
from planner.report.words.choices.closures_text import (
    HEAD,
    asked_words,
    cells,
    compared_words,
    counted,
    details,
    footnotes,
    kept_words,
    moving_words,
    none_words,
    ruled_out,
    shown_columns,
)
from planner.units import moment_words


def closures_page(found: ClosureChoices, season: Season) -> bytes:
    """Return the page: a strip of months, closures ranked, gaps that hold none."""
    return choice_page(
        ChoicePage(
            job=found.job,
            answers="when to close the stage",
            facts=(f"Times in {found.zone}",),
            parts=tuple(_parts(found, season)),
        )
    )


def _parts(found: ClosureChoices, season: Season) -> Iterator[ChoicePart]:
    ranked = found.ranked()
    none = () if ranked else (none_words(found),)
    yield ChoicePart(
        heading="When it could be closed",
        says=(
            *(f"{words.rstrip('.')}." for words in asked_words(found)),
            *compared_words(found),
            *none,
        ),
        picture=closures_node(found, season),
        narrow=closures_node(found, season, narrow=True),
        table=_table(found) if ranked else None,
    )
    if ranked:
        yield ChoicePart(
            heading="Each closure",
            items=tuple(
                _told(found, option, number) for number, option in enumerate(ranked, 1)
            ),
        )
    if out := tuple(ruled_out(found)):
        yield ChoicePart(heading="Holds no closure", items=out)
    if more := tuple(f"{words}." for words in counted(found)):
        yield ChoicePart(heading="Not shown", says=more)
    yield ChoicePart(heading="How this was found", says=footnotes(found))


def _table(found: ClosureChoices) -> ChoiceTable:
    rows = [
        (f"{number}", *cells(found, option), moving_words(found, option))
        for number, option in enumerate(found.ranked(), 1)
    ]
    shown = shown_columns(rows)
    head = ("Closure", *HEAD[:-1], "Late for the next booking", "Moves")
    return ChoiceTable(
        caption="Closures, the best first",
        head=tuple(head[n] for n in shown),
        rows=tuple(tuple(row[n] for n in shown) for row in rows),
        numbers=frozenset(
            place for place, n in enumerate(shown) if 3 <= n <= len(HEAD)
        ),
    )


def _told(found: ClosureChoices, option: ClosureOption, number: int) -> str:
    zone, figures = ZoneInfo(found.zone), option.figures
    assert figures is not None
    start, end = (moment_words(t, zone) for t in figures.closure)
    back = "; ".join(
        f"{r.kind} {moment_words(r.planned, zone)}, {kept_words(r.kept, zone)}"
        for r in figures.returns
    )
    more = "".join(f". {label}: {words}" for label, words in details(found, option))
    return f"{number}: closed from {start} to {end}. Returns: {back}{more}."
