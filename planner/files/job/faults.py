"""The faults of a job file, gathered while it is read, in words for its author."""

import difflib
import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from planner.errors import Fault
from planner.files.job.keys.needed import needed_hint
from planner.files.job.keys.unknown import unknown_hint
from planner.files.job.sections.section import Section, models_in
from planner.files.web import addresses
from planner.measures import Units

T = TypeVar("T")


_SHORTEST_LINK = 5  # a@b/c; shorter ones would be found in our own words


def said(value: object) -> str:
    """Return a value as it is shown in a fault, cut short when it is long.

    Of what may be an address, and so a secret, only the host is shown.
    """
    value = _without_links(value)
    text = f'"{value}"' if isinstance(value, str) else repr(value)
    return text if len(text) <= 80 else text[:77] + "..."


def _without_links(value: object) -> object:
    """Return a value of TOML with a mark in place of each text that is like a link."""
    match value:
        case str():
            return addresses.hidden(value)
        case list():
            return [_without_links(v) for v in value]
        case dict():
            return {_without_links(k): _without_links(v) for k, v in value.items()}
        case _:
            return value


def texts_of(value: object) -> Iterator[str]:
    """Yield every text of a value of TOML, keys too."""
    match value:
        case str():
            yield value
        case list():
            for inner in value:
                yield from texts_of(inner)
        case dict():
            for key, inner in value.items():
                yield key
                yield from texts_of(inner)
        case _:
            pass


def _keys_at(model: type[BaseModel], path: Iterable[int | str]) -> list[str]:
    """Return the keys allowed where `path` (below `model`) leads."""
    here: type[BaseModel] = model
    for step in path:
        if isinstance(step, int):
            continue
        found = here.model_fields.get(step)
        nested = models_in(found.annotation) if found else []
        if nested:
            here = nested[0]
    return list(here.model_fields)


def fault_of(
    error: Any, prefix: str, where_of: Callable[[str], str], model: type[BaseModel]
) -> Fault:
    """Return pydantic's error as a fault in our words; `where_of` names its place."""
    path = tuple(error["loc"])
    place = ".".join([prefix, *(str(p + 1 if isinstance(p, int) else p) for p in path)])
    where, seen = where_of(place), error["input"]
    match error["type"]:
        case "extra_forbidden":
            allowed = _keys_at(model, path[:-1])
            hint = unknown_hint(str(path[-1]), allowed)
            return Fault(where=where, message="unknown key", hint=hint)
        case "missing":
            message = "is missing and has no default"
            return Fault(where=where, message=message, hint=needed_hint(place))
        case "literal_error":
            allowed_words = re.findall(r"'([^']*)'", error["ctx"]["expected"])
            near = difflib.get_close_matches(str(seen), allowed_words, n=1)
            hint = f'did you mean "{near[0]}"?' if near else ""
            message = f"{said(seen)} is not one of {', '.join(allowed_words)}"
            return Fault(where=where, message=message, hint=hint)
        case "value_error":
            return Fault(where=where, message=str(error["ctx"]["error"]))
        case _:
            pass
    message = error["msg"][:1].lower() + error["msg"][1:]
    return Fault(where=where, message=f"{message}, not {said(seen)}")


def standing(listed: Iterable[T | None] | None) -> Iterator[tuple[int, T]]:
    """Yield the sections of a list that have no fault, with their numbers from 1."""
    for number, one in enumerate(listed or (), 1):
        if one is not None:
            yield number, one


class SectionReader:
    """Collects the faults of one file while its sections are read."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []
        self.units = Units.US  # in which most measures of the file are
        self.places: dict[str, str] = {}  # what is said elsewhere than in the file
        self._links: dict[str, str] = {}

    def hide_links(self, raw: object) -> None:
        """Let no fault show what is like a link anywhere in the file's values."""
        for text in texts_of(raw):
            if len(text) < _SHORTEST_LINK or not addresses.is_like_link(text):
                continue
            mark = addresses.shown(text)
            for form in (text, text.strip(), repr(text)[1:-1]):
                self._links[form] = mark

    def told(self) -> tuple[Fault, ...]:
        """Return the faults as they may be printed."""
        return tuple(
            Fault(
                where=self._hidden(f.where),
                message=self._hidden(f.message),
                hint=self._hidden(f.hint),
            )
            for f in self.faults
        )

    def _hidden(self, text: str) -> str:
        for link in sorted(self._links, key=len, reverse=True):
            text = text.replace(link, self._links[link])
        return text

    def fault(self, place: str, message: str, hint: str = "") -> None:
        """Note a fault at a dotted place of the file."""
        fault = Fault(where=self.where(place), message=message, hint=hint)
        self.faults.append(fault)

    def where(self, place: str) -> str:
        """Return where a dotted place of the values was said: the file, or a change."""
        steps = place.split(".")
        for count in range(len(steps), 0, -1):
            told = self.places.get(".".join(steps[:count]))
            if told is not None:
                return ".".join((told, *steps[count:]))
        return f"{self.file}: {place}"

    def section(self, name: str, model: type[Section], raw: object) -> Any:
        """Return a section as its model, or None with its faults noted."""
        if not isinstance(raw, dict):
            self.fault(name, f"{said(raw)} is not a table", f"write it as [{name}]")
            return None
        try:
            return model.model_validate(raw)
        except ValidationError as error:
            found = error.errors()
            # A list whose items have faults is also called too short; say it once.
            outer = {e["loc"][:n] for e in found for n in range(len(e["loc"]))}
            self.faults += [
                fault_of(e, name, self.where, model)
                for e in found
                if e["loc"] not in outer
            ]
            return None

    def listed(self, name: str, model: type[Section], raw: object) -> Any:
        """Return a list of sections, None in the place of each that has a fault."""
        if not isinstance(raw, list):
            self.fault(name, f"{said(raw)} is not a list", f"write each as [[{name}]]")
            return None
        return tuple(
            self.section(f"{name}.{i}", model, r) for i, r in enumerate(raw, 1)
        )
