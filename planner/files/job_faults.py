"""What is wrong in a job file, gathered while it is read, in our words."""

import difflib
import re
from collections.abc import Iterable, Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from planner.errors import Fault
from planner.files import addresses
from planner.files.job_schema import Section

T = TypeVar("T")

_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*://[^\s\"']*")


def said(value: object) -> str:
    """Return a value as it is shown in a fault, cut short when it is long.

    Of an address, which may be a secret, only the host is shown.
    """
    text = f'"{value}"' if isinstance(value, str) else repr(value)
    text = _ADDRESS.sub(lambda found: addresses.shown(found[0]), text)
    return text if len(text) <= 80 else text[:77] + "..."


def _keys_at(model: type[BaseModel], path: Iterable[int | str]) -> list[str]:
    """Return the keys allowed where `path` (below `model`) leads."""
    here: type[BaseModel] = model
    for step in path:
        if isinstance(step, int):
            continue
        found = here.model_fields.get(step)
        nested = _models_in(found.annotation) if found else []
        if nested:
            here = nested[0]
    return list(here.model_fields)


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    inner = getattr(annotation, "__args__", ())
    return [m for part in inner for m in _models_in(part)]


def fault_of(error: Any, prefix: str, file: str, model: type[BaseModel]) -> Fault:
    """Return pydantic's error as a fault in our words."""
    path = tuple(error["loc"])
    place = ".".join([prefix, *(str(p + 1 if isinstance(p, int) else p) for p in path)])
    where, seen = f"{file}: {place}", error["input"]
    match error["type"]:
        case "extra_forbidden":
            allowed = _keys_at(model, path[:-1])
            near = difflib.get_close_matches(str(path[-1]), allowed, n=1)
            hint = (
                f'did you mean "{near[0]}"?'
                if near
                else f"known here: {', '.join(allowed)}"
            )
            return Fault(where=where, message="unknown key", hint=hint)
        case "missing":
            return Fault(where=where, message="is missing and has no default")
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


class Reader:
    """Collects the faults of one file while its sections are read."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def fault(self, place: str, message: str, hint: str = "") -> None:
        """Note a fault at a dotted place of the file."""
        where = f"{self.file}: {place}"
        self.faults.append(Fault(where=where, message=message, hint=hint))

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
                fault_of(e, name, self.file, model)
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
