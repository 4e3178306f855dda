"""The water that coats give off into the room: how much, and in which ticks.

A coat's water dampens the air that it dries in, and damp air slows its drying. So the
two are worked out together, tick by tick: the water of a tick is what leaves the
coats in the air that this very water makes (`WetWork`).
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from planner.air.moist_air import FloatArray, saturation_pa, vapour_pa
from planner.air.waits import Beyond, progress, shares
from planner.nouns.product import Air, Hardening, Product

DRYING = ("dry", "recoat")  # the stage whose progress is the water's way out
_HAIR = 1e-9  # of a whole: shares that add up to one but for the last digits


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A coat as it was or will be laid: its water, and the spans it was worked in.

    `spans` are half-open spans of ticks; the coat is laid evenly over them. `under` is
    the place, among the coats, of one that it lies over: where that is still wet, its
    water leaves first.
    """

    stage: Hardening
    water_kg: float
    spans: tuple[tuple[int, int], ...]
    thickness_mm: float | None = None
    under: int | None = None


def coat_water_kg(
    product: Product, area_m2: float, *, thickness_mm: float | None = None
) -> float:
    """Return the water that a coat gives off while it dries.

    The coat's litres (area times wet thickness, or area over coverage), times the
    water in a litre, less what the product binds. One litre is one kg. [kg].

    Examples
    --------
    BBRI-Contact 2010/04.11: gypsum plaster of 10 mm on 100 m² gives 350 l.

    >>> from planner.trade.data import materials
    >>> coat_water_kg(materials.product("setting-90"), 100.0, thickness_mm=10.0)
    350.0
    """
    layer_mm = product.thickness_mm if thickness_mm is None else thickness_mm
    if layer_mm is not None:
        litres = area_m2 * layer_mm
    elif product.coverage_m2_per_l is not None:
        litres = area_m2 / product.coverage_m2_per_l
    else:
        litres = 0.0
    return litres * product.water_l_per_l * (1.0 - product.bound_frac)


def drying_stage(product: Product) -> Hardening | None:
    """Return the stage in which a product gives off its water, if it has one."""
    found = (s for name in DRYING for s in product.stages if s.stage == name)
    return next(found, None)


def given_off_kg(coats: Iterable[Laid], air: Air) -> FloatArray:
    """Return the water that the coats give off in each tick, in the given air. [kg].

    What is laid in a tick dries from that tick's end, and its water leaves in step
    with its progress: all of it, by the tick at which it is likely dry.
    """
    out, every = np.zeros(len(air)), tuple(coats)
    dry: dict[int, list[int]] = {}  # of each coat, when each part of it is
    for place in sorted(range(len(every)), key=lambda i: _ends(every[i].spans)):
        coat = every[place]
        ends = _ends(coat.spans)
        if not ends or coat.water_kg <= 0.0:
            continue
        done = progress(
            coat.stage, air, thickness_mm=coat.thickness_mm, beyond=Beyond.STILL
        )
        below = [] if coat.under is None else dry.get(coat.under, [])
        dry[place] = []
        for part, end in enumerate(ends):
            since = end
            if below:
                since = max(end, below[_part_below(part, len(ends), len(below))])
            since = min(since, len(air))
            left = np.clip(done - done[since], 0.0, 1.0)
            out += coat.water_kg / len(ends) * np.diff(left)
            dry[place].append(int(np.searchsorted(done, done[since] + 1.0 - _HAIR)))
    return out


def _part_below(part: int, parts: int, below: int) -> int:
    """Return the part of the coat below that one of a coat's parts lies over.

    Both are laid in the same order over the same area.
    """
    return min(int((part + 0.5) / parts * below), below - 1)


def _ends(spans: Sequence[tuple[int, int]]) -> list[int]:
    return [tick + 1 for start, end in spans for tick in range(start, end)]


# --------------------------------------------------------- air and coats together

NEAR_PCT = 0.01  # of humidity: the air that was assumed for a tick is the one it has
HALVINGS = 14  # of 0 to 100 %, until it is
_GRADES = np.linspace(0.0, 100.0, 401)  # humidities between which shares run straight


@lru_cache(maxsize=8192)
def _shares_at(
    stage: Hardening,
    thickness_mm: float | None,
    air_c: float,
    tick_minutes: int,
    wall_colder_delta_k: float,
) -> tuple[float, ...]:
    """Return how much of its way a coat hardens in a tick at each of the grades."""
    air = Air(
        tick_minutes=tick_minutes,
        air_c=np.full(_GRADES.size, air_c),
        humidity_pct=_GRADES,
        wall_colder_delta_k=wall_colder_delta_k,
    )
    return tuple(shares(stage, air, thickness_mm).tolist())


