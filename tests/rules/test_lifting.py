"""Which lifts of a build need how many people; postures are assumptions.

Tests of planner/trade/lifting/lifting.py.
"""

from dataclasses import replace

import pytest

from planner.measures import Units
from planner.trade.lifting import lifting
from tests.support.rooms import ROOMS, measured

CORNER = ROOMS[2]


def test_every_piece_is_lifted_and_counted_once_from_its_crate(tmp_path):
    job, takeoff = measured(tmp_path, CORNER)
    crates = lifting.crates(takeoff, job.kit)
    # 6 + 4 straight modules, 1 corner piece, 2 uprights; six to a crate
    assert [(c.what, c.count) for c in crates] == [
        ("straight modules", 6),
        ("straight modules", 4),
        ("corner pieces", 1),
        ("upright corner modules", 2),
    ]
    assert crates[0].mass_kg == pytest.approx(6 * 24 * 0.45359237)


def test_a_corner_piece_is_as_heavy_for_its_face_as_a_straight_module(tmp_path):
    job, takeoff = measured(tmp_path, CORNER)
    straight, piece, upright = lifting.piece_masses_kg(job.kit)
    run = next(b for b in takeoff.bays if b.id == "r1")
    per_m2 = straight * run.wall_edge_mm / job.kit.module_width_mm / run.module_m2
    corner = next(b for b in takeoff.bays if b.id == "corner")
    # 94 1/2 in of column over a piece: the corner's face is the piece and the column
    column = upright * (11 * 12 + 4 - 41.5) / 48
    assert piece + column == pytest.approx(per_m2 * corner.module_m2)


def test_a_bulky_module_of_eleven_kilograms_from_the_floor_takes_two(tmp_path):
    # held flat, 30 cm deep, its hands are 40 cm away: 8.8 kg, index 1.25; see the four
    # postures in tests/published/test_lifting_niosh.py
    job, takeoff = measured(tmp_path, CORNER)
    kit = replace(job.kit, module_mass_kg=11.0)
    first = lifting.lifts(takeoff, kit)[0]
    assert (first.people, first.count) == (2, 10)
    assert first.index == pytest.approx(1.25, abs=0.01)


def test_more_people_only_as_each_share_is_within_the_limit(tmp_path):
    job, takeoff = measured(tmp_path, CORNER)
    for mass in (4.0, 8.7, 8.9, 17.5, 17.7, 35.2, 36.0):
        lift = lifting.lifts(takeoff, replace(job.kit, module_mass_kg=mass))[0]
        if lift.people is None:
            assert mass / 4 > lift.limit_kg
            continue
        assert mass / lift.people <= lift.limit_kg
        assert lift.people == 2 or mass / (lift.people - 1) > lift.limit_kg


def test_what_nobody_can_hold_is_not_lifted_by_hand(tmp_path):
    # a corner piece of 2 m radius is more than 76 cm deep: hands beyond 63 cm
    job, takeoff = measured(tmp_path, CORNER)
    kit = replace(
        job.kit, radius_mm=2000.0, corner_leg_mm=2000.0, corner_height_mm=2000.0
    )
    lift = next(x for x in lifting.lifts(takeoff, kit) if "corner piece," in x.what)
    assert lift.people is None
    assert any("hoist" in line for line in lifting.lifting_lines((lift,), Units.US))


def test_a_straight_wall_has_no_uprights_to_lift(tmp_path):
    job, takeoff = measured(tmp_path, ROOMS[0])
    assert [x.count for x in lifting.lifts(takeoff, job.kit)] == [4]


def test_the_words_give_both_units_and_how_many_people(tmp_path):
    job, takeoff = measured(tmp_path, CORNER)
    lines = lifting.lifting_lines(lifting.lifts(takeoff, job.kit), Units.US)
    assert lines[0].startswith("10 x straight module, floor to hands: 24 lb (10.9 kg)")
    assert "two people" in lines[0]
    assert any("local rules" in c for c in lifting.CAUTIONS)
