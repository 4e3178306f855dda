"""The job file: words of the trade in, one Job out, or every fault at once.

Tests of planner/files/job/checks.py, planner/files/job/faults.py,
planner/files/job/sections/section.py,
planner/files/job/defaults.py, planner/files/job/jobfile.py,
planner/files/job/methods.py, planner/files/job/sections/schema_air.py,
planner/files/job/own_values.py, planner/files/job/sections/schema.py,
planner/files/job/sections/shift_words.py, planner/files/job/sections/values.py.
"""

from datetime import time

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from tests.support.values import STRAIGHT, changed, job_file


def faults(tmp_path, *pairs: tuple[str, str]) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, changed(STRAIGHT, *pairs)))
    assert caught.value.exit_status == 2
    return [str(f) for f in caught.value.faults]


def test_a_silent_file_gets_the_stated_defaults(tmp_path):
    job = read_job(job_file(tmp_path))
    assert job.tick_minutes == 15
    assert job.margin_frac == 0.25
    assert job.kit.least_cut_mm == pytest.approx(6 * 25.4)
    assert job.methods.primer_coats == 2
    assert job.crew[0].rest_h == 11
    assert job.crew[0].shifts[0].hours[0] == (time(8), time(12))
    assert "kit.least_cut: 152 mm (6 in)" in job.defaults_used
    assert "job.tick: 15 min" in job.defaults_used


def test_both_unit_systems_give_the_same_job(tmp_path):
    metric = changed(STRAIGHT, ('"5 m"', '"5.4864 m"'), ('"2.9 m"', '"3048 mm"'))
    feet = changed(STRAIGHT, ('"5 m"', '"18 ft"'), ('"2.9 m"', '"10 ft"'))
    a = read_job(job_file(tmp_path, metric))
    b = read_job(job_file(tmp_path, feet))
    assert a.stage == b.stage


def test_a_default_that_plays_no_part_is_not_listed(tmp_path):
    job = read_job(job_file(tmp_path))
    assert not any(d.startswith("methods.foam") for d in job.defaults_used)


def test_several_faults_are_reported_together(tmp_path):
    got = faults(
        tmp_path,
        ('"America/Halifax"', '"America/Halifx"'),
        ('"5 m"', "5"),
        ('"2.9 m"', '"2.9"'),
        ('trades = ["labourer", "painter"]', 'trades = ["paintr"]'),
    )
    assert [f.split(": ")[1] for f in got] == [
        "job.time_zone",
        "stage.run.1.length",
        "stage.ceiling",
        "crew.2.trades.1",
    ]
    assert 'did you mean "America/Halifax"?' in got[0]
    assert "5 has no unit" in got[1]
    assert '"paintr" is not one of carpenter, finisher, painter, labourer' in got[3]


def test_a_fault_in_one_of_a_list_does_not_hide_those_of_the_others(tmp_path):
    own = """[[labour]]
work = "open"
hours = "-1 h"

[[labour]]
work = "opn"
hours = "1 h"

[stage]"""
    got = faults(
        tmp_path,
        ("[stage]", own),
        ('trades = ["labourer", "painter"]', "trades = []\ncalendar = 5"),
        ('name = "Ana"', 'name = "Ana"\ncalendar = "no.ics"'),
    )
    assert {f.split(": ")[1] for f in got} == {
        "labour.1.hours",
        "labour.2.work",
        "crew.1.calendar",
        "crew.2.calendar",
        "crew.2.trades",
    }


