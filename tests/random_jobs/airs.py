"""Random air: assumed by day, night and month, read in the room, or made by machines."""

from datetime import date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from tests.random_jobs.toml import Table

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov")


def _celsius(r: Random, low: float, high: float) -> str:
    c = r.uniform(low, high)
    return r.choice((f"{c:.1f} C", f"{c * 1.8 + 32:.0f} F"))


def _humid(r: Random, low: float = 25, high: float = 80) -> str:
    return f"{r.uniform(low, high):.0f} %"


def _half(r: Random, low: float = 12, high: float = 29) -> Table:
    return {"temperature": _celsius(r, low, high), "humidity": _humid(r)}


def _day_night(r: Random, low: float = 12, high: float = 29) -> Table:
    if r.random() < 0.5:
        return _half(r, low, high)
    out: Table = {"day": _half(r, low, high), "night": _half(r, low, high)}
    if r.random() < 0.5:
        out["day_hours"] = r.choice(("06:00-20:00", "08:00-18:30", "20:00-05:00"))
    return out


def air(
    r: Random, zone: ZoneInfo, first: date, *, plain: bool
) -> tuple[Table, dict[str, bytes]]:
    """Return the section, and the files that it names with their bytes."""
    files: dict[str, bytes] = {}
    out = _day_night(r) if r.random() < 0.8 else {}
    if r.random() < 0.3:
        out["wall_colder"] = r.choice(("0.5 C", "1 C", "2 F", "3 C"))
    if r.random() < 0.25:
        names = r.sample(MONTHS, r.randint(1, 4))
        out["month"] = [{"month": m, **_day_night(r)} for m in names]
    if plain:
        return out, files
    if r.random() < 0.25:
        out["readings"] = "air.csv"
        files["air.csv"] = readings(r, zone, first, low=14, high=26)
    if r.random() < 0.22:
        out["room"] = _room(r)
        if r.random() < 0.8:
            out["outside"] = _day_night(r, 0, 24)
            if r.random() < 0.3:
                out["outside"]["record"] = "weather.csv"
                files["weather.csv"] = readings(r, zone, first, low=2, high=18)
    return out, files


def _room(r: Random) -> Table:
    out: Table = {"volume": r.choice(("60 m3", "150 m3", "400 m3", "14000 ft3"))}
    if r.random() < 0.5:
        out["leak_per_hour"] = r.choice((0.0, 0.1, 0.5, 2.0))
    if r.random() < 0.3:
        out["lag"] = r.choice(("0 h", "6 h", "2 days"))
    hours = ("06:00-22:00", "00:00-24:00", "22:00-06:00")

    def timed(row: Table) -> Table:
        return row | ({"hours": [r.choice(hours)]} if r.random() < 0.4 else {})

    if r.random() < 0.85:
        out["heat"] = [timed({"to": _celsius(r, 16, 22)})]
    if r.random() < 0.2:
        out["cool"] = [timed({"to": _celsius(r, 22, 25)})]
    if r.random() < 0.5:
        row: Table = {"changes_per_hour": r.choice((0.5, 1, 3.0))}
        out["ventilation"] = [timed(row)]
    if r.random() < 0.6:
        row = {
            "rated": r.choice(("20 l/day", "50 l/day", "70 pt/day")),
            "set_to": _humid(r, 40, 60),
            "compressor": r.random() < 0.7,
        }
        out["dehumidifier"] = [timed(row) for _ in range(r.choice((1, 1, 2)))]
    return out


def readings(
    r: Random, zone: ZoneInfo, first: date, *, low: float, high: float
) -> bytes:
    """Return a file of readings from some day on, as one logger or another writes it."""
    fahrenheit, comma = r.random() < 0.4, r.random() < 0.3
    step = r.choice((1, 1, 2, 4))
    offset = step > 2 or r.random() < 0.3  # without, an hour is left out in autumn
    at = datetime.combine(first + timedelta(days=r.randint(-9, 3)), time(7))
    at = at.replace(tzinfo=zone)
    rows = [f"time,{'temp_F' if fahrenheit else 'temp_C'},rh_pct"]
    c, rh = r.uniform(low, high), r.uniform(35, 70)
    start = at.timestamp()
    for hour in range(0, 24 * r.randint(1, 30), step):
        c = min(high, max(low, c + r.gauss(0, 0.5)))
        rh = min(82.0, max(25.0, rh + r.gauss(0, 2)))
        then = datetime.fromtimestamp(start + 3600 * hour, tz=zone)
        if then.fold and not offset:
            continue  # an hour that the clock shows twice is written once
        stamp = (
            then.isoformat(timespec="minutes") if offset else f"{then:%Y-%m-%d %H:%M}"
        )
        rows.append(f"{stamp},{c * 1.8 + 32 if fahrenheit else c:.1f},{rh:.0f}")
    text = "\n".join(rows) + "\n"
    if comma:
        text = text.replace(",", ";").replace(".", ",")
    return text.encode()
