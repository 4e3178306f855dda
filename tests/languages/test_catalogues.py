"""The catalogues are whole: every sentence, with its places, its measures, its numbers.

`python -m tests.languages` brings them in step; a translation itself is read by people.

Tests of planner/languages/catalogues.py, planner/languages/translated.py.
"""

import ast
import re
import string

import pytest
from babel.messages.catalog import Catalog

from planner.languages.catalogues import NAMES
from planner.languages.language import ENGLISH
from tests.languages.__main__ import in_step, path_of, written
from tests.languages.extracting import KEYWORDS, PLANNER, template

OTHERS = [tag for tag in NAMES if tag != ENGLISH.tag]
MEASURED = re.compile(r"\{[^{}|]+\|[^{}|]+\}")  # "{3 in|76 mm}"


def pairs(catalogue: Catalog) -> list[tuple[str, str]]:
    """Each English form with the form that stands for it in the other language."""
    out: list[tuple[str, str]] = []
    for message in (m for m in catalogue if m.id):
        english, others = (
            [x] if isinstance(x, str) else list(x or ())
            for x in (message.id, message.string)
        )
        assert len(english) == len(others)
        out += zip(english, others, strict=True)
    return out


def places(text: str) -> set[str]:
    """The names in braces, measures of two systems left out."""
    named = string.Formatter().parse(MEASURED.sub("", text))
    return {name for _, name, _, _ in named if name is not None}


def numbers(text: str) -> list[str]:
    """Every number of a text, its decimals written with a point, in their order of size."""
    found = re.findall(r"\d+(?:[.,]\d+)?", text)
    return sorted(n.replace(",", ".") for n in found)


@pytest.mark.parametrize("tag", OTHERS)
def test_a_catalogue_holds_every_sentence_and_no_other(tag):
    assert path_of(tag).read_bytes() == written(in_step(tag)), (
        "run: python -m tests.languages"
    )
    assert len(template()) > 500  # it has looked


def test_every_sentence_of_the_code_is_found_wherever_it_is_said():
    """Also where the extraction doesn't look, such as within a formatted string."""
    known = {m.id if isinstance(m.id, str) else m.id[0] for m in template()}
    codes = {path: path.read_text("utf-8") for path in PLANNER.rglob("*.py")}
    said = {
        (path.name, call.args[0].value)
        for path, code in codes.items()
        if any(f"{word}(" in code for word in KEYWORDS)
        for call in ast.walk(ast.parse(code))
        if isinstance(call, ast.Call)
        and getattr(call.func, "attr", getattr(call.func, "id", "")) in KEYWORDS
        and call.args
        and isinstance(call.args[0], ast.Constant)
    }
    assert len(said) > 100  # it has looked
    assert {(file, words) for file, words in said if words not in known} == set()


@pytest.mark.parametrize("tag", OTHERS)
def test_every_sentence_is_translated(tag):
    found = pairs(in_step(tag))
    assert [english for english, other in found if not other.strip()] == []


@pytest.mark.parametrize("tag", OTHERS)
def test_a_translation_has_the_places_of_its_sentence(tag):
    found = pairs(in_step(tag))
    assert [
        e for e, other in found if places(e) - {"count"} != places(other) - {"count"}
    ] == []
    assert sum(bool(places(e)) for e, _ in found) > 100


@pytest.mark.parametrize("tag", OTHERS)
def test_a_translation_has_the_numbers_of_its_sentence(tag):
    """Above all those of cautions: limits, rules by their numbers, grits and hours."""
    wrong = [
        (english, other)
        for english, other in pairs(in_step(tag))
        if numbers(english) != numbers(other) and english not in IN_WORDS
    ]
    assert wrong == []


# "an inch" is a number in words, which other languages write as one.
IN_WORDS = {e for m in template() if "{an inch|" in (e := str(m.id))}
