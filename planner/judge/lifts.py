"""How many people each lift takes, by the revised NIOSH equation, written out once more.

Pieces are as heavy for their face as a straight module; they are held flat against the
body and lifted from the floor, a column of uprights onto the corner piece. At least two
lift, as the pieces are bulky; four find room around one.

Waters, Putz-Anderson and Garg, DHHS (NIOSH) 94-110: 23 kg, H = 25 + W/2 cm, a lift a
minute (0.94), a fair grip (0.95 below 75 cm).
"""

import math
from collections.abc import Iterator

from planner.judge.case import JudgedPlan
from planner.judge.methods import CUT_FROM_MM, Room
from planner.nouns.job import Kit

KNUCKLES_CM = 75.0
PAIR, MOST = 2, 4


def least(case: JudgedPlan, room: Room) -> dict[tuple[str, str], int]:
    """Return the least team for each kind of work that lifts, by its bay.

    Work of no bay stands under an empty one. What no four people can lift counts as
    four: such a job is refused before it is planned.
    """
    out: dict[tuple[str, str], int] = {}
    for work, bay, people in _lifts(case, room):
        for place in (bay, ""):
            out[work, place] = max(out.get((work, place), 0), people)
    return out


def _lifts(case: JudgedPlan, room: Room) -> Iterator[tuple[str, str, int]]:
    """Yield every lift: the kind of work, the bay, how many people it takes."""
    kit, how = case.job.kit, case.job.methods.lifting
    r, deep_cm = kit.radius_mm, _deep_cm(kit)
    lip = kit.straight_height_mm - r
    straight_m2 = (math.pi * r / 2.0 + 2.0 * lip) * kit.module_width_mm
    kg_per_mm2 = kit.module_mass_kg / straight_m2
    leg, top = kit.corner_leg_mm - r, max(kit.corner_height_mm - r, 0.0)
    corner_mm2 = math.pi * r * r / 2.0 + math.pi * r * (2.0 * leg + top) / 2.0
    corner_kg = kg_per_mm2 * (corner_mm2 + leg * leg + 2.0 * leg * top)
    kg_per_mm = kg_per_mm2 * (math.pi * r / 2.0 + 2.0 * leg)  # of an upright

    def people(kg: float, deep: float, up_cm: float) -> int:
        limit = _limit_kg(deep, up_cm)
        found = next((n for n in range(PAIR, MOST + 1) if kg / n <= limit), MOST)
        return PAIR if how == "hoist" else found

    for run in room.runs:
        for work in ("intake", "join", "set"):
            yield work, run, people(kit.module_mass_kg, deep_cm, KNUCKLES_CM)
    if not room.corners:
        return
    column_mm = case.job.stage.ceiling_mm - kit.corner_height_mm
    whole = math.floor(column_mm / kit.upright_height_mm + 1e-9)
    rest_mm = column_mm - whole * kit.upright_height_mm
    if rest_mm < CUT_FROM_MM:  # left open under the ceiling
        column_mm -= rest_mm
    for corner, _ in room.corners:
        for work in ("intake", "set-corner"):
            yield work, corner, people(corner_kg, _corner_deep_cm(kit), KNUCKLES_CM)
        if column_mm < CUT_FROM_MM:
            continue
        upright_kg = kg_per_mm * kit.upright_height_mm
        single = how == "singly"
        for work in ("intake", "set-corner" if single else "join-uprights"):
            yield work, corner, people(upright_kg, deep_cm, KNUCKLES_CM)
        lifted_kg = upright_kg if single else kg_per_mm * column_mm
        up_cm = kit.corner_height_mm / 10.0
        yield "set-corner", corner, people(lifted_kg, deep_cm, up_cm)


def _limit_kg(deep_cm: float, up_cm: float) -> float:
    """Return what one person may lift, the lower of the lift's two ends. [kg]."""
    near = 25.0 + deep_cm / 2.0
    distance = min(0.82 + 4.5 / max(up_cm, 25.0), 1.0)
    out = []
    for hands_cm, height_cm in ((near, 0.0), (max(near - 5.0, 25.0), up_cm)):
        if hands_cm > 63.0 or height_cm > 175.0 or up_cm > 175.0:
            return 0.0
        grip = 1.0 if height_cm >= KNUCKLES_CM else 0.95
        vertical = 1.0 - 0.003 * abs(height_cm - KNUCKLES_CM)
        out.append(23.0 * (25.0 / hands_cm) * vertical * distance * 0.94 * grip)
    return min(out)


def _deep_cm(kit: Kit) -> float:
    """Return how far a straight module stands out from the line between its edges."""
    edge = kit.straight_height_mm
    middle = kit.radius_mm - kit.radius_mm / math.sqrt(2.0)  # of the arc, from both
    return (edge - 2.0 * middle) / math.sqrt(2.0) / 10.0


def _corner_deep_cm(kit: Kit) -> float:
    """Return the same of a corner piece, along the line that leaves its corner."""
    middle = kit.radius_mm - kit.radius_mm / math.sqrt(3.0)
    far = kit.corner_leg_mm + max(kit.corner_leg_mm, kit.corner_height_mm)
    return (far - 3.0 * middle) / math.sqrt(3.0) / 10.0
