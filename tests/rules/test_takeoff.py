"""The take-off of ten rooms against the room itself, measured another way.

Tests of planner/trade/geometry/floor.py, planner/trade/geometry/furring.py,
planner/trade/geometry/layout.py, planner/trade/takeoff.py.
"""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.measures import Units
from planner.trade.geometry.layout import laid_out
from planner.trade.takeoff import FEATHER_MM, BayKind
from tests.support.rooms import FEET_KIT, ROOMS, Room, measured

EVERY = pytest.mark.parametrize("room", ROOMS, ids=lambda r: r.name)
Box = tuple[float, float, float, float]  # left, right, bottom, top


def scanned_mm2(boxes: list[Box], without: list[Box], step: float = 1.0) -> float:
    """Return the area of boxes less others, by lines a mm apart across them."""
    low, high = min(b[0] for b in boxes), max(b[1] for b in boxes)
    count = math.ceil((high - low) / step)
    step = (high - low) / count
    total = 0.0
    for n in range(count):
        x = low + (n + 0.5) * step
        ins = [(b[2], b[3]) for b in boxes if b[0] <= x < b[1]]
        outs = [(b[2], b[3]) for b in without if b[0] <= x < b[1]]
        total += step * (length(ins + outs) - length(outs))
    return total


def length(spans: list[tuple[float, float]]) -> float:
    """Return the length that spans cover together."""
    total, reached = 0.0, -math.inf
    for low, high in sorted(spans):
        total += max(high - max(low, reached), 0.0)
        reached = max(reached, high)
    return total


def bay(takeoff, id_):
    return next(b for b in takeoff.bays if b.id == id_)


def corner_count(room: Room, run: int) -> int:
    return (run in room.corners) + (run - 1 in room.corners)


# ------------------------------------------------------------------- pieces


@EVERY
def test_pieces_fill_each_run_from_end_to_end(tmp_path, room):
    job, takeoff = measured(tmp_path, room)
    kit = job.kit
    for i, id_ in enumerate(room.ids):
        b = bay(takeoff, id_)
        pieces = b.whole_modules * kit.module_width_mm + sum(b.cut_mm) + b.gap_mm
        legs = corner_count(room, i) * kit.corner_leg_mm
        assert pieces + legs == pytest.approx(job.stage.runs[i].length_mm)
        assert all(25.4 <= cut < kit.module_width_mm for cut in b.cut_mm)
        assert b.gap_mm < 25.4
        assert not (b.cut_mm and b.gap_mm)
        assert b.modules == b.whole_modules + len(b.cut_mm)
        if b.modules > 1:  # no sliver stands beside others
            assert all(cut >= kit.least_cut_mm for cut in b.cut_mm)
        assert b.free_ends == (2 - corner_count(room, i)) * (b.modules > 0)


@EVERY
def test_uprights_reach_from_the_corner_piece_to_the_ceiling(tmp_path, room):
    job, takeoff = measured(tmp_path, room)
    kit = job.kit
    corners = takeoff.of(BayKind.CORNER)
    assert len(corners) == len(room.corners)
    for b in corners:
        whole = b.uprights - (b.trimmed_upright_mm > 0)
        column = whole * kit.upright_height_mm + b.trimmed_upright_mm + b.upright_gap_mm
        assert kit.corner_height_mm + column == pytest.approx(job.stage.ceiling_mm)
        assert b.corner_pieces == 1


def test_one_corner_worked_by_hand(tmp_path):
    # 24 ft less 41 1/2 in is 246 1/2 in: five of 48 and one cut to 6 1/2; 18 ft less as
    # much is 174 1/2: three and one cut to 30 1/2. 136 less 41 1/2 is 94 1/2 in: an
    # upright of 48 and one trimmed to 46 1/2.
    _, takeoff = measured(tmp_path, ROOMS[2])
    one, corner, two, _ = takeoff.bays
    assert (one.whole_modules, two.whole_modules) == (5, 3)
    assert [v / 25.4 for v in one.cut_mm] == pytest.approx([6.5])
    assert [v / 25.4 for v in two.cut_mm] == pytest.approx([30.5])
    assert (one.free_ends, two.free_ends, corner.free_ends) == (1, 1, 0)
    assert corner.uprights == 2
    assert corner.trimmed_upright_mm / 25.4 == pytest.approx(46.5)
    assert (one.module_joints, corner.module_joints, corner.upright_joints) == (5, 2, 2)
    # edges: the column's two sides above 37 1/2, and a step of 4 in on the floor twice
    assert corner.wall_edge_mm / 25.4 == pytest.approx(2 * (136 - 37.5))
    assert corner.front_edge_mm / 25.4 == pytest.approx(2 * 4)


