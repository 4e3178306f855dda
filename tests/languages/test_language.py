"""How a language says days, measures and numbers; which languages there are.

The Spanish and French forms are those of the CLDR, the common locale data of Unicode,
as its charts have them: from memory.

Tests of planner/languages/catalogues.py, planner/languages/language.py,
planner/languages/translated.py.
"""

import subprocess
import sys
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from planner.languages.catalogues import NAMES, canonical, is_english, language_of
from planner.languages.language import ENGLISH
from planner.measures import Units

MARCH = datetime(2027, 3, 15, 17, 5, tzinfo=UTC)  # a Monday
HALIFAX = ZoneInfo("America/Halifax")  # three hours behind, from the day before
NBSP, NARROW = "\N{NO-BREAK SPACE}", "\N{NARROW NO-BREAK SPACE}"


def plain(text: str) -> str:
    """A text with ordinary spaces, as it is read."""
    return text.replace(NBSP, " ").replace(NARROW, " ")


@pytest.mark.parametrize(
    ("tag", "heading", "moment", "short"),
    [
        ("en", "Mon 15 Mar 2027", "Mon 15 Mar 2027, 14:05", "Mon 15 Mar"),
        ("es", "lunes, 15 de marzo de 2027", "lun, 15 mar 2027, 14:05", "lun, 15 mar"),
        ("fr", "lundi 15 mars 2027", "lun. 15 mars 2027, 14:05", "lun. 15 mars"),
    ],
)
def test_days_read_as_their_language_writes_them(tag, heading, moment, short):
    language = language_of(tag)
    assert language.heading(MARCH, HALIFAX) == heading
    assert language.moment(MARCH, HALIFAX) == moment
    assert language.day_of_year(MARCH, HALIFAX) == short
    assert language.clock(MARCH, HALIFAX) == "14:05"  # of 24 hours everywhere


@pytest.mark.parametrize(
    ("tag", "run", "number"),
    [
        ("en", "24 ft (7.3 m)", "1234.5"),
        ("es", "24 ft (7,3 m)", "1.234,5"),
        ("es-MX", "24 ft (7.3 m)", "1,234.5"),  # Mexico writes a decimal point
        ("fr", "24 pi (7,3 m)", "1 234,5"),
    ],
)
def test_numbers_and_units_are_those_of_the_language_and_region(tag, run, number):
    language = language_of(tag)
    assert plain(language.measure("run", 7.32, Units.US)) == run
    assert plain(language.number(1234.5, 1)) == number


@pytest.mark.parametrize("tag", ["en", "es", "fr", "es-MX"])
@pytest.mark.parametrize("units", list(Units))
def test_every_kind_of_measure_says_the_same_amounts_in_every_language(tag, units):
    """Digits alone, in their order: the reader's own system first."""

    def digits(text: str) -> str:
        return "".join(c for c in text if c.isdigit())

    language = language_of(tag)
    for kind, value in (
        ("run", 7.32), ("area", 10.0), ("mass", 10.9), ("length", 901.7),
        ("length", 7315.2), ("length", 3000.0), ("length", 24.0), ("temperature", 20.0), ("kelvins", 3.0),
    ):  # fmt: skip
        said = language.measure(kind, value, units)
        assert digits(said) == digits(ENGLISH.measure(kind, value, units)), said
    ranged = language.temperatures(10.0, 35.0, units)
    assert digits(ranged) == digits(units.temperatures(10.0, 35.0))
    for minutes in (0, 5, 60, 65, 855):
        assert plain(language.duration(minutes)) == ENGLISH.duration(minutes)


def test_one_and_several_are_told_apart_as_the_language_does():
    forms = "{count} hole", "{count} holes"
    said = {t: [language_of(t).counted(*forms, n) for n in (0, 1, 2)] for t in NAMES}
    assert said == {
        "en": ["0 holes", "1 hole", "2 holes"],
        "es": ["0 agujeros", "1 agujero", "2 agujeros"],
        "fr": ["0 trou", "1 trou", "2 trous"],  # none is singular in French
    }


@pytest.mark.parametrize(
    ("units", "english", "french"),
    [
        (Units.US, "3 in (76 mm)", "3 po (76 mm)"),
        (Units.METRIC, "76 mm (3 in)", "76 mm (3 po)"),
    ],
)
def test_a_text_of_the_data_is_found_as_the_units_have_it(units, english, french):
    said = f"Heavy coat; a narrow {english} roller in the coves"
    told = plain(language_of("fr").of_data(said, units))
    assert told == f"Couche généreuse ; un rouleau étroit de {french} dans les gorges"
    assert ENGLISH.of_data(said, units) == said


def test_what_no_catalogue_holds_is_said_as_it_is():
    french = language_of("fr")
    assert french.of_data("Marisol's own primer", Units.US) == "Marisol's own primer"
    assert french.say("No such {thing}", thing="sentence") == "No such sentence"


def test_a_catalogue_made_by_a_machine_says_so():
    assert ENGLISH.is_checked
    assert not language_of("es").is_checked
    assert not language_of("fr").is_checked


@pytest.mark.parametrize(
    ("said", "tag"),
    [("es", "es"), ("ES", "es"), ("es-mx", "es-MX"), ("fr_CA", "fr-CA"), ("en-GB", "en-GB")],
)  # fmt: skip
def test_a_tag_is_kept_as_it_is_usually_written(said, tag):
    assert canonical(said) == tag
    assert is_english(tag) == tag.startswith("en")


@pytest.mark.parametrize(
    "tag", ["de", "", "español", "es-XX", "fr-MX", "es-MX-x", "en-1", "Klingon"]
)
def test_a_language_that_isnt_there_is_answered_with_those_that_are(tag):
    with pytest.raises(ValueError, match="is no language") as refused:
        canonical(tag)
    for known, name in NAMES.items():
        assert f'"{known}" ({name})' in str(refused.value)


def test_english_loads_no_catalogue_and_nothing_to_read_one_with():
    code = (
        "import sys; from planner.languages.catalogues import language_of, canonical\n"
        "language_of(canonical('en-GB'))\n"
        "assert 'babel' not in sys.modules\n"
        "language_of('es')\n"
        "assert 'babel' in sys.modules"  # what is looked for can be seen
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
