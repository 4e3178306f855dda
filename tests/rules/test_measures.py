"""Measures as people read them: the job's own units first, everywhere that is read.

The factors are exact by definition (international yard and pound agreement of 1959).

Tests of planner/measures.py.
"""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import units
from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.measures import Units, feet_and_inches, mostly, written
from planner.trade import safety
from planner.trade.buying.supplies import supplies
from planner.trade.data import labour, materials
from planner.trade.data.around import reminders
from planner.trade.lifting.lifters import MORE_CAUTIONS
from planner.trade.lifting.lifting import CAUTIONS
from tests.support.command import covetime
from tests.support.values import STRAIGHT, changed, in_inches, job_file, kit

METRIC, US = Units.METRIC, Units.US
FEET = changed(
    STRAIGHT,
    ('"5 m"', '"16 ft"'),
    ('"2.9 m"', '"9 ft 6 in"'),
    (kit(), kit(in_inches)),
)


@pytest.mark.parametrize(
    ("say", "value", "words"),
    [
        ("length", 901.7, ("35 1/2 in", "902 mm")),  # 35.5 x 25.4
        ("length", 7315.2, ("24 ft", "7.32 m")),  # 24 x 304.8
        ("run", 7.3152, ("24 ft", "7.3 m")),
        ("area", 9.290304, ("100 ft²", "9.3 m²")),
        ("volume", 18.927, ("5.0 US gal", "18.9 l")),  # 5 x 3.785
        ("volume", 0.2957, ("10 US fl oz", "0.30 l")),
        ("mass", 10.886, ("24 lb", "10.9 kg")),  # 24 x 0.45359
        ("temperature", 20.0, ("68 °F", "20 °C")),
        ("kelvins", 3.0, ("5.4 °F", "3.0 °C")),
        ("coverage", 8.59, ("350 ft² a US gal", "8.59 m² a l")),
    ],
)
def test_a_measure_is_told_in_both_systems_the_readers_first(say, value, words):
    us, metric = words
    assert getattr(US, say)(value) == f"{us} ({metric})"
    assert getattr(METRIC, say)(value) == f"{metric} ({us})"


def test_ranges_and_rates_are_too():
    assert US.temperatures(10, 35) == "50 to 95 °F (10 to 35 °C)"
    assert METRIC.temperatures(10, 35) == "10 to 35 °C (50 to 95 °F)"
    # a m is 1/0.3048 ft: 6 min of it are 1.83 min a foot
    assert US.time_for_each(6.0, "m") == "1.83 min a ft (6 a m)"
    assert METRIC.time_for_each(10.0, "m²") == "10 min a m² (0.929 a ft²)"


def test_a_text_of_the_data_gives_both_measures_and_nobody_has_braces_left():
    assert US.text("{3 in|76 mm} and {9 in|230 mm}") == "3 in (76 mm) and 9 in (230 mm)"
    texts = [
        *(t for r in labour.rates().values() for t in (r.how, *r.bring, *r.cautions)),
        *(t for p in materials.load().values() for t in p.cautions),
        *(s.title for s in supplies()),
        *(r.words for r in reminders()),
    ]
    assert any("|" in t for t in texts)
    for text in texts:
        assert "|" not in METRIC.text(text)
        # no measure stands there in one system, and in the wrong order, for good
        assert not re.search(r"\d (in|ft|°F) \(\d", text), text


CODES = re.compile(r"CFR|OSHA|NIOSH|NFPA|\bNEC\b|\bEPA\b")


def test_what_a_crew_reads_of_us_codes_says_that_they_are():
    said = [
        *(t for r in labour.rates().values() for t in (r.how, *r.cautions)),
        *(t for p in materials.load().values() for t in p.cautions),
        *(t for lines in MORE_CAUTIONS.values() for t in lines),
        *CAUTIONS,
        *(line["words"] for line in safety._said()["line"]),
        *(r.words for r in reminders()),
    ]
    coded = [t for t in said if CODES.search(t)]
    assert len(coded) > 10
    assert [t for t in coded if not re.search(r"\bUS\b", t)] == []


