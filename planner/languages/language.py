"""A language to tell people things in; this is English, as the program words them.

Whoever words something is handed a language and asks it for each sentence, day, time and
measure. Other languages do the same from a catalogue (`translated`).
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, tzinfo

from planner.measures import Units
from planner.units import day_words, duration_words, moment_words


@dataclass(frozen=True, slots=True)
class Language:
    """English: each sentence is said as it stands in the program.

    `tag` is that of BCP 47, `name` what its speakers call it. `is_checked` tells whether
    somebody who knows the trade has read its words.
    """

    tag: str = "en"
    name: str = "English"
    is_checked: bool = True

    def say(self, english: str, **named: object) -> str:
        """Return a sentence with what its places in braces name."""
        return english.format(**named)

    def counted(self, one: str, many: str, number: float, **named: object) -> str:
        """Return a sentence about a number of things, which `count` stands for."""
        return (one if number == 1 else many).format(count=f"{number:.0f}", **named)

    def of_data(self, text: str, units: Units) -> str:  # noqa: ARG002
        """Return a text of the data, as the job's units have it; others as they are."""
        return text

    # ------------------------------------------------------------ days and times

    def day(self, moment: datetime, zone: tzinfo) -> str:
        """Return a day at the site, short: 'Tue 16 Feb 2027'."""
        return day_words(moment, zone)

    def day_of_year(self, moment: datetime, zone: tzinfo) -> str:
        """Return a day at the site without its year, short: 'Tue 16 Feb'."""
        return day_words(moment, zone)[:-5]

    def heading(self, moment: datetime, zone: tzinfo) -> str:
        """Return a day at the site as it heads a sheet."""
        return day_words(moment, zone)

    def clock(self, moment: datetime, zone: tzinfo) -> str:
        """Return the time of day at the site, of 24 hours: '07:30'."""
        return f"{moment.astimezone(zone):%H:%M}"

    def moment(self, moment: datetime, zone: tzinfo) -> str:
        """Return a moment at the site: 'Tue 16 Feb 2027, 14:15'."""
        return moment_words(moment, zone)

    def moment_of_year(self, moment: datetime, zone: tzinfo) -> str:
        """Return a moment at the site without its year: 'Tue 16 Feb, 14:15'."""
        return f"{self.day_of_year(moment, zone)}, {self.clock(moment, zone)}"

    def duration(self, minutes: float) -> str:
        """Return a duration: '14 h 15 min'."""
        return duration_words(minutes)

    # ---------------------------------------------------------------- measures

    def number(self, value: float, digits: int = 0) -> str:
        """Return a number with so many digits after its decimal mark."""
        return f"{value:.{digits}f}"

    def measure(self, kind: str, value: float, units: Units) -> str:
        """Return a measure of a kind that `Units` words: 'run', 'temperature', ..."""
        say: Callable[[float], str] = getattr(units, kind)
        return say(value)

    def temperatures(self, low_c: float, high_c: float, units: Units) -> str:
        """Return a range of temperatures: '50 to 95 °F (10 to 35 °C)'."""
        return units.temperatures(low_c, high_c)


ENGLISH = Language()
