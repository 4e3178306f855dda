"""People's units at the door: feet, inches, °F and pounds in; mm, °C and kg inside.

And durations and moments as people read them; `measures` words all else.
"""

import re
from datetime import date, datetime, tzinfo
from fractions import Fraction

MM_PER_IN = 25.4  # exact, international yard and pound agreement of 1959
MM_PER_FT = 304.8  # exact, the same
M2_PER_FT2 = 0.09290304  # exact, from the foot
KG_PER_LB = 0.45359237  # exact, the same
L_PER_US_GAL = 3.785411784  # exact, 231 cubic inches

_INT, _OVER = r"[0-9]{1,15}", r"/0{0,15}[1-9][0-9]{0,14}"
_NUMBER = rf"(?:{_INT}\s+{_INT}{_OVER}|{_INT}{_OVER}|{_INT}(?:\.[0-9]+)?|\.[0-9]+)"
_LENGTH_MM = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_IN,
    '"': MM_PER_IN,
    "ft": MM_PER_FT,
    "'": MM_PER_FT,
}
_UNIT = r"(?:mm|cm|m|in|ft|\"|')"
_LENGTH_PART = re.compile(rf"\s*({_NUMBER})\s*({_UNIT})(?![a-z])\s*", re.IGNORECASE)
_SIMPLE = re.compile(rf"\s*(-?{_NUMBER})\s*(.*?)\s*", re.DOTALL)
_MINUS = str.maketrans("\N{MINUS SIGN}\N{EN DASH}", "--")


def _number(text: str) -> float:
    """Return the value of '3', '3.5', '1/2' or '35 1/2'."""
    return float(sum(Fraction(part) for part in text.split()))


def _split(text: str, example: str) -> tuple[float, str]:
    """Return the number and the unit of a text such as '68 F'."""
    match = _SIMPLE.fullmatch(text.translate(_MINUS))
    if match is None:
        raise ValueError(f'"{text}" is not a number with a unit, such as "{example}"')
    raw, unit = match.groups()
    sign = -1.0 if raw.startswith("-") else 1.0
    return sign * _number(raw.lstrip("-")), unit


def is_this_century(day: date) -> bool:
    """Tell whether a day lies in it; further away, calendars have no room around it."""
    return 2000 <= day.year < 2100


def is_count(text: str) -> bool:
    """Tell whether a text is a whole number of things, such as '200'."""
    return re.fullmatch("[0-9]{1,9}", text) is not None


def length_mm(text: str) -> float:
    """Return a length in mm from text such as '24 ft', '3 ft 6 in' or '7.2 m'.

    Parts in feet and inches, or in metric, add up; fractions as in '35 1/2 in'.

    Raises
    ------
    ValueError
        When the text is not a length with a unit on every part.

    Examples
    --------
    >>> length_mm("3 ft 6 in")
    1066.8
    >>> length_mm("35 1/2 in")
    901.7
    >>> length_mm("7.2 m")
    7200.0
    """
    position, total = 0, 0.0
    while position < len(text):
        part = _LENGTH_PART.match(text, position)
        if part is None:
            break
        total += _number(part.group(1)) * _LENGTH_MM[part.group(2).lower()]
        position = part.end()
    if position == 0 or position < len(text):
        raise ValueError(
            f'"{text}" is not a length with units, such as "24 ft", "3 ft 6 in" '
            'or "7.2 m"'
        )
    return round(total, 9)


def temperature_c(text: str) -> float:
    """Return a temperature in °C from text such as '68 F' or '20 C'.

    Examples
    --------
    >>> temperature_c("68 F")
    20.0
    """
    value, unit = _split(text, "68 F")
    match unit.lstrip("°").upper():
        case "C":
            return value
        case "F":
            return (value - 32.0) * 5.0 / 9.0
        case _:
            raise ValueError(f'"{text}" is not a temperature such as "68 F" or "20 C"')


def temperature_delta_k(text: str) -> float:
    """Return a difference of temperatures in K from text such as '5 F' or '3 C'.

    Examples
    --------
    >>> temperature_delta_k("9 F")
    5.0
    """
    value, unit = _split(text, "3 C")
    match unit.lstrip("°").upper():
        case "C" | "K":
            return value
        case "F":
            return value / 1.8
        case _:
            raise ValueError(f'"{text}" is not a difference such as "3 C" or "5 F"')


def speed_m_s(text: str) -> float:
    """Return a speed in m/s from text such as '0.3 m/s' or '60 ft/min'.

    Examples
    --------
    >>> round(speed_m_s("100 ft/min"), 3)
    0.508
    """
    value, unit = _split(text, "0.3 m/s")
    match unit.lower().replace(" ", ""):
        case "m/s":
            return value
        case "km/h":
            return value / 3.6
        case "ft/min" | "fpm":
            return value * MM_PER_FT / 1000.0 / 60.0
        case _:
            raise ValueError(
                f'"{text}" is not a speed such as "0.3 m/s" or "60 ft/min"'
            )


def mass_kg(text: str) -> float:
    """Return a mass in kg from text such as '24 lb' or '11 kg'."""
    value, unit = _split(text, "11 kg")
    match unit.lower():
        case "kg":
            return value
        case "lb":
            return value * KG_PER_LB
        case _:
            raise ValueError(f'"{text}" is not a mass such as "24 lb" or "11 kg"')


def volume_m3(text: str) -> float:
    """Return a volume in m³ from text such as '400 m3' or '14000 ft3'.

    Examples
    --------
    >>> round(volume_m3("1000 ft3"), 3)
    28.317
    """
    value, unit = _split(text, "400 m3")
    match unit.lower().replace("³", "3"):
        case "m3":
            return value
        case "ft3":
            return value * (MM_PER_FT / 1000.0) ** 3
        case _:
            raise ValueError(f'"{text}" is not a volume such as "400 m3"')


