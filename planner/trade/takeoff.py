"""The room and the kit become counts, lengths and areas, bay by bay.

The curved surface is taken as a box corner rounded with the kit's radius: along
a run a quarter cylinder with a flat lip up the wall and one out on the floor; in
an inside corner an eighth of a sphere, three quarter cylinders of the lip's length
and three lip squares; above it an upright quarter cylinder with its lips.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from planner.records import Job, Kit, Run, Stage

FEATHER_MM = 127.0  # 5 in beyond each edge; common practice, no source
CUT_FROM_MM = 25.0  # a rest below an inch is closed with compound, not a module


class BayKind(StrEnum):
    """What a bay is made of."""

    RUN = "run"
    CORNER = "corner"
    APRON = "apron"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bay:
    """A stretch that is worked and dries as one, with what is to be done in it.

    `joints_mm` is the length of all joints taped in the bay: between its pieces,
    and along its wall and floor edges. A corner also takes the joints between its
    piece and the runs beside it (`beside`: their bay ids).
    """

    id: str
    name: str
    kind: BayKind
    beside: tuple[str, ...] = ()
    modules: int = 0
    cut_module_mm: float = 0.0
    uprights: int = 0
    wall_edge_mm: float = 0.0
    floor_edge_mm: float = 0.0
    opening_m2: float = 0.0
    joints_mm: float = 0.0
    module_m2: float = 0.0
    wall_above_m2: float = 0.0
    floor_m2: float = 0.0

    @property
    def feather_m2(self) -> float:
        """The area that compound covers: joints and edges, feathered both sides."""
        return self.joints_mm * 2 * FEATHER_MM * 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeOff:
    """All bays in the order of the room, the apron last."""

    bays: tuple[Bay, ...]

    def of(self, kind: BayKind) -> tuple[Bay, ...]:
        """Return the bays of one kind."""
        return tuple(b for b in self.bays if b.kind == kind)

    @property
    def built(self) -> tuple[Bay, ...]:
        """The bays that modules stand in: corners and runs, in the order of the room."""
        return tuple(b for b in self.bays if b.kind != BayKind.APRON)

    @property
    def faced_m2(self) -> float:
        """The area of all coves, corner pieces and uprights."""
        return sum(b.module_m2 for b in self.bays)

    @property
    def wall_above_m2(self) -> float:
        """The area of wall between the coves and the ceiling."""
        return sum(b.wall_above_m2 for b in self.bays)

    @property
    def apron_m2(self) -> float:
        """The area of the floor in front."""
        return sum(b.floor_m2 for b in self.bays)


def developed_mm(kit: Kit) -> float:
    """Return the length of a straight module's face across the cove, lips included."""
    lips = 2 * (kit.straight_height_mm - kit.radius_mm)
    return math.pi / 2 * kit.radius_mm + lips


def corner_piece_m2(kit: Kit) -> float:
    """Return the area of a corner piece's face (the rounded box corner)."""
    r, lip = kit.radius_mm, max(kit.corner_leg_mm - kit.radius_mm, 0.0)
    sphere = math.pi * r * r / 2
    cylinders = 3 * math.pi / 2 * r * lip
    return (sphere + cylinders + 3 * lip * lip) * 1e-6


def upright_developed_mm(kit: Kit) -> float:
    """Return the length of an upright corner module's face across the corner."""
    lip = max(kit.corner_leg_mm - kit.radius_mm, 0.0)
    return math.pi / 2 * kit.radius_mm + 2 * lip


def _run(stage: Stage, kit: Kit, index: int, bay_id: str) -> Bay:
    run: Run = stage.runs[index]
    legs = kit.corner_leg_mm * ((index in stage.corners) + (index - 1 in stage.corners))
    fill = run.length_mm - legs
    whole, rest = divmod(fill, kit.module_width_mm)
    cut = rest if rest >= CUT_FROM_MM else 0.0
    modules = int(whole) + (cut > 0)
    across = developed_mm(kit) * max(modules - 1, 0)
    return Bay(
        id=bay_id,
        name=run.name,
        kind=BayKind.RUN,
        modules=modules,
        cut_module_mm=cut,
        wall_edge_mm=fill,
        floor_edge_mm=fill,
        joints_mm=across + 2 * fill,
        module_m2=developed_mm(kit) * fill * 1e-6,
        wall_above_m2=fill * (stage.ceiling_mm - kit.straight_height_mm) * 1e-6,
        opening_m2=fill * STRIP_MM * 1e-6,
    )


STRIP_MM = 152.4  # 6 in of board out: 35 1/2 in up, at least 4 in; common practice


def _corner(
    stage: Stage, kit: Kit, bay_id: str, beside: tuple[str, str], name: str
) -> Bay:
    column = stage.ceiling_mm - kit.corner_height_mm
    uprights = math.ceil(column / kit.upright_height_mm - 1e-9)
    edges = 2 * kit.corner_leg_mm
    to_runs = 2 * developed_mm(kit)
    across = uprights * upright_developed_mm(kit)
    return Bay(
        id=bay_id,
        name=name,
        kind=BayKind.CORNER,
        beside=beside,
        modules=1,
        uprights=uprights,
        wall_edge_mm=2 * column,
        floor_edge_mm=edges,
        joints_mm=to_runs + across + 2 * column + edges,
        module_m2=corner_piece_m2(kit) + upright_developed_mm(kit) * column * 1e-6,
        opening_m2=2 * kit.corner_leg_mm * (column + STRIP_MM) * 1e-6,
    )


def take_off(job: Job, *, ids: tuple[str, ...]) -> TakeOff:
    """Return the bays of the job's room; `ids` names the runs, in order."""
    stage, kit = job.stage, job.kit
    corners = stage.corners
    bays: list[Bay] = []
    for i, run_id in enumerate(ids):
        bays.append(_run(stage, kit, i, run_id))
        if i in corners:
            beside = (run_id, ids[i + 1])
            only = len(corners) == 1
            bay_id = "corner" if only else f"corner-{corners.index(i) + 1}"
            runs = f"{stage.runs[i].name}/{stage.runs[i + 1].name}"
            name = "corner" if only else f"corner {runs}"
            bays.append(_corner(stage, kit, bay_id, beside, name))
    length = sum(r.length_mm for r in stage.runs)
    overlap = len(corners) * stage.apron_mm**2
    apron = length * stage.apron_mm - overlap
    bays.append(
        Bay(
            id="apron",
            name="apron",
            kind=BayKind.APRON,
            floor_m2=max(apron, 0.0) * 1e-6,
        )
    )
    return TakeOff(bays=tuple(bays))
