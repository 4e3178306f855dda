"""The opening of the wall as a dimensioned elevation that a carpenter marks from."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from markupsafe import Markup

from planner.report.drawing import tokens
from planner.report.drawing.elements import (
    Node,
    add,
    file_bytes,
    line_path,
    markup,
    on_paper,
    picture,
)
from planner.report.opening import cut_sheets, style
from planner.report.opening import panel as opening_panel
from planner.report.opening.panel import Panel, panels, placed
from planner.report.opening.style import (
    LINE,
    SHEETS,
    SMALL,
    TEXT,
    WIDE,
    ElevationPage,
    mark_words,
    wrapped,
)
from planner.trade.opening.nouns import OpeningPlan, RunOpening, StripKind

HATCH = "opening-out"
HINTS = (
    "Before any cut: find studs, cables and pipes; an old wall is looked at for asbestos "
    "and lead first. Set the saw to the board's thickness.",
    "Saw between studs, score over them; cut upright along the centre line of a stud. "
    "Backing is as thick as the board taken out, and joined on studs or over a cleat.",
    "Measure once more on the wall: drawn are the kit's nominal heights and studs as the "
    "job file has them.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningPicture:
    """A part of the drawing for a page: of what, for which width, and the picture."""

    of: str
    sheet: str
    svg: Markup


def opening_pictures(plan: OpeningPlan) -> tuple[OpeningPicture, ...]:
    """Return the opening run by run and the sheets to cut, for each width.

    Empty where the wall isn't opened: `plan.why_none` says why. The page needs
    `opening_style.css()` once.
    """
    out: list[OpeningPicture] = []
    if not plan.runs:
        return ()
    for sheet in SHEETS:
        hatch = f"{HATCH}-{sheet.name}"
        for number, parts in enumerate(panels(plan.runs, sheet, hatch), 1):
            body = Node("g", {"class": "opening"})
            high = _run(body, parts)
            out.append(_pictured(body, parts[0].run.run, sheet, high, number,
                                 run_story(parts[0].run)))  # fmt: skip
        body = Node("g", {"class": "opening"})
        high = cut_sheets.draw(body, plan.sheets(), sheet, 0.0, plan.units)
        story = " ".join(backing_lines(plan))
        out.append(_pictured(body, "backing", sheet, high, 0, story))
    return tuple(out)


def opening_svg(plan: OpeningPlan, *, name: str, sheet: ElevationPage = WIDE) -> bytes:
    """Return the whole opening as a picture of its own, or why there is none.

    `name` is the job's; the picture holds its own looks, light, dark and for paper.
    """
    margin = 24.0
    body = Node("g", {"class": "opening"})
    y = _lines(body, (f"Opening the wall: {name}",), sheet, 14.0, "b") + 6
    if plan.runs:  # what must be known before the first cut stands above the drawing
        y = _lines(body, HINTS, sheet, y, "")
    y += 12
    if not plan.runs:
        y = _lines(body, (f"Nothing is cut out: {plan.why_none}.",), sheet, y, "s")
    for parts in panels(plan.runs, sheet, HATCH):
        y += _run(placed(body, y), parts) + 14
    if plan.runs:
        y += _legend(placed(body, y), sheet)
        add(body, "text", "Backing, cut from sheets", class_="b", x=0, y=y + 14)
        y += 28
        y += cut_sheets.draw(body, plan.sheets(), sheet, y, plan.units)
    story = " ".join(run_story(r) for r in plan.runs) or f"{plan.why_none}."
    wide, high = sheet.width + 2 * margin, y + 2 * margin
    root = picture(
        wide,
        high,
        id_="opening",
        title=f"Opening the wall: {name}",
        story=story,
    )
    add(root, "style", tokens.css() + style.css() + on_paper(wide, high))
    style.pattern(root, HATCH)
    add(root, "rect", class_="opaper", width=wide, height=high)
    body.set("transform", f"translate({margin:g} {margin:g})")
    root.append(body)
    return file_bytes(root)


def run_story(run: RunOpening) -> str:
    """Return a run's opening in words, as complete as the picture."""
    say = partial(mark_words, units=run.units)
    parts = [f"{run.run}, {say(run.layout.length_mm)} long."]
    for strip in run.strips:
        r = strip.rect
        kind = "Straight modules" if strip.kind is StripKind.STRAIGHT else "Corner"
        parts.append(
            f"{kind}: board out and backing in from {say(r.left_mm)} to "
            f"{say(r.right_mm)}, both on studs, from {say(r.bottom_mm)} "
            f"to {say(r.top_mm)} above the floor."
        )
    if run.column is not None:
        seams = ", ".join(say(v) for v in run.column.seams_mm)
        parts.append(f"Level seams in the corner at {seams}." if seams else "")
    if cuts := run.layout.cut(run.units):
        parts.append(f"{cuts}.")
    parts += [f"{words}." for words in run.ends]
    parts += [
        f"Behind the cove: {b.what} at {say(b.from_start_mm)}, "
        f"{say(b.height_mm)} above the floor."
        for b in run.behind
    ]
    return " ".join(p[0].upper() + p[1:] for p in parts if p)


