"""Measures as people read them: in both unit systems, those of the job's country first."""

import re
from collections.abc import Iterable
from enum import StrEnum
from fractions import Fraction

from planner.units import KG_PER_LB, L_PER_US_GAL, M2_PER_FT2, MM_PER_FT, MM_PER_IN

_METRIC = "mm|cm|m|m2|m²|m3|m³|c|°c|kg|l|ml|m/s|km/h|l/day|l/d|m2/l"
_US = "in|\"|ft|'|ft2|ft²|ft3|ft³|f|°f|lb|gal|ft/min|fpm|pt/day|pint/day|pints/day|ft2/gal"
_WRITTEN = {
    unit.casefold(): us
    for us, units in ((False, _METRIC), (True, _US))
    for unit in units.split("|")
}
_LAST = re.compile(r"\s*[-\N{MINUS SIGN}\N{EN DASH}]?[0-9./ ]*[0-9.]\s*(\D.*)\s*")
_PAIR = re.compile(r"\{([^{}|]+)\|([^{}|]+)\}")


class Units(StrEnum):
    """The unit system whose measures a reader is shown first; the other in brackets."""

    METRIC = "metric"
    US = "us"

    def both(self, us: str, metric: str) -> str:
        """Return a measure in both systems, the reader's own first."""
        return f"{metric} ({us})" if self is Units.METRIC else f"{us} ({metric})"

    def length(self, mm: float) -> str:
        """Return a length, to 1/16 in and 1 mm.

        Examples
        --------
        >>> Units.US.length(901.7)
        '35 1/2 in (902 mm)'
        >>> Units.METRIC.length(7315.2)
        '7.32 m (24 ft)'
        """
        metric = f"{mm / 1000:.2f} m" if mm >= 3000 else f"{mm:.0f} mm"
        return self.both(feet_and_inches(mm), metric)

    def run(self, m: float) -> str:
        """Return the length of what is measured in a room, such as '24 ft (7.3 m)'."""
        return self.both(f"{m * 1000.0 / MM_PER_FT:.0f} ft", f"{m:.1f} m")

    def area(self, m2: float) -> str:
        """Return an area.

        Examples
        --------
        >>> Units.US.area(10.0)
        '108 ft² (10.0 m²)'
        """
        return self.both(f"{m2 / M2_PER_FT2:.0f} ft²", f"{m2:.1f} m²")

    def volume(self, litres: float) -> str:
        """Return a volume.

        Examples
        --------
        >>> Units.US.volume(10.0)
        '2.6 US gal (10.0 l)'
        >>> Units.METRIC.volume(0.3)
        '0.30 l (10 US fl oz)'
        """
        gallons = litres / L_PER_US_GAL
        if gallons < 1.0:
            return self.both(f"{gallons * 128:.0f} US fl oz", f"{litres:.2f} l")
        return self.both(f"{gallons:.1f} US gal", f"{litres:.1f} l")

    def coverage(self, m2_per_l: float) -> str:
        """Return how far a litre goes.

        Examples
        --------
        >>> Units.US.coverage(8.59)
        '350 ft² a US gal (8.59 m² a l)'
        """
        ft2_per_gal = m2_per_l * L_PER_US_GAL / M2_PER_FT2
        return self.both(f"{ft2_per_gal:.0f} ft² a US gal", f"{m2_per_l:.2f} m² a l")

    def mass(self, kg: float) -> str:
        """Return a mass, such as '24 lb (10.9 kg)'."""
        return self.both(f"{kg / KG_PER_LB:.0f} lb", f"{kg:.1f} kg")

    def temperature(self, c: float) -> str:
        """Return a temperature, such as '68 °F (20 °C)'."""
        return self.both(f"{c * 9 / 5 + 32:.0f} °F", f"{c:.0f} °C")

    @property
    def degree(self) -> str:
        """The unit of a temperature in the reader's own system."""
        return "°C" if self is Units.METRIC else "°F"

    def degrees(self, c: float) -> float:
        """Return a temperature in the reader's own system alone. [°C] → [`degree`].

        Examples
        --------
        >>> Units.US.degrees(20.0), Units.METRIC.degrees(20.0)
        (68.0, 20.0)
        """
        return c if self is Units.METRIC else c * 9 / 5 + 32

    def temperatures(self, low_c: float, high_c: float) -> str:
        """Return a range of temperatures, such as '50 to 95 °F (10 to 35 °C)'."""
        us = f"{low_c * 9 / 5 + 32:.0f} to {high_c * 9 / 5 + 32:.0f} °F"
        return self.both(us, f"{low_c:.0f} to {high_c:.0f} °C")

    def kelvins(self, delta_k: float) -> str:
        """Return a difference of temperatures, such as '5.4 °F (3.0 °C)'."""
        return self.both(f"{delta_k * 9 / 5:.1f} °F", f"{delta_k:.1f} °C")

    def time_for_each(self, minutes: float, unit: str) -> str:
        """Return the time that a metre or a square metre takes, whose name `unit` is.

        Examples
        --------
        >>> Units.METRIC.time_for_each(6.0, "m")
        '6 min a m (1.83 a ft)'
        """
        size = M2_PER_FT2 if unit == "m²" else MM_PER_FT / 1000.0
        us = "ft²" if unit == "m²" else "ft"
        here, there = f"{minutes:.3g}", f"{minutes * size:.3g}"
        if self is Units.METRIC:
            return f"{here} min a {unit} ({there} a {us})"
        return f"{there} min a {us} ({here} a {unit})"

    def text(self, template: str) -> str:
        """Return a text of the data, each pair of measures in braces as the reader has it.

        Examples
        --------
        >>> Units.US.text("a narrow {3 in|76 mm} roller")
        'a narrow 3 in (76 mm) roller'
        >>> Units.METRIC.text("a narrow {3 in|76 mm} roller")
        'a narrow 76 mm (3 in) roller'
        """
        return _PAIR.sub(lambda found: self.both(found[1], found[2]), template)


def feet_and_inches(mm: float) -> str:
    """Return a length in feet and inches, to a sixteenth; feet from six of them on.

    Examples
    --------
    >>> feet_and_inches(3759.2)
    '12 ft 4 in'
    """
    sixteenths = round(mm / MM_PER_IN * 16)
    in_feet = sixteenths >= 16 * 72
    feet, rest = divmod(sixteenths, 16 * 12) if in_feet else (0, sixteenths)
    inches, part = divmod(rest, 16)
    fraction = f"{Fraction(part, 16)}" if part else ""
    inch_words = " ".join(w for w in (str(inches) if inches else "", fraction) if w)
    words = [f"{feet} ft"] if feet else []
    if inch_words or not feet:
        words.append(f"{inch_words or '0'} in")
    return " ".join(words)


def written(text: str) -> Units | None:
    """Return the system of the unit that a measure ends with; None for any other text.

    Examples
    --------
    >>> written("3 ft 6 in"), written("20 C"), written("90 min")
    (<Units.US: 'us'>, <Units.METRIC: 'metric'>, None)
    """
    found = _LAST.fullmatch(text)
    if found is None:
        return None
    us = _WRITTEN.get(found[1].strip().split()[-1].casefold())
    return None if us is None else (Units.US if us else Units.METRIC)


def mostly(texts: Iterable[str]) -> Units:
    """Return the system that most measures among some texts are written in.

    Where as many are written in either, or none is, US units come first.
    """
    found = [written(t) for t in texts]
    metric = found.count(Units.METRIC) > found.count(Units.US)
    return Units.METRIC if metric else Units.US