@pytest.mark.parametrize(
    ("pairs", "said"),
    [
        ([("ceiling", "cieling")], 'stage.cieling: unknown key; did you mean "ceiling"?'),
        ([("[stage]", "[stag]\n[stage]")], 'stag: unknown section; did you mean "stage"?'),
        ([("earliest = 2027-02-08", "")], "job.earliest: is missing"),
        ([("2027-02-08", '"Feb 8"')], "'Feb 8' is not a day such as 2027-02-08"),
        ([('name = "a wall"', 'name = "..."')], 'job.name: "..." contains no letter'),
        ([("2027-02-08", "9999-12-31")], "9999-12-31 is not a day of this century"),
        ([("earliest", "delivery = 0001-01-01T10:00:00\nearliest")],
         "job.delivery: 0001-01-01T10:00:00 is not a day of this century"),
        ([('"2.9 m"', '"60 ft 3"')], '"60 ft 3" is not a length with units'),
        ([('"2.9 m"', '"400 m"')], "is not between"),
        ([('"2.9 m"', '"1.6 m"'), ('"5 m"', '"5 m"\nmeets = "east"')], "not the next run"),
        ([("[stage]", "[air]\ntemperature = '20 K'\n[stage]")], "air.temperature"),
        ([("[stage]", "[air]\nhumidity = '0.5'\n[stage]")], "air.humidity"),
        ([("[stage]", "[air]\nmoving = '2 m/s'\n[stage]")], "is not between 0 m/s and 1 m/s"),
        ([("[stage]", "[air]\nmoving = '3 knots'\n[stage]")], "is not a speed such as"),
        ([("[kit]", "[kit]\ndrying_times = 0.5")], "kit.drying_times"),
        ([("[stage]", "[methods]\nprimer = 'water-prmer'\n[stage]")], 'did you mean "water'),
        ([("[stage]", "[methods]\nbacking = 'inlayed'\n[stage]")], "inlaid, furred"),
        ([("[stage]", "[methods]\nprimer_coats = 0\n[stage]")], "methods.primer_coats"),
        ([('name = "Bo"', 'name = "ana"')], 'crew.2.name: "ana" is used twice'),
        ([('name = "Bo"', 'name = "Bo"\nshifts = ["Mon"]')], "names no hours"),
        ([('name = "Bo"', 'name = "Bo"\ncalendar = "no.ics"')], '"no.ics" is not there'),
        ([('name = "Bo"', 'name = "Bo"\ncalendar = "a\\u0000b"')], "is not there"),
        ([('name = "Bo"', f'name = "Bo"\ncalendar = "{"a" * 400}"')], "is not there"),
        ([('ceiling = "2.9 m"', 'ceiling = "2.9 m"\nwall = "masonry"')], "is masonry"),
        ([('"914.4 mm"', '"2 m"')], "kit.radius"),
        ([("[stage]", "[air]\nday = {temperature='20 C', humidity='50 %'}\n[stage]")],
         "give both day and night"),
        ([("[stage]", '[[labour]]\nwork = "opn"\nhours = "1 h"\n[stage]')],
         'labour.1.work: "opn" is not a kind of work known here; did you mean "open"?'),
        ([("[stage]", '[[labour]]\nwork = "open"\n[stage]')], "give hours, or set_up"),
        ([("[stage]", '[[labour]]\nwork = "open"\nhours = "0 h"\n[stage]')],
         "labour.1: hours is 0 h; it must be more than none"),
        ([("[stage]", '[[labour]]\nwork = "open"\nset_up = "5 h"\n[stage]')],
         "set_up is 5 h; it can be half a shift at most, 4 h"),
        ([("[stage]", '[[labour]]\nwork = "open"\nhours = "1 h"\nper = "2 m2"\n[stage]')],
         '"2 m2" is not a length with units'),
        ([("[stage]", '[[labour]]\nwork = "prime"\nhours = "1 h"\nper = "2 m"\n[stage]')],
         '"2 m" is not an area such as'),
        ([("[stage]", '[[labour]]\nwork = "set"\nhours = "1 h"\nper = "2 joints"\n[stage]')],
         'per is "2 joints"; it counts modules, such as "1"'),
        ([("[stage]", '[[labour]]\nwork = "set"\nhours = "1 h"\nper = "0"\n[stage]')],
         "it must be more than nothing"),
        ([("[stage]", '[[labour]]\nwork = "set"\nhours = "1 h"\n'
           '[[labour]]\nwork = "set"\nhours = "2 h"\n[stage]')],
         'labour.2.work: "set" stands here twice'),
        ([("[stage]", '[[supply]]\nid = "bolt"\nwaste = "5 %"\n[stage]')],
         'supply.1.id: "bolt" is not a supply known here; did you mean "bolts"?'),
        ([("[stage]", '[[supply]]\nid = "bolts"\n[stage]')], "give pack with holds, or"),
        ([("[stage]", '[[supply]]\nid = "bolts"\npack = "box"\n[stage]')],
         "pack and holds go together"),
        ([("[stage]", '[[supply]]\nid = "bolts"\npack = "box"\nholds = "5 m"\n[stage]')],
         'holds is "5 m"; it counts pieces, such as "200"'),
        ([("[stage]", '[[supply]]\nid = "joint-tape"\npack = "roll"\nholds = "0 m"\n[stage]')],
         "it must be more than nothing"),
        ([("[stage]", '[[supply]]\nid = "plywood"\npack = "x"\nholds = "1 m2"\n[stage]')],
         "whole sheets, by the cutting list"),
    ],
)  # fmt: skip
def test_each_fault_says_where_what_and_what_to_do(tmp_path, pairs, said):
    assert any(said in f for f in faults(tmp_path, *pairs))


