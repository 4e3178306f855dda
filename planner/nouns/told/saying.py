"""Sentences that a plan puts together, kept so that they can be said in other languages.

A plan's words are English. A text of the data, such as a caution, is found in another
language whole. What is put together, such as a title with the name of a bay, can't be:
so the sentence is kept with its places, and what stands in each.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from planner.measures import Units


class PlaceKind(StrEnum):
    """What stands in a place of a sentence, and so how another language says it."""

    NAME = "name"  # as the user gave it
    SAYING = "saying"  # another saying of the plan, or a name
    TEXT = "text"  # a text of the data, or another saying
    NUMBER = "number"
    RUN = "run"  # a length in a room. [m]
    LENGTH = "length"  # [mm]
    AREA = "area"  # [m²]
    MASS = "mass"  # [kg]


@dataclass(frozen=True, slots=True, kw_only=True)
class SayingPlace:
    """A place of a sentence: `text` as it stands there in English, `value` if measured.

    `digits` are those of a number after its decimal mark.
    """

    name: str
    kind: PlaceKind
    text: str
    value: float = 0.0
    digits: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """A sentence: `text` as the plan says it, `english` with its places in braces.

    Where it counts something, `english` is said of one and `many` of several; what is
    counted stands in the place `count`.
    """

    text: str
    english: str
    places: tuple[SayingPlace, ...] = ()
    many: str = ""

    @property
    def count(self) -> float:
        """How many it speaks of; 1 where it counts nothing."""
        return next((p.value for p in self.places if p.name == "count"), 1.0)


def saying(english: str, *places: SayingPlace) -> Saying:
    """Return a sentence with what stands in its places.

    Examples
    --------
    >>> saying("{work}, {bay}", text("work", "Tape"), name("bay", "north")).text
    'Tape, north'
    """
    words = english.format_map({p.name: p.text for p in places})
    return Saying(text=words, english=english, places=places)


def counting(one: str, many: str, count: SayingPlace, *places: SayingPlace) -> Saying:
    """Return a sentence about a number of things, said of one or of several.

    Examples
    --------
    >>> counting("{count} hole", "{count} holes", number_of("count", 24)).text
    '24 holes'
    """
    form = one if count.text == "1" else many
    said = saying(form, count, *places)
    return Saying(text=said.text, english=one, places=said.places, many=many)


def marked(english: str) -> str:
    """Return a text of the program as it is: this marks it for the catalogues."""
    return english


def name(place: str, given: str) -> SayingPlace:
    """Return a name that the user gave."""
    return SayingPlace(name=place, kind=PlaceKind.NAME, text=given)


def told(place: str, said: Saying | str) -> SayingPlace:
    """Return what is another saying, or else a name that the user gave."""
    words = said.text if isinstance(said, Saying) else said
    return SayingPlace(name=place, kind=PlaceKind.SAYING, text=words)


def text(place: str, words: str) -> SayingPlace:
    """Return a text of the data, as the job's units have it."""
    return SayingPlace(name=place, kind=PlaceKind.TEXT, text=words)


def number_of(place: str, value: float, digits: int = 0) -> SayingPlace:
    """Return a number with so many digits after its decimal mark."""
    words = f"{value:.{digits}f}"
    return SayingPlace(
        name=place, kind=PlaceKind.NUMBER, text=words, value=value, digits=digits
    )


def measured(place: str, kind: PlaceKind, value: float, units: Units) -> SayingPlace:
    """Return a measure in the job's units, of one of the kinds that `Units` words."""
    words = str(getattr(units, kind.value)(value))
    return SayingPlace(name=place, kind=kind, text=words, value=value)


def alone(place: SayingPlace) -> Saying:
    """Return what stands in a place, as all there is to say."""
    english = f"{{{place.name}}}"
    return saying(english, place)


def each_once(found: Iterable[Saying]) -> tuple[Saying, ...]:
    """Return sayings in order, one for each text; none that only says what is in it."""
    more = (s for s in found if all(p.text != s.text for p in s.places))
    return tuple({s.text: s for s in more}.values())
