"""Ids: made of names, and unique across the stages of a plan (`tern-street:prime-1`).

The part before the colon is the id of the stage, the part after it the name of a task
or a bay within the stage. Where only one stage is meant, people leave it out.
"""

import re
from collections.abc import Iterable

SEPARATOR = ":"  # stands in no name that an id is made of


def slug(name: str) -> str:
    """Return a name as it stands in ids and file names: 'North wall' → 'north-wall'."""
    return re.sub(r"[^\w]+", "-", name.strip().lower()).strip("-")


def id_on(stage: str, name: str) -> str:
    """Return the id of something of a stage.

    Examples
    --------
    >>> id_on("tern-street", "prime-1")
    'tern-street:prime-1'
    """
    return f"{stage}{SEPARATOR}{name}"


def bare(id_: str) -> str:
    """Return an id without its stage.

    Examples
    --------
    >>> bare("tern-street:prime-1")
    'prime-1'
    """
    return id_.rpartition(SEPARATOR)[2]


def is_of(stage: str, id_: str) -> bool:
    """Tell whether an id is one of a stage."""
    return id_ == id_on(stage, bare(id_)) and bare(id_) != ""


def find_id(said: str, ids: Iterable[str]) -> str | None:
    """Return the id that is meant, whole or without its stage; None: none, or several.

    Examples
    --------
    >>> find_id("prime-1", ["tern-street:prime-1", "tern-street:prime-2"])
    'tern-street:prime-1'
    >>> find_id("prime-1", ["tern-street:prime-1", "mill:prime-1"])
    """
    known = tuple(ids)
    if said in known:
        return said
    meant = [id_ for id_ in known if bare(id_) == said]
    return meant[0] if len(meant) == 1 else None


def short_id(id_: str, ids: Iterable[str]) -> str:
    """Return an id without its stage where that still names one of the ids only."""
    return bare(id_) if find_id(bare(id_), ids) == id_ else id_
