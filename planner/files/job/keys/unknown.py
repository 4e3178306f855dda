"""A key that a job file has not: what its author may have meant, or can use instead."""

import difflib
import tomllib
from collections.abc import Sequence
from pathlib import Path

from planner.files.job.keys.known import sections


def unknown_hint(key: str, known: Sequence[str]) -> str:
    """Return what to do about an unknown key; `known` are those that may stand there.

    A plain wish (`wishes.toml`) is answered with what to use, a key of another section
    with that section.
    """
    wishes = tomllib.loads(Path(__file__).with_name("wishes.toml").read_text("utf-8"))
    plain = key.lower().replace("-", "_").replace(" ", "_")
    if plain in wishes:
        return str(wishes[plain])
    near = difflib.get_close_matches(key, known, n=1)
    if near:
        return f'did you mean "{near[0]}"?'
    elsewhere = [
        p.header for p in sections() if not p.like and plain in {k.name for k in p.keys}
    ]
    if elsewhere:
        return f"{plain} is a key of {' and of '.join(elsewhere)}"
    return f"known here: {', '.join(known)}"
