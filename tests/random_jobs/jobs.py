"""A whole job at random: its file, its calendars, its readings, and what they say.

The same seed gives the same job, and each part is drawn by itself, so that one part
can be changed without the others moving. Everything is invented, of the sizes and the
kinds that a small crew meets. What is broken is broken on purpose and known.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from planner.trade.data import labour
from tests.random_jobs import airs, calendars, crews, rooms
from tests.random_jobs.calendars import Frame, Made
from tests.random_jobs.crews import Mate
from tests.random_jobs.toml import Table, toml

# Zones with and without clock changes, of whole, half and quarter hours; with a change
# at midnight (Havana), of half an hour (Lord Howe), or in a month of fasting
# (Casablanca); on either half of the globe.
ZONES = (
    "America/Halifax",
    "America/St_Johns",
    "America/New_York",
    "America/Chicago",
    "America/Los_Angeles",
    "America/Havana",
    "America/Santiago",
    "Europe/Dublin",
    "Europe/Berlin",
    "Africa/Casablanca",
    "Africa/Cairo",
    "Asia/Kathmandu",
    "Asia/Tokyo",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Pacific/Chatham",
    "UTC",
)
FIRST, LAST = date(2026, 12, 1), date(2028, 2, 1)
WEEKS = 9  # that calendars fill


@dataclass(frozen=True, slots=True, kw_only=True)
class RandomJob:
    """A job file as tables, the files beside it, and what is known of them.

    `mates` are the crew in order; `takes` are the calendars in working order by file
    name. `fault` says what is wrong on purpose: "" or words that the error must hold.
    """

    seed: int
    table: Table
    files: dict[str, bytes]
    mates: tuple[Mate, ...]
    takes: dict[str, Made] = field(default_factory=dict)
    fault: str = ""

    @property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        return ZoneInfo(self.table["job"]["time_zone"])

    def write(self, folder: Path) -> Path:
        """Write everything into a folder and return the job file's path."""
        for name, data in self.files.items():
            (folder / name).write_bytes(data)
        path = folder / "job.toml"
        path.write_text(toml(self.table), encoding="utf-8")
        return path


def changes(zone: ZoneInfo) -> list[date]:
    """Return the days on which the zone's clocks change."""
    days = (FIRST + timedelta(days=n) for n in range((LAST - FIRST).days))

    def offset(day: date) -> timedelta | None:
        return datetime.combine(day, time(), tzinfo=zone).utcoffset()

    return [d for d in days if offset(d) != offset(d + timedelta(days=1))]


def made_job(seed: int, *, small: bool = False) -> RandomJob:
    """Return the job of a seed; a small one is sound and quick to plan to the end."""

    def drawn(part: str) -> Random:
        return Random(f"{part} {seed}")

    zone = ZoneInfo(drawn("zone").choice(ZONES))
    first = _first_day(drawn("first"), zone)
    frame = Frame(zone=zone, first=first - timedelta(days=7), weeks=WEEKS)
    size = drawn("size").choice((1, 2, 3, 4)) if small else crews.size(drawn("size"))
    mates = crews.crew(drawn("crew"), size=size)
    room = rooms.room(drawn("room"), small=small)
    products = own_products(drawn("product"))
    own = {p["like"]: p["id"] for p in products}
    methods = rooms.methods(drawn("methods"), room, own, small=small)
    air, files = airs.air(drawn("air"), zone, first, plain=small)
    table: Table = {
        "job": _head(drawn("job"), seed, zone, first, small=small),
        "stage": room.stage,
        "kit": room.kit,
        "methods": methods,
        "air": air,
        "survey": _survey(drawn("survey"), first),
        "rates": _rates(drawn("rates")),
        "crew": [m.table for m in mates],
        "product": products,
        "labour": _labour(drawn("labour")),
        "supply": _supplies(drawn("supply")),
    }
    tongues = drawn("languages")
    for mate in mates:
        if tongues.random() < 0.3:
            mate.table["language"] = tongues.choice(
                ("es", "fr", "es-MX", "fr-CA", "en")
            )
    faces = drawn("faces")
    if faces.random() < 0.3:
        room.kit["drying_times"] = faces.choice((1.0, 1.5, 2))
    if faces.random() < 0.25:
        air["moving"] = faces.choice(("0.2 m/s", "100 ft/min", "1 m/s"))
    stage_hours = drawn("stage hours")
    if stage_hours.random() < 0.4:
        room.stage["hours"] = stage_hours.choice(STAGE_HOURS)
    takes = _calendars(drawn("calendars"), table, frame, small=small)
    files |= {name: made.data for name, made in takes.items()}
    table = {k: v for k, v in table.items() if v != []}
    job = RandomJob(
        seed=seed, table=table, files=files, mates=tuple(mates), takes=takes
    )
    harm = drawn("harm")
    return job if small or harm.random() > 0.1 else _harmed(harm, job, frame)