@pytest.mark.parametrize(
    ("rest", "whole", "cut", "gap"),
    [
        (0, 5, [], 0),
        (25, 5, [], 25),  # under an inch
        (26, 4, [613, 613], 0),  # (1200 + 26) / 2 for a sliver of 26
        (152, 4, [676, 676], 0),  # under 6 in (152.4)
        (153, 5, [153], 0),
    ],
)
def test_a_rest_is_a_gap_or_a_cut_module_and_never_a_sliver(
    tmp_path, rest, whole, cut, gap
):
    room = replace(ROOMS[1], runs=(f"{6000 + rest} mm",))
    job, takeoff = measured(tmp_path, room)
    b = bay(takeoff, "r1")
    assert (b.whole_modules, b.gap_mm) == (whole, pytest.approx(gap))
    assert list(b.cut_mm) == pytest.approx(cut)
    # at a free end the backdrop ends before the gap
    assert b.wall_edge_mm == pytest.approx(6000 + rest - gap)
    if len(cut) == 2:  # the modules shift: a piece at each of the two free ends
        layout = laid_out(job.stage, job.kit, 0)
        assert [c.left_mm for c in layout.cuts] == pytest.approx(
            [0, 6000 + rest - cut[1]]
        )
        assert f"leave a sliver of {job.units.length(rest)}" in b.cut_words
        assert "one at each end" in b.cut_words


def test_beside_a_corner_and_between_two_the_cut_pieces_stand_side_by_side(tmp_path):
    # 24 ft 1 in less 41 1/2 in is 247 1/2: five of 48 and 7 1/2 over; with a least cut
    # of 8 in it is four of 48 and two of (48 + 7 1/2) / 2 = 27 3/4 at the free left end.
    room = replace(
        ROOMS[2], runs=("24 ft 1 in", "18 ft"), kit=FEET_KIT + 'least_cut = "8 in"\n'
    )
    job, takeoff = measured(tmp_path, room)
    layout = laid_out(job.stage, job.kit, 0)
    assert layout.whole == 4
    assert [c.width_mm / 25.4 for c in layout.cuts] == pytest.approx([27.75, 27.75])
    assert [c.left_mm for c in layout.cuts] == pytest.approx([0, 27.75 * 25.4])
    assert "side by side" in takeoff.bays[0].cut_words
    # Two legs of 1 m and 2 modules of 1.2 m in 4.5 m leave 100 mm: one whole, two of 650.
    between = replace(ROOMS[6], runs=("4.4 m", "4.5 m", "4.4 m"))
    job, _ = measured(tmp_path, between)
    layout = laid_out(job.stage, job.kit, 1)
    assert layout.whole == 1
    assert [c.width_mm for c in layout.cuts] == pytest.approx([650, 650])
    assert [c.left_mm for c in layout.cuts] == pytest.approx([2200, 2850])
    assert layout.seams_mm == pytest.approx((2200, 2850))


def test_a_sliver_that_stands_alone_is_no_whole_modules_share(tmp_path):
    room = replace(ROOMS[6], runs=("4.4 m", "2.1 m", "4.4 m"))  # 100 mm between legs
    _, takeoff = measured(tmp_path, room)
    b = bay(takeoff, "r2")
    assert (b.modules, list(b.cut_mm)) == (1, [pytest.approx(100)])


