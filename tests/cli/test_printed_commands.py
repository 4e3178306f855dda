"""Each command that a page of Markdown or a help text prints does what it says.

It is run as it is written, in a fresh copy of the examples. What can't be run here is
checked by its parts: see `HOW`.

Tests of planner/cli.py, planner/commands/drying.py, planner/commands/looking.py,
planner/commands/planning.py.
"""

import argparse
import importlib
import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import chdir
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest
import typer
from typer.testing import CliRunner

from planner.cli import app
from planner.commands import starting
from planner.files.caldav.login import service
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.report.board.board import board_svg
from planner.units import day_words, year_once
from tests.support.caldav import PASSWORD, USER, radicale
from tests.support.command import covetime
from tests.support.examples import USUAL, Examples
from tests.support.finding import modules_of_tests, named_in
from tests.support.places import ROOT
from tests.support.plans import made_plan
from tests.support.printed import PROGRAM, STORY, Page, examples_in_help, helps

README, GUIDE, DEVELOPERS = map(
    Page, ("README.md", "examples/GUIDE.md", "DEVELOPERS.md")
)
PAGES = (README, GUIDE, DEVELOPERS)
# What `plan` prints of the corner example, and `compare` of the straight wall.
(PLANNED,), (COMPARED,) = (
    [text for kind, text in page.blocks if kind == "text"] for page in (README, GUIDE)
)
CALENDAR_SERVER = "https://cal.example.org"  # RFC 2606 keeps such names for examples
SET_UP = "python3 -m venv .venv && .venv/bin/pip install -q "
PICTURE = ROOT / "examples/corner/board.svg"
STALE = (
    "the picture is of an earlier plan or an earlier program; make it anew: covetime "
    "plan examples/corner/job.toml, then copy board.svg from its plan beside the job file"
)
SVG = "{http://www.w3.org/2000/svg}"
QUICK = (
    "covetime plan examples/straight/job.toml"  # other examples take the search 10 s
)
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of what a reader who has just cloned the repository has."""
    for name in ("examples", "calendars"):
        shutil.copytree(
            ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("plan")
        )
    return tmp_path


@pytest.fixture
def planned_copy(copy: Path, planned: Examples) -> Path:
    """Such a copy after the examples have been planned that commands ask plans of."""
    for name in USUAL:
        shutil.copytree(planned[name].folder, copy / "examples" / name / "plan")
    return copy


@pytest.fixture(scope="module")
def calendar_server(tmp_path_factory) -> Iterator[str]:
    with radicale(tmp_path_factory.mktemp("radicale")) as server:
        server.calendar("stage")
        yield server.url


# ------------------------------------------------------------- run as written


def runs(command: str, folder: Path, env: Mapping[str, str] | None = None) -> str:
    """Run a command of covetime in a folder; it ends well and writes what it is asked."""
    words = shlex.split(command)[1:]
    ran = covetime(*words, cwd=folder, env=env)
    assert ran.returncode == 0, ran.stderr
    for option, name in pairwise(words):
        if option in ("--csv", "--json", "--picture"):
            assert (folder / name).stat().st_size > 100
    return ran.stdout


def compares(command: str, request: pytest.FixtureRequest) -> None:
    said = runs(command, request.getfixturevalue("planned_copy"))
    if command in GUIDE.commands():
        assert COMPARED in said, "the guide's figures are of an earlier plan"


def looks(command: str, request: pytest.FixtureRequest) -> None:
    assert runs(command, request.getfixturevalue("planned_copy"))


def plans(command: str, request: pytest.FixtureRequest) -> None:
    copy = request.getfixturevalue("copy")
    said = runs(command, copy)
    assert "Keep the stage clear" in said
    _, _, served = command.partition("--served-at ")
    assert not served or f"  {served}closure.ics\n" in said  # to subscribe to
    job = next(x for x in shlex.split(command) if x.endswith("job.toml"))
    assert (copy / job).with_name("plan").joinpath("plan.json").is_file()


def publishes(command: str, request: pytest.FixtureRequest) -> None:
    """A calendar server on this machine stands for the reader's."""
    url = request.getfixturevalue("calendar_server")
    there = command.replace(CALENDAR_SERVER, url)
    assert there != command
    login = {"COVETIME_USER": USER, "COVETIME_PASSWORD": PASSWORD}
    assert url in runs(there, request.getfixturevalue("planned_copy"), login)


