"""The examples, each planned once in a run of the tests, whoever asks for it first."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from planner.files.folder import planfile
from planner.files.folder.lock import locked, unsaid
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.usecases.read import read_inputs
from tests.support.command import covetime
from tests.support.places import ROOT

EXAMPLES = ("straight", "corner", "corner-damp")
# Planned in the usual run; the plan of the damp room, which takes as long as both, on
# demand: smaller rooms with water of their own are planned by tests of their own.
USUAL = ("straight", "corner")
NOW = "2027-01-15T09:00:00Z"


@dataclass(frozen=True)
class Planned:
    """An example as the command planned it: its folder and what was printed."""

    name: str
    folder: Path
    said: str

    @cached_property
    def plan(self) -> dict[str, Any]:
        """The plan as plan.json holds it."""
        found: dict[str, Any] = json.loads(self._text)
        return found

    @cached_property
    def case(self) -> tuple[Inputs, Plan]:
        """The facts of the example and its plan, as the program reads them."""
        plan = planfile.read_plan(self._text.encode(), file="plan.json")
        return read_inputs(ROOT / job_of(self.name)), plan

    @property
    def _text(self) -> str:
        return (self.folder / "plan.json").read_text("utf-8")


def job_of(name: str) -> str:
    """Return the path of an example's job file, as a user would write it."""
    return f"examples/{name}/job.toml"


class Examples(Mapping[str, Planned]):
    """The plans of the examples, made as they are asked for in a folder that workers share.

    Nobody changes what lies there: a test that writes takes a copy.
    """

    def __init__(self, shared: Path) -> None:
        self._shared = shared
        self._known: dict[str, Planned] = {}

    def __getitem__(self, name: str) -> Planned:
        """Return an example's plan, made now if no worker has made it yet."""
        if name not in self._known:
            self._known[name] = self._made(name)
        return self._known[name]

    def __iter__(self) -> Iterator[str]:
        return iter(EXAMPLES)

    def __len__(self) -> int:
        return len(EXAMPLES)

    def _made(self, name: str) -> Planned:
        place = self._shared / name
        folder, said = place / "plan", place / "said.txt"
        with locked(place, tell=unsaid, wait_s=600.0):
            if not said.exists():
                args = ("plan", job_of(name), "--out", str(folder), "--now", NOW)
                ran = covetime(*args)
                assert ran.returncode == 0, ran.stderr
                said.write_text(ran.stdout, "utf-8")
        return Planned(name=name, folder=folder, said=said.read_text("utf-8"))