def test_a_free_end_is_closed_by_a_piece_that_is_taped_and_painted(tmp_path):
    # By hand, ROOMS[0]: 16 ft of 4 ft modules, four whole ones: three joints and two
    # free ends of the developed length 36 π/2 + 2 · 1 1/2 in, and two edges of 16 ft;
    # each end is 36² (1 - π/4) in².
    _, takeoff = measured(tmp_path, ROOMS[0])
    b = bay(takeoff, "r1")
    assert (b.modules, b.free_ends) == (4, 2)
    across = 36 * math.pi / 2 + 3
    edges = b.joints_mm - b.seams_mm
    assert edges / 25.4 == pytest.approx(5 * across + 2 * 192)
    ends_in2 = 2 * 36**2 * (1 - math.pi / 4)
    assert b.ends_m2 / 25.4e-3**2 == pytest.approx(ends_in2)
    assert b.face_m2 == pytest.approx(b.module_m2 + b.wall_above_m2 + b.ends_m2)


def test_between_two_corners_the_closing_module_is_cut_or_the_gap_closed(tmp_path):
    middle = "5.02 m"  # two legs of 1 m, two modules of 1.2 m, 620 mm or 20 mm
    room = replace(ROOMS[6], runs=("4.4 m", middle, "4.4 m"))
    _, takeoff = measured(tmp_path, room)
    assert list(bay(takeoff, "r2").cut_mm) == pytest.approx([620])
    room = replace(room, runs=("4.4 m", "4.42 m", "4.4 m"))
    _, takeoff = measured(tmp_path, room)
    b = bay(takeoff, "r2")
    assert (b.modules, b.gap_mm) == (2, pytest.approx(20))
    assert b.wall_edge_mm == pytest.approx(2420)  # coated over, gap and all
    assert b.sanded_m2 < b.module_m2


def test_modules_are_set_from_the_corners_outwards(tmp_path):
    # in inches. Corner on the right: the cut one, 6 1/2, is at the free left end.
    # Corner on the left: from 41 1/2 on, the cut one last. Two corners, 206 long: one
    # whole from each, 41 1/2 to 89 1/2 and 116 1/2 to 164 1/2, the cut one between.
    job, _ = measured(tmp_path, ROOMS[2])
    seams = [
        [v / 25.4 for v in laid_out(job.stage, job.kit, i).seams_mm] for i in (0, 1)
    ]
    assert seams[0] == pytest.approx([6.5, 54.5, 102.5, 150.5, 198.5])
    assert seams[1] == pytest.approx([89.5, 137.5, 185.5])
    job, _ = measured(tmp_path, ROOMS[5])
    middle = laid_out(job.stage, job.kit, 1)
    assert [v / 25.4 for v in middle.seams_mm] == pytest.approx([89.5, 116.5])
    (cut,) = middle.cuts
    assert (cut.left_mm / 25.4, cut.width_mm / 25.4) == pytest.approx((89.5, 27.0))


def test_two_corner_pieces_that_meet_share_one_joint(tmp_path):
    room = replace(ROOMS[6], runs=("4.4 m", "2 m", "4.4 m"))
    _, takeoff = measured(tmp_path, room)
    joints = [(b.modules, b.module_joints) for b in takeoff.built]
    # three modules each side, a joint of each outer run to its piece, one in between
    assert joints == [(3, 2), (1, 1), (0, 1), (1, 1), (3, 2)]


# ------------------------------------------------------- lengths and areas


@EVERY
def test_joints_are_one_fewer_than_the_pieces_of_each_chain(tmp_path, room):
    _, takeoff = measured(tmp_path, room)
    chains = len(room.runs) - len(room.corners)
    pieces = sum(b.modules for b in takeoff.built)
    assert sum(b.module_joints for b in takeoff.built) == pieces - chains
    assert all(b.upright_joints == b.uprights for b in takeoff.built)


@EVERY
def test_joint_lengths_are_the_profiles_length_times_their_number(tmp_path, room):
    job, takeoff = measured(tmp_path, room)
    kit = job.kit
    cove = arc_mm(kit.radius_mm, kit.straight_height_mm)
    column = arc_mm(kit.radius_mm, kit.corner_leg_mm)
    for b in takeoff.built:
        across = b.module_joints * cove + b.upright_joints * column
        assert b.across_mm == pytest.approx(across, rel=1e-6)
        ends = b.free_ends * cove
        whole = across + ends + b.wall_edge_mm + b.front_edge_mm + b.seams_mm
        assert b.joints_mm == pytest.approx(whole, rel=1e-6)


