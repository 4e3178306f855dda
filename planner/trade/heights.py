"""How much of a bay lies above ten feet or is curved, where work is slower."""

import math

from planner.trade.data.labour import Allowance
from planner.trade.geometry.furring import FEATHER_MM, band_foot_mm
from planner.trade.parts import Site
from planner.trade.takeoff import Bay, BayKind


def above_mm(site: Site, allowance: Allowance | None, bottom_mm: float) -> float:
    """Return how much of a stretch from `bottom_mm` to the ceiling is high, in mm."""
    if allowance is None:
        return 0.0
    return max(site.stage.ceiling_mm - max(allowance.above_mm, bottom_mm), 0.0)


def edge_m(site: Site, rate: str, bay: Bay) -> float:
    """Return how much of a bay's edge on the wall is high, in m.

    A run's edge lies along the top of its modules; a corner's goes up both sides of
    its column to the ceiling.
    """
    high = site.rates[rate].high
    if bay.kind is not BayKind.CORNER:
        return 0.0
    return 2.0 * above_mm(site, high, site.kit.corner_height_mm) / 1000.0


def taped_m(site: Site, rate: str, bay: Bay) -> float:
    """Return how much of what is taped in a bay is high, in m: edges and seams."""
    high = site.rates[rate].high
    if high is None:
        return 0.0
    seams_mm = sum(s.above_mm(high.above_mm) for s in bay.seams)
    return edge_m(site, rate, bay) + seams_mm / 1000.0


def feathered_m2(site: Site, rate: str, bay: Bay) -> float:
    """Return how much of a bay's compound is high, in m²."""
    return taped_m(site, rate, bay) * 2 * FEATHER_MM / 1000.0


def board_m2(site: Site, rate: str, bay: Bay) -> float:
    """Return how much of the new board behind a bay is high, in m²."""
    foot = band_foot_mm(site.kit)
    return bay.floor_edge_mm * above_mm(site, site.rates[rate].high, foot) * 1e-6


def column_m2(site: Site, rate: str, bay: Bay) -> float:
    """Return how much of the face of a corner's upright modules is high, in m²."""
    if bay.kind is not BayKind.CORNER:
        return 0.0
    kit = site.kit
    lips = 2.0 * max(kit.corner_leg_mm - kit.radius_mm, 0.0)
    across = math.pi / 2.0 * kit.radius_mm + lips
    return across * above_mm(site, site.rates[rate].high, kit.corner_height_mm) * 1e-6


def surface_m2(site: Site, rate: str, bay: Bay) -> float:
    """Return how much of what is painted in a bay is high, in m²."""
    kit = site.kit
    column = site.stage.ceiling_mm - kit.straight_height_mm
    share = 0.0
    if column > 0.0:
        high = above_mm(site, site.rates[rate].high, kit.straight_height_mm)
        share = high / column
    return bay.wall_above_m2 * share + column_m2(site, rate, bay)
