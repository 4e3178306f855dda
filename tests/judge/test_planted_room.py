"""Faults planted in a room whose air the plan's own coats make: each is named.

Tests of planner/judge/physics/balance.py, planner/judge/waits.py,
planner/judge/windows.py.
"""

from dataclasses import replace

import pytest

from planner.judge import judged
from planner.nouns.air import Ventilation
from tests.support.judge import SMALL, case_of, job, limits, product, task
from tests.support.values import changed, job_file

ROOM = """
[air.outside]
day = { temperature = "8 C", humidity = "80 %" }
night = { temperature = "3 C", humidity = "92 %" }
[air.room]
volume = "200 m3"
[[air.room.heat]]
to = "19 C"
[[air.room.ventilation]]
changes_per_hour = 1.0
hours = "09:00-17:00"
[[air.room.dehumidifier]]
rated = "20 l/day"
set_to = "45 %"
hours = "18:00-08:00"
"""


def room(**changes):
    return lambda case: job(climate=replace(case[0].job.climate, **changes))(case)


def machine(**changes):
    def spoil(case):
        one = replace(case[0].job.climate.dehumidifiers[0], **changes)
        return room(dehumidifiers=(one,))(case)

    return spoil


def outside(**changes):
    return lambda case: job(outside=replace(case[0].job.outside, **changes))(case)


def dry(p):
    return replace(p, water_l_per_l=0.0)


HUMIDITY, WARMTH = "the plan's air: humidity", "the plan's air: temperature"
SPOILT = (
    ("a smaller room", room(volume_m3=100.0), HUMIDITY),
    ("a tighter room", room(leak_per_h=0.1), "the plan's air: air changes"),
    ("no fans", room(ventilation=()), "the plan's air: air changes"),
    (
        "fans all day",
        room(ventilation=(Ventilation(air_changes_per_h=1.0),)),
        "changes",
    ),
    ("no heating", room(thermostats=()), WARMTH),
    ("no machine", room(dehumidifiers=()), HUMIDITY),
    ("a weaker machine", machine(rated_l_per_day=2.0), HUMIDITY),
    ("a machine set higher", machine(set_rh_pct=70.0), HUMIDITY),
    ("a machine by day", machine(hours=()), HUMIDITY),
    ("damper outside", outside(night_rh_pct=60.0), HUMIDITY),
    ("warmer outside", outside(night_c=25.0), WARMTH),
    ("dry compound", product("topping", dry), HUMIDITY),
    ("dry colour", product("flat-colour", dry), HUMIDITY),
    ("a smaller coat", task("colour-1", wet_m2=1.0), HUMIDITY),
    ("too damp for it", limits("flat-colour", max_rh_pct=30.0), "needs 30 % or less"),
)


@pytest.fixture(scope="module")
def damp(tmp_path_factory):
    text = changed(SMALL, ('meets = "short"\n', "")) + ROOM
    return case_of(job_file(tmp_path_factory.mktemp("room"), text), 0.05)


def test_a_plan_in_the_air_that_its_coats_make_is_sound(damp):
    assert judged(*damp) == ()


@pytest.mark.parametrize(
    ("spoil", "words"), [pytest.param(s, w, id=i) for i, s, w in SPOILT]
)
def test_a_fault_planted_in_the_room_is_named(damp, spoil, words):
    found = judged(*spoil(damp))
    assert any(words in fault for fault in found), found