def test_seams_of_an_opened_corner_worked_by_hand(tmp_path):
    # Studs 16 in apart from each run's start. North's corner edge lies at 288 - 41.5 =
    # 246.5 in: studs at 240 inside, 256 hidden, the nearest outside the edge is 240, so
    # the strip of straight backing goes from 0 to 240 in. East's edge at 41.5 in: the
    # nearest outside is 48; its strip goes from 48 to 224, past the free end at 216:
    # 8 in of it stands out, with an upright seam of 4 in and 8 in along its foot.
    _, takeoff = measured(tmp_path, ROOMS[2])
    north, corner, east, _ = takeoff.bays
    assert north.seams_mm / 25.4 == pytest.approx(240)
    assert east.seams_mm / 25.4 == pytest.approx((224 - 48) + 4 + 8)
    # beside the uprights, above 37 1/2 in to the ceiling at 136, on both walls
    assert corner.seams_mm / 25.4 == pytest.approx(2 * (136 - 37.5))
    # The straight seam is 2 in above the edge (35.5 + 4 = 39.5), so compound goes 2 in
    # further for it; an upright one is 6.5 in from its edge (246.5 - 240, 48 - 41.5).
    edges = north.joints_mm - north.seams_mm
    assert north.feather_m2 == pytest.approx((edges * 254 + 240 * 2 * 25.4**2) * 1e-6)
    edges = corner.joints_mm - corner.seams_mm
    beside = 2 * 98.5 * 6.5 * 25.4**2
    assert corner.feather_m2 == pytest.approx((edges * 254 + beside) * 1e-6)


def test_seams_of_new_board_worked_by_hand(tmp_path):
    # 16 ft of wall, 9 ft 6 in high: board from 35 1/2 in to 114, 78 1/2 in: a row of
    # 48 and one of 30 1/2. One level seam of 16 ft; two sheets of 8 ft a row, so one
    # butt in each, of which the modules' edge at 37 1/2 hides 2 in of the lower.
    room = replace(ROOMS[0], methods='backing = "furred"\n')
    _, takeoff = measured(tmp_path, room)
    seams = takeoff.bays[0].seams
    inches = sorted(s.length_mm / 25.4 for s in seams)
    assert inches == pytest.approx([30.5, 46.0, 192.0])
    assert sum(s.above_mm(96 * 25.4) for s in seams) / 25.4 == pytest.approx(18.0)


def arc_mm(radius: float, reach: float) -> float:
    """Return the length of a rounded corner's profile, by a polygon of 10 000 sides."""
    turns = [n * math.pi / 2 / 10_000 for n in range(10_001)]
    points = [(radius * (1 - math.cos(t)), radius * (1 - math.sin(t))) for t in turns]
    arc = math.fsum(math.dist(a, b) for a, b in pairwise(points))
    return arc + 2 * (reach - radius)


@EVERY
def test_faces_and_wall_above_make_up_the_elevation(tmp_path, room):
    # each run seen square on: coves, wall above them, corner columns, and a free gap
    job, takeoff = measured(tmp_path, room)
    ceiling, kit = job.stage.ceiling_mm, job.kit
    for i, id_ in enumerate(room.ids):
        b = bay(takeoff, id_)
        corners = corner_count(room, i)
        seen = b.wall_above_m2 * 1e6 + b.wall_edge_mm * kit.straight_height_mm
        seen += corners * kit.corner_leg_mm * ceiling
        seen += b.gap_mm * ceiling if corners < 2 else 0.0
        assert seen == pytest.approx(job.stage.runs[i].length_mm * ceiling)
        face = arc_mm(kit.radius_mm, kit.straight_height_mm) * b.wall_edge_mm * 1e-6
        assert b.module_m2 == pytest.approx(face, rel=1e-3)


