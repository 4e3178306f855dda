"""The room and the kit become counts, lengths, areas and volumes, bay by bay."""

from dataclasses import dataclass
from enum import StrEnum

from planner.nouns.job import Job
from planner.nouns.told.saying import Saying, alone, name, saying
from planner.trade.geometry import floor, surfaces
from planner.trade.geometry.furring import FEATHER_MM, Seam, board_seams
from planner.trade.geometry.layout import Column, Layout, column_of, laid_out
from planner.trade.geometry.surfaces import developed_mm, upright_developed_mm
from planner.trade.opening import opening
from planner.trade.opening.nouns import NO_OPENING, OpeningPlan
from planner.trade.opening.seams import backing_seams

__all__ = [
    "FEATHER_MM",
    "Bay",
    "BayKind",
    "TakeOff",
    "developed_mm",
    "take_off",
    "upright_developed_mm",
]


class BayKind(StrEnum):
    """What a bay is made of."""

    RUN = "run"
    CORNER = "corner"
    APRON = "apron"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bay:
    """A stretch that is worked and dries as one, with what is to be done in it.

    A corner also takes the joints between its piece and the runs beside it
    (`beside`: their bay ids). Where strips of compound beyond the edges of a corner
    and of a run would overlap, they are the corner's.
    """

    id: str
    named: Saying
    kind: BayKind
    beside: tuple[str, ...] = ()
    # pieces
    modules: int = 0  # straight modules, the cut one among them; in a corner its piece
    whole_modules: int = 0
    cut_mm: tuple[float, ...] = ()  # the widths of those that are cut
    cut: Saying | None = None  # what is cut, and why so
    free_ends: int = 0  # ends of a cove that stand open in the room, closed by a piece
    gap_mm: float = 0.0  # less than an inch, left at a free end or closed
    corner_pieces: int = 0
    uprights: int = 0
    trimmed_upright_mm: float = 0.0  # the height of the upper one, 0: none is cut
    upright_gap_mm: float = 0.0  # less than an inch, left under the ceiling
    # joints and edges
    module_joints: int = 0  # along the developed cove; in a corner those to the runs
    upright_joints: int = 0  # across the uprights, the corner piece's top among them
    across_mm: float = 0.0  # the length of all those joints
    wall_edge_mm: float = 0.0
    front_edge_mm: float = 0.0  # where pieces end on the floor
    seams: tuple[Seam, ...] = ()  # of the backing, or of new board, in the wall
    joints_mm: float = 0.0  # all that is taped: joints, edges and seams
    floor_edge_mm: float = 0.0  # the wall behind the bay, along the floor
    # areas and volumes
    module_m2: float = 0.0  # the face that is coated, a closed gap among it
    sanded_m2: float = 0.0  # the faces of the pieces themselves
    ends_m2: float = 0.0  # the pieces that close free ends
    wall_above_m2: float = 0.0
    wall_strip_m2: float = 0.0  # compound beyond the wall edge
    floor_strip_m2: float = 0.0  # compound beyond the front edge
    footprint_m2: float = 0.0  # the floor that the pieces stand over
    hollow_l: float = 0.0  # between the faces and wall and floor
    floor_m2: float = 0.0  # the apron
    # opening, none where the wall isn't opened
    opening_mm: float = 0.0  # the length of its strips of backing
    opening_m2: float = 0.0  # the board taken out

    @property
    def name(self) -> str:
        """What it is called."""
        return self.named.text

    @property
    def cut_words(self) -> str:
        """What is cut, and why so; nothing where all modules are whole."""
        return self.cut.text if self.cut else ""

    @property
    def feather_m2(self) -> float:
        """The area that compound covers: joints and edges, feathered both sides.

        A seam close to an edge adds only what the edge's own compound leaves bare.
        """
        edges_mm = self.joints_mm - self.seams_mm
        return edges_mm * 2 * FEATHER_MM * 1e-6 + sum(s.m2 for s in self.seams)

    @property
    def face_m2(self) -> float:
        """The area from the front edge to the ceiling, free ends among it."""
        return self.module_m2 + self.ends_m2 + self.wall_above_m2

    @property
    def primed_m2(self) -> float:
        """All that takes primer: the face, and the compound that lies on the floor."""
        return self.face_m2 + self.floor_strip_m2

    @property
    def seams_mm(self) -> float:
        """The length of all seams in the wall."""
        return sum(s.length_mm for s in self.seams)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeOff:
    """All bays in the order of the room, the apron last, and the wall's opening."""

    bays: tuple[Bay, ...]
    opening: OpeningPlan = NO_OPENING

    def of(self, kind: BayKind) -> tuple[Bay, ...]:
        """Return the bays of one kind."""
        return tuple(b for b in self.bays if b.kind == kind)

    @property
    def built(self) -> tuple[Bay, ...]:
        """The bays that modules stand in: corners and runs, in the order of the room."""
        return tuple(b for b in self.bays if b.kind != BayKind.APRON)

    @property
    def wall_above_m2(self) -> float:
        """The area of wall between the coves and the ceiling."""
        return sum(b.wall_above_m2 for b in self.bays)

    @property
    def apron_m2(self) -> float:
        """The area of the floor in front."""
        return sum(b.floor_m2 for b in self.bays)


def corner_ids(count: int) -> tuple[str, ...]:
    """Return the ids of so many corners' bays, in the order of the room."""
    return ("corner",) if count == 1 else tuple(f"corner-{n + 1}" for n in range(count))


