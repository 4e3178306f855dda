"""A job of one's own from nothing: asked or given, read without fault, never over a file.

Tests of planner/commands/starting.py, planner/usecases/new.py,
planner/files/job/starter.py.
"""

import tomllib
from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.cli import app
from planner.commands import starting
from planner.usecases.new import people_of, walls_of
from tests.support.command import Ran, covetime

SAID = {
    "--name": "Fern Lane Stage",
    "--time-zone": "America/Halifax",
    "--walls": "back wall 24 ft 6 in, side wall 12 ft",
    "--ceiling": "12 ft",
    "--people": "Ana: carpenter, finisher; Li: painter, labourer",
    "--earliest": "2027-02-08",
    "--units": "us",
}
PIECES = {
    "module_width": "40 in",
    "radius": "30 in",
    "straight_height": "32 in",
    "module_mass": "20 lb",
}
CORNER = {"corner_height": "36 in", "corner_leg": "3 ft", "upright_height": "40 in"}


def new(folder: Path, corners: str = "--corners", **said: str) -> Ran:
    """Run `new` with every answer given; some of them others than usual."""
    kit = PIECES | (CORNER if corners == "--corners" else {})
    kit |= {k: said.pop(k) for k in set(said) & set(kit)}
    given = SAID | {f"--{k.replace('_', '-')}": v for k, v in said.items()}
    words = [w for pair in given.items() for w in pair]
    words += [w for k, v in kit.items() for w in ("--kit", f"{k}={v}")]
    return covetime("new", str(folder), *words, corners)


def test_what_is_written_is_checked_without_a_fault_and_says_what_to_type(tmp_path):
    folder = tmp_path / "fern lane"
    crew = "Ana: carpenter, finisher; Li: painter; Noor: labourer; Pia: labourer"
    ran = new(folder, people=crew)  # it takes four to lift this corner
    assert ran.returncode == 0, ran.stderr
    *written, last = ran.stdout.splitlines()
    assert {Path(line).relative_to(folder).as_posix() for line in written} == {
        "job.toml", "job.schema.json",
        "calendars/stage.ics", "calendars/ana.ics", "calendars/li.ics",
        "calendars/noor.ics", "calendars/pia.ics",
    }  # fmt: skip
    assert last.endswith(f"covetime check '{folder / 'job.toml'}'")
    checked = covetime("check", str(folder / "job.toml"))
    assert checked.returncode == 0, checked.stderr
    assert "Fern Lane Stage" in checked.stdout


def test_the_job_says_what_was_said(tmp_path):
    new(tmp_path, walls="back 7.2 m; left", corners="--no-corners", units="metric")
    assert not list(tmp_path.iterdir())  # a wall without a length is a fault
    new(tmp_path, walls="back 7.2 m, wall 2: 4.8 m", units="metric")
    job = tomllib.loads((tmp_path / "job.toml").read_text("utf-8"))
    assert job["stage"]["run"] == [
        {"name": "back", "length": "7.2 m", "meets": "wall 2"},
        {"name": "wall 2", "length": "4.8 m"},
    ]
    assert [p["name"] for p in job["crew"]] == ["Ana", "Li"]
    assert job["crew"][1]["trades"] == ["painter", "labourer"]
    assert job["air"]["temperature"] == "20 C"


def test_what_is_not_given_is_asked(tmp_path, monkeypatch):
    monkeypatch.setattr(starting, "at_terminal", lambda: True)
    for corners, pieces in (("y", PIECES | CORNER), ("n", PIECES)):
        answers = [*SAID.values(), corners, *pieces.values()]
        folder = tmp_path / corners
        ran = CliRunner().invoke(app, ["new", str(folder)], input="\n".join(answers))
        assert ran.exit_code == 0, ran.output
        assert "Which walls" in ran.output
        kit = tomllib.loads((folder / "job.toml").read_text("utf-8"))["kit"]
        assert kit == pieces


def test_without_a_terminal_all_that_is_missing_is_named_at_once(tmp_path):
    folder = tmp_path / "stage"
    ran = covetime("new", str(folder))
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "Aborted" not in ran.stderr
    wanted = (*SAID, "--corners/--no-corners", *(f"{k}=" for k in PIECES | CORNER))
    assert [said for said in wanted if said not in ran.stderr] == []
    some = covetime(
        "new", str(folder), "--name=Fern", "--no-corners", "--kit=radius=1 m"
    )
    assert some.returncode == 2
    assert "--walls" in some.stderr
    assert "module_width=" in some.stderr
    for said in ("--name", "radius=", "--corners", *CORNER):
        assert said not in some.stderr, said
    assert covetime("new", "-h").returncode == 0
    assert not list(tmp_path.iterdir())


