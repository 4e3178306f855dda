"""A key that no job file has is answered with what to use, where that can be known.

Tests of planner/files/job/keys/unknown.py.
"""

import re
import tomllib
from pathlib import Path

import pytest

from planner.files.job.keys import unknown
from planner.files.job.keys.known import sections
from planner.files.job.keys.unknown import unknown_hint
from tests.support.command import covetime

WISHES = tomllib.loads(
    Path(unknown.__file__).with_name("wishes.toml").read_text("utf-8")
)


@pytest.mark.parametrize(
    ("key", "known", "answer"),
    [
        ("budget", ["name"], "no plan is made to a budget"),
        ("Start Date", ["name"], "`earliest` in [job]"),
        ("cieling", ["ceiling"], 'did you mean "ceiling"?'),
        ("humidity", ["name"], "humidity is a key of [air] and of"),
        ("spaceship", ["name", "id"], "known here: name, id"),
    ],
)
def test_a_key_is_answered_with_what_its_author_may_want(key, known, answer):
    assert answer in unknown_hint(key, known)


def test_a_wish_is_no_key_and_names_only_keys_and_commands_that_there_are():
    keys = {k.name for p in sections() for k in p.keys}
    headers = {h.strip("[]") for p in sections() for h in [p.header]}
    for wish, answer in WISHES.items():
        for name in re.findall(r"`([a-z_]+)`", answer):
            assert name in keys, wish
        for section in re.findall(r"\[+([a-z_.]+)\]+", answer):
            assert section in headers, wish
        for command in re.findall(r"`covetime ([a-z]+)[^`]*`", answer):
            assert covetime(command, "-h").returncode == 0, wish
