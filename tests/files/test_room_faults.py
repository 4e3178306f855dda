"""Rooms that can't be built: each fault with its place, all of them at once.

Tests of planner/files/job/room_checks.py, planner/files/job/jobfile.py,
planner/files/job/keys/needed.py, planner/trade/takeoff.py.
"""

from dataclasses import replace

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.files.job.keys.needed import needed_hint
from planner.trade.takeoff import take_off
from tests.support.rooms import FLUSH_KIT, METRIC_KIT, ROOMS, read
from tests.support.values import STRAIGHT, changed, job_file
from tests.support.values import kit as usual_kit


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


OF_THE_CORNER = {"corner_height", "corner_leg", "upright_height"}
OF_THE_MODULES = {"module_width", "radius", "straight_height", "module_mass"}


@pytest.mark.parametrize(
    ("room", "lacking"),
    [(ROOMS[0], OF_THE_MODULES), (ROOMS[2], OF_THE_MODULES | OF_THE_CORNER)],
)
def test_a_kit_that_is_not_given_is_asked_for_all_at_once(tmp_path, room, lacking):
    text = changed(room.text, (f"[kit]{room.kit}", ""))
    got = {f.partition(": ")[0]: f for f in faults(tmp_path, text)}
    assert set(got) == {f"kit.{key}" for key in lacking}
    for key in lacking:  # each with what it is, and a measure as it is written
        assert "is missing" in got[f"kit.{key}"]
        assert ', such as "' in got[f"kit.{key}"], key
    assert "from one end of the curve to the other" in got["kit.radius"]


def test_what_a_kit_lacks_is_said_beside_what_is_wrong_with_it(tmp_path):
    kit = 'module_width = "4"\nradius = "36 in"\nmodule_mas = "9 kg"\n'
    text = changed(told(kit=f"\n{kit}"), ('ceiling = "11 ft 4 in"', ""))
    got = {f.partition(": ")[0] for f in faults(tmp_path, text)}
    lacking = {"straight_height", "module_mass"} | OF_THE_CORNER
    wrong = {"kit.module_width", "kit.module_mas", "stage.ceiling"}
    assert got == {f"kit.{key}" for key in lacking} | wrong


def test_a_key_that_no_page_knows_has_no_hint():
    assert (
        needed_hint("stage.run.2.length")
        == 'its length along the wall, such as "24 ft"'
    )
    assert needed_hint("stage.run") == "each straight stretch of cove, in order"
    assert needed_hint("stage.wind") == ""


def test_a_straight_wall_asks_nothing_of_the_corner_piece(tmp_path):
    bare = "".join(
        line for line in usual_kit().splitlines(keepends=True)
        if not line.startswith(("corner", "upright"))
    )  # fmt: skip
    job = read(tmp_path, changed(STRAIGHT, (usual_kit(), bare)))
    assert take_off(job, ids=("wall",)).bays[0].modules == 5
    kit = FLUSH_KIT.replace('leg = "900', 'leg = "300')
    text = changed(STRAIGHT, (usual_kit(), f"[kit]{kit}"))
    job = read(tmp_path, text)
    assert take_off(job, ids=("wall",)).bays[0].modules == 5
