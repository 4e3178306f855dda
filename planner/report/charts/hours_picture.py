"""Open hours as a picture: one bar for each day, raised where the hours are open.

What is closed by a calendar or a holiday is hatched and numbered; the numbers are
told under each owner's laths. What `hours` prints is the table beside it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from planner.hours.account import Account, Accounts, ClosedBecause, Day, Stretch
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
from planner.report.words.hours_text import (
    clock_change,
    is_off,
    range_words,
    reason_words,
    short_day,
    span_words,
)
from planner.units import duration_words

WIDTH, LEFT, RIGHT, MARGIN = 1000.0, 124.0, 860.0, 24.0
LATH_H, STEP_H, LINE_H = 16.0, 25.0, 18.0
TEXT, SMALL = 12.0, 12.0
SWATCH_W = 30.0

_OPEN = "open"
_STROKES: dict[str, tuple[float, float, str]] = {  # by what: tile's size, strokes
    ClosedBecause.ENTRY.value: (7, 7, "M0 7L7 0M0 0L7 7"),
    ClosedBecause.HOLIDAY.value: (8, 8, "M-1 9L9 -1M-1 1L1 -1M7 9L9 7"),
    ClosedBecause.QUIET.value: (12, 6, "M0 2Q3 0 6 2T12 2"),
    ClosedBecause.REST.value: (6, 6, "M1 1.5H2.6M4 4.5H5.6"),
}
_KEY = (
    (_OPEN, "open"),
    (ClosedBecause.ENTRY.value, "taken by a calendar's entry"),
    (ClosedBecause.HOLIDAY.value, "public holiday"),
    (ClosedBecause.QUIET.value, "open, no loud work"),
    (ClosedBecause.REST.value, "open after enough rest"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laths:
    """Where an owner's days are drawn: ticks across, and the numbers of reasons."""

    account: Account
    ticks: int  # of the longest day
    numbers: dict[str, int]

    def x(self, day: Day, tick: int) -> float:
        """Return the place of a tick of a day."""
        return LEFT + (tick - day.start) / self.ticks * (RIGHT - LEFT)


def _style() -> str:
    return tokens.css() + (
        f".hours{{font:{TEXT}px {tokens.TYPE['text']};fill:var(--ink)}}"
        f".hours .s{{font-size:{SMALL}px;fill:var(--soft)}}"
        ".hours .e{text-anchor:end}.hours .m{text-anchor:middle}"
        f".hours .h{{font:700 16px {tokens.TYPE['display']}}}"
        ".hpaper{fill:var(--paper)}"
        ".hlath{stroke:var(--rule);stroke-width:1;fill:none}"
        ".hopen{fill:var(--face-9);stroke:var(--ink);stroke-width:1}"
        ".hshut{fill:var(--shade)}.hlight{fill:var(--face-9)}"
        ".hline{fill:none;stroke:var(--ink);stroke-width:1;opacity:.6}"
        ".hgrain{fill:none;stroke:var(--on-face);stroke-width:1;opacity:.7}"
        ".hedge{stroke:var(--rule);stroke-width:1}"
        f".hnumber{{font-size:{SMALL}px;font-weight:700;fill:var(--ink);"
        "stroke:var(--paper);stroke-width:4px;"
        "stroke-linejoin:round;paint-order:stroke}"
    )


def _patterns(root: Node) -> None:
    defs = add(root, "defs")
    for what, (wide, high, strokes) in _STROKES.items():
        limits = what in (ClosedBecause.QUIET.value, ClosedBecause.REST.value)
        tile = add(
            defs,
            "pattern",
            id=_pattern(what),
            width=wide,
            height=high,
            patternUnits="userSpaceOnUse",
        )
        ground, line = ("hlight", "hgrain") if limits else ("hshut", "hline")
        add(tile, "rect", class_=ground, width=wide, height=high)
        add(tile, "path", class_=line, d=strokes)


def _pattern(what: str) -> str:
    return "hours-" + what.replace(" ", "-")


def _block(
    node: Node, what: str, x: float, y: float, wide: float, tip: str = ""
) -> None:
    made = add(node, "rect", x=x, y=y, width=max(wide, 1.0), height=LATH_H)
    made.set("class", "hopen" if what == _OPEN else "hedge")
    if what != _OPEN:
        made.set("fill", f"url(#{_pattern(what)})")
    if tip:
        add(made, "title", tip)


# ---------------------------------------------------------------------- laths


def _numbers(account: Account) -> dict[str, int]:
    """Return the reasons that are drawn, in order of time, each with its number."""
    drawn = (s for d in account.days for s in d.stretches if s.reasons)
    words = dict.fromkeys(reason_words(s) for s in drawn if not is_off(s))
    return {w: n for n, w in enumerate(words, 1)}


