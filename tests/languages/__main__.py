"""Brings the catalogues in step with the program, its templates and its data.

    python -m tests.languages

What is new comes in without a translation, for somebody to write; what nothing says any
more goes. A test fails until every sentence has been translated.
"""

import argparse
import re
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from planner.languages.catalogues import NAMES
from planner.languages.language import ENGLISH
from tests.languages.extracting import PLANNER, template

WIDTH = 88


def path_of(language: str) -> Path:
    """Where the catalogue of a language lies."""
    return PLANNER / "languages" / f"{language}.po"


def in_step(language: str) -> Catalog:
    """The catalogue of a language with every sentence that there is, and no other."""
    catalogue = read_po(BytesIO(path_of(language).read_bytes()), locale=language)
    catalogue.update(template(), no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    return catalogue


def written(catalogue: Catalog) -> bytes:
    """A catalogue as it is kept: without the day on which it was written, or lines."""
    for message in catalogue:
        message.flags.discard("python-format")  # of "15 % for a bay", which is none
    out = BytesIO()
    write_po(out, catalogue, width=WIDTH, include_lineno=False, sort_by_file=False)
    own = "POT-Creation-Date|PO-Revision-Date|Generated-By|Project-Id-Version"
    own += "|Report-Msgid-Bugs-To"  # of a project that has none
    dated = rf'^"({own}): .*\n'
    return re.sub(dated, "", out.getvalue().decode(), flags=re.M).encode()


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    others = [tag for tag in NAMES if tag != ENGLISH.tag]
    parser.add_argument("--tags", nargs="+", choices=others, default=others)
    return parser


if __name__ == "__main__":
    for tag in _parser().parse_args().tags:
        path_of(tag).write_bytes(written(in_step(tag)))
