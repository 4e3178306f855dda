"""Changes laid over a job file: reached by name, read as the file is, faults placed.

Tests of planner/files/job/changes.py, planner/files/job/jobfile.py.
"""

from dataclasses import replace
from datetime import time

import pytest

from planner.errors import JobFileError
from planner.files.job.changes import changes_from, changes_of
from planner.files.job.jobfile import JobValues, job_from
from planner.nouns.job import Job
from tests.support.values import STRAIGHT, changed, job_file

TWO_WALLS = """[[stage.run]]
name = "end wall"
length = "3 m"
"""


@pytest.fixture
def values(tmp_path) -> JobValues:
    path = job_file(tmp_path, STRAIGHT)
    return JobValues.of(path.read_bytes(), path)


def job(values: JobValues, *texts: str) -> Job:
    """Return the job with texts laid over it."""
    return job_from(values, [changes_of(t.encode(), "late.toml") for t in texts])


def faults(values: JobValues, *texts: str) -> list[tuple[str, str, str]]:
    """Return place, message and hint of what is wrong with changes."""
    with pytest.raises(JobFileError) as error:
        job(values, *texts)
    return [(f.where, f.message, f.hint) for f in error.value.faults]


# -------------------------------------------------------------------- what changes


def test_without_changes_the_job_is_what_its_file_says(values):
    assert job_from(values) == job(values, "") == job(values, "# nothing")


def test_a_change_says_anew_what_the_file_says_and_nothing_else(values):
    before = job(values)
    after = job(values, 'methods.primer_in = "bays"')
    assert after.methods == replace(before.methods, primer_in="bays")
    assert "methods.primer_in: one go" in before.defaults_used
    assert "methods.primer_in: one go" not in after.defaults_used
    same = replace(after, methods=before.methods, defaults_used=before.defaults_used)
    assert same == before


def test_one_of_a_list_is_reached_by_name_or_by_number(values):
    by_name = job(values, 'crew.Bo.shifts = ["Sat 09:00-12:00"]')
    by_number = job(values, 'crew.2.shifts = ["Sat 09:00-12:00"]')
    assert by_name == by_number
    assert by_name.crew[0] == job(values).crew[0]
    (shift,) = by_name.crew[1].shifts
    assert (shift.weekdays, shift.hours) == ((5,), ((time(9), time(12)),))
    wall = job(values, 'stage.run.wall.length = "5 m"')
    assert wall.stage.runs[0].length_mm == 5000


def test_a_name_comes_before_a_number(tmp_path):
    path = job_file(tmp_path, changed(STRAIGHT, ('name = "Bo"', 'name = "1"')))
    numbered = JobValues.of(path.read_bytes(), path)
    assert [p.rest_h for p in job(numbered, 'crew.1.rest = "7 h"').crew] == [11.0, 7.0]


def test_changes_come_over_each_other_and_leave_the_values_as_they_were(values):
    first, then = 'methods.fill = "foam"', 'methods.fill = "mortar"'
    assert job(values, first, then).methods.fill == "mortar"
    assert job(values, then, first).methods.fill == "foam"
    assert job(values, first).methods.fill == "foam"
    assert "fill" not in values.raw.get("methods", {})


def test_keys_with_values_are_the_same_changes_as_a_text(values):
    text = changes_of(
        b'methods.fill = "foam"\n[crew.Bo]\nrest = "9 h"\n[crew.Ana]\nrest = "8 h"',
        "a",
    )
    keys = changes_from(
        {"methods.fill": "foam", 'crew."Bo".rest': "9 h", "crew.Ana.rest": "8 h"}, "b"
    )
    assert keys.values == text.values
    assert job_from(values, [keys]) == job_from(values, [text])
    assert keys.words() == (
        'methods.fill = "foam"', 'crew.Bo.rest = "9 h"', 'crew.Ana.rest = "8 h"',
    )  # fmt: skip


def test_something_can_be_left_out_and_something_added(values):
    out = job(values, 'without = ["crew.Ana"]')
    assert [p.name for p in out.crew] == ["Bo"]
    ida = '[[more.crew]]\nname = "Ida"\ntrades = ["painter"]\nshifts = ["Mon 08:00-12:00"]\n'
    more = job(values, ida)
    assert [p.name for p in more.crew] == ["Ana", "Bo", "Ida"]
    instead = job(values, 'without = ["crew.Bo"]\n' + ida)
    assert [p.name for p in instead.crew] == ["Ana", "Ida"]
    alone = (
        '[[crew]]\nname = "Ida"\ntrades = ["painter"]\nshifts = ["Mon 08:00-12:00"]\n'
    )
    assert [p.name for p in job(values, alone).crew] == ["Ida"]


def test_what_is_left_out_falls_back_to_its_default(values):
    longer = 'crew.Bo.rest = "9 h"'
    assert job(values, longer).crew[1].rest_h == 9.0
    assert job(values, longer, 'without = ["crew.Bo.rest"]').crew[1].rest_h == 11.0


# ---------------------------------------------------------------------- what is wrong


