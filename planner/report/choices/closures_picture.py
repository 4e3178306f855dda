"""Closures as one strip of months: what is booked, what could be closed, how sure."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from planner.nouns.choices.closures import ClosureChoices, ClosureOption, Season
from planner.nouns.odds import tentative_percent
from planner.report.choices.strip import (
    NARROW,
    SEASON_H,
    SMALL,
    WIDE,
    MonthStrip,
    StripLayout,
    draw_months,
    draw_season,
)
from planner.report.drawing import tokens
from planner.report.drawing.elements import (
    Node,
    add,
    file_bytes,
    fitted,
    num,
    picture,
    width_of,
)
from planner.report.words.choices.closures_text import LATER
from planner.report.words.sure.cases import share_words
from planner.units import day_words

TEXT = 13.0
MOST = 16  # closures drawn
BOOKED_H, BAR_H = 22.0, 14.0
LEAST_W = 2.0  # of anything that is drawn

_TILES = {  # of each pattern: its size and strokes
    "tentative": (7, "M0 7L7 0"),
    "short": (5, "M1.5 2.5h1"),
    "promise": (5, "M0 0V5"),
}


def closures_svg(found: ClosureChoices, season: Season) -> bytes:
    """Return the strip as a file."""
    return file_bytes(closures_node(found, season))


def closures_node(
    found: ClosureChoices, season: Season, *, narrow: bool = False
) -> Node:
    """Return the strip, wide or for a narrow screen."""
    layout = NARROW if narrow else WIDE
    ranked = found.ranked()[:MOST]
    strip = _strip(found, layout)
    top = 108.0 if narrow else 92.0
    booked = top + SEASON_H + (76 if narrow else 44)
    rows = booked + BOOKED_H + 16
    bottom = rows + layout.row * max(len(ranked), 1)
    keys = _keys(found)
    high = bottom + 30 + 22 * (len(keys) if narrow else 2)
    root = picture(
        layout.width, high, id_=layout.id, title=_title(found), story=_story(found)
    )
    add(root, "style", _style())
    _patterns(root, layout)
    add(root, "rect", class_="spaper", width=layout.width, height=high)
    body = add(root, "g", class_="strip")
    _heading(body, found, layout)
    draw_months(body, strip, top, bottom)
    draw_season(body, strip, season, top)
    _booked(body, strip, found, booked)
    _wanted(body, strip, found, top, bottom)
    if not ranked:
        words = "no closure: none of the gaps holds the work"
        add(body, "text", words, x=layout.left, y=rows + 20)
    for number, option in enumerate(ranked):
        _row(body, strip, found, option, number, rows + layout.row * number)
    _key(body, layout, keys, bottom + 28)
    return root


def _title(found: ClosureChoices) -> str:
    return f"When the stage could be closed for {found.work}: {found.job}"


def _story(found: ClosureChoices) -> str:
    """Return what the picture shows, for those who listen."""
    zone = ZoneInfo(found.zone)
    said = [
        f"{number}: closed from {_from(option, zone)}, kept by {_by(option, zone)}"
        for number, option in enumerate(found.ranked()[:MOST], 1)
    ]
    short = sum(o.too_short for o in found.options)
    return "; ".join([*said, f"gaps that are too short: {short}"])


def _from(option: ClosureOption, zone: ZoneInfo) -> str:
    assert option.figures is not None
    return day_words(option.figures.closure[0], zone)


def _by(option: ClosureOption, zone: ZoneInfo) -> str:
    assert option.figures is not None
    kept = option.figures.full.kept
    return LATER if kept is None else day_words(kept, zone)


def _strip(found: ClosureChoices, layout: StripLayout) -> MonthStrip:
    """Return the days from the first that is looked at to the last date of a closure."""
    return MonthStrip(
        first=found.since,
        last=found.shown_until,
        zone=ZoneInfo(found.zone),
        layout=layout,
    )


def _style() -> str:
    return tokens.css() + (
        f".strip{{font:{TEXT}px {tokens.TYPE['text']};fill:var(--ink)}}"
        ".strip .b{stroke:var(--paper);stroke-width:4px;stroke-linejoin:round;"
        "paint-order:stroke}"
        f".strip .s{{font-size:{SMALL}px;fill:var(--soft)}}"
        ".strip .e{text-anchor:end}.strip .m{text-anchor:middle}"
        f".strip .h{{font:700 16px {tokens.TYPE['display']}}}"
        ".spaper{fill:var(--paper)}.slane{fill:var(--card)}"
        ".smonth{stroke:var(--hair);stroke-width:1;fill:none}"
        ".shumid{fill:var(--wet-wash)}.swarm{stroke:var(--ink);stroke-width:1.8;fill:none}"
        ".sbooked{fill:var(--face-1);stroke:var(--ink);stroke-width:1}"
        ".sedge{stroke:var(--ink);stroke-width:1}.sno{stroke:none}"
        ".splan{fill:var(--ink);stroke:var(--ink);stroke-width:1}"
        ".slate{fill:var(--paper);stroke:var(--ink);stroke-width:1;"
        "stroke-dasharray:3 2}"
        ".swanted{stroke:var(--ink);stroke-width:2;fill:none;stroke-dasharray:1 4;"
        "stroke-linecap:round}"
        ".stile{fill:var(--card)}.sgrain{stroke:var(--ink);stroke-width:1.3;fill:none}"
    )


def _patterns(root: Node, layout: StripLayout) -> None:
    defs = add(root, "defs")
    for what, (size, strokes) in _TILES.items():
        made = add(
            defs,
            "pattern",
            id=f"{layout.id}-{what}",
            width=size,
            height=size,
            patternUnits="userSpaceOnUse",
        )
        add(made, "rect", class_="stile", width=size, height=size)
        add(made, "path", class_="sgrain", d=strokes)


def _heading(body: Node, found: ClosureChoices, layout: StripLayout) -> None:
    left, wide = layout.margin, layout.width - 2 * layout.margin
    add(body, "text", fitted(found.job, wide, 18), class_="h", x=left, y=32)
    zone = ZoneInfo(found.zone)
    first, last = (
        day_words(t, zone) for t in (found.since, found.until - timedelta(seconds=1))
    )
    says = f"closures that begin from {first} to {last}"
    for number, words in enumerate(_fitted_lines(says, wide)):
        add(body, "text", words, x=left, y=54 + 17 * number)


def _fitted_lines(words: str, wide: float) -> list[str]:
    """Return words on as few lines as hold them."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(longer, TEXT) > wide:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _name(
    body: Node, layout: StripLayout, words: str, y: float, *, above: float
) -> None:
    """Write what a row is, left of it or above it."""
    if layout.narrow:
        add(body, "text", words, class_="s b", x=layout.margin, y=y - above)
    else:
        add(body, "text", words, class_="s b", x=layout.margin, y=y + 12)


