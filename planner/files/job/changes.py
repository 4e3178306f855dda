"""Changes laid over the values of a job file, as TOML in the form of the job file.

A change says anew what the job file says::

    methods.primer_in = "bays"
    crew.Hedda.shifts = ["Mon-Fri 09:00-13:00"]
    stage.run."north wall".length = "14 ft"

What the job file writes as a list of tables (`[[crew]]`, `[[stage.run]]`) is reached by
the name of one of them - its `name`, `id`, `work` or `month` - or by its number from 1.
Two keys of a change are no sections of a job: `without` lists what is left out, `more`
holds what is added to lists::

    without = ["crew.Bo", "stage.hours"]

    [[more.crew]]
    name = "Ida"
    trades = ["labourer"]
    shifts = ["Mon-Fri 08:00-12:00"]

A list that is given anew takes the place of the old one as a whole. Files that a change
names are looked for beside the job file. What comes of it is read just as a job file
is; a fault in what a change says names the change, as it was written, as its place.
"""

import copy
import difflib
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from planner.errors import Fault, JobFileError
from planner.files.job.faults import SectionReader, said
from planner.files.job.text import stands, values_of

WITHOUT, MORE = "without", "more"
NO_ADDRESS, LIKE = "is not an address", 'write it like crew."Ana Ruiz".rest'
NAMES = (
    "name",
    "id",
    "work",
    "month",
)  # keys by which tables of a list are told apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What is changed, as values of TOML; `label` names them in messages."""

    label: str
    values: Mapping[str, Any]

    def words(self) -> tuple[str, ...]:
        """Return each change in words: its address and what is said anew."""
        set_, without, more = _parts(self.values)
        return (
            *(f"{place} = {said(value)}" for place, value in _leaves(set_, "")),
            *(f"without {address}" for address in without),
            *(f"more {place}: {said(value)}" for place, value in _leaves(more, "")),
        )


def changes_of(data: bytes, label: str) -> Changes:
    """Return the changes that a text in TOML says.

    Raises
    ------
    JobFileError
        When it isn't TOML, or holds values that no part of the program could work with.
    """
    reader = SectionReader(label)
    values = values_of(reader, data)
    if values is None or reader.faults:
        raise JobFileError(reader.told(), file=label)
    return Changes(label=label, values=values)


def changes_from(said_anew: Mapping[str, Any], label: str = "changes") -> Changes:
    """Return changes from addresses and values, such as {"methods.fill": "foam"}.

    An address is a dotted key of TOML, so a name with blanks or dots stands in quotes.

    Raises
    ------
    JobFileError
        Naming each address that is none.
    """
    reader = SectionReader(label)
    values: dict[str, Any] = {}
    for address, value in said_anew.items():
        path = _path(address)
        if path is None:
            reader.fault("an address", f"{said(address)} {NO_ADDRESS}", LIKE)
            continue
        here = values
        for step in path[:-1]:
            here = here.setdefault(step, {})
        here[path[-1]] = value
    stands(reader, values)
    if reader.faults:
        raise JobFileError(reader.told(), file=label)
    return Changes(label=label, values=values)


def laid(
    reader: SectionReader, values: Mapping[str, Any], changes: Sequence[Changes]
) -> dict[str, Any]:
    """Return the values of a job file with changes laid over them, one after the other.

    What a change asks for and can't have is noted as a fault. `reader` learns the
    places of what was changed, for the faults that are found later.
    """
    layers = _Layers(reader, values)
    for one in changes:
        layers.lay(one)
    reader.places = dict(layers.places(layers.values, ""))
    return layers.values


