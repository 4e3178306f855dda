"""A comparison as one picture: how far each change moves the date kept, and its cost."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.nouns.choices.comparison import Comparison
from planner.report.drawing import tokens
from planner.report.drawing.elements import (
    Node,
    add,
    broken,
    file_bytes,
    fitted,
    num,
    picture,
    width_of,
)
from planner.report.words.choices.compare_text import (
    gained_words,
    row_title,
    together,
)
from planner.report.words.sure.cases import share_words
from planner.units import day_words

TEXT, SMALL = 13.0, 12.0
BAR = 12.0
LABEL = 58.0  # room beside a bar for the days
MOST = 24  # rows drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """Where titles, dates and costs stand; each pair are a panel's left and right."""

    id: str
    width: float
    title: tuple[float, float]
    dates: tuple[float, float]
    costs: tuple[float, float]  # of equal ends: costs are told in words alone
    row: float
    above: float  # of a row: how far its bar lies below its top
    top: float


WIDE = _Layout(
    id="compare",
    width=1000,
    title=(24, 316),
    dates=(340, 744),
    costs=(772, 976),
    row=38,
    above=13,
    top=128,
)
NARROW = _Layout(
    id="compare-narrow",
    width=288,
    title=(4, 284),
    dates=(4, 284),
    costs=(0, 0),
    row=82,
    above=56,
    top=140,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """An alternative that has a date: when, and what it costs more."""

    title: str
    kept: datetime
    days: float
    words: str
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """The days that are shown, and where they lie."""

    first: datetime
    last: datetime
    left: float
    right: float
    zone: ZoneInfo

    def x(self, when: datetime) -> float:
        """Return the place of an instant."""
        share = (when - self.first) / (self.last - self.first)
        return self.left + share * (self.right - self.left)

    def days(self) -> Iterator[datetime]:
        """Yield each midnight of the site that is shown."""
        day = self.first.astimezone(self.zone).date()
        while (at := datetime.combine(day, time(), tzinfo=self.zone)) <= self.last:
            if at >= self.first:
                yield at
            day += timedelta(days=1)


def compare_svg(found: Comparison) -> bytes:
    """Return the picture as a file: changes ranked, days on the left, costs beside."""
    root = compare_node(found)
    assert root is not None
    return file_bytes(root)


def compare_node(found: Comparison, *, narrow: bool = False) -> Node:
    """Return the picture, wide or for a narrow screen.

    Where the job as it is keeps no date that is known, it says so in place of rows.
    """
    layout = NARROW if narrow else WIDE
    rows = _rows(found)
    base = None if found.as_it_is.figures is None else found.as_it_is.figures.full.kept
    if base is None:
        rows = ()
    high = layout.top + layout.row * max(len(rows), 1) + 40
    title = f"What moves the date: {found.job}"
    root = picture(
        layout.width, high, id_=layout.id, title=title, story=_story(found, rows)
    )
    add(root, "style", _style())
    _hatch(root, layout)
    add(root, "rect", class_="cpaper", width=layout.width, height=high)
    body = add(root, "g", class_="cmp")
    _heading(body, layout, found, base)
    if base is None or not rows:
        words = "nothing to show: no date is kept within what was looked at"
        add(body, "text", words, x=layout.title[0], y=layout.top + 20)
        return root
    _panel(body, layout, _scale(found, layout, rows, base), rows, base)
    if layout.costs[1] > layout.costs[0] and any(r.cost for r in rows):
        _costs(body, layout, rows, found.currency)
    return root


def _rows(found: Comparison) -> tuple[_Row, ...]:
    rows = []
    pairs = together(found)
    for one in found.ranked():
        won = found.gain(one) if not one.parts or one in pairs else None
        if won is None or one.figures is None or one.figures.full.kept is None:
            continue
        kept = one.figures.full.kept
        words = gained_words(won)
        rows.append(
            _Row(
                title=row_title(one),
                kept=kept,
                days=won.days,
                words=words,
                cost=won.cost,
            )
        )
    return tuple(rows[:MOST])


def _story(found: Comparison, rows: Sequence[_Row]) -> str:
    """Return what the picture shows, for those who listen."""
    said = "; ".join(f"{r.title} {r.words}" for r in rows)
    left = [x for x in found.alternatives if found.gain(x) is None]
    more = f"; not drawn, because no date is known: {len(left)}" if left else ""
    return f"{said}{more}" if said else "No change has a date that is known"


def _style() -> str:
    return tokens.css() + (
        f".cmp{{font:{TEXT}px {tokens.TYPE['text']};fill:var(--ink)}}"
        f".cmp .s{{font-size:{SMALL}px;fill:var(--soft)}}"
        ".cmp .e{text-anchor:end}.cmp .m{text-anchor:middle}"
        f".cmp .h{{font:700 16px {tokens.TYPE['display']}}}"
        ".cpaper{fill:var(--paper)}.cweekend{fill:var(--shade)}"
        ".crow{stroke:var(--hair);stroke-width:1;fill:none}"
        ".cbase{stroke:var(--ink);stroke-width:2;fill:none}"
        ".cgain{fill:var(--face-2);stroke:var(--ink);stroke-width:1}"
        ".closs{stroke:var(--ink);stroke-width:1}"
        ".chatch{fill:var(--paper)}.cline{stroke:var(--ink);stroke-width:1.4}"
    )


def _hatch(root: Node, layout: _Layout) -> None:
    """Define the hatching of what loses days or costs more: it reads in grey."""
    made = add(
        add(root, "defs"),
        "pattern",
        id=f"{layout.id}-hatch",
        width=6,
        height=6,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )
    add(made, "rect", class_="chatch", width=6, height=6)
    add(made, "path", class_="cline", d="M0 0V6")


def _heading(
    body: Node, layout: _Layout, found: Comparison, base: datetime | None
) -> None:
    left, right = layout.title[0], layout.width - layout.title[0]
    add(body, "text", fitted(found.job, right - left, 16), class_="h", x=left, y=32)
    if base is None:
        return
    zone = ZoneInfo(found.zone)
    words = f"As it is, the stage is back by {day_words(base, zone)}"
    sure = f"in {share_words(found.sure_percent)} futures"
    whole = f"{words} {sure}"
    fits = width_of(whole, TEXT) <= right - left
    lines = [whole] if fits else [words, sure]
    for number, line in enumerate(lines):
        add(body, "text", line, x=left, y=54 + 18 * number)
    says = "bars: days sooner (solid) or later (hatched); costs less (solid) or more"
    if not layout.costs[1]:
        says = "days sooner (solid) or later (hatched)"
    add(body, "text", says, class_="s", x=left, y=54 + 18 * len(lines))


def _scale(
    found: Comparison, layout: _Layout, rows: Sequence[_Row], base: datetime
) -> _Scale:
    """Return the days from the earliest date to the latest, a little room around."""
    zone = ZoneInfo(found.zone)
    dates = [base, *(r.kept for r in rows)]
    room = max((max(dates) - min(dates)) * 0.08, timedelta(hours=8))
    return _Scale(
        first=min(dates) - room,
        last=max(dates) + room,
        left=layout.dates[0] + LABEL,
        right=layout.dates[1] - LABEL,
        zone=zone,
    )


def _panel(
    body: Node, layout: _Layout, scale: _Scale, rows: Sequence[_Row], base: datetime
) -> None:
    """Draw the days, then each row: its title, and how far the date moves."""
    bottom = layout.top + layout.row * len(rows)
    _days(body, layout, scale, len(rows))
    for number, row in enumerate(rows):
        y = layout.top + layout.row * number
        line = f"M{num(layout.title[0])} {num(y)}H{num(layout.width - 14)}"
        add(body, "path", class_="crow", d=line)
        _title(body, layout, row, y)
        ends = scale.x(row.kept), scale.x(base)
        _bar(body, layout, ends, y + layout.above, solid=row.kept <= base)
        words, sooner = _signed(row.days, 1), row.kept <= base
        place = min(ends) - 6 if sooner else max(ends) + 6
        side = "s e" if sooner else "s"
        add(body, "text", words, class_=side, x=place, y=y + layout.above + 10)
    for top, end in _stripes(layout, len(rows)):
        d = f"M{num(scale.x(base))} {num(top)}V{num(end)}"
        add(body, "path", class_="cbase", d=d)
    add(body, "text", "as it is", class_="s m", x=scale.x(base), y=bottom + 20)


def _stripes(layout: _Layout, count: int) -> list[tuple[float, float]]:
    """Return from where to where days are drawn: all rows, or where bars lie alone."""
    if layout.costs[1]:
        return [(layout.top, layout.top + layout.row * count)]
    tops = [layout.top + layout.row * n + layout.above for n in range(count)]
    return [(top - 5, top + BAR + 5) for top in tops]


def _bar(
    body: Node,
    layout: _Layout,
    ends: tuple[float, float],
    y: float,
    *,
    solid: bool,
) -> None:
    """Draw a bar between two places, hatched where it isn't solid."""
    left, right = sorted(ends)
    add(
        body,
        "rect",
        class_="cgain" if solid else "closs",
        fill="currentColor" if solid else f"url(#{layout.id}-hatch)",
        x=left,
        y=y,
        width=max(right - left, 1.0),
        height=BAR,
    )


def _title(body: Node, layout: _Layout, row: _Row, y: float) -> None:
    wide = layout.title[1] - layout.title[0]
    lines = broken(row.title, wide, TEXT)
    first = y + (23 if len(lines) == 1 and layout.costs[1] else 16)
    for number, words in enumerate(lines):
        add(body, "text", words, x=layout.title[0], y=first + 15 * number)
    if not layout.costs[1]:  # no panel of its own: days and costs in words
        cost = "" if row.cost is None else f", costs {_signed(row.cost, 0)}"
        words = f"{row.words}{cost}"
        add(
            body,
            "text",
            words,
            class_="s",
            x=layout.title[0],
            y=first + 15 * len(lines),
        )


def _days(body: Node, layout: _Layout, scale: _Scale, count: int) -> None:
    """Draw weekends as shade, and name as many days as there is room for."""
    days = list(scale.days())
    wide = (scale.right - scale.left) / ((scale.last - scale.first) / timedelta(days=1))
    each = max(1, round(64 / wide + 0.5))
    for number, day in enumerate(days):
        x = scale.x(day)
        if day.weekday() >= 5:
            for top, end in _stripes(layout, count):
                add(
                    body,
                    "rect",
                    class_="cweekend",
                    x=x,
                    y=top,
                    width=min(wide, scale.right - x),
                    height=end - top,
                )
        if number % each == 0 and x + 30 < scale.right:
            add(body, "path", class_="crow", d=f"M{num(x)} {num(layout.top - 4)}v4")
            short = day_words(day, scale.zone)[:-5]
            add(body, "text", short, class_="s", x=x, y=layout.top - 10)


def _signed(value: float, digits: int) -> str:
    """Return a number with its sign, a true minus; nothing but 0 has none."""
    text = f"{value:+,.{digits}f}".replace("-", "\N{MINUS SIGN}")
    return "0" if not text.strip("+0.\N{MINUS SIGN}") else text


def _costs(body: Node, layout: _Layout, rows: Sequence[_Row], currency: str) -> None:
    """Draw what each row costs more or less, with the figure beside its bar."""
    left, right = layout.costs
    middle, most = (left + right) / 2, max(abs(r.cost or 0.0) for r in rows)
    half = (right - left) / 2 - 52  # room for the figures
    head = f"costs more or less, {currency}"
    add(body, "text", head, class_="s m", x=middle, y=layout.top - 10)
    for number, row in enumerate(rows):
        if row.cost is None:
            continue
        y = layout.top + layout.row * number + layout.above
        end = middle + row.cost / most * half
        _bar(body, layout, (middle, end), y, solid=row.cost <= 0)
        words = _signed(row.cost, 0)
        if row.cost > 0:
            add(body, "text", words, class_="s", x=end + 5, y=y + 10)
        else:
            add(body, "text", words, class_="s e", x=end - 5, y=y + 10)
    d = f"M{num(middle)} {num(layout.top)}V{num(layout.top + layout.row * len(rows))}"
    add(body, "path", class_="cbase", d=d)