def take_off(job: Job, *, ids: tuple[str, ...]) -> TakeOff:
    """Return the bays of the job's room; `ids` names the runs, in order."""
    stage, kit = job.stage, job.kit
    corners = stage.corners
    own_ids = corner_ids(len(corners))
    plan = opening.opening_plan(job, own_ids, ids)
    layouts = tuple(laid_out(stage, kit, i) for i in range(len(ids)))
    column = column_of(stage, kit) if corners else None
    bays: list[Bay] = []
    for i, run_id in enumerate(ids):
        bays.append(_run(job, layouts[i], run_id, stage.runs[i].name, plan))
        if column is not None and i in corners:
            between = saying(
                "corner {one}/{two}",
                name("one", stage.runs[i].name),
                name("two", stage.runs[i + 1].name),
            )
            bays.append(
                _corner(
                    job,
                    column,
                    layouts[i : i + 2],
                    own_ids[corners.index(i)],
                    saying("corner") if len(corners) == 1 else between,
                    (run_id, ids[i + 1]),
                    plan,
                )
            )
    bays.append(
        Bay(
            id="apron",
            named=saying("apron"),
            kind=BayKind.APRON,
            floor_m2=floor.apron_mm2(stage, kit) * 1e-6,
        )
    )
    return TakeOff(bays=tuple(bays), opening=plan)


def _run(job: Job, layout: Layout, id_: str, called: str, plan: OpeningPlan) -> Bay:
    kit, ceiling = job.kit, job.stage.ceiling_mm
    cove, across = layout.cove_mm, developed_mm(kit)
    made = cove - layout.gap_mm if layout.closed else cove
    above = max(ceiling - kit.straight_height_mm, 0.0)
    bare = max(cove - FEATHER_MM * layout.corners, 0.0)
    seams = _seams(job, plan, id_, cove)
    return Bay(
        id=id_,
        named=alone(name("name", called)),
        kind=BayKind.RUN,
        modules=layout.modules,
        whole_modules=layout.whole,
        cut_mm=tuple(c.width_mm for c in layout.cuts),
        cut=layout.cut(job.units),
        free_ends=layout.free_ends,
        gap_mm=layout.gap_mm,
        module_joints=layout.joints,
        across_mm=layout.joints * across,
        wall_edge_mm=cove,
        front_edge_mm=cove,
        seams=seams,
        joints_mm=(layout.joints + layout.free_ends) * across
        + 2.0 * cove
        + sum(s.length_mm for s in seams),
        floor_edge_mm=cove,
        module_m2=across * cove * 1e-6,
        sanded_m2=across * made * 1e-6,
        ends_m2=layout.free_ends * surfaces.end_m2(kit),
        wall_above_m2=cove * above * 1e-6,
        wall_strip_m2=bare * min(FEATHER_MM, above) * 1e-6,
        floor_strip_m2=bare * FEATHER_MM * 1e-6,
        footprint_m2=cove * kit.straight_height_mm * 1e-6,
        hollow_l=surfaces.straight_hollow_l(kit, cove),
        opening_mm=plan.opened_mm(id_),
        opening_m2=plan.opened_m2(id_),
    )


def _corner(
    job: Job,
    column: Column,
    runs: tuple[Layout, ...],
    id_: str,
    named: Saying,
    beside: tuple[str, str],
    plan: OpeningPlan,
) -> Bay:
    kit, ceiling = job.kit, job.stage.ceiling_mm
    to_runs = sum(r.modules > 0 for r in runs)
    over = max(ceiling - kit.corner_height_mm, 0.0)
    across = to_runs * developed_mm(kit) + column.joints * upright_developed_mm(kit)
    sides = 2.0 * max(ceiling - kit.straight_height_mm, 0.0)
    front = 2.0 * max(kit.corner_leg_mm - kit.straight_height_mm, 0.0)
    strips = [_strip_mm(r) for r in runs]
    face = surfaces.corner_piece_m2(kit) + upright_developed_mm(kit) * over * 1e-6
    missing = upright_developed_mm(kit) * column.gap_mm * 1e-6
    seams = backing_seams(plan, id_)
    return Bay(
        id=id_,
        named=named,
        kind=BayKind.CORNER,
        beside=beside,
        modules=1,
        corner_pieces=1,
        uprights=column.uprights,
        trimmed_upright_mm=column.trimmed_mm,
        upright_gap_mm=column.gap_mm,
        module_joints=to_runs,
        upright_joints=column.joints,
        across_mm=across,
        wall_edge_mm=sides,
        front_edge_mm=front,
        seams=seams,
        joints_mm=across + sides + front + sum(s.length_mm for s in seams),
        floor_edge_mm=2.0 * kit.corner_leg_mm,
        module_m2=face,
        sanded_m2=face - missing,
        wall_strip_m2=sum(strips) * sides / 2.0 * 1e-6,
        floor_strip_m2=(front / 2.0 * sum(strips) + strips[0] * strips[1]) * 1e-6,
        footprint_m2=kit.corner_leg_mm**2 * 1e-6,
        hollow_l=surfaces.corner_hollow_l(kit) + surfaces.upright_hollow_l(kit, over),
        opening_mm=plan.opened_mm(id_),
        opening_m2=plan.opened_m2(id_),
    )


def _seams(job: Job, plan: OpeningPlan, id_: str, cove_mm: float) -> tuple[Seam, ...]:
    """Return the seams in the wall above a run, of its backing or of new board."""
    if job.methods.backing == "furred":
        return board_seams(job.kit, ceiling_mm=job.stage.ceiling_mm, wall_mm=cove_mm)
    return backing_seams(plan, id_)


def _strip_mm(run: Layout) -> float:
    """Return how far a corner's compound reaches into a run: 5 in, if there's room."""
    return min(FEATHER_MM, run.cove_mm / run.corners)