def test_a_file_that_is_not_toml_says_the_line(tmp_path):
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, "[job\nname = 1"))
    assert "line 1" in str(caught.value.faults[0])


def test_a_file_that_is_not_there_is_one_clear_fault(tmp_path):
    with pytest.raises(JobFileError) as caught:
        read_job(tmp_path / "none.toml")
    assert "can't be read" in str(caught.value.faults[0])


def test_an_inside_corner_needs_runs_longer_than_the_corner_piece(tmp_path):
    text = changed(
        STRAIGHT,
        ('length = "5 m"', 'length = "5 m"\nmeets = "b"'),
        ("[[crew]]\nname = \"Ana\"", "[[stage.run]]\nname = 'b'\nlength = '30 in'\n"
         "[[crew]]\nname = \"Ana\""),
    )  # fmt: skip
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, text))
    assert "stage.run.2.length" in str(caught.value.faults[0])
    assert "shorter than the legs" in str(caught.value.faults[0])


@pytest.mark.parametrize("name", ["corner", "Corner", "corner "])
def test_a_run_is_not_called_like_a_corner_of_the_room(tmp_path, name):
    two = f"""length = "5 m"
meets = "{name}"

[[stage.run]]
name = "{name}"
length = "5 m"
"""
    got = faults(tmp_path, ('length = "5 m"', two))
    assert [f.split(": ")[1] for f in got] == ["stage.run.2.name"]
    assert "is what a corner of this room is called" in got[0]


def test_a_run_may_be_called_corner_where_there_is_none(tmp_path):
    job = read_job(job_file(tmp_path, changed(STRAIGHT, ('"wall"', '"corner"'))))
    assert job.stage.runs[0].name == "corner"


@pytest.mark.parametrize("nothing", ["", "  "])
@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('name = "Bo"', 'name = "Bo"\ncalendar = "{}"', "crew.2.calendar"),
        ("ceiling", 'bookings = ["{}"]\nceiling', "stage.bookings.1"),
        ("ceiling", 'quiet = ["{}"]\nceiling', "stage.quiet.1"),
        ("ceiling", 'holidays = ["{}"]\nceiling', "stage.holidays.1"),
        ("[stage]", '[air]\nreadings = "{}"\n[stage]', "air.readings"),
        (
            "[stage]",
            '[air.outside]\nrecord = "{}"\n[air.room]\nvolume = "90 m3"\n[stage]',
            "air.outside.record",
        ),
    ],
)
def test_an_empty_name_is_not_taken_for_none(tmp_path, nothing, old, new, place):
    # read as no calendar, Bo would be free all day
    assert faults(tmp_path, (old, new.format(nothing))) == [
        f'job.toml: {place}: "{nothing}" names no file and no link; name one, or leave '
        "it out"
    ]


def test_a_byte_order_mark_is_passed_over(tmp_path):
    plain = read_job(job_file(tmp_path))
    path = tmp_path / "job.toml"
    path.write_bytes(path.read_text("utf-8").encode("utf-8-sig"))
    assert read_job(path) == plain
