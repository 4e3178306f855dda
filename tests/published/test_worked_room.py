"""One room worked with pencil and paper, from the kit's inches alone.

A masonry wall of 16 ft (192 in) under 9 ft 6 in (114 in), modules of 4 ft with a radius
of 36 in and an edge at 37 1/2, strips 16 in apart, an apron of 8 ft. What the trade does
(level strips from two inches below the edge, board in sheets of 4 by 8 ft laid level,
fixings no more than 600 mm apart, beads of 25 mm, 1.2 l of mortar a metre) is common
practice, no source; one slab test for each 500 ft² is ASTM D4263, from memory.

Tests of planner/trade/geometry/furring.py, planner/trade/phases/slab.py,
planner/trade/recipes/backing/furred.py, planner/trade/recipes/backing/plugged.py,
planner/trade/recipes/fill/foam.py, planner/trade/recipes/fill/mortar.py.
"""

import math
from dataclasses import replace

import pytest

from planner.trade.buying.quantities import quantities
from planner.trade.data import materials
from planner.trade.work import work
from tests.support.rooms import Room, measured

IN_M, IN2_M2 = 0.0254, 0.0254**2
ROOM = Room(
    name="by hand",
    runs=("16 ft",),
    ceiling="9 ft 6 in",
    wall="masonry",
    methods='backing = "furred"\nfill = "foam"\n',
)
ACROSS_IN = 36 * math.pi / 2 + 2 * 1.5  # the arc, and a lip of 1 1/2 in at each side


def found(tmp_path, room=ROOM):
    """Return the room's run, its apron, its tasks and what is bought for it."""
    job, takeoff = measured(tmp_path, room)
    run, apron = takeoff.bays
    tasks = work(job, takeoff, materials.load()).tasks
    done = [t for t in tasks if not t.optional]
    bought = quantities(job, takeoff, materials.load(), done)
    return run, apron, {t.id: t for t in tasks}, {q.id: q for q in bought}


def test_strips_fixings_and_board(tmp_path):
    # Up from 35 1/2 to 114: 78 1/2. Two level strips of 192, side by side (5 in); over
    # them, at 0, 16, ... 192, thirteen of 78 1/2 - 5 = 73 1/2.
    _, _, tasks, bought = found(tmp_path)
    assert bought["furring"].net / IN_M == pytest.approx(2 * 192 + 13 * 73.5)
    # 192 in are 4876.8 mm: 9 spaces of at most 600, 10 fixings; 73 1/2 are 1866.9: 4
    # spaces, 5 fixings.
    assert tasks["plug.r1"].quantity == f"{2 * 10 + 13 * 5} fixings"
    assert bought["board"].net / IN2_M2 == pytest.approx(192 * 78.5)


def test_seams_and_joints(tmp_path):
    # Sheets 48 in wide: one level seam of 192 at 83 1/2. Two sheets of 96 a course meet
    # once: seen from 37 1/2 to 83 1/2, and from there to 114.
    run, *_ = found(tmp_path)
    seams = 192 + (83.5 - 37.5) + (114 - 83.5)
    assert run.seams_mm / 25.4 == pytest.approx(seams)
    # Four whole modules: three joints and two free ends across; an edge above and below.
    joints = (3 + 2) * ACROSS_IN + 2 * 192
    assert run.joints_mm / 25.4 == pytest.approx(joints + seams)
    # Compound 5 in to each side of all of it.
    assert run.feather_m2 / IN2_M2 == pytest.approx((joints + seams) * 10)


def test_beads_of_foam_and_mortar(tmp_path):
    # Two beads of 25 mm along 192 in, π/4 of a square: 0.4909 l a metre.
    _, _, _, bought = found(tmp_path)
    litres = 2 * 192 * IN_M * math.pi / 4 * 25**2 / 1000
    assert bought["foam"].net == pytest.approx(litres)
    assert litres == pytest.approx(4.79, abs=0.01)
    # 1.2 l for each metre of the wall's 192 in.
    filled = replace(ROOM, methods='backing = "furred"\nfill = "mortar"\n')
    _, _, tasks, bought = found(tmp_path, filled)
    assert bought["mortar"].net == pytest.approx(192 * IN_M * 1.2)
    assert tasks["drill.r1"].quantity == "12 holes"


def test_the_apron(tmp_path):
    # 96 in deep in front of 192 in of coves; 128 ft² and 5 in of compound: one test.
    _, apron, tasks, _ = found(tmp_path)
    assert apron.floor_m2 / IN2_M2 == pytest.approx(96 * 192)
    assert tasks["test-slab.apron"].quantity == "1 test"
    # Degreased, scuffed and wiped over all of it: 300 ft²/h and 0.03 h/m².
    assert tasks["scuff.apron"].person_hours == pytest.approx(128 / 300, rel=0.01)
    walls = 192 * (ACROSS_IN + 114 - 37.5) + 2 * 36**2 * (1 - math.pi / 4)
    wiped = (walls + 192 * 5 + 96 * 192) * IN2_M2
    assert tasks["wipe"].wet_m2 == pytest.approx(wiped)
    # What takes colour is the walls and the floor, which holds the 5 in already.
    assert tasks["colour-1"].wet_m2 == pytest.approx((walls + 96 * 192) * IN2_M2)
