"""Rooms that can't be built: each fault with its place, all of them at once.

Tests of planner/files/job/room_checks.py, planner/files/job/jobfile.py,
planner/trade/takeoff.py.
"""

from dataclasses import replace

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.trade.takeoff import take_off
from tests.support.rooms import FLUSH_KIT, METRIC_KIT, ROOMS, read
from tests.support.values import STRAIGHT, changed, job_file


def faults(tmp_path, text: str) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, text))
    return [str(f).removeprefix("job.toml: ") for f in caught.value.faults]


def told(**changes: object) -> str:
    return replace(ROOMS[2], **changes).text  # type: ignore[arg-type]  # a test's words


THREE = ROOMS[7]


@pytest.mark.parametrize(
    ("text", "where", "said"),
    [
        (told(runs=("24 ft", "40 in")), "stage.run.2.length", "41 1/2 in (1054 mm)"),
        (
            replace(ROOMS[5], runs=("14 ft", "82 in", "15 ft")).text,
            "stage.run.2.length",
            "legs of its corner pieces, 6 ft 11 in",
        ),
        (told(ceiling="5 ft", kit=METRIC_KIT.replace("950", "1600")),
         "stage.ceiling", "lower than the kit's corner piece, on which the uprights"),
        (told(kit=FLUSH_KIT.replace('leg = "900', 'leg = "850')),
         "kit.corner_leg", "can't turn the corner"),
        (told(kit=FLUSH_KIT.replace('corner_height = "900', 'corner_height = "850')),
         "kit.corner_height", "can't turn the corner"),
        (told(kit=METRIC_KIT.replace('leg = "1 m"', 'leg = "820 mm"')),
         "kit.corner_leg", "would overlap"),
        (told(spacing="1 m"), "stage.stud_spacing", "than a strip of backing can span"),
        (told(first_studs=("0 in", "17 in")), "stage.run.2.first_stud", "another stud before it"),
        (replace(THREE, runs=("7.2 m", "6.5 m", "5.15 m", "5.7 m")).text,
         "stage.run.4.length", "reaches into the cove of the first run"),
        (told(runs=("10 km", "18 ft")), "stage.run.1.length", "10 km"),
        (told(runs=("10000 m", "18 ft")), "stage.run.1.length", "is not between"),
        (told(runs=("0 m", "18 ft")), "stage.run.1.length", "is not between"),
        (told(ceiling="0 m"), "stage.ceiling", "is not between"),
        (changed(told(), ("[stage]", "[stage]\nangle = 120")), "stage.angle",
         "unknown key"),
    ],
)  # fmt: skip
def test_a_room_that_cannot_be_built_says_where_and_why(tmp_path, text, where, said):
    got = faults(tmp_path, text)
    assert any(g.startswith(f"{where}: ") and said in g for g in got), got


def test_all_that_is_wrong_with_a_room_is_said_at_once(tmp_path):
    text = told(
        runs=("40 in", "18 ft"),
        ceiling="5 ft",
        spacing="1 m",
        kit=METRIC_KIT.replace('leg = "1 m"', 'leg = "1.1 m"')
        .replace("950 mm", "700 mm")
        .replace('"850 mm"', '"1600 mm"'),
    )
    got = {g.partition(": ")[0] for g in faults(tmp_path, text)}
    assert got == {
        "stage.run.1.length",
        "stage.ceiling",
        "kit.corner_height",
        "kit.corner_leg",
        "stage.stud_spacing",
    }


def test_wide_studs_do_not_matter_where_no_wall_is_opened(tmp_path):
    text = told(spacing="1 m", methods='backing = "furred"\n')
    assert read(tmp_path, text).stage.stud_spacing_mm == 1000
    text = told(spacing="1 m", wall="masonry", methods='backing = "furred"\n')
    assert read(tmp_path, text).stage.stud_spacing_mm == 1000


def test_a_straight_wall_asks_nothing_of_the_corner_piece(tmp_path):
    kit = FLUSH_KIT.replace('leg = "900', 'leg = "300')
    text = changed(STRAIGHT, ("[stage]", f"[kit]{kit}[stage]"))
    job = read(tmp_path, text)
    assert take_off(job, ids=("wall",)).bays[0].modules == 5
