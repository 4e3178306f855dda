"""Every key of a job file in words, as a page and as a JSON Schema: all of them, and true.

Tests of planner/files/job/keys/known.py, planner/files/job/keys/words.py,
planner/files/job/sections/section.py.
"""

import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from planner.files.job.keys import words as key_words
from planner.files.job.keys.known import (
    Key,
    KeySection,
    schema,
    schema_text,
    sections,
    toml,
)
from planner.files.job.sections.schema import OddsSection
from planner.trade.data.odds import assumed
from tests.support.command import covetime

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*/job.toml"))
EMPTY = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nEND:VCALENDAR\r\n"
every_part = pytest.mark.parametrize("part", sections(), ids=lambda p: p.path)


def as_text(value: Any) -> Any:
    """Return a value of TOML as editors check it: days and times are texts."""
    match value:
        case dict():
            return {k: as_text(v) for k, v in value.items()}
        case list():
            return [as_text(v) for v in value]
        case str() | bool() | int() | float():
            return value
        case _:
            return value.isoformat()


def faults(job: dict[str, Any]) -> list[str]:
    """Return what an editor would mark in a job file."""
    checker = jsonschema.Draft202012Validator(
        schema(), format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )
    return [e.message for e in checker.iter_errors(as_text(job))]


@every_part
def test_the_words_and_the_models_have_the_same_keys(part: KeySection):
    assert sorted(k.name for k in part.keys) == sorted(part.model.model_fields)


@every_part
def test_what_is_left_out_is_said_in_one_way(part: KeySection):
    for key in part.keys:
        ways = [key.needed, key.default is not None, bool(key.otherwise)]
        assert sum(ways) == 1, key.name
        assert key.means
        assert "|" not in key.means + key.otherwise  # it stands in a table


@every_part
def test_a_default_that_is_told_is_the_one_that_is_taken(part: KeySection):
    for key in part.keys:
        if key.default is None:
            continue
        if part.path == "odds":  # where the section is silent, the data has the default
            own = dict(OddsSection.model_validate({key.name: key.default}).own)
            assert own[key.name] == pytest.approx(assumed()[key.name].value)
            continue
        told, taken = read(part, key, key.default), part.model.model_fields[key.name]
        exact = not isinstance(told, float)
        assert told == (taken.default if exact else pytest.approx(taken.default))


@every_part
def test_what_a_key_is_such_as_can_be_read(part: KeySection):
    for key in part.keys:
        if key.write is not None:
            assert read(part, key, key.write) is not None


def read(part: KeySection, key: Key, value: Any) -> Any:
    """Return what a section makes of a value of one of its keys, TOML as it is written."""
    written = tomllib.loads(f"value = {toml(value)}")["value"]
    needed = {k.name: k.write for k in part.keys if k.needed}
    if part.path == "stage":
        needed["run"] = [{"name": "north", "length": "24 ft"}]
    needed = tomllib.loads("\n".join(f"{k} = {toml(v)}" for k, v in needed.items()))
    return getattr(part.model.model_validate(needed | {key.name: written}), key.name)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.parent.name)
def test_the_schema_finds_nothing_in_an_example(path: Path):
    text = path.read_text("utf-8")
    assert text.startswith("#:schema ../job.schema.json\n")
    assert faults(tomllib.loads(text)) == []


@pytest.mark.parametrize(
    ("section", "key", "value"),
    [
        ("stage", "cieling", "12 ft"),  # no such key
        ("stage", "ceiling", 12),  # no unit
        ("stage", "wall", "brick"),  # none of the three
        ("stage", "hours", "from seven"),
        ("job", "earliest", "soon"),
        ("methods", "primer_coats", 0),
        ("odds", "pace", 10),
        ("kit", "drying_times", 9),
        ("crew", "name", "Ana"),  # a table where a list must stand
    ],
)
def test_the_schema_marks_what_the_program_refuses(
    section: str, key: str, value: object
):
    job = tomllib.loads(EXAMPLES[0].read_text("utf-8"))
    broken = {key: value} if section == "crew" else job.get(section, {}) | {key: value}
    assert faults(job | {section: broken}) != []


def test_a_job_needs_its_place_its_walls_and_somebody_who_comes():
    missing = " ".join(faults({}))
    for needed in ("job", "stage", "crew"):
        assert f"'{needed}' is a required property" in missing


def test_the_page_and_the_schema_beside_the_examples_are_those_of_the_program():
    assert (ROOT / "examples/JOBFILE.md").read_text("utf-8") == key_words.page()
    assert (ROOT / "examples/job.schema.json").read_text("utf-8") == schema_text()


def test_each_key_stands_on_the_page_once_and_those_written_alike_are_named():
    page = key_words.page()
    for part in sections():
        if part.like:
            name = part.path.rsplit(".", 1)[-1]
            assert f"{name}`" in page or f"{name}]`" in page or f"{name}]]`" in page
        else:
            assert page.count(f"## `{part.header}`") == 1


def test_a_section_is_told_with_what_stands_inside_it():
    told = covetime("keys", "air.room").stdout
    assert "[air.room]" in told
    assert "[[air.room.heat]]" in told
    assert "[kit]" not in told
    assert max(map(len, told.splitlines())) <= 80
    assert "left out: 0.3" in told


def test_a_section_that_is_not_there_is_answered_with_one_that_is():
    ran = covetime("keys", "metods")
    assert ran.returncode == 2
    assert 'no section "metods"' in ran.stderr
    assert 'did you mean "methods"?' in ran.stderr


def test_the_job_file_in_the_readme_is_read_without_a_fault(tmp_path):
    _, *blocks = (ROOT / "README.md").read_text("utf-8").split("```toml\n")
    (text,) = (block.split("```")[0] for block in blocks)
    for name in ("stage", "ana"):
        calendar = tmp_path / "calendars" / f"{name}.ics"
        calendar.parent.mkdir(exist_ok=True)
        calendar.write_bytes(EMPTY)
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    assert faults(tomllib.loads(text)) == []
    ran = covetime("check", str(tmp_path / "job.toml"))
    assert ran.returncode == 0, ran.stderr
