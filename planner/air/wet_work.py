"""The water that coats give off into the room: how much, and in which ticks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from planner.air.moist_air import FloatArray
from planner.air.waits import Beyond, progress
from planner.matter import Air, Hardening, Product

DRYING = ("dry", "recoat")  # the stage whose progress is the water's way out


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A coat as it was or will be laid: its water, and the spans it was worked in.

    `spans` are half-open spans of ticks; the coat is laid evenly over them.
    """

    stage: Hardening
    water_kg: float
    spans: tuple[tuple[int, int], ...]
    thickness_mm: float | None = None


def coat_water_kg(
    product: Product, area_m2: float, *, thickness_mm: float | None = None
) -> float:
    """Return the water that a coat gives off while it dries.

    The coat's litres (area times wet thickness, or area over coverage), times the
    water in a litre, less what the product binds. One litre is one kg. [kg].

    Examples
    --------
    BBRI-Contact 2010/04.11: gypsum plaster of 10 mm on 100 m² gives 350 l.

    >>> from planner.trade import materials
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
    out = np.zeros(len(air))
    for coat in coats:
        ends = _ends(coat.spans)
        if not ends or coat.water_kg <= 0.0:
            continue
        done = progress(
            coat.stage, air, thickness_mm=coat.thickness_mm, beyond=Beyond.STILL
        )
        each_kg = coat.water_kg / len(ends)
        for end in ends:
            out += each_kg * np.diff(np.clip(done - done[min(end, len(air))], 0.0, 1.0))
    return out


def _ends(spans: Sequence[tuple[int, int]]) -> list[int]:
    return [tick + 1 for start, end in spans for tick in range(start, end)]
