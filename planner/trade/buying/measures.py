"""What is measured of a bay or a task to know what it uses up, by name.

A measure gives lines, areas or counts of one bay in one task; those of several
lines (the two sides of a corner, each joint) stay apart, as what is spaced along
them begins anew on each. A measure of the whole task is not split by bays.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Protocol

from planner.trade.lifting.lifting import SINGLY
from planner.trade.parts import Site
from planner.trade.phases.repainting import covered_m
from planner.trade.phases.slab import tests
from planner.trade.recipes.backing.furred import behind_m2, strips_mm
from planner.trade.recipes.backing.plugged import fixings
from planner.trade.recipes.compound.coated import bed_m2
from planner.trade.recipes.fill.anchored import holes
from planner.trade.recipes.paint import one_colour, two_colours
from planner.trade.takeoff import Bay, BayKind, developed_mm, upright_developed_mm


class Doing(Protocol):
    """What is asked of a task, planned or not."""

    @property
    def id(self) -> str:
        """The task's id."""

    @property
    def phase(self) -> str:
        """The kind of task."""

    @property
    def bays(self) -> tuple[str, ...]:
        """The bays that it is done in."""

    @property
    def product(self) -> str | None:
        """The product that it lays."""

    @property
    def person_hours(self) -> float:
        """The work in it. [h]."""


