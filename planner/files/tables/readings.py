"""A CSV of hourly air - a logger's readings, a forecast, a weather record - read in full.

The header names the columns and their units::

    time,temp_C,rh_pct
    2027-02-08 07:00,19.5,52
    2027-02-08 08:00,19.8,51

`temp_C` or `temp_F`; `rh_pct` or `dew_point_C` or `dew_point_F`, or humidity and dew
point both; other columns are left alone. A time without an offset is the site's
clock. With semicolons between the columns, a comma may stand for the decimal point.
"""

import csv
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from planner.air.moist_air import weather_humidity_pct
from planner.errors import Fault, ReadingsError
from planner.files.plain import PlainFileError, read_plain
from planner.nouns.air import AirReading
from planner.units import is_this_century

GAP_H = 6.0  # as in planner.air.room: a longer silence isn't bridged
LOW_C, HIGH_C = -45.0, 60.0
AGREE_RH_PCT = 10.0  # humidity and dew point of one line may differ by this much
DEW_ABOVE_K = 0.6  # a dew point above the air by rounding only
BYTES_MAX = 20_000_000  # some fifty years of hourly lines
SHOWN = 20  # faults shown of one file; the rest is counted


def _celsius(value: float) -> float:
    return value


def _fahrenheit(value: float) -> float:
    return (value - 32.0) * 5.0 / 9.0


_TEMPERATURES = {"temp_c": _celsius, "temp_f": _fahrenheit}
_DEW_POINTS = {"dew_point_c": _celsius, "dew_point_f": _fahrenheit}
_COLUMNS = "time, temp_C or temp_F, and rh_pct or dew_point_C or dew_point_F"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """Where each quantity stands, and how its numbers become °C."""

    time: int
    temp: tuple[int, Callable[[float], float]]
    rh: int | None
    dew: tuple[int, Callable[[float], float]] | None


def load(path: Path) -> bytes:
    """Return the bytes of a file of readings.

    Raises
    ------
    ReadingsError
        When it can't be read, isn't a plain file or is larger than `BYTES_MAX`.
    """
    try:
        return read_plain(path, most=BYTES_MAX)
    except PlainFileError as error:
        raise _error(path, [Fault(where=path.name, message=str(error))]) from None