@dataclass(slots=True)
class _Drying:
    """A coat as it dries: what of it is laid, how far each part of it is."""

    coat: Laid
    under: "_Drying | None" = None
    ends: list[int] = field(init=False)
    marks: list[float] = field(default_factory=list)  # where each part laid began
    along: float = 0.0
    dry: int = 0  # parts, the first ones

    def __post_init__(self) -> None:
        self.ends = _ends(self.coat.spans)

    def lay(self, tick: int) -> bool:
        """Lay what ends at a tick's start; tell whether water leaves any of the coat.

        None leaves a part of it while what it lies over is wet.
        """
        while (
            len(self.marks) < len(self.ends)
            and self.ends[len(self.marks)] <= tick
            and self._bare(len(self.marks))
        ):
            self.marks.append(self.along)
        return self.dry < len(self.marks)

    def _bare(self, part: int) -> bool:
        """Tell whether nothing wet is left below a part of the coat."""
        if self.under is None:
            return True
        below = len(self.under.ends)
        return self.under.dry > _part_below(part, len(self.ends), below)

    def kg(self, share: float) -> float:
        """Return the water that leaves while the coat gets on by a share of its way."""
        parts, at = 0.0, self.dry
        while at < len(self.marks) and self.along + share - self.marks[at] >= 1.0:
            parts += 1.0 - (self.along - self.marks[at])
            at += 1
        parts += share * (len(self.marks) - at)
        return self.coat.water_kg * parts / len(self.ends)

    def get_on(self, share: float) -> None:
        """Let the coat get on by a share of its way."""
        self.along += share
        while (
            self.dry < len(self.marks)
            and self.along - self.marks[self.dry] >= 1.0 - _HAIR
        ):
            self.dry += 1


def _rows(coats: tuple[Laid, ...]) -> list[_Drying]:
    """Return the coats that have water to give, each over what it lies on."""
    rows = {i: _Drying(c) for i, c in enumerate(coats) if c.water_kg > 0.0 and c.spans}
    for row in rows.values():
        row.under = None if row.coat.under is None else rows.get(row.coat.under)
    return list(rows.values())


class WetWork:
    """Coats that dry in the air that they themselves make.

    Parameters
    ----------
    coats
        What is laid, and when.
    air
        The air that the coats lie in; its humidity counts in the ticks `read`.
    model
        The same without what was read; the difference in vapour between the two is
        added to what the model comes to.
    read
        The ticks whose air was read in the room, so that nothing changes it.
    """

    def __init__(
        self, coats: Iterable[Laid], air: Air, model: Air, read: Sequence[bool]
    ) -> None:
        self.rows = _rows(tuple(coats))
        self.tick_minutes = air.tick_minutes
        self.wall_colder_delta_k = air.wall_colder_delta_k
        self.air_c: list[float] = air.air_c.tolist()
        self.full_pa: list[float] = saturation_pa(air.air_c).tolist()
        self.read_pct = [
            pct if was else None
            for pct, was in zip(air.humidity_pct.tolist(), read, strict=True)
        ]
        self.more_pa: list[float] = (
            vapour_pa(air.air_c, air.humidity_pct)
            - vapour_pa(model.air_c, model.humidity_pct)
        ).tolist()

    def given_off(self, tick: int, vapour_with: Callable[[float], float]) -> float:
        """Return the water given off in a tick, and let the coats get on. [kg].

        `vapour_with` says which vapour pressure a mass of water leaves the room with,
        as the mean of the tick [kg -> Pa]. Ticks are asked for in their order.
        """
        wet = [row for row in self.rows if row.lay(tick)]
        if not wet:
            return 0.0

        def share(row: _Drying, pct: float) -> float:
            grades = _shares_at(
                row.coat.stage,
                row.coat.thickness_mm,
                self.air_c[tick],
                self.tick_minutes,
                self.wall_colder_delta_k,
            )
            at = min(int(pct * 4.0), len(grades) - 2)
            over = pct * 4.0 - at
            return grades[at] + (grades[at + 1] - grades[at]) * over

        def water_kg(pct: float) -> float:
            return sum(row.kg(share(row, pct)) for row in wet)

        def humidity(water: float) -> float:
            vapour = max(vapour_with(water) + self.more_pa[tick], 0.0)
            return min(vapour / self.full_pa[tick] * 100.0, 100.0)

        known = self.read_pct[tick]
        pct = known if known is not None else _even(water_kg, humidity)
        out = water_kg(pct)
        for row in wet:
            row.get_on(share(row, pct))
        return out


def _even(
    water_kg: Callable[[float], float], humidity: Callable[[float], float]
) -> float:
    """Return the humidity in which just the water leaves that makes it. [%].

    Damper air takes less water, and less water makes it less damp: the two meet in
    one place. Where the coats stand still beyond a humidity, that is the place.
    """
    low, high = humidity(0.0), 100.0
    pct = humidity(water_kg(low))
    for _ in range(HALVINGS):
        found = humidity(water_kg(pct))
        if abs(found - pct) < NEAR_PCT:
            return pct
        if found > pct:
            low = pct
        else:
            high = pct
        pct = found if low < found < high else (low + high) / 2.0
    return low
