"""The room's air over the whole horizon, built in layers, the later over the earlier.

First the air that the job assumes; over it the readings or the forecast of a file;
over that, where a moment is given as now, what the readings say of the hours to
come. Each layer says in words what it did. What heating, ventilation, dehumidifier
and wet work make of outside air is worked out in `planner.air.balance`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import Protocol
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from planner.air.moist_air import FloatArray, humidity_pct, vapour_pa
from planner.measures import Units
from planner.nouns.air import AirReading, DayNight
from planner.nouns.product import Air
from planner.units import moment_words

# How long a last reading pulls the air to come (assumption). Less than an error of the air
# lasts in the odds (72 h): half of what a reading differs by is taken to be of its hour.
FADE_H = 24.0
GAP_H = 6.0  # the longest gap between readings that is bridged (assumption)


class Ticks(Protocol):
    """The grid of whole ticks: where it starts (in UTC), its tick, how many, where."""

    @property
    def start(self) -> datetime: ...  # noqa: D102
    @property
    def tick_minutes(self) -> int: ...  # noqa: D102
    @property
    def ticks(self) -> int: ...  # noqa: D102
    @property
    def zone(self) -> ZoneInfo: ...  # noqa: D102


# ------------------------------------------------------------------ clocks


def local_starts(grid: Ticks) -> list[datetime]:
    """Return the site's local time at which each tick begins."""
    step = timedelta(minutes=grid.tick_minutes)
    return [(grid.start + i * step).astimezone(grid.zone) for i in range(grid.ticks)]


def within(clocks: Sequence[time], start: time, end: time) -> NDArray[np.bool_]:
    """Return which clock times lie in [start, end); past midnight if end <= start.

    Equal times mean the whole day.
    """
    if start < end:
        return np.array([start <= c < end for c in clocks], dtype=np.bool_)
    return np.array([c >= start or c < end for c in clocks], dtype=np.bool_)


def _middles_min(grid: Ticks, since: datetime) -> FloatArray:
    """Return the minutes from `since` to the middle of each tick.

    In minutes halves of ticks are exact, so a reading between two ticks is as far
    from the middle of the one as of the other.
    """
    first_min = (grid.start - since) / timedelta(minutes=1)
    middles = (np.arange(grid.ticks, dtype=np.float64) + 0.5) * grid.tick_minutes
    return first_min + middles


# ------------------------------------------------------------------ layers


def assumed(
    spec: DayNight,
    grid: Ticks,
    by_month: Mapping[int, DayNight] | None = None,
    units: Units = Units.US,
) -> Air:
    """Return the air that a job assumes, day and night at the site's clock.

    `by_month` (1 is January) replaces `spec` in the months that it names; `units` are
    those in which its origin is told.
    """
    local = local_starts(grid)
    months = np.array([t.month for t in local])
    clocks = [t.time() for t in local]
    air_c, humid = np.zeros(grid.ticks), np.zeros(grid.ticks)
    origin = [f"assumed {_words(spec, units)}"]
    layers: list[tuple[DayNight, NDArray[np.bool_]]] = [
        (spec, np.ones(grid.ticks, dtype=np.bool_))
    ]
    for month, other in sorted((by_month or {}).items()):
        mine = months == month
        if mine.any():
            layers.append((other, mine))
            origin.append(f"assumed in month {month}: {_words(other, units)}")
    for layer, mine in layers:
        day = within(clocks, layer.day_from, layer.day_to)
        air_c[mine] = np.where(day, layer.day_c, layer.night_c)[mine]
        humid[mine] = np.where(day, layer.day_rh_pct, layer.night_rh_pct)[mine]
    return Air(
        tick_minutes=grid.tick_minutes,
        air_c=air_c,
        humidity_pct=humid,
        origin=tuple(origin),
        start=grid.start,
        zone=grid.zone,
        units=units,
    )


def _words(spec: DayNight, units: Units) -> str:
    day = f"{units.temperature(spec.day_c)}, {spec.day_rh_pct:.0f} % RH"
    night = f"{units.temperature(spec.night_c)}, {spec.night_rh_pct:.0f} % RH"
    if day == night:
        return f"{day} day and night"
    return f"{day} from {spec.day_from:%H:%M} to {spec.day_to:%H:%M}, else {night}"


