"""A lever: a change to a job that may gain days, said as the command line says it."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from planner.nouns.job import CrewMember, Job

DRYING, HARDENING, FUMES = "drying", "setting or curing", "clearing of fumes"
WORKING, PEOPLE, OFF = "working", "waiting for people", "nights and days off"
COATS = frozenset({DRYING, HARDENING, FUMES})
HOURS = frozenset({WORKING, PEOPLE, OFF})


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """A change with a title in words of the trade.

    `say` is what comes after `--change`; `keys` are the addresses that it says anew, so
    that two levers at the same one aren't tried together. `eases` are parts of the
    closure, as plans divide it, that it may shorten.
    """

    title: str
    say: str
    keys: frozenset[str]
    eases: frozenset[str]


def lever(
    title: str,
    said_anew: Mapping[str, object],
    eases: Iterable[str],
    *,
    keys: Iterable[str] = (),
) -> Lever:
    """Return the lever that says keys anew; `keys` are others that it stands for."""
    return Lever(
        title=title,
        say="; ".join(f"{key}={value(v)}" for key, v in said_anew.items()),
        keys=frozenset(keys) or frozenset(said_anew),
        eases=frozenset(eases),
    )


def value(said: object) -> str:
    """Return a value of TOML as it is written within a line.

    Examples
    --------
    >>> value([{"name": "Ida", "coats": 2}])
    '[{name = "Ida", coats = 2}]'
    """
    match said:
        case dict():
            return "{" + ", ".join(f"{k} = {value(v)}" for k, v in said.items()) + "}"
        case list() | tuple():
            return "[" + ", ".join(value(v) for v in said) + "]"
        case _:
            return json.dumps(said, ensure_ascii=False)


def address(job: Job, person: CrewMember) -> str:
    """Return how a change reaches one of the crew: by name, else by number."""
    called = [p.name for p in job.crew]
    alone = called.count(person.name) == 1 and not person.name.isdecimal()
    who = value(person.name) if alone else str(job.crew.index(person) + 1)
    return f"crew.{who}"
