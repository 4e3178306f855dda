"""The story of three days that README.md tells, played command by command.

Tests of planner/commands/living.py, planner/usecases/living/revise.py,
planner/usecases/living/telling.py, planner/usecases/living/measured.py,
planner/usecases/living/today.py, planner/usecases/publish.py.
"""

import json
import shlex
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tests.support.caldav import PASSWORD, USER, radicale
from tests.support.command import Ran, covetime
from tests.support.places import ROOT
from tests.support.printed import STORY, Page

COMMANDS = [c for c in Page("README.md").commands() if STORY in c]
SERVER = "https://cal.example.org"


def test_the_story_is_told_in_ten_commands():
    """It logs, revises, says what to do today, and publishes."""
    words = [shlex.split(c)[1] for c in COMMANDS]
    assert words == [
        *("plan", "log", "log", "revise"),
        *("today", "log", "log"),
        *("log", "revise", "publish"),
    ]


class Played:
    """The commands of the story, run one after another in a copy of the examples."""

    def __init__(self, folder: Path, server: str) -> None:
        for name in ("examples", "calendars"):
            shutil.copytree(
                ROOT / name, folder / name, ignore=shutil.ignore_patterns("plan")
            )
        self.folder = folder / "examples" / "three-days"
        self.plans: list[dict[str, Any]] = []  # after each command
        self.ran: list[Ran] = []
        for command in COMMANDS:
            words = shlex.split(command.replace(SERVER, server))[1:]
            login = {"COVETIME_USER": USER, "COVETIME_PASSWORD": PASSWORD}
            self.ran.append(covetime(*words, cwd=folder, env=login, kept=True))
            self.plans.append(json.loads((self.folder / "plan/plan.json").read_text()))

    def tasks(self, after: int) -> dict[str, dict[str, Any]]:
        """The tasks of the plan that stands after a command, counted from 1."""
        return {t["id"].partition(":")[2]: t for t in self.plans[after - 1]["tasks"]}


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    with radicale(tmp_path_factory.mktemp("radicale")) as server:
        server.calendar("stage")
        yield Played(tmp_path_factory.mktemp("story"), server.url)


@pytest.mark.slow
def test_each_command_does_what_it_is_told(played):
    for command, ran in zip(COMMANDS, played.ran, strict=True):
        assert ran.returncode == 0, f"{command}: {ran.stderr}"


@pytest.mark.slow
def test_while_ines_is_away_her_coats_are_salomes_and_the_return_stays(played):
    before, after = played.tasks(3), played.tasks(4)
    friday = ("setting-coat-1.back", "topping-coat-1.back")
    assert all("ines" in before[t]["team"] for t in friday)
    assert all(after[t]["team"] == ["salome"] for t in friday)
    start = datetime.fromisoformat(after["setting-coat-1.back"]["start"])
    earlier = datetime.fromisoformat(before["setting-coat-1.back"]["start"])
    assert (start - earlier).total_seconds() == 3600
    first, second = (
        {r["kind"]: r["when"] for r in p["stages"][0]["returns"]}
        for p in (played.plans[2], played.plans[3])
    )
    assert first == second
    said = played.ran[3].stdout
    assert "to be told, in changes/: Ines, Salome, manager, owner" in said
    assert "Full service: Mon 17 May 2027, 11:15, as before" in said


@pytest.mark.slow
def test_salome_is_told_what_to_coat_and_what_must_have_set(played):
    said = played.ran[4].stdout
    assert "Setting compound 1, back" in said
    assert "[ ] Setting compound 1, back: set by" in said
    assert "Duarte" not in said
    assert max(map(len, said.splitlines())) <= 44


@pytest.mark.slow
def test_the_loggers_day_is_in_the_log_and_in_the_revised_plan(played):
    assert "air: 24 readings" in played.ran[6].stdout
    assert len(played.plans[8]["stages"][0]["air"]["readings"]) == 24
    assert played.plans[3]["stages"][0]["air"]["readings"] == []


@pytest.mark.slow
def test_nothing_is_sanded_on_a_coat_found_wet_and_what_is_over_stays(played):
    before, after = played.tasks(4), played.tasks(9)
    assert after["topping-coat-1.back"]["happened"] == "done"
    found = datetime.fromisoformat("2027-05-10T08:05:00+00:00")
    for task in ("rub.back", "prime-1"):
        assert datetime.fromisoformat(after[task]["start"]) > found
        assert after[task]["start"] > before[task]["start"]
    over = {i for i, t in before.items() if t["end"] <= "2027-05-06T16:00:00Z"}
    assert len(over) > 10
    for task in over:
        assert after[task]["spans"] == before[task]["spans"]


@pytest.mark.slow
def test_the_note_that_is_sent_with_her_calendar_is_salomes(played):
    note = (played.folder / "plan/changes/people/salome.txt").read_text("utf-8")
    assert played.ran[9].stdout.endswith(f"\n\n{note}")
    assert "Sand the joints, back (rub.back)" in note
    assert "what changes for Salome" in note
    owner = (played.folder / "plan/changes/owner.txt").read_text("utf-8")
    owner = " ".join(owner.split())
    assert "air: 24 readings" in owner
    assert "not dry: Topping 1, back (topping-coat-1.back)" in owner