def overlaid(
    base: Air, readings: Sequence[AirReading], grid: Ticks, *, gap_h: float = GAP_H
) -> Air:
    """Return `base` with readings over it, interpolated to the middle of each tick.

    Between two readings no further apart than `gap_h`, temperature and vapour
    pressure run straight from one to the other. Elsewhere `base` stays.
    """
    if not readings:
        return base
    ordered = sorted(readings, key=lambda r: r.when)
    since = ordered[0].when.astimezone(UTC)
    at_min = _minutes_since(ordered, since)
    read_c = np.array([r.air_c for r in ordered])
    read_pa = vapour_pa(read_c, [r.humidity_pct for r in ordered])
    middle_min = _middles_min(grid, since)
    inside = read_ticks(ordered, grid, gap_h=gap_h)
    air_c = np.where(inside, np.interp(middle_min, at_min, read_c), base.air_c)
    pressure = np.interp(middle_min, at_min, read_pa)
    humid = np.where(
        inside, np.minimum(humidity_pct(air_c, pressure), 100.0), base.humidity_pct
    )
    first, last = (moment_words(r.when, grid.zone) for r in (ordered[0], ordered[-1]))
    origin = (*base.origin, f"over it {len(ordered)} readings, {first} to {last}")
    if not inside.all():
        share = f"{inside.mean() * 100:.0f} %"
        origin = (*origin, f"the readings cover {share} of the time; else as assumed")
    return replace(base, air_c=air_c, humidity_pct=humid, origin=origin)


def read_ticks(
    readings: Sequence[AirReading], grid: Ticks, *, gap_h: float = GAP_H
) -> NDArray[np.bool_]:
    """Return the ticks whose air was read, or lies between readings near enough."""
    if not readings:
        return np.zeros(grid.ticks, dtype=np.bool_)
    ordered = sorted(readings, key=lambda r: r.when)
    since = ordered[0].when.astimezone(UTC)
    at, middle = _minutes_since(ordered, since), _middles_min(grid, since)
    half = grid.tick_minutes / 2
    # A reading speaks for the tick it falls in, so the ends reach half a tick out.
    inside = (middle > at[0] - half) & (middle <= at[-1] + half)
    if at.size > 1:
        after = np.clip(np.searchsorted(at, middle), 1, at.size - 1)
        nearest = np.minimum(np.abs(middle - at[after]), np.abs(middle - at[after - 1]))
        inside &= (at[after] - at[after - 1] <= gap_h * 60) | (nearest <= half)
    return np.asarray(inside)


def _minutes_since(readings: Sequence[AirReading], since: datetime) -> FloatArray:
    """Return the minutes from `since` to each reading."""
    return np.array(
        [(r.when.astimezone(UTC) - since) / timedelta(minutes=1) for r in readings]
    )


def with_readings(model: Air, readings: Sequence[AirReading], grid: Ticks) -> Air:
    """Return the room's air with what was read in it.

    Readings win where they lie; the last one pulls the time to come, and fades.
    """
    if not readings:
        return model
    last = max(readings, key=lambda r: r.when)
    return pulled(overlaid(model, readings, grid), model, last, grid)


def pulled(air: Air, model: Air, last: AirReading, grid: Ticks) -> Air:
    """Return `air` with the hours after the last reading drawn towards it.

    The reading is compared with `model` (the air without readings) at its own tick,
    the one that it begins if it lies between two; the differences of temperature and of vapour pressure are added to the time after
    it and fade by exp(-t / `FADE_H`): a third is left after a day, a twentieth after
    three.
    """
    when = last.when.astimezone(UTC)
    since_min = _middles_min(grid, when)
    own = (when - grid.start) // timedelta(minutes=grid.tick_minutes)
    tick = min(max(own, 0), grid.ticks - 1)
    if abs(float(since_min[tick])) > grid.tick_minutes:
        return air  # read outside the horizon: it says nothing of it
    model_pa = vapour_pa(model.air_c, model.humidity_pct)
    off_k = last.air_c - float(model.air_c[tick])
    off_pa = float(vapour_pa(last.air_c, last.humidity_pct)) - float(model_pa[tick])
    later = since_min > 0.0
    fade = np.exp(-np.maximum(since_min, 0.0) / (60.0 * FADE_H))
    air_c = np.where(later, model.air_c + off_k * fade, air.air_c)
    pressure = np.maximum(model_pa + off_pa * fade, 0.0)
    humid = np.clip(humidity_pct(air_c, pressure), 0.0, 100.0)
    words = (
        f"the last reading ({moment_words(last.when, grid.zone)}) pulls what comes "
        f"after, by {off_k:+.1f} °C and {off_pa:+.0f} Pa of vapour, fading over "
        f"{FADE_H:.0f} h"
    )
    return replace(
        air,
        air_c=air_c,
        humidity_pct=np.where(later, humid, air.humidity_pct),
        origin=(*air.origin, words),
    )