def area_m2(text: str) -> float:
    """Return square metres from text such as '32 ft2' or '3 m2'."""
    value, unit = _split(text, "3 m2")
    match unit.lower():
        case "m2" | "m²":
            return value
        case "ft2" | "ft²":
            return value * M2_PER_FT2
        case _:
            raise ValueError(f'"{text}" is not an area such as "32 ft2" or "3 m2"')


def litres_per_day(text: str) -> float:
    """Return litres a day from text such as '30 l/day' or '70 pt/day' (US pints).

    Examples
    --------
    >>> round(litres_per_day("70 pt/day"), 1)
    33.1
    """
    value, unit = _split(text, "30 l/day")
    match unit.lower().replace(" ", ""):
        case "l/day" | "l/d":
            return value
        case "pt/day" | "pint/day" | "pints/day":
            return value * L_PER_US_GAL / 8.0
        case _:
            raise ValueError(f'"{text}" is not litres a day such as "30 l/day"')


def volume_l(text: str) -> float:
    """Return a volume in litres from text such as '5 gal' (US) or '10 l'.

    Examples
    --------
    >>> round(volume_l("5 gal"), 2)
    18.93
    """
    value, unit = _split(text, "5 gal")
    match unit.lower():
        case "l":
            return value
        case "ml":
            return value / 1000.0
        case "gal":
            return value * L_PER_US_GAL
        case _:
            raise ValueError(f'"{text}" is not a volume such as "5 gal" or "10 l"')


def coverage_m2_per_l(text: str) -> float:
    """Return a coverage in m² a litre from text such as '350 ft2/gal' or '9 m2/l'.

    Examples
    --------
    >>> round(coverage_m2_per_l("350 ft2/gal"), 2)
    8.59
    """
    value, unit = _split(text, "350 ft2/gal")
    match unit.lower().replace(" ", "").replace("²", "2"):
        case "m2/l":
            return value
        case "ft2/gal":
            return value * M2_PER_FT2 / L_PER_US_GAL
        case _:
            raise ValueError(
                f'"{text}" is not a coverage such as "350 ft2/gal" or "9 m2/l"'
            )


def hours(text: str) -> float:
    """Return hours from text such as '11 h', '90 min' or '2 days'."""
    value, unit = _split(text, "11 h")
    match unit.lower():
        case "h" | "hour" | "hours":
            return value
        case "min" | "minute" | "minutes":
            return value / 60.0
        case "d" | "day" | "days":
            return value * 24.0
        case "week" | "weeks":
            return value * 7 * 24.0
        case _:
            raise ValueError(
                f'"{text}" is not a time such as "11 h", "90 min" or "2 days"'
            )


def percent(text: str) -> float:
    """Return the number of a percentage such as '62 %', 0 to 100 and more."""
    value, unit = _split(text, "62 %")
    if unit != "%":
        raise ValueError(f'"{text}" is not a percentage such as "62 %"')
    return value


def duration_words(minutes: float) -> str:
    """Return a duration as hours and minutes, such as '14 h 15 min'.

    Examples
    --------
    >>> duration_words(855)
    '14 h 15 min'
    >>> duration_words(60)
    '1 h'
    """
    whole = round(minutes)
    h, m = divmod(whole, 60)
    if h and m:
        return f"{h} h {m:02d} min"
    return f"{h} h" if h or not m else f"{m} min"


def days_and_hours(minutes: float) -> str:
    """Return a long stretch as days and hours, such as '12 days 3 h 15 min'."""
    days, rest = divmod(round(minutes), 24 * 60)
    if not days:
        return duration_words(rest)
    word = "1 day" if days == 1 else f"{days} days"
    return f"{word} {duration_words(rest)}" if rest else word


def moment_words(when: datetime, zone: tzinfo) -> str:
    """Return a moment in the site's zone, such as 'Tue 16 Feb 2027, 14:15'."""
    local = when.astimezone(zone)
    return f"{_DAYS[local.weekday()]} {local.day} {_MONTHS[local.month - 1]} " + (
        f"{local.year}, {local:%H:%M}"
    )


def people_words(count: int) -> str:
    """Return a number of people in words.

    Examples
    --------
    >>> people_words(1), people_words(3)
    ('1 person', '3 people')
    """
    return "1 person" if count == 1 else f"{count} people"


def day_words(when: datetime, zone: tzinfo) -> str:
    """Return a day in the site's zone, such as 'Tue 16 Feb 2027'."""
    return moment_words(when, zone)[:-7]


def year_once(text: str, said: int | None = None) -> str:
    """Return a text in which a date leaves out the year that was said last.

    `said` is the year that was said before the text. Dates are those of `day_words`.

    Examples
    --------
    >>> year_once("Thu 11 Feb 2027 to Mon 8 Mar 2027, 12:00")
    'Thu 11 Feb 2027 to Mon 8 Mar, 12:00'
    >>> year_once("Fri 31 Dec 2027 to Mon 3 Jan 2028", said=2027)
    'Fri 31 Dec to Mon 3 Jan 2028'
    """

    def short(found: re.Match[str]) -> str:
        nonlocal said
        year = int(found["year"])
        if year == said:
            return found["day"]
        said = year
        return found[0]

    return _DATED.sub(short, text)


# Not strftime's names, which depend on the machine's language.
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun",
    "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
_DATED = re.compile(
    rf"(?P<day>\b(?:{'|'.join(_DAYS)}) \d{{1,2}} (?:{'|'.join(_MONTHS)})) (?P<year>\d{{4}})\b"
)
