"""A file of air is read in full, or all its faults are told with their lines.

Tests of planner/files/tables/readings.py.
"""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from planner.errors import ReadingsError
from planner.files.tables.readings import load, read_air

HALIFAX = ZoneInfo("America/Halifax")


def read(tmp_path, text, **more):
    path = tmp_path / "air.csv"
    path.write_text(text, encoding="utf-8")
    return read_air(load(path), path, zone=HALIFAX, **more)


def faults(tmp_path, text):
    with pytest.raises(ReadingsError) as wrong:
        read(tmp_path, text)
    assert wrong.value.exit_status == 2
    return [str(f) for f in wrong.value.faults]


def test_celsius_and_humidity_in_the_sites_zone(tmp_path):
    (one, two) = read(
        tmp_path,
        "time,temp_C,rh_pct\n2027-02-08 07:00,19.5,52\n2027-02-08T08:00,19.8,51\n",
    )
    assert one.when == datetime(2027, 2, 8, 11, tzinfo=UTC)  # 07:00 at UTC-4
    assert (one.air_c, one.humidity_pct) == (19.5, 52)
    assert two.when == datetime(2027, 2, 8, 12, tzinfo=UTC)


def test_fahrenheit_and_dew_point(tmp_path):
    (one,) = read(tmp_path, "time,temp_F,dew_point_F\n2027-02-08T07:00Z,70,50\n")
    assert one.when == datetime(2027, 2, 8, 7, tzinfo=UTC)
    assert one.air_c == pytest.approx(21.1111, abs=1e-4)
    # ASHRAE Fundamentals 2017 ch. 1: 0.17812 over 0.36326 psi
    assert one.humidity_pct == pytest.approx(49.0, abs=0.1)


def test_other_columns_blank_lines_and_the_order_of_columns_do_not_matter(tmp_path):
    text = "room,RH_pct, Time ,Temp_C\n\nB,52,2027-02-08 07:00,19.5\n\n"
    assert read(tmp_path, text)[0].humidity_pct == 52


def test_semicolons_let_a_comma_be_the_decimal_point(tmp_path):
    text = "\ufefftime;temp_C;rh_pct\n2027-02-08 07:00;19,5;52,5\n"
    assert read(tmp_path, text)[0].air_c == 19.5


def test_humidity_and_dew_point_both(tmp_path):
    text = "time,temp_C,rh_pct,dew_point_C\n2027-02-08 07:00,20,50,9.3\n"
    assert read(tmp_path, text)[0].humidity_pct == 50
    (told,) = faults(tmp_path, text.replace("9.3", "15"))
    assert "line 2, humidity" in told
    assert "one of the two is wrong" in told


def test_the_hour_that_comes_twice_is_read_twice(tmp_path):
    # Halifax, 7 November 2027: 02:00 ADT becomes 01:00 AST.
    text = "time,temp_C,rh_pct\n" + "".join(
        f"2027-11-07 {h},20,50\n" for h in ("00:00", "01:00", "01:00", "02:00")
    )
    hours = [r.when.hour for r in read(tmp_path, text)]
    assert hours == [3, 4, 5, 6]


def test_the_hour_that_is_skipped_is_a_fault(tmp_path):
    (told,) = faults(tmp_path, "time,temp_C,rh_pct\n2027-03-14 02:30,20,50\n")
    assert "skipped" in told


def test_all_faults_are_told_together_with_their_lines(tmp_path):
    told = faults(
        tmp_path,
        "time,temp_C,rh_pct\n"
        "2027-02-08 07:00,19.5,52\n"
        "soon,19.5,52\n"
        "2027-02-08 09:00,warm,120\n"
        "2027-02-08 10:00,,50\n"
        "2027-02-08 06:00,19,50\n"
        "2027-02-08 12:00,68,50\n"
        "2027-02-08 13:00,19\n",
    )
    assert [t.split(":", 2)[1].strip() for t in told] == [
        "line 3, time",
        "line 4, temperature",
        "line 4, humidity",
        "line 5, temperature",
        "line 6, time",
        "line 7, temperature",
        "line 8, humidity",
    ]
    assert '"warm" is not a number' in told[1]
    assert "120 % is not between 0 and 100" in told[2]
    assert "not later than the line before" in told[4]
    assert "is the unit in the header right?" in told[5]
    assert "nothing there" in told[6]


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("when,temp_C,rh_pct", "no column of time"),
        ("time,temp,rh_pct", "no column of temperature"),
        ("time,temp_C,humidity", "no column of humidity or dew point"),
        ("time,temp_C,temp_F,rh_pct", "temperature stands in two columns"),
        ("time,time,temp_C,rh_pct", "time stands in two columns"),
    ],
)
def test_a_header_that_names_no_unit_or_too_many(tmp_path, head, words):
    assert any(words in f for f in faults(tmp_path, f"{head}\n1,2,3,4\n"))


def test_a_gap_is_a_fault_unless_it_is_short(tmp_path):
    text = "time,temp_C,rh_pct\n2027-02-08 00:00,20,50\n2027-02-08 06:00,20,50\n"
    assert len(read(tmp_path, text)) == 2
    (told,) = faults(tmp_path, text.replace("06:00", "06:15"))
    assert "6.25 h after the line before" in told


def test_a_dew_point_above_the_air_is_a_fault(tmp_path):
    (told,) = faults(tmp_path, "time,temp_C,dew_point_C\n2027-02-08 00:00,10,12\n")
    assert "dew point" in told


@pytest.mark.parametrize("text", ["", "\n\n", "time,temp_C,rh_pct\n"])
def test_an_empty_file_is_a_fault(tmp_path, text):
    assert "no readings in it" in faults(tmp_path, text)[0]


def test_a_file_that_is_not_there_or_not_text(tmp_path):
    with pytest.raises(ReadingsError, match="1 fault"):
        load(tmp_path / "none.csv")
    path = tmp_path / "air.csv"
    path.write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(ReadingsError) as wrong:
        read_air(load(path), path, zone=HALIFAX)
    assert "UTF-8" in str(wrong.value.faults[0])


def test_an_open_quote_is_a_fault_and_no_traceback(tmp_path):
    told = faults(tmp_path, 'time,temp_C,rh_pct\n"2027-02-08 00:00,20,50\n')
    assert len(told) == 1


def test_many_faults_are_counted_not_listed(tmp_path):
    text = "time,temp_C,rh_pct\n" + "soon,20,50\n" * 500
    told = faults(tmp_path, text)
    assert len(told) == 21
    assert "480 faults more" in told[-1]


@pytest.mark.parametrize("when", ["9999-12-31T23:59", "0001-01-01 00:00"])
def test_a_time_far_away_is_a_fault_and_not_an_overflow(tmp_path, when):
    (told,) = faults(tmp_path, f"time,temp_C,rh_pct\n{when},20,50\n")
    assert f"line 2, time: {when} is not a time of this century" in told