def read_air(
    data: bytes, path: Path, *, zone: ZoneInfo, gap_h: float = GAP_H
) -> tuple[AirReading, ...]:
    """Return the readings of a file, in order of time.

    Parameters
    ----------
    data : bytes
        What the file holds.
    path : Path
        The file, for its name in faults.
    zone : ZoneInfo
        The site's zone, for times without an offset.
    gap_h : float
        The longest time between two readings that may be bridged. [h]

    Raises
    ------
    ReadingsError
        With every fault of the file, each with its line.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        fault = Fault(where=path.name, message="not a text file in UTF-8")
        raise _error(path, [fault]) from error
    faults: list[Fault] = []
    readings = tuple(_rows(text, path.name, zone, gap_h, faults))
    if not readings and not faults:
        faults.append(Fault(where=path.name, message="no readings in it"))
    if faults:
        raise _error(path, faults)
    return readings


def shown(faults: Sequence[Fault], path: Path) -> tuple[Fault, ...]:
    """Return the faults of a file that are shown, the rest of them counted."""
    if len(faults) <= SHOWN:
        return tuple(faults)
    more = f"and {len(faults) - SHOWN} faults more like these"
    return (*faults[:SHOWN], Fault(where=path.name, message=more))


def _error(path: Path, faults: Sequence[Fault]) -> ReadingsError:
    return ReadingsError(shown(faults, path), file=str(path))


def _rows(
    text: str, name: str, zone: ZoneInfo, gap_h: float, faults: list[Fault]
) -> Iterator[AirReading]:
    """Yield what the lines say; what they say wrongly goes to `faults`."""
    lines = text.splitlines()
    head = next((x for x in lines if x.strip()), "")
    semicolons = head.count(";") > head.count(",")
    rows = csv.reader(lines, delimiter=";" if semicolons else ",", strict=True)
    columns: _Columns | None = None
    last: AirReading | None = None
    try:
        for row in rows:
            where = f"{name}: line {rows.line_num}"
            if not any(cell.strip() for cell in row):
                continue
            if columns is None:
                columns = _header(row, where, faults)
                if columns is None:
                    return
                continue
            said: list[Fault] = []
            cells = [c.replace(",", ".") for c in row] if semicolons else row
            reading = _reading(cells, columns, where, zone, last, said)
            faults += said
            if reading is None:
                continue
            _check_order(reading, last, where, gap_h, faults)
            last = reading
            yield reading
    except csv.Error as error:
        faults.append(Fault(where=f"{name}: line {rows.line_num}", message=str(error)))


def _header(row: list[str], where: str, faults: list[Fault]) -> _Columns | None:
    names = [cell.strip().lower() for cell in row]
    before = len(faults)

    def only(
        known: Mapping[str, Callable[[float], float]], what: str, need: str
    ) -> tuple[int, Callable[[float], float]] | None:
        found = [(i, known[n]) for i, n in enumerate(names) if n in known]
        if len(found) > 1:
            faults.append(Fault(where=where, message=f"{what} stands in two columns"))
        if not found and need:
            faults.append(Fault(where=where, message=f"no column of {what}", hint=need))
        return found[0] if found else None

    need = f"needed: {_COLUMNS}"
    temp = only(_TEMPERATURES, "temperature", need)
    dew = only(_DEW_POINTS, "dew point", "")
    times = [i for i, n in enumerate(names) if n == "time"]
    humid = [i for i, n in enumerate(names) if n == "rh_pct"]
    if not times:
        faults.append(Fault(where=where, message="no column of time", hint=need))
    for found, what in ((times, "time"), (humid, "humidity")):
        if len(found) > 1:
            faults.append(Fault(where=where, message=f"{what} stands in two columns"))
    if not humid and dew is None:
        message = "no column of humidity or dew point"
        faults.append(Fault(where=where, message=message, hint=need))
    if len(faults) > before or temp is None:
        return None
    return _Columns(time=times[0], temp=temp, rh=humid[0] if humid else None, dew=dew)


def _reading(
    cells: list[str],
    columns: _Columns,
    where: str,
    zone: ZoneInfo,
    last: AirReading | None,
    faults: list[Fault],
) -> AirReading | None:
    """Return a line's reading, or None and its faults."""

    def number(column: int, what: str) -> float | None:
        text = cells[column].strip() if column < len(cells) else ""
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if math.isfinite(value):
            return value
        seen = f'"{text}" is not a number' if text else "nothing there"
        hint = f"leave the line out; up to {GAP_H:.0f} h are bridged"
        faults.append(Fault(where=f"{where}, {what}", message=seen, hint=hint))
        return None

    when = _time(cells[columns.time].strip() if columns.time < len(cells) else "",
                 where, zone, last, faults)  # fmt: skip
    place, to_c = columns.temp
    raw = number(place, "temperature")
    air_c = None if raw is None else to_c(raw)
    if air_c is not None and not LOW_C <= air_c <= HIGH_C:
        message = f"{air_c:.1f} °C is not between {LOW_C:.0f} and {HIGH_C:.0f} °C"
        hint = "is the unit in the header right?"
        faults.append(Fault(where=f"{where}, temperature", message=message, hint=hint))
        air_c = None
    rh = None if columns.rh is None else number(columns.rh, "humidity")
    if rh is not None and not 0.0 <= rh <= 100.0:
        message = f"{rh:g} % is not between 0 and 100"
        faults.append(Fault(where=f"{where}, humidity", message=message))
    if columns.dew is not None and air_c is not None:
        by_dew = _by_dew_point(number(columns.dew[0], "dew point"), columns.dew[1],
                               air_c, where, faults)  # fmt: skip
        if rh is None:
            rh = by_dew
        elif by_dew is not None and abs(rh - by_dew) > AGREE_RH_PCT:
            message = f"{rh:.0f} % and a dew point that means {by_dew:.0f} %"
            hint = "one of the two is wrong"
            faults.append(Fault(where=f"{where}, humidity", message=message, hint=hint))
    if faults or when is None or air_c is None or rh is None:
        return None
    return AirReading(when=when, air_c=air_c, humidity_pct=rh)


def _by_dew_point(
    raw: float | None,
    to_c: Callable[[float], float],
    air_c: float,
    where: str,
    faults: list[Fault],
) -> float | None:
    if raw is None:
        return None
    dew_c = to_c(raw)
    if not LOW_C <= dew_c <= air_c + DEW_ABOVE_K:
        message = (
            f"{dew_c:.1f} °C is not between {LOW_C:.0f} °C and the air's {air_c:.1f} °C"
        )
        faults.append(Fault(where=f"{where}, dew point", message=message))
        return None
    return min(float(weather_humidity_pct(air_c, dew_c)), 100.0)


def _time(
    text: str, where: str, zone: ZoneInfo, last: AirReading | None, faults: list[Fault]
) -> datetime | None:
    """Return the instant of a time, in UTC."""

    def fault(message: str, hint: str = "") -> None:
        faults.append(Fault(where=f"{where}, time", message=message, hint=hint))

    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        fault(f'"{text}" is not a time such as 2027-02-08 07:00')
        return None
    if not is_this_century(when):
        fault(f"{text} is not a time of this century")
        return None
    if when.tzinfo is not None:
        return when.astimezone(UTC)
    local = when.replace(tzinfo=zone)
    instant = local.astimezone(UTC)
    if instant.astimezone(zone).replace(tzinfo=None) != when:
        fault(f"{text} is skipped at the site, where the clocks go forward")
        return None
    # The hour that the clocks go through twice: the second time where the first
    # would not come after the line before.
    if last is not None and instant <= last.when:
        return local.replace(fold=1).astimezone(UTC)
    return instant


def _check_order(
    reading: AirReading,
    last: AirReading | None,
    where: str,
    gap_h: float,
    faults: list[Fault],
) -> None:
    if last is None:
        return
    since_h = (reading.when - last.when) / timedelta(hours=1)
    if since_h <= 0.0:
        message = "not later than the line before"
        faults.append(Fault(where=f"{where}, time", message=message))
    elif since_h > gap_h:
        message = f"{since_h:g} h after the line before"
        hint = f"gaps of up to {gap_h:g} h are bridged; split the file or fill the gap"
        faults.append(Fault(where=f"{where}, time", message=message, hint=hint))
