"""Ten rooms of different shapes, as data: all invented, kits of ordinary measures."""

from dataclasses import dataclass
from pathlib import Path

from planner.files.job.jobfile import read_job
from planner.nouns.job import Job
from planner.trade.takeoff import TakeOff, take_off
from tests.support.values import job_file

FEET_KIT = """
module_width = "4 ft"
radius = "36 in"
module_mass = "24 lb"
straight_height = "37 1/2 in"
corner_height = "41 1/2 in"
corner_leg = "41 1/2 in"
upright_height = "4 ft"
"""
METRIC_KIT = """
module_width = "1.2 m"
radius = "800 mm"
module_mass = "9.5 kg"
straight_height = "850 mm"
corner_height = "950 mm"
corner_leg = "1 m"
upright_height = "1.25 m"
"""
FLUSH_KIT = """
module_width = "1 m"
radius = "900 mm"
module_mass = "12 kg"
straight_height = "900 mm"
corner_height = "900 mm"
corner_leg = "900 mm"
upright_height = "2 m"
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A room: its runs with their lengths, which of them meet, and what it's like."""

    name: str
    runs: tuple[str, ...]
    corners: tuple[int, ...] = ()
    ceiling: str
    kit: str = FEET_KIT
    wall: str = "board on wood studs"
    spacing: str = "16 in"
    first_studs: tuple[str, ...] = ()
    apron: str = "8 ft"
    methods: str = ""

    @property
    def text(self) -> str:
        """The job file of a build in the room."""
        firsts = (*self.first_studs, *("0 in",) * len(self.runs))
        runs = "".join(
            f'[[stage.run]]\nname = "r{i + 1}"\nlength = "{length}"\n'
            f'first_stud = "{firsts[i]}"\n'
            + (f'meets = "r{i + 2}"\n' if i in self.corners else "")
            for i, length in enumerate(self.runs)
        )
        return (
            f'[job]\nname = "{self.name}"\ntime_zone = "America/Halifax"\n'
            "earliest = 2027-02-08\n[survey]\nown_making = true\n"
            f'[stage]\nceiling = "{self.ceiling}"\nwall = "{self.wall}"\n'
            f'stud_spacing = "{self.spacing}"\napron = "{self.apron}"\n{runs}'
            f"[kit]{self.kit}[methods]\n{self.methods}"
            '[[crew]]\nname = "Ana"\ntrades = ["carpenter", "finisher", "painter"]\n'
            '[[crew]]\nname = "Bo"\ntrades = ["labourer", "painter", "finisher"]\n'
        )

    @property
    def ids(self) -> tuple[str, ...]:
        """The ids of its runs."""
        return tuple(f"r{i + 1}" for i in range(len(self.runs)))


ROOMS = (
    Room(name="one wall, feet", runs=("16 ft",), ceiling="9 ft 6 in"),
    Room(
        name="one wall, metric, a gap at its end",
        runs=("6.02 m",),
        ceiling="2.9 m",
        kit=METRIC_KIT,
        spacing="600 mm",
        first_studs=("250 mm",),
        apron="2 m",
        methods='fill = "foam"\nbonding_agent = true\n',
    ),
    Room(
        name="one corner, feet",
        runs=("24 ft", "18 ft"),
        corners=(0,),
        ceiling="11 ft 4 in",
        apron="10 ft",
    ),
    Room(
        name="one corner, metric, steel studs, furred",
        runs=("5.4 m", "3.95 m"),
        corners=(0,),
        ceiling="3.2 m",
        kit=METRIC_KIT,
        wall="board on steel studs",
        spacing="625 mm",
        methods='backing = "furred"\nsanding = "stage"\n',
    ),
    Room(
        name="one corner, masonry",
        runs=("20 ft", "12 ft 3 in"),
        corners=(0,),
        ceiling="12 ft",
        wall="masonry",
        methods='backing = "furred"\nsetting_coats = 0\n',
    ),
    Room(
        name="two corners, feet, a deep apron that meets itself",
        runs=("14 ft", "17 ft 2 in", "15 ft 8 in"),
        corners=(0, 1),
        ceiling="10 ft",
        spacing="24 in",
        first_studs=("7 in", "24 in", "11 1/4 in"),
        apron="12 ft",
        methods='primer = "solvent-primer"\n',
    ),
    Room(
        name="two corners, metric, masonry",
        runs=("4.4 m", "6.0 m", "4.4 m"),
        corners=(0, 1),
        ceiling="4.1 m",
        kit=METRIC_KIT,
        wall="masonry",
        apron="1.5 m",
        methods='backing = "furred"\nfill = "foam"\n',
    ),
    Room(
        name="three corners, metric, flush pieces",
        runs=("7.2 m", "6.5 m", "5.15 m", "3.3 m"),
        corners=(0, 1, 2),
        ceiling="3.75 m",
        kit=FLUSH_KIT,
        spacing="400 mm",
        first_studs=("380 mm", "120 mm", "400 mm", "35 mm"),
        apron="2.2 m",
        methods='primer_in = "bays"\ncolour_on_apron = false\n',
    ),
    Room(
        name="two corners that nearly touch, and a wall apart",
        runs=("20 ft", "7 ft 1 in", "16 ft", "30 in"),
        corners=(0, 1),
        ceiling="8 ft",
        apron="3 ft",
    ),
    Room(
        name="two walls apart",
        runs=("4 m", "10 ft 11 in"),
        ceiling="3 m",
        kit=FLUSH_KIT,
        spacing="610 mm",
        methods="topping_coats = 2\ncolour_coats = 1\n",
    ),
)


def read(folder: Path, text: str) -> Job:
    """Return the job that a job file's text describes."""
    return read_job(job_file(folder, text))


def measured(folder: Path, room: Room) -> tuple[Job, TakeOff]:
    """Return a room's job and its take-off."""
    job = read(folder, room.text)
    return job, take_off(job, ids=room.ids)