def test_every_fault_is_said_and_nothing_written(tmp_path):
    ran = new(
        tmp_path / "stage",
        time_zone="America/Halfax",
        walls="back wall 24 ft, side wall",
        ceiling="12",
        people="Ana: carpenter; Li: painer; Jo",
        earliest="8.2.2027",
        module_mass="9",
    )
    assert ran.returncode == 2
    for said in (
        'did you mean "America/Halifax"?',
        "stage.run.2.length",
        "stage.ceiling",
        'did you mean "painter"?',
        "crew.3.trades",
        "is not a day such as 2027-02-08",
        "kit.module_mass",
        f"{tmp_path / 'stage' / 'job.toml'} as it would be",
    ):
        assert said in ran.stderr, said
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("there", ["job.toml", "calendars/li.ics"])
def test_nothing_is_written_over_nor_beside_what_is_there(tmp_path, there):
    path = tmp_path / there
    path.parent.mkdir(exist_ok=True)
    path.write_text("mine")
    ran = new(tmp_path)
    assert ran.returncode == 2
    assert str(path) in ran.stderr
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == [path]
    assert path.read_text() == "mine"


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "stage").write_text("a file")
    ran = new(tmp_path / "stage")
    assert ran.returncode == 2
    assert "can't be written" in ran.stderr


def test_any_name_can_be_written(tmp_path):
    name = 'Ünïted "A" \\ b, \u007f#; Ø'
    ran = new(
        tmp_path, name=name, people="Åsa: painter; 李: carpenter; Stage: finisher"
    )
    assert ran.returncode == 2  # a control character is a fault, and named
    assert "stage.name" in ran.stderr
    assert not list(tmp_path.iterdir())
    name = name.replace("\u007f", "")
    people = "Åsa: painter, carpenter; Stage: finisher, carpenter"
    ran = new(tmp_path, "--no-corners", name=name, people=people)
    assert ran.returncode == 0, ran.stderr
    job = tomllib.loads((tmp_path / "job.toml").read_text("utf-8"))
    assert job["stage"]["name"] == name
    assert (tmp_path / "calendars" / "asa.ics").exists()
    assert job["crew"][1]["calendar"] != "calendars/stage.ics"  # the stage's own
    assert covetime("check", str(tmp_path / "job.toml")).returncode == 0


@pytest.mark.parametrize(
    ("said", "walls"),
    [
        ("back wall 24 ft 6 in", [("back wall", "24 ft 6 in")]),
        ("a: 7.2 m, b 3 1/2 in", [("a", "7.2 m"), ("b", "3 1/2 in")]),
        ("wall 2 7200 mm,", [("wall 2", "7200 mm")]),
        ("5 m", [("wall 1", "5 m")]),
        ("bare", [("bare", "")]),
    ],
)
def test_walls_are_names_and_lengths(said, walls):
    assert list(walls_of(said)) == walls


def test_a_measure_of_a_piece_that_is_not_there_is_said(tmp_path):
    words = [w for pair in SAID.items() for w in pair] + ["--no-corners"]
    kit = [f"--kit={k} = {v}" for k, v in PIECES.items()]
    ran = covetime(
        "new", str(tmp_path), *words, *kit, "--kit=radus=30 in", "--kit=radius"
    )
    assert ran.returncode == 2
    assert "kit.radus: unknown key" in ran.stderr
    assert "kit.radius" in ran.stderr  # the last word counts, and has no measure
    assert not list(tmp_path.iterdir())


def test_people_are_names_and_trades():
    assert people_of("Ana: carpenter, finisher; Li:painter;") == (
        ("Ana", ("carpenter", "finisher")),
        ("Li", ("painter",)),
    )


@pytest.mark.slow
def test_a_new_job_plans(tmp_path):
    ran = new(tmp_path, walls="back wall 16 ft", corners="--no-corners")
    assert ran.returncode == 0
    planned = covetime("plan", str(tmp_path / "job.toml"))
    assert planned.returncode == 0, planned.stderr
