"""`covetime log air --file`: a data logger's readings, kept in the log.

Tests of planner/commands/living.py, planner/usecases/living/measured.py,
planner/usecases/living/log.py, planner/report/living/log_text.py,
planner/living/laid_over.py.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.files.logbook.appending import read_log
from planner.files.tables.readings import read_air
from planner.living.laid_over import with_log
from planner.nouns.happened import What
from planner.usecases.read import read_inputs
from tests.support.command import covetime
from tests.support.values import STRAIGHT, job_file

NOW = "2027-02-17T18:20:00Z"  # Wed 14:20 in Halifax
# Three shapes that `readings` of a job allow, with the same three values.
COMMA = """time,temp_C,rh_pct
2027-02-17 08:00,19.5,52
2027-02-17 08:30,19.7,51
2027-02-17 09:00,19.9,50
"""
SEMICOLON = """time;temp_C;rh_pct
2027-02-17 08:00;19,5;52
2027-02-17 08:30;19,7;51
2027-02-17 09:00;19,9;50
"""
FAHRENHEIT = """time,temp_F,rh_pct,battery
2027-02-17T12:00Z,67.1,52,3.0
2027-02-17T12:30Z,67.46,51,3.0
2027-02-17T13:00Z,67.82,50,3.0
"""


@pytest.fixture
def job(tmp_path):
    return job_file(tmp_path, STRAIGHT)


def csv(job, text: str) -> str:
    path = job.parent / "tern.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def log(job, text: str, *words: str, now: str = NOW):
    return covetime("log", str(job), "air", "--file", csv(job, text), *words,
                    "--now", now)  # fmt: skip


def events(job):
    return read_log(job.parent / "job-log.txt").events


@pytest.mark.parametrize("text", [COMMA, SEMICOLON, FAHRENHEIT])
def test_every_shape_of_readings_is_logged_as_one_event_a_reading(job, text):
    ran = log(job, text, "--by", "Ana")
    assert ran.returncode == 0, ran.stderr
    assert [(e.at, e.air_c, e.humidity_pct) for e in events(job)] == [
        (datetime(2027, 2, 17, 12, 0, tzinfo=UTC), 19.5, 52.0),
        (datetime(2027, 2, 17, 12, 30, tzinfo=UTC), 19.7, 51.0),
        (datetime(2027, 2, 17, 13, 0, tzinfo=UTC), 19.9, 50.0),
    ]
    assert {(e.what, e.by, e.words) for e in events(job)} == {
        (What.AIR, ("ana",), "read from tern.csv")
    }
    lines = ran.stdout.splitlines()
    assert len(lines) == 2
    assert lines[1].startswith(
        "  Wed 17 Feb 2027, 08:00 AST (UTC-04:00) to Wed 17 Feb 2027, 09:00 AST "
        "(UTC-04:00); air: 3 readings; by Ana; "
    )
    assert '; 50 to 52 % RH; "read from tern.csv" [' in lines[1]


def test_the_log_lies_over_the_readings_of_the_job(job):
    """What the logger read is what planning takes the room's air to be then."""
    log(job, COMMA)
    inputs = read_inputs(job)
    book = read_log(job.parent / "job-log.txt")
    laid = with_log(inputs, book, file="job-log.txt").readings
    assert laid == read_air(COMMA.encode(), Path("x"), zone=inputs.job.zone)


def test_a_file_that_has_grown_is_given_again_and_nothing_stands_twice(job):
    log(job, COMMA)
    before = (job.parent / "job-log.txt").read_bytes()
    again = log(job, COMMA)
    assert again.returncode == 0
    assert again.stdout == (
        f"{job.parent}/job-log.txt has all of this already; nothing was logged\n"
    )
    assert (job.parent / "job-log.txt").read_bytes() == before
    more = log(job, COMMA + "2027-02-17 09:30,20.0,50\n")
    assert '; air; 20 °C (68 °F), 50 % RH; "read from tern.csv" [' in more.stdout
    after = (job.parent / "job-log.txt").read_bytes()
    assert after.startswith(before)
    assert len(events(job)) == 4