def _booked(body: Node, strip: MonthStrip, found: ClosureChoices, y: float) -> None:
    """Draw what is booked, what may be moved, and the gaps that are too short."""
    layout = strip.layout
    _name(body, layout, "bookings of the stage", y + 4, above=7)
    left, wide = layout.left, layout.right - layout.left
    add(body, "rect", class_="slane", x=left, y=y, width=wide, height=BOOKED_H)
    for option in found.options:
        if option.too_short and option.gap.end is not None:
            stretch = option.gap.start, option.gap.end
            _block(body, strip, stretch, y + 3, BOOKED_H - 6, "sno", "short")
    for busy in found.bookings:
        if busy.end > strip.first and busy.start < strip.last:
            tile = "tentative" if busy.movable else ""
            name = "sedge" if busy.movable else "sbooked"
            made = _block(body, strip, (busy.start, busy.end), y, BOOKED_H, name, tile)
            add(made, "title", busy.title or "a private entry")


def _block(
    body: Node,
    strip: MonthStrip,
    stretch: tuple[datetime, datetime],
    y: float,
    high: float,
    class_: str,
    tile: str = "",
) -> Node:
    """Draw a stretch of time, filled by its class or by a pattern."""
    x = strip.x(stretch[0])
    made = add(
        body, "rect", class_=class_, x=x, y=y,
        width=max(strip.x(stretch[1]) - x, LEAST_W), height=high,
    )  # fmt: skip
    if tile:
        made.set("fill", f"url(#{strip.layout.id}-{tile})")
    return made


