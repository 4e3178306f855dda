"""What to write for a key that is missing, in the words that the page of keys has."""

from planner.files.job.keys.known import sections, toml


def needed_hint(place: str) -> str:
    """Return what the key at a dotted place of a job file means, and how it is written.

    Numbers of lists may stand in the place. Of a key that the page of keys doesn't know
    nothing is said.
    """
    *within, name = (step for step in place.split(".") if not step.isdigit())
    for part in sections():
        for key in part.keys:
            if (part.path, key.name) == (".".join(within), name):
                means = key.means.removesuffix(": see below").replace("`", "")
                return (
                    means
                    if key.write is None
                    else f"{means}, such as {toml(key.write)}"
                )
    return ""