# ----------------------------------------------------------- checked by parts


def sets_up(command: str, request: pytest.FixtureRequest) -> None:
    """Two commands make an environment: the last part of one, and all of the other.

    The first is run whole by the slow test below, the second by `.ci/run`.
    """
    made = re.fullmatch(
        re.escape(SET_UP) + r"(\.|-e '\.\[dev\]') && \.venv/bin/(.+)", command
    )
    assert made, command
    if made[2] != "pytest":
        assert made[2] in examples_in_help()
        assert SETTINGS["project"]["scripts"] == {"covetime": "planner.main:main"}
    else:
        assert command in (ROOT / ".ci/run").read_text("utf-8").splitlines()


def activates(command: str, request: pytest.FixtureRequest) -> None:
    """An environment at the set-up's path becomes the one whose programs are found."""
    tmp_path = request.getfixturevalue("tmp_path")
    make = [sys.executable, "-m", "venv", "--without-pip", ".venv"]
    subprocess.run(make, cwd=tmp_path, check=True, timeout=60)
    (tmp_path / ".venv/bin/covetime").touch(mode=0o755)
    found = subprocess.run(
        ["sh", "-c", f"{command} && command -v covetime"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert Path(found.stdout.strip()) == tmp_path / ".venv/bin/covetime"


def installs_extra(command: str, request: pytest.FixtureRequest) -> None:
    assert command == "pip install -q '.[keyring]'"
    assert "keyring" in SETTINGS["project"]["optional-dependencies"]


def keeps_password(command: str, request: pytest.FixtureRequest) -> None:
    _, verb, word, user = shlex.split(command)
    assert verb == "set"  # of the program that the package keyring brings
    assert word == service(f"{CALENDAR_SERVER}/ana/stage/")
    assert any(f"{CALENDAR_SERVER}/{user}/" in x for x in GUIDE.commands())


def house_task(command: str, request: pytest.FixtureRequest) -> None:
    name = shlex.split(command, comments=True)[1]
    assert name in SETTINGS["tool"]["poe"]["tasks"]


def runs_tests(command: str, request: pytest.FixtureRequest) -> None:
    """Each marker and profile that is asked for exists, and nothing else is asked."""
    asked = shlex.split(command)[1:]
    markers = [x.split(":")[0] for x in SETTINGS["tool"]["pytest"]["markers"]]
    conftest = (ROOT / "tests/conftest.py").read_text("utf-8")
    for option, value in zip(asked[::2], asked[1::2], strict=True):
        assert option in ("-m", "--hypothesis-profile")
        if option == "-m":
            assert value in markers
        else:
            assert f'register_profile("{value}"' in conftest


def finds_tests(command: str, request: pytest.FixtureRequest) -> None:
    words = shlex.split(command)
    (module,) = (x for x in words if x.startswith("planner/"))
    said = subprocess.check_output(words, cwd=ROOT, text=True, timeout=60)
    naming = [t for t in modules_of_tests() if module in named_in(t)]
    assert sorted(said.splitlines()) == naming


def takes_options(command: str, request: pytest.FixtureRequest) -> None:
    """A program of the tests, which takes long, takes these words."""
    _, flag, name, *words = shlex.split(command)
    assert flag == "-m"
    module = importlib.import_module(name)
    if hasattr(module, "__path__"):  # of a folder, `-m` runs this module
        module = importlib.import_module(f"{name}.__main__")
    parser = module._parser()
    assert isinstance(parser, argparse.ArgumentParser)
    parser.parse_args(words)


def teaches_the_shell(command: str, request: pytest.FixtureRequest) -> None:
    """The shell that the command is typed in is found and told; here in a home of its own."""
    home: Path = request.getfixturevalue("tmp_path")
    programs = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    ran = subprocess.run(
        ["bash", "-c", f"{command}; exit $?"],  # two commands, so that the shell stays
        env={**os.environ, "HOME": str(home), "PATH": programs},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ran.returncode == 0, ran.stderr
    (script,) = (home / ".bash_completions").iterdir()
    assert "covetime" in script.read_text("utf-8")
    assert str(script) in (home / ".bashrc").read_text("utf-8")


def begins(command: str, request: pytest.FixtureRequest) -> None:
    """A new job is begun in a folder of its own; all that is asked is answered."""
    if command.endswith(" -h"):
        assert runs(command, request.getfixturevalue("tmp_path"))
        return
    place: Path = request.getfixturevalue("tmp_path")
    request.getfixturevalue("monkeypatch").setattr(
        starting, "at_terminal", lambda: True
    )
    said = "Stage\nAmerica/Halifax\nback wall 5 m\n3 m\nAna: painter\n2027-02-08\n"
    with chdir(place):
        words = shlex.split(command)[1:]
        pieces = "1 m\n750 mm\n800 mm\n9 kg\n"
        ran = CliRunner().invoke(app, words, input=f"{said}metric\nn\n{pieces}")
    assert ran.exit_code == 0, ran.output
    assert len(list(place.rglob("job.toml"))) == 1


def lists_the_commands(command: str, request: pytest.FixtureRequest) -> None:
    said = runs(command, request.getfixturevalue("tmp_path"))
    assert set(helps()) <= set(said.split())


HOW: dict[str, Callable[[str, pytest.FixtureRequest], None]] = {
    "covetime plan": plans,
    "covetime publish": publishes,
    "covetime compare": compares,
    "covetime new": begins,
    "covetime --install-completion": teaches_the_shell,
    "covetime -h": lists_the_commands,
    **{
        f"covetime {name}": looks
        for name in helps()
        if name not in ("compare", "new", "plan", "publish")
    },
    SET_UP: sets_up,
    ". .venv/bin/activate": activates,
    "pip install": installs_extra,
    "keyring set": keeps_password,
    ".venv/bin/poe": house_task,
    ".venv/bin/pytest": runs_tests,
    "grep -rl": finds_tests,
    ".venv/bin/python -m tests.": takes_options,
}


def param(command: str):
    long = tuple(
        f"covetime {name}"
        for name in ("plan", "odds", "repaint", "closures", "compare")
    )
    slow = command.startswith(long) and not command.startswith(QUICK)
    return pytest.param(command, marks=[pytest.mark.slow] if slow else [])


printed = [
    command
    for command in dict.fromkeys(
        [*(c for page in PAGES for c in page.commands()), *examples_in_help()]
    )
    if STORY not in command
]


@pytest.mark.parametrize("command", [param(c) for c in printed])
def test_a_printed_command_does_what_it_says(command, request):
    how = [HOW[start] for start in HOW if command.startswith(start)]
    assert how, f"no test knows how to run: {command}"
    how[0](command, request)


@pytest.mark.slow
def test_the_first_command_runs_in_a_new_clone(tmp_path):
    clone = tmp_path / "clone"
    subprocess.run(
        ["git", "clone", "-q", str(ROOT), str(clone)], check=True, timeout=60
    )
    ran = subprocess.run(
        ["sh", "-c", README.commands()[0]],
        cwd=clone,
        env={k: v for k, v in os.environ.items() if k != "PYTHONPATH"},
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
    )
    assert ran.returncode == 0, ran.stderr
    assert "Keep the stage clear" in ran.stdout


# ------------------------------------------------------- nothing is overlooked


@pytest.mark.parametrize("page", PAGES, ids=["readme", "guide", "developers"])
def test_a_block_that_holds_commands_says_so(page):
    kinds = {kind for kind, _ in page.blocks}
    assert kinds <= {"sh", "text", "python", "toml"}  # toml: tests/files/test_keys.py
    assert [x for x in page.other_lines() if PROGRAM.match(x)] == []


@pytest.mark.parametrize("page", PAGES, ids=["readme", "guide", "developers"])
def test_commands_that_are_named_exist(page):
    assert page.named() <= set(helps())


def test_options_that_readme_and_guide_name_exist():
    group = typer.main.get_command(app)
    asked = [group, *helps().values()]
    known = {o for command in asked for p in command.params for o in p.opts}
    named = README.options() | GUIDE.options()
    assert named <= known
    assert len(named) >= 10


def test_each_command_has_an_example_in_its_help_and_prints_no_other():
    for name, command in helps().items():
        assert any(x.startswith(f"covetime {name} ") for x in examples_in_help())
        said = [command.help, *(getattr(p, "help", None) or "" for p in command.params)]
        assert " ".join(said).count("covetime ") == 1


def test_the_lines_of_code_in_developers_run(monkeypatch):
    monkeypatch.chdir(ROOT)
    (lines,) = (text for kind, text in DEVELOPERS.blocks if kind == "python")
    names: dict[str, object] = {}
    exec(compile(lines, "DEVELOPERS.md", "exec"), names)
    assert isinstance(names["plan"], Plan)


@pytest.mark.slow
def test_the_readme_shows_what_the_plan_command_prints(copy):
    ran = covetime("plan", "examples/corner/job.toml", cwd=copy, kept=True)
    assert PLANNED in ran.stdout, "README's figures are of an earlier plan"
    made = copy.joinpath("examples/corner/plan/board.svg").read_text("utf-8")
    assert _unmarked(made) == _unmarked(PICTURE.read_text("utf-8")), STALE


def _unmarked(picture: str) -> str:
    """Return a board without the mark of its plan, which may be that of another day."""
    marked = re.compile(r"(?<=>)plan [^<]+?, (?=covetime )")
    assert marked.search(picture)
    return marked.sub("", picture)


def test_the_picture_of_the_readme_is_drawn_as_the_program_draws_and_says_its_dates():
    """The quick half: looks and key are today's, the dates are those that README prints."""
    assert f"]({PICTURE.relative_to(ROOT)})" in README.text
    kept = ET.fromstring(PICTURE.read_text("utf-8"))
    drawn = ET.fromstring(board_svg(made_plan()))
    for part in ("style", "defs"):
        (one,), (two,) = (list(x.iter(f"{SVG}{part}")) for x in (kept, drawn))
        assert _looks(one) == _looks(two), STALE
    head = ["".join(t.itertext()) for t in kept.iter(f"{SVG}text")][1]
    dates = re.findall(r"(\d+ \w{3})(?: \d{4})?, (\d\d:\d\d)", head)
    assert len(dates) == 2
    said = re.findall(r"(\d+ \w{3})(?: \d{4})?, (\d\d:\d\d)", PLANNED)
    assert set(dates) <= set(said), STALE


def _looks(part: ET.Element) -> str:
    """Return a part of a picture, without the size of paper, which each has its own."""
    text = ET.tostring(part, encoding="unicode")
    return re.sub(r"@page\{.*?\}", "", text)


def test_the_readme_says_of_the_earliest_plan_what_it_would_have_promised(planned):
    """The quick half of the test above: what is told of the plan with `--earliest`."""
    words = " ".join(PLANNED.split())
    plan = planned["corner"].case[1]
    full = plan.stage.returning(ReturnKind.FULL_SERVICE)
    zone = ZoneInfo(plan.zone)
    assert full.promise is not None
    year = full.when.astimezone(zone).year  # which the first date says
    planned_on, kept_by = (
        year_once(day_words(t, zone), year) for t in (full.when, full.promise)
    )
    # the plan that README prints returns as early, which is proven, and promises sooner
    assert f"(working plan {planned_on}," in words
    assert "full service is the earliest possible" in words
    assert f"back by {kept_by} in 80 of 100 cases" in words