def _row(
    body: Node,
    strip: MonthStrip,
    found: ClosureChoices,
    option: ClosureOption,
    number: int,
    top: float,
) -> None:
    """Draw a closure: as planned, on to the date kept, on to the latest."""
    layout, figures = strip.layout, option.figures
    assert figures is not None
    y, back = top + layout.above, figures.full
    day = _from(option, strip.zone)
    name = f"{number + 1}: from {day}"
    if layout.narrow:
        told = _told(found, option, strip.zone)
        for n, words in enumerate((f"{name}:", f"back {told}")):
            y_at = top + 14 + 16 * n
            add(body, "text", words, class_="b", x=layout.margin, y=y_at)
    else:
        add(body, "text", name, x=layout.margin, y=y + 12)
    start, planned = figures.closure
    kept = back.kept or strip.last
    latest = back.latest or strip.last
    if latest > kept:
        _block(body, strip, (kept, latest), y, BAR_H, "slate")
    if kept > planned:
        _block(body, strip, (planned, kept), y, BAR_H, "sedge", "promise")
    _block(body, strip, (start, planned), y, BAR_H, "splan")
    if not layout.narrow:
        _beside(body, strip, (start, latest), y, _told(found, option, strip.zone))


def _told(found: ClosureChoices, option: ClosureOption, zone: ZoneInfo) -> str:
    cost = "" if option.cost is None else f", {option.cost:,.0f} {found.currency}"
    return f"by {_by(option, zone)}{cost}".rstrip()


def _beside(
    body: Node,
    strip: MonthStrip,
    stretch: tuple[datetime, datetime],
    y: float,
    words: str,
) -> None:
    """Write words after a bar, or before it where there is more room."""
    start, end = strip.x(stretch[0]), strip.x(stretch[1])
    if end + 8 + width_of(words, TEXT) <= strip.layout.right:
        add(body, "text", words, class_="b", x=end + 8, y=y + 12)
    else:
        add(body, "text", words, class_="b e", x=start - 8, y=y + 12)


def _wanted(
    body: Node, strip: MonthStrip, found: ClosureChoices, top: float, bottom: float
) -> None:
    """Draw the day by which the stage is wanted back, across all rows."""
    if found.back_by is None or not strip.first < found.back_by < strip.last:
        return
    x = strip.x(found.back_by)
    add(body, "path", class_="swanted", d=f"M{num(x)} {num(top)}V{num(bottom)}")


Key = tuple[str, str, str]  # class, pattern, words


def _keys(found: ClosureChoices) -> tuple[Key, ...]:
    share = share_words(found.sure_percent)
    nearly = share_words(tentative_percent(found.sure_percent))
    wanted = (("swanted", "", "wanted back by then"),) if found.back_by else ()
    return (
        ("splan", "", "closed, as planned"),
        ("sedge", "promise", f"kept in {share} futures"),
        ("slate", "", f"kept in {nearly} futures"),
        ("sbooked", "", "booked"),
        ("sedge", "tentative", "booked, may be moved"),
        ("sno", "short", "too short"),
        *wanted,
    )


def _key(body: Node, layout: StripLayout, keys: tuple[Key, ...], top: float) -> None:
    x, y = layout.margin, top
    for name, tile, words in keys:
        wide = 30 + 6 + width_of(words, SMALL) + 20
        if x > layout.margin and (layout.narrow or x + wide > layout.right):
            x, y = layout.margin, y + 22
        if name == "swanted":
            add(body, "path", class_=name, d=f"M{num(x + 15)} {num(y - 12)}v14")
        else:
            made = add(body, "rect", class_=name, x=x, y=y - 11, width=30, height=BAR_H)
            if tile:
                made.set("fill", f"url(#{layout.id}-{tile})")
        add(body, "text", words, class_="s", x=x + 36, y=y)
        x += wide
