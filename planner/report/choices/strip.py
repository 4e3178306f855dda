"""A strip of months: where it lies, its months by name, and the air of each."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from planner.measures import Units
from planner.nouns.choices.closures import Season, SeasonMonth
from planner.report.drawing.elements import Node, add, line_path, num, width_of
from planner.units import day_words

SMALL = 12.0
SEASON_H = 44.0
LEAST_SPAN_K = 10.0  # what warmth is drawn over at least: less is no season


@dataclass(frozen=True, slots=True, kw_only=True)
class StripLayout:
    """Where names and the strip stand; a narrow picture has names above their rows."""

    id: str
    width: float
    margin: float
    left: float
    right: float
    row: float
    above: float  # of a row: how far its bar lies below its top

    @property
    def narrow(self) -> bool:
        """Whether names stand above."""
        return self.left <= self.margin


WIDE = StripLayout(
    id="closures", width=1000, margin=24, left=204, right=976, row=34, above=10
)
NARROW = StripLayout(
    id="closures-narrow", width=288, margin=4, left=4, right=284, row=64, above=40
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthStrip:
    """The stretch of time that is shown, and where it lies."""

    first: datetime
    last: datetime
    zone: ZoneInfo
    layout: StripLayout

    def x(self, when: datetime) -> float:
        """Return the place of an instant, within the strip."""
        share = (when - self.first) / (self.last - self.first)
        left, right = self.layout.left, self.layout.right
        return left + min(max(share, 0.0), 1.0) * (right - left)

    def months(self) -> Iterator[datetime]:
        """Yield each first of a month that is shown."""
        day = self.first.astimezone(self.zone).date().replace(day=1)
        while True:
            day = (day + timedelta(days=32)).replace(day=1)
            at = datetime.combine(day, time(), tzinfo=self.zone)
            if at >= self.last:
                return
            yield at


def draw_months(body: Node, strip: MonthStrip, top: float, bottom: float) -> None:
    """Draw a line where each month begins; it is named where there is room."""
    layout = strip.layout
    edges = [strip.first, *strip.months(), strip.last]
    for begin, end in pairwise(edges):
        x, wide = strip.x(begin), strip.x(end) - strip.x(begin)
        add(body, "path", class_="smonth", d=f"M{num(x)} {num(top - 4)}V{num(bottom)}")
        local = begin.astimezone(strip.zone)
        name = day_words(begin, strip.zone).split()[2]
        if local.month == 1 or begin == strip.first:
            name += f" {local.year}"
        short = name if width_of(name, SMALL) < wide - 3 else name[:3]
        short = short if width_of(short, SMALL) < wide - 2 else short[:1]
        if width_of(short, SMALL) < wide:
            add(body, "text", short, class_="s", x=x + 3, y=top - 8)
    right = num(layout.right)
    for y in (top, bottom):
        add(body, "path", class_="smonth", d=f"M{num(layout.left)} {num(y)}H{right}")


def draw_season(body: Node, strip: MonthStrip, season: Season, top: float) -> None:
    """Draw humidity as a filled level from 0 to 100 % and warmth as a line over it."""
    layout = strip.layout
    shown = [m for m in season.months if m.start < strip.last and m.end > strip.first]
    warm = [m.air_c for m in shown]
    low, high = min(warm), max(warm)
    middle, span = (low + high) / 2, max(high - low, LEAST_SPAN_K)
    line = []
    for month in shown:
        x, end = strip.x(month.start), strip.x(month.end)
        level = SEASON_H * month.humidity_pct / 100.0
        y = top + SEASON_H - level
        add(body, "rect", class_="shumid", x=x, y=y, width=end - x, height=level)
        share = (month.air_c - middle) / span + 0.5
        at = top + SEASON_H - 5 - share * (SEASON_H - 10)
        line += [(x, at), (end, at)]
        figures = (f"{month.humidity_pct:.0f} %", _warmth(month.air_c, season.units))
        if layout.narrow or any(width_of(f, SMALL) > end - x - 4 for f in figures):
            continue
        for number, words in enumerate(figures):
            y = top + SEASON_H + 14 + 14 * number
            add(body, "text", words, class_="s", x=x + 3, y=y)
    add(body, "path", class_="swarm", d=line_path(line))
    _season_name(body, layout, season, (low, high), top)


def _season_name(
    body: Node,
    layout: StripLayout,
    season: Season,
    warm: tuple[float, float],
    top: float,
) -> None:
    """Write what the season's row shows, in a narrow picture with its figures."""
    what = "air outside" if season.outside else "air in the room"
    if not layout.narrow:
        for number, words in enumerate(
            (f"{what} by month,", "filled: humidity,", "line: warmth")
        ):
            y = top + 22 + 15 * number
            add(body, "text", words, class_="s b", x=layout.margin, y=y)
        return
    damp = [f"{m.humidity_pct:.0f} %" for m in (_least(season), _most(season))]
    heat = [_warmth(t, season.units) for t in warm]
    for number, words in enumerate(
        (
            f"{what} by month;",
            f"line: warmth, {_range(heat)};",
            f"filled: humidity, {_range(damp)}",
        )
    ):
        y = top + SEASON_H + 14 + 14 * number
        add(body, "text", words, class_="s b", x=layout.margin, y=y)


def _least(season: Season) -> SeasonMonth:
    return min(season.months, key=lambda m: m.humidity_pct)


def _most(season: Season) -> SeasonMonth:
    return max(season.months, key=lambda m: m.humidity_pct)


def _range(ends: list[str]) -> str:
    """Return two ends as a range, or one value where they are the same."""
    return " to ".join(dict.fromkeys(ends))


def _warmth(air_c: float, units: Units) -> str:
    """Return a temperature on the scale of the job, without the other one's."""
    if units is Units.US:
        return f"{air_c * 1.8 + 32:.0f} °F"
    return f"{air_c:.0f} °C"
