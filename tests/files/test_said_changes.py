"""Alternatives as they are said on the command line.

Tests of planner/files/job/edits/said_changes.py.
"""

import pytest

from planner.errors import JobFileError
from planner.files.job.changes import Changes
from planner.files.job.edits.said_changes import changes_said


def values(said: str) -> list[object]:
    return [dict(c.values) for c in changes_said(said, "--change 1")]


def test_a_key_and_a_value_as_in_the_job_file():
    assert values("methods.primer_coats=1") == [{"methods": {"primer_coats": 1}}]
    assert values(' job.drying_margin = "40 %" ') == [
        {"job": {"drying_margin": "40 %"}}
    ]
    assert values('crew."Ana Ruiz".rest="9 h"') == [
        {"crew": {"Ana Ruiz": {"rest": "9 h"}}}
    ]
    assert values('without=["crew.Bo"]') == [{"without": ["crew.Bo"]}]


def test_what_is_no_value_of_toml_is_text_as_a_shell_leaves_it():
    assert values("methods.fill=foam") == [{"methods": {"fill": "foam"}}]
    assert values("crew.Bo.rest=9 h") == [{"crew": {"Bo": {"rest": "9 h"}}}]
    assert values("job.name=a=b") == [{"job": {"name": "a=b"}}]
    assert values("job.name=Ana's wall") == [{"job": {"name": "Ana's wall"}}]


def test_several_are_joined_for_one_alternative():
    assert values("a.b=1; c=x ;") == [{"a": {"b": 1}}, {"c": "x"}]


def test_a_semicolon_within_quotes_joins_nothing():
    assert values("a='1;2'") == [{"a": "1;2"}]
    assert values(r'a="1\";2"; b=3') == [{"a": '1";2'}, {"b": 3}]


def test_a_file_of_changes_is_laid_over_as_it_is(tmp_path):
    path = tmp_path / "drier.toml"
    path.write_text('[air]\nhumidity = "35 %"\n', "utf-8")
    first, second = changes_said(f"{path}; methods.fill=foam", "--change 1")
    assert first == Changes(label=str(path), values={"air": {"humidity": "35 %"}})
    assert second.label == "--change 1"


@pytest.mark.parametrize(
    ("said", "where", "message"),
    [
        ("", "--change 1", "says no change"),
        (" ; ", "--change 1", "says no change"),
        ("foam", "--change 1", '"foam" is neither key=value nor a file of changes'),
        ("gone.toml", "gone.toml", "can't be read (No such file or directory)"),
        ("a b=1", "--change 1: an address", '"a b" is not an address'),
    ],
)
def test_what_is_no_change_is_said_where_and_why(said, where, message, tmp_path):
    with pytest.raises(JobFileError) as error:
        changes_said(said, "--change 1")
    (fault,) = error.value.faults
    assert (fault.where, fault.message) == (where, message)
    assert fault.hint


def test_a_file_that_is_no_toml_is_named(tmp_path):
    path = tmp_path / "drier.toml"
    path.write_text("[air\n", "utf-8")
    with pytest.raises(JobFileError) as error:
        changes_said(str(path), "--change 1")
    assert error.value.faults[0].where == f"{path}: file"
