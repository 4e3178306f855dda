"""Which languages there are, and how one is had by its tag.

A catalogue is a gettext file beside this module (`es.po`), read when somebody is told
something in that language; English needs none, and loads nothing.
"""

from functools import cache

from planner.languages.language import ENGLISH, Language

NAMES = {"en": "English", "es": "español", "fr": "français"}  # as their speakers say


def canonical(tag: str) -> str:
    """Return a tag of BCP 47 as it is usually written: 'ES-mx' is 'es-MX'.

    Raises
    ------
    ValueError
        With words for the user: there is no catalogue for it, or no such region.
    """
    language, *rest = tag.strip().replace("_", "-").split("-")
    known = ", ".join(f'"{t}" ({name})' for t, name in NAMES.items())
    if language.lower() not in NAMES:
        raise ValueError(
            f'"{tag}" is no language that there is a catalogue for: {known}'
        )
    region = rest[0].upper() if rest else ""
    if len(rest) > 1 or (rest and not _is_region(language.lower(), region)):
        raise ValueError(
            f'"{tag}" is no language with a region, such as "es-MX"; without one: {known}'
        )
    return "-".join((language.lower(), *([region] if region else [])))


def is_english(tag: str) -> bool:
    """Tell whether a tag is of English, which needs no catalogue."""
    return tag.partition("-")[0] == ENGLISH.tag


def language_of(tag: str) -> Language:
    """Return the language of a tag; every English is the program's own."""
    if is_english(tag):
        return ENGLISH
    return _read(tag)


@cache
def _read(tag: str) -> Language:
    from planner.languages.translated import read

    return read(tag, NAMES[tag.partition("-")[0]])


def _is_region(language: str, region: str) -> bool:
    if language == ENGLISH.tag:
        return len(region) == 2 and region.isalpha()
    from planner.languages.translated import has_region

    return has_region(language, region)