def backing_lines(plan: OpeningPlan) -> tuple[str, ...]:
    """Return each piece of backing with its size and its place, a line each."""
    say = partial(mark_words, units=plan.units)
    return tuple(
        f"{p.label}: {say(p.rect.width_mm)} wide, {say(p.rect.height_mm)} "
        f"high, {r.run}, from {say(p.rect.left_mm)} and "
        f"{say(p.rect.bottom_mm)} above the floor"
        for r in plan.runs
        for p in r.backing
    )


def board_lines(plan: OpeningPlan) -> tuple[str, ...]:
    """Return each piece of board to take out with its size and place, a line each."""
    say = partial(mark_words, units=plan.units)
    return tuple(
        f"{p.label}: {say(p.rect.width_mm)} wide, {say(p.rect.height_mm)} "
        f"high, {r.run}, from {say(p.rect.left_mm)}"
        for r in plan.runs
        for p in r.taken
    )


def _run(node: Node, parts: tuple[Panel, ...]) -> float:
    y = 0.0
    for panel in parts:
        opening_panel.draw(placed(node, y), panel)
        y += panel.height + 8
    return y


def _pictured(
    body: Node, of: str, sheet: ElevationPage, high: float, number: int, story: str
) -> OpeningPicture:
    root = picture(
        sheet.width,
        high + 4,
        id_=f"opening-{sheet.name}-{number}",
        title=f"Opening the wall, {of}",
        story=story,
    )
    style.pattern(root, f"{HATCH}-{sheet.name}")
    root.append(body)
    return OpeningPicture(of=of, sheet=sheet.name, svg=markup(root))


_KEY = (
    ("ocut", "saw, between studs"),
    ("ocut k", "knife: scored over a stud, or along its centre line"),
    ("oaxis", "stud, centre line"),
    ("okit", "edge of modules and corner piece, to be marked"),
    ("okit j", "joint between modules"),
    ("opart", "joint of the backing"),
    ("ohid", "outlet, switch, pipe or duct behind the cove"),
)


def _legend(node: Node, sheet: ElevationPage) -> float:
    """Draw what each line means; return the height taken."""
    across = 3 if sheet.width > 600 else 1
    wide, y = sheet.width / across, 10.0
    for start in range(0, len(_KEY), across):
        tall = 1
        for n, (kind, words) in enumerate(_KEY[start : start + across]):
            x = wide * n
            add(node, "path", class_=kind, d=line_path([(x, y - 4), (x + 34, y - 4)]))
            lines = wrapped(words, wide - 46, SMALL)
            tall = max(tall, len(lines))
            for k, line in enumerate(lines):
                add(node, "text", line, class_="s", x=x + 42, y=y + LINE * k)
        y += LINE * (tall + 0.3)
    return y + 12


def _lines(
    node: Node, texts: Sequence[str], sheet: ElevationPage, y: float, kind: str
) -> float:
    """Draw texts, broken where they are too wide; return where the next line goes."""
    for text in texts:
        for line in wrapped(text, sheet.width, TEXT):
            add(node, "text", line, class_=kind, x=0, y=y)
            y += LINE
    return y