@EVERY
def test_compound_beyond_the_edges_covers_what_it_is_said_to(tmp_path, room):
    # on the walls in elevation, and on the floor in plan
    job, takeoff = measured(tmp_path, room)
    kit, ceiling, f = job.kit, job.stage.ceiling_mm, FEATHER_MM
    leg, deep = kit.corner_leg_mm, kit.straight_height_mm
    walls = 0.0
    for i, run in enumerate(job.stage.runs):
        left, right = i - 1 in room.corners, i in room.corners
        b = bay(takeoff, room.ids[i])
        start = leg * left + (b.gap_mm if right and not left else 0.0)
        end = start + b.wall_edge_mm
        boxes = [(start, end, deep, min(deep + f, ceiling))]
        boxes += [(leg, min(leg + f, end), deep, ceiling)] * left
        boxes += [(max(run.length_mm - leg - f, start), run.length_mm - leg, deep,
                   ceiling)] * right  # fmt: skip
        walls += scanned_mm2(boxes, [])
    assert sum(b.wall_strip_m2 for b in takeoff.bays) * 1e6 == pytest.approx(
        walls, rel=1e-3
    )
    if any(bay(takeoff, i).wall_edge_mm < 3 * f for i in room.ids):
        return  # corners whose strips meet: nothing else to compare in plan
    for corner in takeoff.of(BayKind.CORNER):
        runs = [bay(takeoff, i) for i in corner.beside]
        reach = [min(leg + r.wall_edge_mm, 3000.0) for r in runs]
        boxes = [
            (leg, reach[0], deep, deep + f),
            (deep, deep + f, leg, reach[1]),
            (leg, leg + f, deep, leg + f),
            (deep, leg + f, leg, leg + f),
        ]
        got = corner.floor_strip_m2 * 1e6 + sum((r - leg - f) * f for r in reach)
        assert got == pytest.approx(scanned_mm2(boxes, [], 0.25), rel=1e-3)
    for i, id_ in enumerate(room.ids):
        b = bay(takeoff, id_)
        own = (b.wall_edge_mm - f * corner_count(room, i)) * f
        assert b.floor_strip_m2 * 1e6 == pytest.approx(own)


@EVERY
def test_the_apron_is_the_floor_in_front_and_no_more(tmp_path, room):
    """Walls walked round by hand: a strip off each, less coves and what's behind."""
    job, takeoff = measured(tmp_path, room)
    kit, deep = job.kit, job.stage.apron_mm
    reach, leg = kit.straight_height_mm, kit.corner_leg_mm
    total = 0.0
    at, way = 0j, 1 + 0j
    strips: list[Box] = []
    under: list[Box] = []
    for i, run in enumerate(job.stage.runs):
        if i - 1 not in room.corners:
            at, way, strips, under = 0j, 1 + 0j, [], []
        into = way * -1j
        end = at + way * run.length_mm

        def box(near, far, a, b, at=at, way=way, into=into):
            p, q = at + way * a + into * near, at + way * b + into * far
            xs, ys = sorted((p.real, q.real)), sorted((p.imag, q.imag))
            return (xs[0], xs[1], ys[0], ys[1])

        strips.append(box(reach, reach + deep, 0.0, run.length_mm))
        under.append(box(0.0, reach, 0.0, run.length_mm))
        under.append(box(-1e5, 0.0, -1e5, 1e5))  # behind the wall
        if i in room.corners:
            under.append(box(0.0, leg, run.length_mm - leg, run.length_mm))
        else:
            total += scanned_mm2(strips, under, 2.0)
        at, way = end, way * -1j
    assert takeoff.apron_m2 == pytest.approx(total * 1e-6, rel=1e-3)


def test_an_apron_worked_by_hand(tmp_path):
    # one corner, 24 ft and 18 ft, 10 ft deep from coves of 37 1/2 in: in inches the two
    # strips are 288 - 37.5 by 120 and 216 - 37.5 by 120, their common square once, less
    # the corner piece's 4 by 4 that stands out of the coves
    _, takeoff = measured(tmp_path, ROOMS[2])
    inches = 250.5 * 120 + 178.5 * 120 - 120 * 120 - 4 * 4
    assert takeoff.apron_m2 == pytest.approx(inches * 25.4**2 * 1e-6)