STAGE_HOURS = (
    "07:00-22:00",
    "06:00-18:00",
    "00:00-24:00",
    "18:00-08:00",
    "08:15-20:50",
)


def _first_day(r: Random, zone: ZoneInfo) -> date:
    """Return the first day that may be used: often soon before the clocks change."""
    near = changes(zone)
    if near and r.random() < 0.6:
        return max(FIRST, r.choice(near) - timedelta(days=r.randint(0, 20)))
    return FIRST + timedelta(days=r.randrange((LAST - FIRST).days))


def _head(r: Random, seed: int, zone: ZoneInfo, first: date, *, small: bool) -> Table:
    out: Table = {
        "name": f"Random job {seed}",
        "time_zone": zone.key,
        "earliest": first,
    }
    ticks = ("30 min", "60 min") if small else TICKS
    if small or r.random() < 0.6:
        out["tick"] = r.choice(ticks)
    if r.random() < 0.5:
        out["drying_margin"] = r.choice(("0 %", "10 %", "25 %", "60 %", "100 %"))
    if r.random() < 0.25:
        come = datetime.combine(
            first + timedelta(days=r.randint(0, 9)), time(r.randint(6, 15), 30)
        )
        out["delivery"] = come if r.random() < 0.7 else come.replace(tzinfo=UTC)
    return out


TICKS = (*("15 min", "20 min", "30 min", "60 min") * 4, "30 min", "10 min", "5 min")


def _survey(r: Random, first: date) -> Table:
    """Return what is known of wall and floor: all, nothing, or the one and not the other."""
    out: Table = {}
    if r.random() < 0.3:
        return {"own_making": True}
    if r.random() < 0.4:
        out |= {"done": first - timedelta(days=20), "report": "no. 7: nothing found"}
    if r.random() < 0.4:
        out["located"] = first - timedelta(days=3)
    if r.random() < 0.4:
        out["results"] = r.choice(("2 days", "10 days", "36 h"))
    if r.random() < 0.3:
        out["isolated"] = r.choice(("4 h", "3 days"))
    return out


def _rates(r: Random) -> Table:
    if r.random() < 0.5:
        return {}
    out: Table = {"currency": r.choice(("CAD", "EUR", "¥", ""))}
    if r.random() < 0.7:
        out["stage_per_day"] = r.choice((0, 950, 1900.5))
    if r.random() < 0.7:
        out["labour_per_hour"] = r.choice((0, 46, 31.25))
    return out


def own_products(r: Random) -> list[Table]:
    """Return products of the crew's own, from data sheets, each like a known one."""
    rows: list[Table] = []
    for like, recoats in (
        ("water-primer", ("30 min", "1 h", "4 h")),
        ("flat-colour", ("2 h", "4 h", "16 h")),
        ("all-purpose", ("12 h", "24 h")),
        ("solvent-primer", ("1 h", "45 min")),
    ):
        if r.random() > 0.2:
            continue
        row: Table = {
            "id": f"our-{like}",
            "like": like,
            "recoat": r.choice(recoats),
            "at": r.choice(("77 F", "23 C", "20 C")),
            "humidity": r.choice(("50 %", "65 %")),
            "sheet": "the maker's sheet of March",
        }
        if like != "all-purpose" and r.random() < 0.4:
            row["cover_within"] = r.choice(("24 h", "72 h", "7 days"))
        if r.random() < 0.4:
            row["coverage"] = r.choice(("9 m2/l", "350 ft2/gal"))
            row["pack"] = r.choice(("10 l", "5 gal"))
        rows.append(row)
    return rows


def _labour(r: Random) -> list[Table]:
    """Return the crew's own hours for some kinds of work."""
    rows: list[Table] = []
    for work in r.sample(sorted(labour.rates()), r.choice((0, 0, 0, 1, 3))):
        rate = labour.rates()[work]
        row: Table = {"work": work}
        if r.random() < 0.7:
            per, size = r.choice(PER.get(rate.unit.split()[0], _COUNTED))
            minutes = max(1, round(60 * rate.hours * size * r.uniform(0.5, 2)))
            row |= {"hours": f"{minutes} min", "per": per}
        if "hours" not in row or r.random() < 0.4:
            row["set_up"] = r.choice(("0 h", "15 min", "45 min", "1.5 h"))
        rows.append(row)
    return rows


_COUNTED = (("4", 4.0), ("1", 1.0))  # pieces, holes, joints ...
PER: dict[str, tuple[tuple[str, float], ...]] = {
    "m": (("10 ft", 3.048), ("1 m", 1.0)),
    "m²": (("100 ft2", 9.29), ("1 m2", 1.0)),
}