@pytest.mark.parametrize(
    ("text", "system"),
    [
        *[
            (t, US)
            for t in ("24 ft", "3 ft 6 in", "35 1/2 in", "68 F", "24 lb", "1 gal")
        ],
        *[(t, METRIC) for t in ("7.2 m", "20 C", "-5 °C", "11 kg", "400 m3", "9 m2/l")],
        *[(t, None) for t in ("90 min", "25 %", "11 h", "north", "07:00-17:00", "")],
    ],
)
def test_how_a_measure_is_written_is_seen_by_its_unit(text, system):
    assert written(text) is system


def test_most_decide_and_where_none_does_us_units_come_first():
    assert mostly(["5 m", "16 in", "20 C"]) is METRIC
    assert mostly(["5 m", "16 in"]) is US
    assert mostly([]) is US


@given(st.integers(16, 16 * 12 * 60))
def test_feet_and_inches_read_back_to_a_sixteenth(sixteenths):
    mm = sixteenths * 25.4 / 16
    assert units.length_mm(feet_and_inches(mm)) == pytest.approx(mm, abs=1e-6)


# ------------------------------------------------------------------- a job's own


def job_with(tmp_path, text, stated=""):
    text = changed(text, ("[job]\n", f"[job]\n{stated}\n"))
    return job_file(tmp_path, text)


def test_a_job_has_the_units_of_its_file_or_those_that_it_states(tmp_path):
    assert read_job(job_with(tmp_path, STRAIGHT)).units is METRIC
    assert read_job(job_with(tmp_path, FEET)).units is US
    assert read_job(job_with(tmp_path, STRAIGHT, 'units = "us"')).units is US
    assert read_job(job_with(tmp_path, FEET, 'units = "metric"')).units is METRIC
    with pytest.raises(JobFileError) as caught:
        read_job(job_with(tmp_path, STRAIGHT, 'units = "imperial"'))
    assert caught.value.faults[0].where.endswith(": job.units")


def told(ran):
    """Return what was printed, on one line."""
    return " ".join(ran.stdout.split())


def test_check_says_which_and_that_it_is_a_default(tmp_path):
    said = told(covetime("check", str(job_with(tmp_path, STRAIGHT))))
    assert "metric measures first" in said
    assert "job.units: metric, as most measures of the file are" in said
    said = told(covetime("check", str(job_with(tmp_path, STRAIGHT, 'units = "us"'))))
    assert "us measures first" in said
    assert "job.units" not in said


@pytest.mark.parametrize(
    ("ceiling", "words"),
    [
        ("200 m", "between 1500 mm (59 1/16 in) and 30.00 m ("),
        ("600 ft", "between 59 1/16 in (1500 mm) and 98 ft 5 1/8 in ("),
    ],
)
def test_a_fault_is_told_in_the_units_of_what_was_written(tmp_path, ceiling, words):
    text = changed(STRAIGHT, ('"2.9 m"', f'"{ceiling}"'))
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, text))
    assert words in str(caught.value.faults[0])


US_MEASURE, METRIC_MEASURE = (
    r"\d (?:ft²?|in|°F|lb|US gal|US fl oz)",
    r"[\d.]+ (?:m²?|mm|°C|kg|l)",
)
WRONG = {  # a pair of measures the wrong way round
    METRIC: re.compile(rf"{US_MEASURE} \({METRIC_MEASURE}\)"),
    US: re.compile(rf"{METRIC_MEASURE} \([\d /]*{US_MEASURE}\)"),
}
SHEET = "4 ft by 8 ft (2.97 m²)"  # the one that suits studs 16 in apart


@pytest.mark.parametrize("system", [METRIC, US])
@pytest.mark.parametrize("command", ["check", "opening", "quantities", "air"])
def test_what_is_printed_shows_the_jobs_units_first(tmp_path, system, command):
    job = job_with(tmp_path, STRAIGHT, f'units = "{system}"')
    said = told(covetime(command, str(job)))
    # where a number comes from is told as its source has it
    said = said.partition("Where the quantities come from")[0].replace(SHEET, "")
    assert not WRONG[system].findall(said)
    other = US if system is METRIC else METRIC
    assert WRONG[other].findall(said)