@EVERY
def test_hollows_and_footprints_add_up(tmp_path, room):
    job, takeoff = measured(tmp_path, room)
    kit = job.kit
    section = kit.radius_mm**2 - math.pi / 4 * kit.radius_mm**2
    for b in takeoff.of(BayKind.RUN):
        assert b.hollow_l == pytest.approx(section * b.wall_edge_mm * 1e-6)
        assert b.footprint_m2 == pytest.approx(
            kit.straight_height_mm * b.wall_edge_mm * 1e-6
        )
    for b in takeoff.of(BayKind.CORNER):
        # three coves of a leg each are more than a corner piece's hollow
        column = section * (job.stage.ceiling_mm - kit.corner_height_mm) * 1e-6
        assert b.hollow_l - column < 3 * section * kit.corner_leg_mm * 1e-6
        assert b.hollow_l - column > section * (3 * kit.corner_leg_mm
                                                - 3 * kit.radius_mm) * 1e-6  # fmt: skip


# --------------------------------------------------------------- properties

inches = st.integers(min_value=16 * 150, max_value=16 * 700)  # sixteenths


def feet_words(sixteenths: int) -> str:
    feet, rest = divmod(sixteenths, 192)
    whole, part = divmod(rest, 16)
    said = [f"{feet} ft"] if feet else []
    said += [f"{whole} {part}/16 in" if part else f"{whole} in"]
    return " ".join(said)


def mm_words(sixteenths: int) -> str:
    return f"{sixteenths * 1.5875:.4f} mm"  # 25.4 / 16, exact in four digits


def unworded(takeoff):
    """Return a take-off without what is told of it in the units of its job."""
    runs = tuple(replace(r, units=Units.US) for r in takeoff.opening.runs)
    return replace(
        takeoff,
        bays=tuple(replace(b, cut=None) for b in takeoff.bays),
        opening=replace(takeoff.opening, runs=runs, units=Units.US),
    )


@settings(
    max_examples=40,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    room=st.sampled_from([r for r in ROOMS if len(r.runs) < 4]),
    lengths=st.lists(inches, min_size=4, max_size=4),
    ceiling=st.integers(16 * 60, 16 * 200),
    first=st.integers(0, 16 * 15),
)
def test_the_unit_system_changes_nothing_but_words(
    tmp_path, room, lengths, ceiling, first
):
    def as_told(words):
        return replace(
            room,
            runs=tuple(words(v) for v in lengths[: len(room.runs)]),
            ceiling=words(ceiling),
            first_studs=(words(first),),
        )

    one, feet = measured(tmp_path, as_told(feet_words))
    two, metric = measured(tmp_path, as_told(mm_words))
    assert one.stage == two.stage
    assert unworded(feet) == unworded(metric)


@settings(
    max_examples=40,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    room=st.sampled_from([r for r in ROOMS if len(r.runs) < 4]),
    lengths=st.lists(inches, min_size=4, max_size=4),
)
def test_twice_the_length_gives_no_fewer_of_anything(tmp_path, room, lengths):
    """Board taken out in a corner, its seams too, hang on where studs fall."""
    once = replace(room, runs=tuple(mm_words(v) for v in lengths[: len(room.runs)]))
    twice = replace(
        room, runs=tuple(mm_words(2 * v) for v in lengths[: len(room.runs)])
    )
    _, short = measured(tmp_path, once)
    _, long = measured(tmp_path, twice)
    fields = (
        "modules", "whole_modules", "corner_pieces", "uprights", "module_joints",
        "upright_joints", "across_mm", "wall_edge_mm", "front_edge_mm",
        "floor_edge_mm", "module_m2", "sanded_m2", "wall_above_m2", "wall_strip_m2",
        "floor_strip_m2", "footprint_m2", "hollow_l", "floor_m2",
    )  # fmt: skip
    for a, b in zip(short.bays, long.bays, strict=True):
        for field in fields:
            assert getattr(b, field) >= getattr(a, field) - 1e-9, (a.id, field)
        if a.kind is BayKind.RUN:
            assert b.wall_edge_mm > a.wall_edge_mm