def _supplies(r: Random) -> list[Table]:
    return [dict(row) for row in r.sample(SUPPLIES, r.choice((0, 0, 1, 2)))]


SUPPLIES: tuple[Table, ...] = (
    {"id": "joint-tape", "pack": "roll of 75 m", "holds": "75 m", "waste": "5 %"},
    {"id": "board-screws", "pack": "box of 200", "holds": "200"},
    {"id": "colour", "pack": "a gallon", "holds": "1 gal"},
    {"id": "plastic", "waste": "30 %"},
)


# ------------------------------------------------------------------ calendars


def _calendars(
    r: Random, table: Table, frame: Frame, *, small: bool
) -> dict[str, Made]:
    """Name calendars in the tables, and return them by file name."""
    out: dict[str, Made] = {}
    stage = table["stage"]
    for number, mate in enumerate(table["crew"]):
        if r.random() < 0.4:
            name = f"crew-{number + 1}.ics"
            out[name] = calendars.healthy(
                r, frame, entries=r.choice((0, 1, 2, 4, 7)), plain=small
            )
            mate["calendar"] = name
            mate["mail"] = [calendars.MAIL]
    if r.random() < 0.45:
        endless = r.random() < 0.12
        out["bookings.ics"] = (
            calendars.bookings_for_ever(frame, r.randrange(7))
            if endless
            else calendars.healthy(r, frame, entries=r.choice((1, 2, 3)))
        )
        stage["bookings"] = ["bookings.ics"]
    if r.random() < 0.4:
        first, last = r.choice(((time(20), time(7)), (time(22), time(6, 30))))
        out["quiet.ics"] = (
            calendars.nights(frame, first, last)
            if r.random() < 0.4
            else calendars.healthy(r, frame, entries=r.choice((1, 3, 6)))
        )
        stage["quiet"] = ["quiet.ics"]
    if r.random() < 0.35:
        out["holidays.ics"] = calendars.holidays(r, frame)
        stage["holidays"] = ["holidays.ics"]
    if r.random() < 0.3:
        table["calendars"] = {"tentative": r.choice(("busy", "free"))}
    return out


# ---------------------------------------------------------------------- harms


def _harmed(r: Random, job: RandomJob, frame: Frame) -> RandomJob:
    """Return the job with one thing wrong, which nobody may take for sound."""
    named = [n for n in job.takes if n != "holidays.ics"]
    if named and r.random() < 0.6:
        name = r.choice(named)
        _, data = calendars.broken(r, frame)
        takes = {k: v for k, v in job.takes.items() if k != name}
        return RandomJob(
            seed=job.seed,
            table=job.table,
            files=job.files | {name: data},
            mates=job.mates,
            takes=takes,
            fault=name,
        )
    harm, words = r.choice(HARMS)
    harm(job.table)
    return RandomJob(
        seed=job.seed,
        table=job.table,
        files=job.files,
        mates=job.mates,
        takes=job.takes,
        fault=words,
    )


def _put(section: str, key: str, value: object) -> Callable[[Table], None]:
    def harm(table: Table) -> None:
        table.setdefault(section, {})[key] = value

    return harm


def _in_crew(key: str, value: object) -> Callable[[Table], None]:
    def harm(table: Table) -> None:
        table["crew"][-1][key] = value

    return harm


HARMS: tuple[tuple[Callable[[Table], None], str], ...] = (
    (_put("job", "time_zone", "Halifax"), "job.time_zone"),
    (_put("job", "tick", "7 min"), "job.tick"),
    (_put("job", "earliest", "2027-02-08"), "job.earliest"),
    (_put("stage", "ceiling", "9.5"), "stage.ceiling"),
    (_put("stage", "wall", "glass"), "stage.wall"),
    (_put("stage", "hours", "7 to 22"), "stage.hours"),
    (_put("stage", "bookings", ["gone.ics"]), "stage.bookings"),
    (_put("methods", "primer", "watter-primer"), "methods.primer"),
    (_put("methods", "colour_coats", 0), "methods.colour_coats"),
    (_put("methods", "colour", "topping"), "methods.colour"),
    (_put("methods", "coats", 2), "methods.coats"),
    (_put("air", "humidity", "140 %"), "air"),
    (_put("air", "readings", "gone.csv"), "air.readings"),
    (_put("rates", "labour_per_hour", -4), "rates.labour_per_hour"),
    (_put("weather", "kind", "fair"), "weather"),
    (_in_crew("shifts", ["Mon-Fri 8 to 5"]), "crew."),
    (_in_crew("trades", ["plumber"]), "crew."),
    (_in_crew("calendar", "gone.ics"), "crew."),
    (_in_crew("name", "!"), "crew."),
    (_in_crew("rest", "11"), "crew."),
)
