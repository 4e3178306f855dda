"""The faces of the kit's pieces: lengths, areas, hollows, for any kit.

The surface assumed is a box corner rounded with one radius r. A straight module is a
quarter cylinder with a flat lip up the wall and one as long out on the floor. A
corner piece is an eighth of a sphere where floor and both walls meet, a quarter
cylinder along each of the three edges that leave it, and a flat lip on each of the
three faces; in plan it is a square of its legs. An upright corner module is a quarter
cylinder with a flat lip on each wall. Modules are thin: their faces are what counts,
and the hollow behind is measured to the face.
"""

import math

from planner.nouns.job import Kit

MM2_PER_M2 = 1e6
MM3_PER_L = 1e6
_QUARTER_ARC = math.pi / 2.0


def developed_mm(kit: Kit) -> float:
    """Return the length of a straight module's face across the cove, lips included."""
    return _QUARTER_ARC * kit.radius_mm + 2.0 * straight_lip_mm(kit)


def straight_lip_mm(kit: Kit) -> float:
    """Return the flat part of a straight module, up the wall and out on the floor."""
    return max(kit.straight_height_mm - kit.radius_mm, 0.0)


def corner_lip_mm(kit: Kit) -> float:
    """Return the flat part of a corner piece along each wall, on floor and wall."""
    return max(kit.corner_leg_mm - kit.radius_mm, 0.0)


def upright_developed_mm(kit: Kit) -> float:
    """Return the length of an upright corner module's face across the corner."""
    return _QUARTER_ARC * kit.radius_mm + 2.0 * corner_lip_mm(kit)


def corner_piece_m2(kit: Kit) -> float:
    """Return the area of a corner piece's face (the rounded box corner).

    With r the radius, a the lip along each wall and b the lip up the corner:
    πr²/2 + πr(2a + b)/2 + a² + 2ab.
    """
    r, a = kit.radius_mm, corner_lip_mm(kit)
    b = _corner_top_lip_mm(kit)
    sphere = math.pi * r * r / 2.0
    cylinders = _QUARTER_ARC * r * (2.0 * a + b)
    return (sphere + cylinders + a * a + 2.0 * a * b) / MM2_PER_M2


def end_m2(kit: Kit) -> float:
    """Return the area of a piece that closes a free end: behind the arc, to the walls."""
    return _behind_arc_mm2(kit) / MM2_PER_M2


def straight_hollow_l(kit: Kit, length_mm: float) -> float:
    """Return the volume between straight modules' faces, the wall and the floor."""
    return _behind_arc_mm2(kit) * length_mm / MM3_PER_L


def corner_hollow_l(kit: Kit) -> float:
    """Return the volume between a corner piece's face, both walls and the floor."""
    r = kit.radius_mm
    sphere = r**3 * (1.0 - math.pi / 6.0)
    edges = 2.0 * corner_lip_mm(kit) + _corner_top_lip_mm(kit)
    return (sphere + _behind_arc_mm2(kit) * edges) / MM3_PER_L


def upright_hollow_l(kit: Kit, height_mm: float) -> float:
    """Return the volume between upright modules' faces and both walls."""
    return _behind_arc_mm2(kit) * height_mm / MM3_PER_L


def held_depth_mm(kit: Kit) -> float:
    """Return how far a straight module bulges from the line between its two edges."""
    middle = kit.radius_mm * (1.0 - math.sqrt(0.5))
    return (straight_lip_mm(kit) + kit.radius_mm - 2.0 * middle) * math.sqrt(0.5)


def _corner_top_lip_mm(kit: Kit) -> float:
    return max(kit.corner_height_mm - kit.radius_mm, 0.0)


def _behind_arc_mm2(kit: Kit) -> float:
    return kit.radius_mm**2 * (1.0 - math.pi / 4.0)
