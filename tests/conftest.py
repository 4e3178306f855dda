"""What several test modules share: the examples, each planned once."""

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# A change is judged on the same cases each time; `pytest --hypothesis-profile search`
# draws new ones, and many more.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("search", max_examples=2000, deadline=None, print_blob=True)
settings.load_profile("steady")

ROOT = Path(__file__).parents[1]
EXAMPLES = ("straight", "corner", "corner-damp")
NOW = "2027-01-15T09:00:00Z"


@dataclass(frozen=True)
class Planned:
    """An example as the command planned it: its folder, its plan, what was printed."""

    name: str
    folder: Path
    plan: dict[str, Any]
    said: str


def covetime(*args: str, **kwargs) -> subprocess.CompletedProcess[str]:
    """Run the command as a user would."""
    return subprocess.run(
        [sys.executable, "-m", "planner.cli", *args],
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
        cwd=ROOT,
        **kwargs,
    )


@pytest.fixture(scope="session")
def planned(tmp_path_factory) -> dict[str, Planned]:
    """Every example, planned into a folder of its own at a fixed moment."""
    out = {}
    for name in EXAMPLES:
        folder = tmp_path_factory.mktemp(name) / "plan"
        job = f"examples/{name}/job.toml"
        ran = covetime("plan", job, "--out", str(folder), "--now", NOW)
        assert ran.returncode == 0, ran.stderr
        plan = json.loads((folder / "plan.json").read_text("utf-8"))
        out[name] = Planned(name=name, folder=folder, plan=plan, said=ran.stdout)
    return out