class _Layers:
    """A job's values with changes over them, and where each thing was said last."""

    def __init__(self, reader: SectionReader, values: Mapping[str, Any]) -> None:
        self.reader = reader
        self.values: dict[str, Any] = copy.deepcopy(dict(values))
        self.of_keys: dict[int, dict[str, str]] = {}  # id of a table → key → place
        self.of_items: dict[int, list[str]] = {}  # id of a list → place of each item
        self.gone: list[object] = []  # kept, so that no id stands for two things

    def lay(self, changes: Changes) -> None:
        """Lay one more layer: what is left out first, then what is said anew, then more."""
        self.reader.hide_links(changes.values)
        set_, without, more = _parts(changes.values)
        label = f"{changes.label}: "
        if not isinstance(without, list) or not all(
            isinstance(w, str) for w in without
        ):
            what = f"{said(without)} is not a list of addresses"
            self._fault(f"{label}{WITHOUT}", what, 'write without = ["crew.Bo"]')
        else:
            for number, address in enumerate(without, 1):
                self._leave_out(address, f"{label}{WITHOUT}.{number}")
        self._set(self.values, copy.deepcopy(set_), "", label)
        if isinstance(more, dict):
            self._add(self.values, copy.deepcopy(more), "", f"{label}{MORE}.")
        else:
            what = f"{said(more)} is not a table"
            self._fault(f"{label}{MORE}", what, "write each as [[more.crew]]")

    def places(self, value: object, at: str) -> Iterator[tuple[str, str]]:
        """Yield each place of the values that was said elsewhere than it now stands."""
        if isinstance(value, dict):
            told = self.of_keys.get(id(value), {})
            inner = {str(k): v for k, v in value.items()}
        elif isinstance(value, list):
            items = self.of_items.get(id(value), [])
            told = {str(n): place for n, place in enumerate(items, 1)}
            inner = {str(n): v for n, v in enumerate(value, 1)}
        else:
            return
        yield from ((_join(at, step), place) for step, place in told.items())
        for step, one in inner.items():
            yield from self.places(one, _join(at, step))

    # ---------------------------------------------------------- said anew

    def _set(
        self, here: dict[str, Any], anew: dict[str, Any], at: str, told: str
    ) -> None:
        """Let a table say what another one says anew; `told` is where that is said."""
        for key, value in anew.items():
            old, place, saying = here.get(key), _join(at, key), f"{told}{key}"
            if isinstance(value, dict) and isinstance(old, dict):
                self._set(old, value, place, f"{saying}.")
            elif isinstance(value, dict) and isinstance(old, list):
                self._set_items(old, value, place, f"{saying}.")
            else:
                self.gone.append(old)
                here[key] = value
                self.of_keys.setdefault(id(here), {})[key] = saying

    def _set_items(
        self, items: list[Any], anew: dict[str, Any], at: str, told: str
    ) -> None:
        """Let items of a list say what is said anew of them by name or number."""
        for name, value in anew.items():
            saying = f"{told}{name}"
            number = _number(items, name)
            if number is None:
                self._unknown(saying, name, _names(items))
            elif isinstance(items[number], dict) and isinstance(value, dict):
                self._set(items[number], value, f"{at}.{number + 1}", f"{saying}.")
            else:
                self.gone.append(items[number])
                self._items(items, at)[number] = saying
                items[number] = value

    def _items(self, items: list[Any], at: str) -> list[str]:
        """Return where each item of a list was said, to be changed with the list."""
        file = self.reader.file
        return self.of_items.setdefault(
            id(items), [f"{file}: {at}.{n}" for n in range(1, len(items) + 1)]
        )

    # ---------------------------------------------------- left out, added

    def _leave_out(self, address: str, told: str) -> None:
        """Take what an address names out of the values."""
        path = _path(address)
        if path is None:
            self._fault(told, f"{said(address)} {NO_ADDRESS}", LIKE)
            return
        here: Any = self.values
        at = ""
        for step in path[:-1]:
            key = _key(here, step)
            here = None if key is None else here[key]
            at = _join(at, step if isinstance(key, str) else str((key or 0) + 1))
        last = _key(here, path[-1])
        if last is None:
            known = list(here) if isinstance(here, dict) else _names(here or [])
            self._unknown(told, path[-1], known)
            return
        self.gone.append(here[last])
        if isinstance(here, list):
            del self._items(here, at)[last]
        else:
            self.of_keys.setdefault(id(here), {})[last] = told
        del here[last]

    def _add(
        self, here: dict[str, Any], more: dict[str, Any], at: str, told: str
    ) -> None:
        """Add to the lists of a table what another one has in its lists."""
        for key, value in more.items():
            place, saying = _join(at, key), f"{told}{key}"
            if isinstance(value, dict) and isinstance(here.get(key, {}), dict):
                self._add(here.setdefault(key, {}), value, place, f"{saying}.")
            elif isinstance(value, list) and isinstance(here.get(key, []), list):
                old = here.setdefault(key, [])
                own = [f"{saying}.{n}" for n in range(1, len(value) + 1)]
                self._items(old, place).extend(own)
                old += value
            else:
                self._fault(
                    saying,
                    f"{said(value)} can't be added, because there is no list there",
                )

    # -------------------------------------------------------------- faults

    def _unknown(self, told: str, name: str, known: Sequence[str]) -> None:
        near = difflib.get_close_matches(name, known, n=1)
        hint = f'did you mean "{near[0]}"?' if near else ""
        if known and not near:
            hint = f"there: {', '.join(known)}"
        self._fault(told, f"there is no {said(name)} to change", hint)

    def _fault(self, where: str, message: str, hint: str = "") -> None:
        self.reader.faults.append(Fault(where=where, message=message, hint=hint))


def _parts(values: Mapping[str, Any]) -> tuple[dict[str, Any], Any, Any]:
    """Return what is said anew, what is left out, what is added."""
    anew = {k: v for k, v in values.items() if k not in (WITHOUT, MORE)}
    return anew, values.get(WITHOUT, []), values.get(MORE, {})


def _leaves(value: object, at: str) -> Iterator[tuple[str, object]]:
    """Yield each value with its address, tables opened up."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from _leaves(one, _join(at, str(key)))
    elif at:
        yield at, value


def _join(at: str, step: str) -> str:
    return f"{at}.{step}" if at else step


def _path(address: str) -> list[str] | None:
    """Return the steps of an address, a dotted key of TOML; None where it is none."""
    if "=" in address or "\n" in address or "#" in address:
        return None
    try:
        here: Any = tomllib.loads(f"{address} = 0")
    except tomllib.TOMLDecodeError:
        return None
    path: list[str] = []
    while isinstance(here, dict):
        ((step, here),) = here.items()
        path.append(step)
    return path


def _key(here: object, step: str) -> Any:
    """Return the key or the number, from 0, of a step; None where it leads nowhere."""
    if isinstance(here, dict):
        return step if step in here else None
    return _number(here, step) if isinstance(here, list) else None


def _number(items: Sequence[object], name: str) -> int | None:
    """Return which item has a name, else the one of that number from 1; None: none."""
    for number, item in enumerate(items):
        if isinstance(item, dict) and any(item.get(k) == name for k in NAMES):
            return number
    if name.isdecimal() and 1 <= int(name) <= len(items):
        return int(name) - 1
    return None


def _names(items: Sequence[object]) -> list[str]:
    """Return what the items of a list are called; their number where they have no name."""
    out = []
    for number, item in enumerate(items, 1):
        named = (
            [str(item[k]) for k in NAMES if k in item] if isinstance(item, dict) else []
        )
        out.append(named[0] if named else str(number))
    return out
