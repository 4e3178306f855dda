"""How sure the returns are as a picture: the share of all cases that are back, by date."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.nouns.odds import Collision, Curve, Odds, ReturnOdds
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
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
from planner.report.words.sure.odds_text import owner_words
from planner.units import day_words

WIDTH, LEFT, RIGHT, MARGIN = 1000.0, 96.0, 968.0, 24.0
TOP, HIGH = 126.0, 300.0
TEXT, SMALL = 12.0, 12.0
BOOKING_H, LINE_H = 18.0, 22.0
LEVELS = (0.0, 0.5, 0.8, 0.95, 1.0)
MOST_BOOKINGS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Field:
    """The days that are shown, and where they lie."""

    first: datetime
    last: datetime
    zone: ZoneInfo

    def x(self, when: datetime) -> float:
        """Return the place of an instant."""
        share = (when - self.first) / (self.last - self.first)
        return LEFT + min(max(share, 0.0), 1.0) * (RIGHT - LEFT)

    def days(self) -> list[datetime]:
        """Return each midnight of the site that is shown."""
        day = self.first.astimezone(self.zone).date() + timedelta(days=1)
        out = []
        while (at := datetime.combine(day, time(), tzinfo=self.zone)) < self.last:
            out.append(at)
            day += timedelta(days=1)
        return out


def _y(frac: float) -> float:
    return TOP + HIGH * (1.0 - frac)


def _style() -> str:
    return tokens.css() + (
        f".odds{{font:{TEXT}px {tokens.TYPE['text']};fill:var(--ink)}}"
        f".odds .s{{font-size:{SMALL}px;fill:var(--soft)}}"
        ".odds .e{text-anchor:end}.odds .m{text-anchor:middle}"
        f".odds .h{{font:700 16px {tokens.TYPE['display']}}}"
        ".opaper{fill:var(--paper)}.oweekend{fill:var(--shade)}"
        ".oday{stroke:var(--hair);stroke-width:1;fill:none}"
        ".olevel{stroke:var(--rule);stroke-width:1;fill:none;stroke-dasharray:2 4}"
        ".obase{stroke:var(--ink);stroke-width:1;fill:none}"
        ".ofull{stroke:var(--ink);stroke-width:2.5;fill:none}"
        ".olight{stroke:var(--wet);stroke-width:2;fill:none;stroke-dasharray:7 4}"
        ".oplan{stroke:var(--ink);stroke-width:1;fill:none}"
        ".odot{fill:var(--paper);stroke:var(--ink);stroke-width:2}"
        ".obooked{fill:var(--wet-wash);stroke:var(--wet);stroke-width:1}"
    )


def odds_svg(plan: Plan, odds: Odds) -> bytes:
    """Return the chance of each return against the date, with the bookings after it."""
    field = _field(plan, odds)
    met = [c for c in odds.collisions if c.frac >= 0.005][:MOST_BOOKINGS]
    high = TOP + HIGH + 52 + BOOKING_H * 1.6 * len(met) + MARGIN
    title = f"How sure the returns are: {plan.job}"
    root = picture(WIDTH, high, id_="odds", title=title, story=owner_words(plan, odds))
    add(root, "style", _style())
    add(root, "rect", class_="opaper", width=WIDTH, height=high)
    body = add(root, "g", class_="odds")
    _heading(body, plan, odds)
    _days(body, field)
    _levels(body)
    for curve in odds.curves:
        _curve(body, field, curve)
    for number, back in enumerate(sorted(odds.returns, key=lambda r: r.planned)):
        _planned(body, field, back, TOP - 12 - 13 * (1 - number))
    full = next(r for r in odds.returns if r.kind is ReturnKind.FULL_SERVICE)
    _marks(body, field, full)
    _bookings(body, field, met)
    return file_bytes(root)


def _field(plan: Plan, odds: Odds) -> _Field:
    """Return the days from before the first return to after nearly every last one."""
    zone = ZoneInfo(plan.zone)
    seen = [
        w for c in odds.curves for w, f in zip(c.when, c.frac, strict=True) if f < 0.995
    ]
    first = min([*seen, *(r.planned for r in odds.returns)])
    last = max([*seen, *(r.planned for r in odds.returns)])
    day = first.astimezone(zone).date() - timedelta(days=1)
    end = last.astimezone(zone).date() + timedelta(days=2)
    return _Field(
        first=datetime.combine(day, time(), tzinfo=zone),
        last=datetime.combine(end, time(), tzinfo=zone),
        zone=zone,
    )


def _heading(body: Node, plan: Plan, odds: Odds) -> None:
    name = fitted(plan.job, WIDTH - 2 * MARGIN, 16)
    add(body, "text", name, class_="h", x=MARGIN, y=34)
    says = fitted(owner_words(plan, odds), WIDTH - 2 * MARGIN, TEXT)
    add(body, "text", says, x=MARGIN, y=54)
    x = MARGIN
    for kind, words in (("ofull", "full service"), ("olight", "light foot traffic")):
        add(body, "path", class_=kind, d=f"M{num(x)} 76h36")
        add(body, "text", words, x=x + 42, y=80)
        x += 42 + width_of(words, TEXT) + 24
    says = f"share of {odds.futures:,} futures that are back; times in {plan.zone}"
    add(body, "text", says, class_="s", x=x, y=80)


def _days(body: Node, field: _Field) -> None:
    """Draw the days, weekends shaded; each is named where there is room."""
    days = field.days()
    wide = field.x(days[1]) - field.x(days[0]) if len(days) > 1 else RIGHT - LEFT
    each = max(1, round(58 / wide + 0.5))
    for number, day in enumerate(days):
        x = field.x(day)
        if day.weekday() >= 5:
            add(
                body,
                "rect",
                class_="oweekend",
                x=x,
                y=TOP,
                width=min(wide, RIGHT - x),
                height=HIGH,
            )
        add(body, "path", class_="oday", d=f"M{num(x)} {num(TOP)}V{num(TOP + HIGH)}")
        if number % each == 0 and x + 28 < RIGHT:
            short = day_words(day, field.zone)[:-5]
            add(body, "text", short, class_="s m", x=x, y=TOP + HIGH + 18)


def _levels(body: Node) -> None:
    for level in LEVELS:
        kind = "obase" if level in (0.0, 1.0) else "olevel"
        y = _y(level)
        add(body, "path", class_=kind, d=f"M{num(LEFT)} {num(y)}H{num(RIGHT)}")
        words = f"{level * 100:.0f} of 100"
        add(body, "text", words, class_="s e", x=LEFT - 8, y=y + 4)


def _curve(body: Node, field: _Field, curve: Curve) -> None:
    """Draw a curve in steps: it rises where futures return."""
    kind = "ofull" if curve.kind is ReturnKind.FULL_SERVICE else "olight"
    path = f"M{num(LEFT)} {num(_y(0.0))}"
    for when, frac in zip(curve.when, curve.frac, strict=True):
        if when > field.last:
            break
        path += f"H{num(field.x(when))}V{num(_y(frac))}"
    add(body, "path", class_=kind, d=f"{path}H{num(RIGHT)}")


def _planned(body: Node, field: _Field, back: ReturnOdds, y: float) -> None:
    """Draw when the plan has a return, with words to the right of the line."""
    x = field.x(back.planned)
    add(body, "path", class_="oplan", d=f"M{num(x)} {num(y - 8)}V{num(TOP + HIGH)}")
    day = day_words(back.planned, field.zone)[:-5]
    words = f"{back.kind} planned {day}, kept in {back.kept_frac * 100:.0f} of 100"
    add(body, "text", words, class_="s", x=x + 5, y=y)


def _marks(body: Node, field: _Field, full: ReturnOdds) -> None:
    """Mark where full service has come in half, 8 of 10 and 19 of 20 cases."""
    for chance in full.by:
        if chance.when is None or chance.when > field.last:
            continue
        x, y = field.x(chance.when), _y(chance.percent / 100.0)
        add(body, "circle", class_="odot", cx=x, cy=y, r=4.5)
        words = day_words(chance.when, field.zone)[:-5]
        place = {"x": x - 9, "class_": "e"} if x > RIGHT - 90 else {"x": x + 9}
        add(body, "text", words, y=y + 14, **place)


def _bookings(body: Node, field: _Field, met: Sequence[Collision]) -> None:
    """Draw the bookings that may begin while the stage is closed, below the days."""
    y = TOP + HIGH + 34
    for one in met:
        x = field.x(one.start)
        says = f"{one.frac * 100:.0f} of 100: {one.words}"
        wide = max(field.x(one.end) - x, 4.0)
        add(body, "rect", class_="obooked", x=x, y=y, width=wide, height=BOOKING_H)
        if x + wide + 8 + width_of(says, SMALL) < WIDTH:
            add(body, "text", says, x=x + wide + 6, y=y + 13)
        else:
            short = fitted(says, x - MARGIN - 8, SMALL)
            add(body, "text", short, class_="e", x=x - 6, y=y + 13)
        y += BOOKING_H * 1.6