def test_readings_of_one_minute_are_their_mean(job):
    """(19.0 + 20.0) / 2 = 19.5 °C and (50 + 54) / 2 = 52 %."""
    text = (
        "time,temp_C,rh_pct\n2027-02-17 08:00:00,19.0,50\n2027-02-17 08:00:30,20.0,54\n"
    )
    log(job, text)
    assert [(e.air_c, e.humidity_pct) for e in events(job)] == [(19.5, 52.0)]


def test_days_in_which_a_logger_was_off_are_no_fault(job):
    ran = log(job, COMMA.replace("2027-02-17 08:00", "2027-02-12 08:00"))
    assert ran.returncode == 0, ran.stderr
    assert len(events(job)) == 3


def test_all_faults_of_a_file_are_told_at_once_and_nothing_is_logged(job):
    text = COMMA.replace("19.7", "warm").replace("19.9,50", "199,500")
    ran = log(job, text)
    assert ran.returncode == 2
    assert 'tern.csv: line 3, temperature: "warm" is not a number' in ran.stderr
    assert "tern.csv: line 4, temperature: 199.0 °C is not between" in ran.stderr
    assert "tern.csv: line 4, humidity: 500 % is not between" in ran.stderr
    assert not (job.parent / "job-log.txt").exists()


def test_readings_of_the_future_are_questioned_and_kept_when_insisted_on(job):
    text = COMMA.replace("02-17", "02-18")
    asked = log(job, text)
    assert asked.returncode == 2
    assert asked.stderr.count("is still to come") == 3
    assert "with --anyway" in asked.stderr
    assert not (job.parent / "job-log.txt").exists()
    kept = log(job, text, "--anyway")
    assert kept.returncode == 0, kept.stderr
    assert "    kept though questioned: Thu 18 Feb 2027, 08:00 is still" in kept.stdout
    assert "    kept though questioned: and 2 more like it" in kept.stdout


def test_a_whole_file_is_taken_back_at_once(job):
    log(job, COMMA)
    covetime("log", str(job), "note", "x", "--now", "2027-02-17T18:19:00Z")
    ran = covetime("log", str(job), "--undo", "last", "--now", "2027-02-17T18:21:00Z")
    assert ran.returncode == 0, ran.stderr
    assert "; undone: 3 events [" in ran.stdout
    book = read_log(job.parent / "job-log.txt")
    assert [e.what for e in book.counting] == [What.NOTE]
    shown = covetime("log", str(job)).stdout
    assert "  undone: Wed 17 Feb 2027, 08:00 AST (UTC-04:00) to " in shown
    # and may be logged again
    later = log(job, COMMA, now="2027-02-17T18:25:00Z")
    assert later.returncode == 0, later.stderr
    assert "air: 3 readings" in later.stdout


@pytest.mark.parametrize(
    "words",
    [
        ("note", "x"),
        ("done", "prime-1"),
        ("air", "--temp", "64 F"),
        ("air", "--rh", "50 %"),
        ("air", "--at", "9:00"),
        ("air", "--says", "x"),
        (),
    ],
)
def test_a_file_goes_with_air_alone(job, words):
    path = csv(job, COMMA)
    ran = covetime("log", str(job), *words, "--file", path, "--now", NOW)
    assert ran.returncode == 2
    assert "--file: goes with air alone" in ran.stderr
    assert not (job.parent / "job-log.txt").exists()


@pytest.mark.slow
def test_a_week_of_minutes_is_logged_and_shown(job):
    begin = datetime(2027, 2, 10, 8, tzinfo=UTC)
    rows = "\n".join(
        f"{begin + timedelta(minutes=n):%Y-%m-%dT%H:%M}Z,19.{n % 10},5{n % 10}"
        for n in range(10_080)
    )
    ran = log(job, f"time,temp_C,rh_pct\n{rows}\n")
    assert ran.returncode == 0, ran.stderr
    assert "air: 10080 readings" in ran.stdout
    shown = covetime("log", str(job)).stdout.splitlines()
    assert len(shown) == 2
