"""A job file with a change kept in it: the rest stays as it was written.

Tests of planner/files/job/edits/keeping.py.
"""

import difflib
import tomllib

import pytest

from planner.files.job.changes import laid
from planner.files.job.edits.keeping import job_with
from planner.files.job.edits.said_changes import changes_said
from planner.files.job.faults import SectionReader
from tests.support.places import ROOT
from tests.support.values import STRAIGHT

CORNER = (ROOT / "examples/corner/job.toml").read_bytes()

CHANGES = [
    "methods.primer_coats=1",
    "methods.fill=foam; methods.primer_in=bays",
    "crew.Hedda.rest=9 h",
    'without=["crew.Marisol"]; more.crew=[{name="Ida", trades=["painter"]}]',
    'crew=[{name="Ida", trades=["painter"]}]',
    'air.day={temperature = "20 C", humidity = "35 %"}',
    'more.air.month=[{month="Feb", humidity="40 %"}]',
    'more.air.room.dehumidifier=[{rated="30 l/day"}]',
    'stage.run.north.length="7 m"',
    'without=["methods.fill", "stage.behind.1", "rates"]',
    "odds.pace=5 %",
    "job.earliest=2027-03-01",
    'without=["stage.quiet"]; stage.hours="06:00-23:00"',
]


def lines(before: bytes, after: bytes) -> list[str]:
    """Return the lines that differ, as a difference shows them."""
    old, new = before.decode().splitlines(), after.decode().splitlines()
    return [x for x in difflib.ndiff(old, new) if x[0] in "+-"]


def test_a_value_is_said_anew_where_it_stands_with_its_comment():
    kept = job_with(CORNER, changes_said('stage.hours="06:00-23:00"', ""))
    assert lines(CORNER, kept) == [
        '- hours = "07:00-22:00"           # when the building is open',
        '+ hours = "06:00-23:00"           # when the building is open',
    ]


def test_a_key_that_is_new_joins_its_section_and_nothing_moves():
    kept = job_with(CORNER, changes_said("crew.Hedda.rest=9 h", ""))
    assert lines(CORNER, kept) == ['+ rest = "9 h"']
    after = kept.decode().splitlines()
    at = after.index('rest = "9 h"')
    assert after[at - 1].startswith('shifts = ["Tue-Fri 10:00')


def test_one_of_a_list_goes_and_another_comes():
    said = 'without=["crew.Hedda"]; more.crew=[{name="Ida", trades=["painter"]}]'
    found = lines(CORNER, job_with(CORNER, changes_said(said, "")))
    assert [x for x in found if x[0] == "+"] == [
        '+ name = "Ida"',
        '+ trades = ["painter"]',
    ]
    assert [x[:10] for x in found if x[0] == "-"] == [
        '- name = "',
        "- trades =",
        "- calendar",
        "- shifts =",
    ]


@pytest.mark.parametrize("said", CHANGES)
@pytest.mark.parametrize("name", ["corner", "straight", "corner-damp", "small"])
def test_what_is_kept_says_what_the_file_says_with_the_change(name, said):
    """Read back by Python's own reader of TOML; all comments are still there."""
    text = STRAIGHT.encode()
    if name != "small":
        text = (ROOT / f"examples/{name}/job.toml").read_bytes()
    changes = changes_said(said, "")
    reader = SectionReader("job.toml")
    right = laid(reader, tomllib.loads(text.decode()), changes)
    if reader.faults:  # what the change names isn't in this file
        return
    kept = job_with(text, changes)
    assert tomllib.loads(kept.decode()) == right
    if "without" not in said:
        notes = [x.partition("#")[2] for x in text.decode().splitlines() if "#" in x]
        assert all(note in kept.decode() for note in notes)


def test_without_a_change_not_a_byte_moves():
    for text in (CORNER, CORNER.replace(b"\n", b"\r\n")):
        assert job_with(text, changes_said("methods.primer_coats=2", "")) == text


def test_line_ends_of_another_system_stay():
    text = CORNER.replace(b"\n", b"\r\n")
    kept = job_with(text, changes_said("methods.primer_coats=1", ""))
    assert kept == text.replace(b"primer_coats = 2", b"primer_coats = 1")
