"""A coat alone in the room: the driest air that it can have at each time of laying.

Other coats only make the room damper. So what a coat needs in the air that its own
water makes, with nothing else wet, no plan can give it sooner; and a start at which it
breaks its limits even so is closed in every plan.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.air.balance import decays
from planner.air.limits import limit_breaks
from planner.air.moist_air import (
    FloatArray,
    humidity_pct,
    humidity_ratio,
    ratio_vapour_pa,
    vapour_pa,
)
from planner.air.waits import TickArray, beyond_range, shares
from planner.nouns.product import Air, AirLimits, Hardening

BoolArray = NDArray[np.bool_]
LESS_PCT = 0.5  # of humidity, left off, so that nothing hangs on the steps of a tick
LONGEST_H = 14 * 24.0  # after which a coat is followed no further
MEETINGS = 3  # of a tick's water and the air it makes; each is nearer by a tenth
_HAIR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Awaited:
    """A stage that is waited for, by a name: the margin on its hours, and how many times.

    `times` its own hours it takes where other coats are laid over it wet.
    """

    name: str
    stage: Hardening
    margin_frac: float
    times: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """A coat to look at: its water, the stages waited for, its limits.

    What is `awaited` begins with the coat; the limits hold until `dry`, one of them;
    without it they aren't looked at.
    """

    drying: Hardening  # the stage in whose course the water leaves
    water_kg: float
    thickness_mm: float | None
    awaited: tuple[Awaited, ...]
    dry: Awaited | None
    limits: AirLimits


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """What a coat alone comes to, by the end tick at which it is finished.

    `over` holds for each name the earliest tick at which it is reached, `broken`
    whether the coat breaks a limit between its start and `dry`, or isn't dry within
    the series.
    """

    over: dict[str, TickArray]
    broken: BoolArray


def alone(
    coat: Coat,
    ends: TickArray,
    laid: TickArray,
    whole: TickArray,
    *,
    air: Air,
    room_kg: FloatArray,
) -> Alone:
    """Return what becomes of a coat alone, for each tick at which it is finished.

    Parameters
    ----------
    coat
        The coat.
    ends, laid, whole
        End ticks; how many ticks before each it was laid in without a pause, what was
        laid before a pause being left out; in how many it was laid in all.
    air
        The room's air without wet work, with its air changes. No machine dries it.
    room_kg
        The room's dry air in each tick. [kg]
    """
    count, tick_h = len(air), air.tick_minutes / 60.0
    changes = air.changes_per_h
    if changes is None:
        raise ValueError("air: how often it is changed isn't known")
    kept, once, twice = decays(changes, tick_h)
    base = humidity_ratio(vapour_pa(air.air_c, air.humidity_pct))
    room = np.maximum(humidity_ratio(vapour_pa(air.air_c, 100.0)) - base, 0.0)
    ticks = int(laid.max())
    marks = np.zeros((ticks, len(ends)))  # how far the coat was as each part was laid
    there = np.arange(ticks)[:, None] >= ticks - laid  # parts that are looked at
    first = np.maximum(ends - laid, 0)
    along, more = np.zeros(len(ends)), np.zeros(len(ends))
    followed = _Followed(coat, len(ends), count)
    pct, at = air.humidity_pct[first], ends
    for offset in range(-ticks, round(LONGEST_H / tick_h)):
        at = ends + offset
        inside = (at >= first) & (at < count)
        if (at >= count).all() or (offset > 0 and followed.done):
            break
        i = np.clip(at, 0, count - 1)
        rows = max(min(ticks + offset, ticks), 0)
        share = gain = np.zeros(len(ends))
        for _ in range(MEETINGS):
            here = _air(air, i, pct)
            share = shares(coat.drying, here, coat.thickness_mm)
            left = np.clip(marks[:rows] + 1.0 - along, 0.0, share)
            parts = (left * there[:rows]).sum(axis=0)
            gain = coat.water_kg * parts / whole / room_kg[i] / tick_h
            mean = np.minimum((more * once[i] + gain * twice[i]) / tick_h, room[i])
            damp = humidity_pct(air.air_c[i], ratio_vapour_pa(base[i] + mean))
            pct = np.clip(damp, 0.0, 100.0)
        more = np.minimum(more * kept[i] + gain * once[i], room[i])
        along = along + share
        if offset < 0:
            marks[ticks + offset] = along
        least = _air(air, i, np.maximum(pct - LESS_PCT, 0.0))
        followed.keep_to_limits(least, inside)
        if offset >= 0:
            followed.harden(least, at, inside)
    else:
        followed.give_up(at)
    return followed.found()


class _Followed:
    """A coat on its way: how far each stage is, when each was reached, limits broken."""

    def __init__(self, coat: Coat, size: int, count: int) -> None:
        self.coat, self.count = coat, count
        self.far = {a.name: np.zeros(size) for a in coat.awaited}
        self.over: dict[str, TickArray] = {
            name: np.full(size, count + 1, dtype=np.int64) for name in self.far
        }
        self.broken = np.zeros(size, dtype=np.bool_)

    @property
    def done(self) -> bool:
        """Whether every stage has been reached."""
        return all((f >= 1).all() for f in self.far.values())

    def keep_to_limits(self, air: Air, inside: BoolArray) -> None:
        """Note where the air of a tick breaks a limit before the coat is dry."""
        dry = self.coat.dry
        if dry is not None:
            bad = limit_breaks(self.coat.limits, air) | beyond_range(dry.stage, air)
            self.broken |= bad & inside & (self.far[dry.name] < 1.0 - _HAIR)

    def harden(self, air: Air, at: TickArray, inside: BoolArray) -> None:
        """Bring each stage on by a tick's share, and note where it is reached."""
        for a in self.coat.awaited:
            was = self.far[a.name] >= 1.0 - _HAIR
            each = shares(a.stage, air, self.coat.thickness_mm, a.margin_frac)
            self.far[a.name] = self.far[a.name] + each / a.times
            now = (self.far[a.name] >= 1.0 - _HAIR) & ~was & inside
            self.over[a.name] = np.where(now, at + 1, self.over[a.name])

    def give_up(self, at: TickArray) -> None:
        """Take what hasn't been reached as no sooner than the tick followed last."""
        for name, over in self.over.items():
            late = np.minimum(at, self.count + 1)
            self.over[name] = np.where(over > self.count, late, over)

    def found(self) -> Alone:
        """Return what became of the coat."""
        dry = self.coat.dry
        never = False if dry is None else self.over[dry.name] > self.count
        return Alone(over=self.over, broken=self.broken | never)


def _air(air: Air, ticks: TickArray, pct: FloatArray) -> Air:
    """Return the air of some ticks at another humidity."""
    changes = air.changes_per_h
    return Air(
        tick_minutes=air.tick_minutes,
        air_c=air.air_c[ticks],
        humidity_pct=pct,
        changes_per_h=None if changes is None else changes[ticks],
        wall_colder_delta_k=air.wall_colder_delta_k,
    )
