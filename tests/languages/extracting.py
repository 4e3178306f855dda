"""What has to be said in every language, taken out of the program and its data.

In the code that is what stands in a call of one of `KEYWORDS`, in the templates what
stands in `say(...)`, in the data the values of `KEYS`. Values of a unit, such as "holes",
become the sentences that `planner/trade/parts.py` makes of them.
"""

import tomllib
from collections.abc import Iterable, Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from jinja2.ext import babel_extract

from tests.support.places import ROOT

PLANNER = ROOT / "planner"
KEYWORDS = {"say": None, "marked": None, "saying": None, "counted": (1, 2)}
KEYWORDS |= {"counting": (1, 2)}
KEYS = {  # of each file of the trade's data, the values that people are told
    "data/labour.toml": ("title", "how", "unit", "bring", "cautions", "lead", "help"),
    "data/safety.toml": ("words",),
    "data/proofs.toml": ("kind", "stage", "how", "tag"),
    "data/materials.toml": ("title", "cautions", "way"),
    "recipes/recipes.toml": ("bring", "cautions"),
    "buying/supplies.toml": ("title",),
}
PRODUCT = "{product}"  # a name of the product stands there, and no sentence
NAMED = ("stage", "latest")  # tables whose own keys are told, where they stand
Sentence = str | tuple[str, str]


@cache
def template() -> Catalog:
    """Every sentence there is, with the files that it stands in."""
    out = Catalog(project="covetime", fuzzy=False)
    for place, sentence in _all():
        out.add(sentence, locations=[(place, 1)])
    return out


def _all() -> Iterator[tuple[str, Sentence]]:
    for path in sorted(PLANNER.rglob("*.py")):
        for sentence in _of_code(path):
            yield path.relative_to(ROOT).as_posix(), sentence
    for path in sorted(PLANNER.rglob("*.j2")):
        for sentence in _of_template(path):
            yield path.relative_to(ROOT).as_posix(), sentence
    for name, keys in KEYS.items():
        path = PLANNER / "trade" / name
        data = tomllib.loads(path.read_text("utf-8"))
        for sentence in _of_data({k: v for k, v in data.items() if k != "tool"}, keys):
            yield path.relative_to(ROOT).as_posix(), sentence


def _of_code(path: Path) -> Iterator[Sentence]:
    code = path.read_bytes()
    if not any(f"{word}(".encode() in code for word in KEYWORDS):
        return  # most of the modules, and reading one takes its time
    for _, message, _, _ in extract("python", BytesIO(code), keywords=KEYWORDS):
        yield message if isinstance(message, str) else _pair(message)


def _pair(message: Any) -> tuple[str, str]:
    one, many = message
    return str(one), str(many)


def _of_template(path: Path) -> Iterator[Sentence]:
    with path.open("rb") as file:
        found = babel_extract(file, ["say"], [], {"trimmed": "false"})
        for _, _, message, _ in found:
            yield message if isinstance(message, str) else str((message or ("",))[0])


def _of_data(table: Any, keys: Iterable[str]) -> Iterator[Sentence]:
    if isinstance(table, list):
        for inner in table:
            yield from _of_data(inner, keys)
    if not isinstance(table, dict):
        return
    for key, value in table.items():
        if key in NAMED and isinstance(value, dict):
            yield from value
        if key in keys and key == "unit":
            yield _of_unit(value)
        elif key in keys and isinstance(value, str) and PRODUCT not in value:
            yield value
        elif key in keys and isinstance(value, list):
            yield from (one for one in value if one)
        else:
            yield from _of_data(value, keys)


def _of_unit(unit: str) -> Sentence:
    measure, _, rest = unit.partition(" ")
    if measure in ("m", "m²"):
        return f"{{{'run' if measure == 'm' else 'area'}}} {rest}"
    return "{count} " + unit.removesuffix("s"), "{count} " + unit
