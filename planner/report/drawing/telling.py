"""The words of a plan in the language of whoever is told them."""

from collections.abc import Sequence

from planner.languages.language import ENGLISH, Language
from planner.measures import Units
from planner.nouns.plan import Plan
from planner.nouns.told.saying import PlaceKind, Saying, SayingPlace


class Telling:
    """A language, with the sayings of a plan and the units that it is told in."""

    def __init__(
        self,
        units: Units,
        sayings: Sequence[Saying] = (),
        language: Language = ENGLISH,
    ) -> None:
        self.units = units
        self.language = language
        self._sayings = {s.text: s for s in sayings}

    def told(self, text: str) -> str:
        """Return a text of the plan or of the trade's data; any other as it is."""
        said = self._sayings.get(text)
        return (
            self.language.of_data(text, self.units) if said is None else self._of(said)
        )

    def named(self, name: str) -> str:
        """Return a name that the program made, as that of a corner; others as they are."""
        said = self._sayings.get(name)
        return name if said is None else self._of(said)

    def _of(self, said: Saying) -> str:
        places = {p.name: self._in_place(p) for p in said.places}
        if not said.many:
            return self.language.say(said.english, **places)
        places.pop("count")
        return self.language.counted(said.english, said.many, said.count, **places)

    def _in_place(self, place: SayingPlace) -> str:
        match place.kind:
            case PlaceKind.NAME:
                return place.text
            case PlaceKind.SAYING:
                return self.named(place.text)
            case PlaceKind.TEXT:
                return self.told(place.text)
            case PlaceKind.NUMBER:
                return self.language.number(place.value, place.digits)
            case _:
                return self.language.measure(place.kind.value, place.value, self.units)


def mark_words(plan: Plan, language: Language = ENGLISH) -> str:
    """Return by which a plan is known, in a form that the language's readers know."""
    if plan.mark is None:
        return language.say("not written yet")
    return plan.mark.words if language is ENGLISH else plan.mark.code


def unchecked(language: Language) -> str:
    """Return the warning that nobody who knows the trade has read a language's words."""
    return language.say(
        "A machine translated this, and nobody who knows the trade has looked it over "
        "yet: the English text is the checked one, and counts where they differ. Please "
        "have it reviewed."
    )