Lines = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A measure with its unit in words: of a bay in a task, or of the whole task.

    `notes` says what is special about it in this room.
    """

    noun: str
    of_bay: Callable[[Site, Doing, Bay], Lines] | None = None
    of_task: Callable[[Site, Doing], float] | None = None
    notes: Callable[[Site], tuple[str, ...]] = lambda _site: ()


def _bolted(site: Site, task: Doing, bay: Bay) -> Lines:
    """Return the length of each joint that is bolted in a task, in m."""
    straight_m = developed_mm(site.kit) / 1000.0
    upright_m = upright_developed_mm(site.kit) / 1000.0
    match task.phase:
        case "join":
            return (straight_m,) * bay.module_joints
        case "join-uprights":
            return (upright_m,) * max(bay.upright_joints - 1, 0)
        case "set-corner":  # the uprights on the corner piece
            singly = site.methods.lifting == SINGLY
            return (upright_m,) * (
                bay.upright_joints if singly else min(bay.upright_joints, 1)
            )
        case _:  # a run pushed home to the corner pieces beside it
            corners = site.takeoff.of(BayKind.CORNER)
            beside = sum(bay.id in c.beside for c in corners)
            return (straight_m,) * (beside if bay.modules else 0)


def _wall_edge(_site: Site, _task: Doing, bay: Bay) -> Lines:
    sides = 2 if bay.kind is BayKind.CORNER else 1
    return (bay.wall_edge_mm / 1000.0 / sides,) * sides


def _backing(site: Site, _task: Doing, bay: Bay) -> Lines:
    pieces = site.takeoff.opening.backing
    return (sum(p.rect.area_m2 for p in pieces if p.bay == bay.id),)


def _strips(site: Site, _task: Doing, bay: Bay) -> Lines:
    """Return the furring strips of a bay, each by its length."""
    return tuple(length / 1000.0 for length in strips_mm(site, bay))


def _on_studs(site: Site, task: Doing, bay: Bay) -> Lines:
    """Return the strips that are screwed to studs; on masonry plugs hold them."""
    return () if site.stage.wall == "masonry" else _strips(site, task, bay)


def _wall(site: Site, _task: Doing, bay: Bay) -> Lines:
    return (bay.floor_edge_mm * site.stage.ceiling_mm * 1e-6,)


def _board(site: Site, _task: Doing, bay: Bay) -> Lines:
    return (behind_m2(site, bay),)


def _first_coat(_site: Site, task: Doing, bay: Bay) -> Lines:
    """Return the floor edge for the first coat; what is laid down then stays."""
    first = task.id.partition(".")[0].endswith("-1")
    return (bay.floor_edge_mm / 1000.0,) if first else ()


def _painted(site: Site, _task: Doing, bay: Bay) -> Lines:
    return (one_colour.coloured_m2(site, bay),)


def _primed(site: Site, _task: Doing, bay: Bay) -> Lines:
    """Return what is wiped of a bay before its first coat, the floor left out."""
    if site.repaint is not None:
        return (one_colour.repainted_m2(site.repaint, bay) - bay.floor_m2,)
    return (bay.primed_m2,)


def _covered_m(site: Site, _task: Doing) -> float:
    return covered_m(site)


def _in_fumes(site: Site, task: Doing) -> float:
    """Return the people that the largest team of a task has, if it gives off fumes."""
    product = site.products.get(task.product or "")
    if product is None or not product.fumes:
        return 0.0
    return max(team.size for team in site.rates[task.phase].teams)


def _masked_m(site: Site, task: Doing) -> float:
    return two_colours.edge_m(
        site, tuple(b for b in site.takeoff.bays if b.id in task.bays)
    )


def _taped(kind: str) -> Callable[[Site, Doing, Bay], Lines]:
    """Return the measure of what is taped in a bay with one kind of tape."""

    def lines(site: Site, _task: Doing, bay: Bay) -> Lines:
        return (bay.joints_mm / 1000.0,) if site.methods.tape == kind else ()

    return lines


def _free_ends(site: Site, _task: Doing, bay: Bay) -> Lines:
    """Return the edge of each piece that closes a free end, along the face, in m."""
    return (developed_mm(site.kit) / 1000.0,) * bay.free_ends


def _straight_modules(site: Site, _task: Doing) -> float:
    return float(sum(b.modules - b.corner_pieces for b in site.takeoff.built))


def _cut_modules(site: Site) -> tuple[str, ...]:
    """Return which of the modules are cut, run by run."""
    return tuple(f"{b.name}: {b.cut_words}" for b in site.takeoff.built if b.cut_words)


MEASURES: Mapping[str, Measure] = {
    "bolted joint": Measure(noun="m of bolted joint", of_bay=_bolted),
    "wall edge": Measure(noun="m of wall edge", of_bay=_wall_edge),
    "front edge": Measure(
        noun="m of front edge", of_bay=lambda _s, _t, b: (b.front_edge_mm / 1000.0,)
    ),
    "first-coat floor edge": Measure(noun="m of wall, first coat", of_bay=_first_coat),
    "floor hole": Measure(noun="hole", of_bay=lambda s, _t, b: (holes(s, b),)),
    "masonry fixing": Measure(noun="fixing", of_bay=lambda s, _t, b: (fixings(s, b),)),
    "floor edge": Measure(
        noun="m of wall", of_bay=lambda _s, _t, b: (b.floor_edge_mm / 1000.0,)
    ),
    "backing": Measure(noun="m² of backing", of_bay=_backing),
    "backing strip": Measure(
        noun="m of backing strip", of_bay=lambda _s, _t, b: (b.opening_mm / 1000.0,)
    ),
    "wall": Measure(noun="m² of wall", of_bay=_wall),
    "board behind": Measure(noun="m² of board", of_bay=_board),
    "furring strip": Measure(noun="m of strip", of_bay=_strips),
    "furring strip on studs": Measure(noun="m of strip", of_bay=_on_studs),
    "joint": Measure(
        noun="m of joint", of_bay=lambda _s, _t, b: (b.joints_mm / 1000.0,)
    ),
    "joint in paper": Measure(noun="m of joint", of_bay=_taped("paper")),
    "joint in mesh": Measure(noun="m of joint", of_bay=_taped("mesh")),
    "bed under tape": Measure(
        noun="m² of bed under tape", of_bay=lambda _s, _t, b: (bed_m2(b),)
    ),
    "feathered joint": Measure(
        noun="m² of joint, feathered", of_bay=lambda _s, _t, b: (b.feather_m2,)
    ),
    "face": Measure(noun="m² of face", of_bay=lambda _s, _t, b: (b.face_m2,)),
    "primed": Measure(noun="m² primed", of_bay=_primed),
    "sanded face": Measure(noun="m² of face", of_bay=lambda _s, _t, b: (b.sanded_m2,)),
    "floor": Measure(noun="m² of floor", of_bay=lambda _s, _t, b: (b.floor_m2,)),
    "painted": Measure(noun="m² painted", of_bay=_painted),
    "straight module": Measure(
        noun="module", of_task=_straight_modules, notes=_cut_modules
    ),
    "corner piece": Measure(
        noun="piece",
        of_task=lambda s, _t: float(sum(b.corner_pieces for b in s.takeoff.built)),
    ),
    "upright": Measure(
        noun="module",
        of_task=lambda s, _t: float(sum(b.uprights for b in s.takeoff.built)),
    ),
    "free end": Measure(noun="end", of_bay=lambda _s, _t, b: (float(b.free_ends),)),
    "free end's edge": Measure(noun="m of edge", of_bay=_free_ends),
    "slab test": Measure(noun="test of the slab", of_task=lambda s, _t: tests(s)),
    "covered edge": Measure(noun="m of covered edge", of_task=_covered_m),
    "masked edge": Measure(noun="m of masked edge", of_task=_masked_m),
    "person-hour": Measure(
        noun="person-hour", of_task=lambda _s, task: task.person_hours
    ),
    "person in fumes": Measure(noun="person in fumes", of_task=_in_fumes),
}