def test_a_fault_in_a_change_is_told_as_that_of_a_file_and_placed_in_the_change(
    values, tmp_path
):
    wrong = changed(STRAIGHT, ('name = "Bo"', 'name = "Bo"\nrest = "soon"'))
    path = job_file(tmp_path, wrong)
    with pytest.raises(JobFileError) as error:
        job_from(JobValues.of(path.read_bytes(), path))
    (told,) = error.value.faults
    assert told.where == "job.toml: crew.2.rest"
    assert faults(values, 'crew.Bo.rest = "soon"') == [
        ("late.toml: crew.Bo.rest", told.message, told.hint)
    ]


def test_all_faults_are_told_together_those_of_file_and_change_each_in_its_place(
    tmp_path,
):
    path = job_file(
        tmp_path, changed(STRAIGHT, ('name = "Ana"', 'name = "Ana"\nx = 1'))
    )
    wrong = JobValues.of(path.read_bytes(), path)
    said = faults(wrong, 'metods.fill = "foam"', 'methods.fil = "foam"\ncrew.Bob.x = 1')
    assert [(where, message) for where, message, _ in said] == [
        ("late.toml: crew.Bob", 'there is no "Bob" to change'),
        ("late.toml: metods", "unknown section"),
        ("late.toml: methods.fil", "unknown key"),
        ("job.toml: crew.1.x", "unknown key"),
    ]
    assert said[0][2] == 'did you mean "Bo"?'


def test_places_stay_right_where_something_before_was_left_out(tmp_path):
    text = changed(STRAIGHT, ('name = "Bo"', 'name = "Bo"\nrest = "soon"'))
    path = job_file(tmp_path, text)
    wrong = JobValues.of(path.read_bytes(), path)
    # Bo is the first of the crew then, and still the second of the file
    ((where, _, _),) = faults(wrong, 'without = ["crew.Ana"]')
    assert where == "job.toml: crew.2.rest"
    ida = '[[more.crew]]\nname = "Ida"\ntrades = []\nshifts = ["Mon 08:00-12:00"]\n'
    said = faults(wrong, 'without = ["crew.Ana"]\n' + ida)
    assert [where for where, _, _ in said] == [
        "job.toml: crew.2.rest", "late.toml: more.crew.1.trades",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "where", "message", "hint"),
    [
        ('without = "crew.Bo"', "without", '"crew.Bo" is not a list of addresses', 'write without = ["crew.Bo"]'),
        ('without = ["crew.Boo"]', "without.1", 'there is no "Boo" to change', 'did you mean "Bo"?'),
        ('without = ["crew..Bo"]', "without.1", '"crew..Bo" is not an address', 'write it like crew."Ana Ruiz".rest'),
        ('without = ["crew.Bo.trades"]', "without.1", "is missing and has no default", 'what they do, such as ["carpenter", "labourer"]'),
        ('without = ["stage"]', "without.1", "is missing", "the file needs a section stage"),
        ("more = 1", "more", "1 is not a table", "write each as [[more.crew]]"),
        ("more.stage.ceiling = [1]", "more.stage.ceiling", "[1] can't be added, because there is no list there", ""),
        ('crew.3.rest = "9 h"', "crew.3", 'there is no "3" to change', "there: Ana, Bo"),
        ('methods = "foam"', "methods", '"foam" is not a table', "write it as [methods]"),
        ('product.own.recoat = "2 h"', "product", "{'own': {'recoat': '2 h'}} is not a list", "write each as [[product]]"),
    ],
)  # fmt: skip
def test_a_change_that_can_not_be_made_is_a_fault_with_a_way_out(
    values, text, where, message, hint
):
    assert faults(values, text) == [(f"late.toml: {where}", message, hint)]


def test_a_change_is_held_to_the_limits_of_a_job_file(values):
    for broken in ("methods.fill = ", "methods.fill = 1\nmethods.fill = 2"):
        with pytest.raises(JobFileError) as error:
            changes_of(broken.encode(), "late.toml")
        (fault,) = error.value.faults
        assert fault.where == "late.toml: file"
        assert fault.message.startswith("is not TOML: ")
    for changes in (
        lambda: changes_of(b'job.name = "a\\nb"', "late.toml"),
        lambda: changes_from({"job.name": "a\nb"}, "late.toml"),
    ):
        with pytest.raises(JobFileError) as error:
            changes()
        (fault,) = error.value.faults
        assert fault.where == "late.toml: job.name"
        assert fault.message == "the text holds a new line (U+000A)"


@pytest.mark.parametrize(
    "address", ["", "crew..rest", "a = 1\nb", "crew.Ana Ruiz.rest"]
)
def test_what_is_no_address_is_told(address):
    with pytest.raises(JobFileError) as error:
        changes_from({address: 1, "job.tick": "30 min"})
    (fault,) = error.value.faults
    assert fault.message.endswith("is not an address")
    assert fault.hint == 'write it like crew."Ana Ruiz".rest'


def test_a_secret_link_in_a_change_is_shown_nowhere(values):
    secret = "https://cal.example.org/private-4711/ana.ics"
    late = f'crew.Bo.calendar = "{secret}"\ncrew.Bo.mail = ["{secret}"]'
    said = faults(values, late)
    assert said
    assert "4711" not in str(said)
    assert "4711" not in str(changes_of(late.encode(), "late.toml").words())
