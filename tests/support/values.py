"""Small jobs for tests: a room, a crew and a file, each with one thing changed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from planner.files.folder import outdir
from planner.files.job.jobfile import read_job
from planner.nouns.plan import Plan
from planner.nouns.work import Work
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from planner.usecases import write

KIT_MM = {
    "module_width": 1219.2,
    "radius": 914.4,
    "straight_height": 952.5,
    "corner_height": 1054.1,
    "corner_leg": 1054.1,
    "upright_height": 1219.2,
}


def in_mm(mm: float) -> str:
    """Return a length as a job file says it in millimetres."""
    return f"{mm} mm"


def in_inches(mm: float) -> str:
    """Return a length as a job file says it in inches."""
    return f"{round(mm / 25.4, 4)} in"


def kit(say: Callable[[float], str] = in_mm) -> str:
    """Return the tests' moulded pieces as a job file says them; `say` writes a length."""
    lengths = "".join(f'{key} = "{say(mm)}"\n' for key, mm in KIT_MM.items())
    return f'[kit]\n{lengths}module_mass = "11 kg"\n'


STRAIGHT = f"""
[job]
name = "a wall"
time_zone = "America/Halifax"
earliest = 2027-02-08

[survey]
own_making = true

{kit()}
[stage]
ceiling = "2.9 m"

[[stage.run]]
name = "wall"
length = "5 m"

[[crew]]
name = "Ana"
trades = ["carpenter", "finisher", "painter"]

[[crew]]
name = "Bo"
trades = ["labourer", "painter"]
"""


def job_file(folder: Path, text: str = STRAIGHT) -> Path:
    """Return the path of a job file that holds `text`."""
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def changed(text: str, *pairs: tuple[str, str]) -> str:
    """Return `text` with each pair's first part, which must be there, replaced."""
    for old, new in pairs:
        assert old in text, f"{old!r} is not in the text"
        text = text.replace(old, new)
    return text


def work_of(folder: Path, text: str = STRAIGHT, methods: str = "") -> Work:
    """Return the work of a job file that holds `text`, with methods of its own."""
    text = changed(text, ("[stage]", f"[methods]\n{methods}\n[stage]"))
    job = read_job(job_file(folder, text))
    ids = tuple(r.name for r in job.stage.runs)
    return work(job, take_off(job, ids=ids), materials.load())


def put(plan: Plan, folder: Path, **how: Any) -> None:
    """Write a plan into its folder as a run does; `how` as `writing.write` takes it."""
    with outdir.alone(folder) as held:
        write.write(plan, held, **how)


# A room with a cold wall, too damp for its coats unless it is aired.
DAMP_ROOM = """
[air]
temperature = "16 C"
humidity = "78 %"
wall_colder = "4 C"
[air.outside]
temperature = "12 C"
humidity = "85 %"
[air.room]
volume = "180 m3"
[[air.room.heat]]
to = "19 C"
"""
