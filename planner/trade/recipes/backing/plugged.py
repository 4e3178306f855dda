"""Furring on masonry: holes drilled and plugged, then strips and new board."""

import math

from planner.nouns.work import Task, TaskLink
from planner.trade.heights import above_mm
from planner.trade.parts import After, Leads, Part, Site, follow, joined, task_of
from planner.trade.recipes.backing import furred
from planner.trade.takeoff import Bay

PLUG_SPACING_MM = 400.0  # up a strip; from memory, edit me


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return plugging and furring; hands on what the line marks follow."""
    tasks: list[Task] = []
    links: list[TaskLink] = []
    plugged: dict[str, tuple[After, ...]] = {}
    for bay in bays:
        up = _up(site.stage.ceiling_mm)
        high_mm = above_mm(site, site.rates["plug"].high, 0.0)
        high = plugs(site, bay) * min(high_mm / PLUG_SPACING_MM / up, 1.0)
        plug = task_of(site.rates["plug"], bay=bay, amount=plugs(site, bay), high=high)
        links += follow(plug, *leads[bay.id])
        tasks.append(plug)
        reason = "the strips are screwed to the plugs"
        plugged[bay.id] = (After(task=plug.id, reason=reason),)
    holes = Part(tasks=tuple(tasks), links=tuple(links), leads=plugged)
    return joined((holes, furred.recipe(site, plugged, bays)), {})


def plugs(site: Site, bay: Bay) -> int:
    """Return the plugs behind a bay: a strip at each stud spacing and at the end."""
    strips = math.ceil(bay.floor_edge_mm / site.stage.stud_spacing_mm - 1e-9) + 1
    return strips * _up(site.stage.ceiling_mm)


def _up(height_mm: float) -> int:
    return math.ceil(height_mm / PLUG_SPACING_MM - 1e-9) + 1
