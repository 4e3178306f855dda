"""A language from its catalogue: sentences by gettext, days and measures by CLDR."""

import gettext
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from importlib.resources import files
from io import BytesIO

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton, get_datetime_format
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.numbers import format_decimal
from babel.units import format_unit

from planner.languages.language import Language
from planner.measures import Units, feet_and_inches
from planner.units import KG_PER_LB, M2_PER_FT2, MM_PER_FT

# Of each kind of measure, in the US system and the metric one: the unit as CLDR names it,
# how many of it in one of ours, the digits after the decimal mark.
_MEASURES = {
    "run": (("length-foot", 1000.0 / MM_PER_FT, 0), ("length-meter", 1.0, 1)),
    "area": (("area-square-foot", 1.0 / M2_PER_FT2, 0), ("area-square-meter", 1.0, 1)),
    "mass": (("mass-pound", 1.0 / KG_PER_LB, 0), ("mass-kilogram", 1.0, 1)),
    "kelvins": (("temperature-fahrenheit", 1.8, 1), ("temperature-celsius", 1.0, 1)),
}
LONG_MM = 3000.0  # from here on lengths are told in metres


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Translated(Language):
    """A language as its catalogue and CLDR say it; what they lack is said in English.

    `data` are the texts of the trade's data, by how each unit system has them in English.
    """

    locale: Locale
    sentences: gettext.GNUTranslations
    data: Mapping[Units, Mapping[str, str]]

    def say(self, english: str, **named: object) -> str:
        """Return a sentence with what its places in braces name."""
        return self.sentences.gettext(english).format(**named)

    def counted(self, one: str, many: str, number: float, **named: object) -> str:
        """Return a sentence about a number of things, in the plural it asks for."""
        digits = int(number != int(number))
        form = self.sentences.ngettext(one, many, int(number) if not digits else 2)
        return form.format(count=self.number(number, digits), **named)

    def of_data(self, text: str, units: Units) -> str:
        """Return a text of the data, as the job's units have it; others as they are."""
        return self.data[units].get(text, text)

    def day(self, moment: datetime, zone: tzinfo) -> str:
        """Return a day at the site, short: 'lun. 15 mars 2027'."""
        return str(
            format_skeleton("yMMMEd", moment.astimezone(zone), locale=self.locale)
        )

    def day_of_year(self, moment: datetime, zone: tzinfo) -> str:
        """Return a day at the site without its year, short: 'lun. 15 mars'."""
        return str(
            format_skeleton("MMMEd", moment.astimezone(zone), locale=self.locale)
        )

    def heading(self, moment: datetime, zone: tzinfo) -> str:
        """Return a day at the site in full: 'lundi 15 mars 2027'."""
        day = moment.astimezone(zone).date()
        return str(format_date(day, "full", locale=self.locale))

    def moment(self, moment: datetime, zone: tzinfo) -> str:
        """Return a moment at the site: 'lun. 15 mars 2027, 07:30'."""
        joined = str(get_datetime_format("medium", locale=self.locale))
        return joined.format(self.clock(moment, zone), self.day(moment, zone))

    def moment_of_year(self, moment: datetime, zone: tzinfo) -> str:
        """Return a moment at the site without its year: 'lun. 15 mars, 07:30'."""
        joined = str(get_datetime_format("medium", locale=self.locale))
        return joined.format(self.clock(moment, zone), self.day_of_year(moment, zone))

    def duration(self, minutes: float) -> str:
        """Return a duration in hours and minutes: '14 h 15 min'."""
        h, m = divmod(round(minutes), 60)
        parts = []
        if h or not m:
            parts.append(self._unit("duration-hour", h, "0"))
        if m:
            parts.append(self._unit("duration-minute", m, "00" if h else "0"))
        return " ".join(parts)

    def number(self, value: float, digits: int = 0) -> str:
        """Return a number with so many digits after its decimal mark."""
        rounded = round(value, digits)
        return str(format_decimal(rounded, _pattern(digits), self.locale))

    def measure(self, kind: str, value: float, units: Units) -> str:
        """Return a measure of a kind that `Units` words, in the reader's own units first."""
        if kind == "temperature":
            return self.temperatures(value, value, units)
        if kind == "length":
            return units.both(self._feet_and_inches(value), self._metric_length(value))
        us, metric = (
            self._unit(unit, value * times, _pattern(digits))
            for unit, times, digits in _MEASURES[kind]
        )
        return units.both(us, metric)

    def temperatures(self, low_c: float, high_c: float, units: Units) -> str:
        """Return a range of temperatures, or one where both are the same."""
        us = self._range("temperature-fahrenheit", low_c * 1.8 + 32, high_c * 1.8 + 32)
        return units.both(us, self._range("temperature-celsius", low_c, high_c))

    def _range(self, unit: str, low: float, high: float) -> str:
        high_said = self._unit(unit, high, "0")
        if low == high:
            return high_said
        return self.say("{low} to {high}", low=self.number(low), high=high_said)

    def _unit(self, unit: str, value: float, pattern: str) -> str:
        return format_unit(value, unit, "short", format=pattern, locale=self.locale)

    def _feet_and_inches(self, mm: float) -> str:
        """Return what `measures` says, with the unit's names of the language."""
        return re.sub(
            "(ft|in)",
            lambda found: {
                "ft": self._sign("length-foot"),
                "in": self._sign("length-inch"),
            }[found[1]],
            feet_and_inches(mm),
        )

    def _sign(self, unit: str) -> str:
        return self._unit(unit, 2, "0").removeprefix("2").strip()

    def _metric_length(self, mm: float) -> str:
        if mm >= LONG_MM:
            return self._unit("length-meter", mm / 1000.0, _pattern(2))
        return self._unit("length-millimeter", mm, "0")


def _pattern(digits: int) -> str:
    """Return a number's pattern as CLDR writes them, with so many decimals."""
    return "#,##0" + ("." + "0" * digits if digits else "")


def has_region(language: str, region: str) -> bool:
    """Tell whether CLDR knows a language as it is written in a region."""
    try:
        return Locale(language, region).territory == region
    except UnknownLocaleError:
        return False


def read(tag: str, name: str) -> Translated:
    """Return a language by its tag, from the catalogue that is shipped."""
    language = tag.partition("-")[0]
    catalogue = catalogue_of(language)
    return Translated(
        tag=tag,
        name=name,
        is_checked=not catalogue.fuzzy,  # gettext's mark of what wants a review
        locale=Locale.parse(tag, sep="-"),
        sentences=_compiled(catalogue),
        data={u: _as_told(catalogue, u) for u in Units},
    )


def catalogue_of(language: str) -> Catalog:
    """Return the catalogue of a language, as it is shipped."""
    data = files("planner.languages").joinpath(f"{language}.po").read_bytes()
    return read_po(BytesIO(data), locale=language, abort_invalid=True)


def _compiled(catalogue: Catalog) -> gettext.GNUTranslations:
    compiled = BytesIO()
    write_mo(compiled, catalogue)
    return gettext.GNUTranslations(BytesIO(compiled.getvalue()))


def _as_told(catalogue: Catalog, units: Units) -> Mapping[str, str]:
    """Return what each text of the data is, by its English in a unit system."""
    return {
        units.text(m.id): units.text(m.string)
        for m in catalogue
        if isinstance(m.id, str) and isinstance(m.string, str) and m.id and m.string
    }
