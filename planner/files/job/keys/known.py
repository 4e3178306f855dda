"""Every key of a job file: what it means, how it is written, what stands in its place.

The words are those of `meanings.toml`, the keys those of the models, so that neither can
say what the other doesn't. A page for people (`key_words.py`) and a JSON Schema for
editors come of them.
"""

import json
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, create_model

from planner.files.job.sections.schema import LISTS, SECTIONS
from planner.files.job.sections.section import models_in

DRAFT = "https://json-schema.org/draft/2020-12/schema"
Entry = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a section: its meaning, and how it is written in TOML.

    `default` and `write` are TOML values; `otherwise` says in words what is taken where
    the file is silent and no single value can say it.
    """

    name: str
    means: str
    needed: bool
    choices: tuple[str, ...] = ()  # the only words that it takes
    default: Any = None
    otherwise: str = ""
    write: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeySection:
    """A section of a job file, with its keys in the order of the words."""

    path: str  # "stage.run"
    header: str  # its first line in a job file
    model: type[BaseModel]
    title: str
    like: str  # the section that is written alike, if it has no keys of its own
    keys: tuple[Key, ...]


def toml(value: Any) -> str:
    """Return a value as TOML writes it (TOML 1.0: strings escape as JSON's do)."""
    match value:
        case dict():
            inner = ", ".join(f"{k} = {toml(v)}" for k, v in value.items())
            return f"{{ {inner} }}"
        case list():
            return f"[{', '.join(toml(v) for v in value)}]"
        case date():
            return value.isoformat()
        case _:
            return json.dumps(value, ensure_ascii=False)


@cache
def sections() -> tuple[KeySection, ...]:
    """Return all sections of a job file, each with the sections inside it after it."""
    told = tomllib.loads(Path(__file__).with_name("meanings.toml").read_text("utf-8"))
    found = [
        part
        for path, (model, _) in (SECTIONS | LISTS).items()
        for part in _below(path, model, told)
    ]
    order = list(told)
    return tuple(sorted(found, key=lambda p: order.index(p.path)))


def _below(
    path: str, model: type[BaseModel], told: dict[str, Entry]
) -> Iterator[KeySection]:
    """Yield a section and all sections inside it."""
    words = _words(path, told)
    keys = tuple(
        Key(
            name=name,
            needed=model.model_fields[name].is_required(),
            choices=tuple(_literals(model.model_fields[name].annotation)),
            **said,
        )
        for name, said in words["keys"].items()
    )
    header = words.get("header", f"[{path}]")
    yield KeySection(
        path=path,
        header=header,
        model=model,
        title=words["title"],
        like="" if "keys" in told[path] else words["like"],
        keys=keys,
    )
    for name, field in model.model_fields.items():
        for inner in models_in(field.annotation):
            yield from _below(f"{path}.{name}", inner, told)


def _literals(annotation: Any) -> Iterator[str]:
    """Yield the words that a field takes, if it takes no others."""
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    for inner in get_args(annotation):
        yield from _literals(inner)


def _words(path: str, told: dict[str, Entry]) -> Entry:
    """Return the words of a section, with those of the one that it is like."""
    own = told[path]
    if "like" not in own:
        return own
    base = _words(own["like"], told)
    taken = {k: v for k, v in base["keys"].items() if k not in own.get("without", ())}
    return base | own | {"keys": own.get("keys", {}) | taken}


def schema() -> Entry:
    """Return the JSON Schema of a job file, for editors that read `#:schema`.

    A day or a time of TOML is checked as its text, as such editors do. What must fit
    together across keys is only said by `covetime check`.
    """
    fields: dict[str, Any] = {
        name: (model, ... if needed else None)
        for name, (model, needed) in SECTIONS.items()
    }
    fields |= {
        name: (tuple[model, ...], ... if needed else ())  # type: ignore[valid-type]
        for name, (model, needed) in LISTS.items()
    }
    made = create_model("JobFile", **fields).model_json_schema()
    for name in made["properties"]:
        made["properties"][name].pop("default", None)
    for part in sections():
        section = made["$defs"][part.model.__name__]
        section["description"] = part.title
        for key in part.keys:
            _describe(section["properties"][key.name], key)
    made = _plain(made)
    return {"$schema": DRAFT, "title": "A job file of covetime", **made}


def schema_text() -> str:
    """Return the JSON Schema as the text of a file."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def _describe(place: Entry, key: Key) -> None:
    """Say in a schema what a key means and how it is written."""
    place.pop("default", None)
    place["description"] = key.means
    if key.default is not None:
        place["default"] = key.default
    if key.write is not None:
        place["examples"] = [_as_json(key.write)]


def _as_json(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


def _plain(value: Any) -> Any:
    """Return a schema without null, which TOML has not, and without made-up titles."""
    match value:
        case {"anyOf": [one, {"type": "null"}], **rest}:
            return _plain(one) | _plain(rest)
        case dict():
            return {
                k: _plain(v)
                for k, v in value.items()
                if k != "title" or isinstance(v, dict)
            }
        case list():
            return [_plain(v) for v in value]
        case _:
            return value