def _rule(node: Node, laths: _Laths, day: Day, y: float) -> None:
    """Draw the lath of a day: a line with a notch each hour, longer each sixth."""
    hour = 60 // laths.account.grid.tick_minutes
    base = y + LATH_H
    path = f"M{num(LEFT)} {num(base)}H{num(laths.x(day, day.end))}"
    for number, tick in enumerate(range(day.start, day.end + 1, hour)):
        deep = 6 if number % 6 == 0 else 3
        path += f"M{num(laths.x(day, tick))} {num(base)}v{deep}"
    add(node, "path", class_="hlath", d=path)


def _stretch(node: Node, laths: _Laths, day: Day, stretch: Stretch, y: float) -> None:
    if is_off(stretch):
        return
    x = laths.x(day, stretch.start)
    wide = laths.x(day, stretch.end) - x
    words = reason_words(stretch)
    what = stretch.reasons[0].why.value if stretch.reasons else _OPEN
    state = "open" if stretch.is_open else "closed"
    times = span_words(laths.account.grid, day, stretch)
    tip = f"{times} {state}" + (f": {words}" if words else "")
    _block(node, what, x, y, wide, tip)
    if words:
        number = str(laths.numbers[words])
        if width_of(number, SMALL) <= wide:
            middle = x + wide / 2
            place = {"x": num(middle), "y": num(y + LATH_H - 4)}
            add(node, "text", number, class_="m hnumber", **place)


def _day(node: Node, laths: _Laths, day: Day, y: float) -> None:
    grid = laths.account.grid
    _rule(node, laths, day, y)
    for stretch in day.stretches:
        _stretch(node, laths, day, stretch, y)
    label = short_day(grid, day)
    add(node, "text", label, class_="e", x=LEFT - 10, y=y + LATH_H - 3)
    opened = duration_words(day.open_ticks * grid.tick_minutes)
    change = clock_change(grid, day)
    says = f"{opened} ({change})" if change else opened
    says = fitted(says, WIDTH - RIGHT - 8, SMALL)
    add(node, "text", says, class_="s", x=RIGHT + 10, y=y + LATH_H - 3)


def _hours(node: Node, laths: _Laths, y: float) -> None:
    """Name every sixth hour of a day without a clock change."""
    hour = 60 // laths.account.grid.tick_minutes
    for h in range(0, 25, 6):
        x = LEFT + h * hour / laths.ticks * (RIGHT - LEFT)
        add(node, "text", f"{h:02}:00", class_="s m", x=x, y=y)


def _account(node: Node, account: Account, y: float) -> float:
    """Draw an owner's days; return where they end."""
    laths = _Laths(
        account=account,
        ticks=max(d.end - d.start for d in account.days),
        numbers=_numbers(account),
    )
    opened = duration_words(account.open_ticks * account.grid.tick_minutes)
    heading = fitted(f"{account.owner}: {opened} open", WIDTH - 2 * MARGIN, 16)
    add(node, "text", heading, class_="h", x=MARGIN, y=y + 16)
    _hours(node, laths, y + 36)
    y += 44
    for day in account.days:
        _day(node, laths, day, y)
        y += STEP_H
    y += 12
    for words, number in laths.numbers.items():
        line = fitted(f"{number}  {words}", WIDTH - LEFT - MARGIN, TEXT)
        add(node, "text", line, x=LEFT, y=y)
        y += LINE_H
    return y + 14


def _key(node: Node, accounts: Sequence[Account], y: float) -> float:
    x = MARGIN
    for what, words in _KEY:
        _block(node, what, x, y, SWATCH_W)
        add(node, "text", words, x=x + SWATCH_W + 6, y=y + LATH_H - 4)
        x += SWATCH_W + 6 + width_of(words, TEXT) + 22
    off = ", ".join(dict.fromkeys(a.off for a in accounts))
    say = f"a bare rule: {off}; a notch each hour"
    add(node, "text", say, class_="s", x=MARGIN, y=y + LATH_H + LINE_H)
    return y + LATH_H + LINE_H + MARGIN


def _story(answer: Accounts) -> str:
    minutes = answer.grid.tick_minutes
    told = [
        f"{a.owner}: {duration_words(a.open_ticks * minutes)} open on "
        f"{sum(d.open_ticks > 0 for d in a.days)} of {len(a.days)} days."
        for a in answer.accounts
    ]
    zone = answer.grid.zone.key
    return " ".join(["A lath for each day.", *told, f"Times in {zone}."])


def hours_svg(answer: Accounts) -> bytes:
    """Return every owner's days as a picture of its own."""
    title = f"Open hours, {range_words(answer)}"
    body = Node("g", {"class": "hours"})
    name = fitted(answer.job, WIDTH - 2 * MARGIN, 16)
    add(body, "text", name, class_="h", x=MARGIN, y=36)
    says = f"{title}, times in {answer.grid.zone.key}"
    add(body, "text", says, class_="s", x=MARGIN, y=56)
    y = 76.0
    for account in answer.accounts:
        y = _account(body, account, y)
    y = _key(body, answer.accounts, y)
    root = picture(WIDTH, y, id_="hours", title=title, story=_story(answer))
    add(root, "style", _style())
    _patterns(root)
    add(root, "rect", class_="hpaper", width=WIDTH, height=y)
    root.append(body)
    return file_bytes(root)
