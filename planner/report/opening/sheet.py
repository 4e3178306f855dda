"""What the carpenter marks, cuts and lifts, as text and for the page."""

from dataclasses import dataclass
from functools import partial

from planner.report.columns import item
from planner.report.opening.drawing import (
    HINTS,
    OpeningPicture,
    backing_lines,
    board_lines,
    opening_pictures,
    run_story,
)
from planner.report.opening.style import mark_words
from planner.trade.lifting.lifting import CAUTIONS, Crate, Lift, lifting_lines
from planner.trade.opening.cutting import cutting_lines
from planner.trade.opening.nouns import OpeningPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A room's opening and what is lifted in it; both hang on no date."""

    job: str
    opening: OpeningPlan
    lifts: tuple[Lift, ...]
    crates: tuple[Crate, ...]
    behind: tuple[str, ...] = ()  # what must be done with what lies in the walls
    cuts: tuple[str, ...] = ()  # modules that are cut, run by run


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningSection:
    """The page's part: pictures for each width, and the same in words."""

    why_none: str
    pictures: tuple[OpeningPicture, ...]
    runs: tuple[str, ...]
    taken: tuple[str, ...]
    backing: tuple[str, ...]
    sheets: tuple[str, ...]
    lifts: tuple[str, ...]
    crates: tuple[str, ...]
    behind: tuple[str, ...] = ()
    cuts: tuple[str, ...] = ()
    hints: tuple[str, ...] = HINTS
    cautions: tuple[str, ...] = CAUTIONS


def opening_section(prepared: Prepared) -> OpeningSection:
    """Return what the page shows of the opening."""
    plan = prepared.opening
    return OpeningSection(
        why_none=plan.why_none,
        pictures=opening_pictures(plan),
        runs=tuple(run_story(r) for r in plan.runs),
        taken=board_lines(plan),
        backing=backing_lines(plan),
        sheets=cutting_lines(plan.sheets(), partial(mark_words, units=plan.units)),
        lifts=lifting_lines(prepared.lifts, plan.units),
        crates=tuple(
            f"{c.count} {c.what.removesuffix('s') if c.count == 1 else c.what}: "
            f"{plan.units.mass(c.mass_kg)} without the crate"
            for c in prepared.crates
        ),
        behind=prepared.behind,
        cuts=prepared.cuts,
    )


def opening_text(prepared: Prepared) -> str:
    """Return the opening and the lifts as plain text, 80 columns wide."""
    part = opening_section(prepared)
    lines = [f"Opening the wall: {prepared.job}", ""]
    if part.why_none:
        lines += [*_list((f"Nothing is cut out: {part.why_none}",)), ""]
    for head, items in (
        ("Behind the coves", part.behind),
        ("Modules to cut", part.cuts),
        ("Run by run", part.runs),
        ("Board to take out", part.taken),
        ("Backing to cut", part.backing),
        ("Cutting list", part.sheets),
        ("Mind" if part.runs else "", part.hints if part.runs else ()),
        ("What is lifted, and by how many", part.lifts),
        ("Crates, six pieces to each at most", part.crates),
        ("Mind in lifting", part.cautions),
    ):
        if items:
            lines += [head, *_list(items), ""]
    return "\n".join(lines).rstrip() + "\n"


def _list(items: tuple[str, ...]) -> list[str]:
    return [line for words in items for line in item(words)]
