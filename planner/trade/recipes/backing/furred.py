"""Furring over a wall: strips fixed to it, new board over them."""

from planner.trade.geometry import furring
from planner.trade.heights import above_mm, board_m2
from planner.trade.parts import After, Leads, Part, Site, follow, joined, task_of
from planner.trade.takeoff import Bay, BayKind


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return strips and board; hands on what the line marks follow."""
    parts: list[Part] = []
    for bay in bays:
        strips = stripped(site, leads, bay)
        parts += (strips, boarded(site, strips.leads, bay))
    return joined(parts, {})


def stripped(site: Site, leads: Leads, bay: Bay) -> Part:
    """Return the strips of a bay: level, upright and beside a corner's edges."""
    amount = sum(strips_mm(site, bay)) / 1000.0
    rate = site.rates["fur"]
    rise = site.stage.ceiling_mm - furring.band_foot_mm(site.kit)
    share = above_mm(site, rate.high, furring.band_foot_mm(site.kit)) / max(rise, 1.0)
    fur = task_of(site, rate.id, bay=bay, amount=amount, high=amount * share)
    reason = "board goes over the strips"
    return Part(
        tasks=(fur,),
        links=follow(fur, *leads[bay.id]),
        leads={bay.id: (After(task=fur.id, reason=reason),)},
    )


def boarded(site: Site, leads: Leads, bay: Bay) -> Part:
    """Return the board of a bay, which the line marks follow."""
    board = task_of(
        site,
        "board",
        bay=bay,
        amount=behind_m2(site, bay),
        high=board_m2(site, "board", bay),
    )
    reason = "lines are marked on the new board"
    return Part(
        tasks=(board,),
        links=follow(board, *leads[bay.id]),
        leads={bay.id: (After(task=board.id, reason=reason),)},
    )


def strips_mm(site: Site, bay: Bay) -> tuple[float, ...]:
    """Return the length of each furring strip of a bay."""
    return furring.strips_mm(
        site.kit,
        ceiling_mm=site.stage.ceiling_mm,
        spacing_mm=site.stage.stud_spacing_mm,
        wall_mm=bay.floor_edge_mm,
        corner=bay.kind is BayKind.CORNER,
    )


def behind_m2(site: Site, bay: Bay) -> float:
    """Return the area of new board behind a bay, in m²."""
    return furring.board_m2(
        site.kit, ceiling_mm=site.stage.ceiling_mm, wall_mm=bay.floor_edge_mm
    )
