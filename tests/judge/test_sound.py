"""No false alarms: plans of many methods, zones, steps and shifts are found sound.

Tests of planner/judge/__init__.py, planner/judge/asked.py,
planner/judge/case.py, planner/judge/crew.py, planner/judge/lifts.py,
planner/judge/methods.py, planner/judge/rates.py, planner/judge/returns.py,
planner/judge/safety.py, planner/judge/sequence.py, planner/judge/stage.py,
planner/judge/told.py, planner/judge/waits.py, planner/judge/windows.py,
planner/judge/work.py, planner/planning/answering.py, planner/planning/make.py,
planner/planning/posing.py, planner/planning/problem.py.
"""

import time

import pytest

from planner.judge import judged
from tests.support.judge import SMALL, case_of
from tests.support.values import changed, job_file

METHODS = "[methods]\n"
CORNER = 'meets = "short"\n'
ZONE, DAY, STEP = '"Europe/Tallinn"', "2027-04-05", '"15 min"'
SHIFTS = "Mon-Fri 07:00-13:00 13:30-17:30"
WALL = "board on wood studs"
AIR = """
[air]
temperature = "16 C"
humidity = "55 %"
wall_colder = "2 C"
[[air.month]]
month = "Apr"
day = { temperature = "21 C", humidity = "40 %" }
night = { temperature = "17 C", humidity = "50 %" }
"""


def methods(text):
    return (METHODS, METHODS + text)


JOBS = {
    "drying compound on masonry": (
        (WALL, "masonry"),
        methods('backing = "furred"\nsetting_coats = 0\n'),
    ),
    "steel studs, foam, solvent": (
        (WALL, "board on steel studs"),
        methods('backing = "furred"\nfill = "foam"\nprimer = "solvent-primer-fast"\n'),
    ),
    "primer in bays, sanded on the stage": (
        methods('primer_in = "bays"\nsanding = "stage"\nbonding_agent = true\n'),
    ),
    "a second colour": (
        (CORNER, ""),
        methods('second_colour = { bays = ["apron"], coats = 2 }\n'),
    ),
    "next coat after dry, bare apron": (
        (CORNER, ""),
        methods(
            'next_coat_after = "dry"\ncolour_on_apron = false\nsetting_coats = 1\n'
            "drying_coats = 1\ncolour_coats = 3\n"
        ),
    ),
    "uprights singly": (("2.7 m", "3.8 m"), methods('lifting = "singly"\n')),
    "uprights singly, bolted slowly": (
        ("2.7 m", "3.8 m"),
        methods('lifting = "singly"\n'),
        (
            "\n[job]",
            '[[labour]]\nwork = "join-uprights"\nhours = "3 h"\nper = "1"\n[job]',
        ),
    ),
    "uprights together, three lift": (("2.7 m", "3.4 m"),),
    "months, a cold wall": ((CORNER, ""), (SHIFTS, SHIFTS), ("\n[job]", AIR + "[job]")),
    "nights over a clock change": (
        (CORNER, ""),
        (ZONE, '"America/Halifax"'),
        (DAY, "2027-03-08"),
        (STEP, '"10 min"'),
        (SHIFTS, "Mon-Sat 20:00-02:00 02:30-06:00"),
    ),
    "half an hour's clock change": (
        (CORNER, ""),
        (ZONE, '"Australia/Lord_Howe"'),
        (DAY, "2027-03-29"),
        (STEP, '"30 min"'),
        (SHIFTS, "Sun-Fri 21:00-05:00"),
    ),
    "a quarter past": (
        (CORNER, ""),
        (ZONE, '"Asia/Kathmandu"'),
        (STEP, '"60 min"'),
        (SHIFTS, "Mon-Sat 07:00-12:20 12:40-18:00"),
    ),
    "steps of five minutes": ((CORNER, ""), (STEP, '"5 min"'), (DAY, "2026-10-19")),
}


@pytest.mark.parametrize(
    "name",
    ["corner", "straight", pytest.param("corner-damp", marks=pytest.mark.slow)],
)
def test_a_plan_of_an_example_is_sound_and_judged_at_once(planned, name):
    inputs, plan = planned[name].case
    judged(inputs, plan)  # the first time reads the data of labour and of drying
    begin = time.process_time()
    assert judged(inputs, plan) == ()
    assert time.process_time() - begin < 0.3


# In the usual run one that differs in time; the others, as most of
# `tests/examples/test_rooms.py`, on demand.
USUAL = ("nights over a clock change",)


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param(c, id=name, marks=[] if name in USUAL else [pytest.mark.slow])
        for name, c in JOBS.items()
    ],
)
def test_a_plan_of_other_methods_zones_and_steps_is_sound(tmp_path, changes):
    assert judged(*case_of(job_file(tmp_path, changed(SMALL, *changes)), 0.05)) == ()
