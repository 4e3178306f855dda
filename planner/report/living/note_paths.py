"""Where change notes lie in a plan's folder: whose they are, by their paths."""

from collections.abc import Sequence

FOLDER = "changes"
MANAGER, OWNER, PEOPLE = "manager", "owner", "people"


def note_paths(people: Sequence[str]) -> tuple[str, ...]:
    """Return the paths of all notes that there may be, with their endings."""
    names = (MANAGER, OWNER, *(f"{PEOPLE}/{p}" for p in people))
    return tuple(f"{FOLDER}/{n}.{end}" for n in names for end in ("txt", "html"))
