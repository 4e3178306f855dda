"""The keys of a job file in words: a page of them all, or some of them on a terminal."""

import difflib
import textwrap
from collections.abc import Iterator

from planner.errors import PlannerError
from planner.files.job.keys.known import Key, KeySection, sections, toml

_HEAD = """# The job file, key by key

<!-- Made by `covetime keys --as page`. -->

A job file is TOML, in words of the trade. Lengths are written in either system
(`"24 ft"`, `"3 ft 6 in"`, `"7.2 m"`), temperatures with their scale (`"68 F"`,
`"20 C"`), percentages with `%`, and times with a unit (`"11 h"`). Paths start at
the job file's folder. What is left out is taken as the last column says;
`covetime check` lists every default that a job rests on.
"""
_COLUMNS = ("| key | means | such as | left out |", "|---|---|---|---|")


def page() -> str:
    """Return the page of all keys, as Markdown."""
    lines = [_HEAD.rstrip("\n")]
    for part in sections():
        if part.like:
            continue
        lines += ["", f"## `{part.header}`", "", _sentence(part), "", *_COLUMNS]
        lines += [
            f"| `{k.name}` | {k.means} | {_coded(_such_as(k))} | {_left_out(k)} |"
            for k in part.keys
        ]
    return "\n".join(lines) + "\n"


def on_terminal(path: str = "") -> str:
    """Return a section with what stands inside it, or all, in lines of 80 columns.

    Raises
    ------
    PlannerError
        When there is no such section; it says which one may have been meant.
    """
    known = [p for p in sections() if not p.like]
    chosen = [p for p in known if _within(p.path, path)]
    if not chosen:
        near = difflib.get_close_matches(path, [p.path for p in known], n=1)
        raise PlannerError(
            f'a job file has no section "{path}"',
            hint=f'did you mean "{near[0]}"?'
            if near
            else f"there are {', '.join(p.path for p in known)}",
        )
    return "\n\n".join("\n".join(_block(p)) for p in chosen)


def _within(path: str, wanted: str) -> bool:
    return not wanted or path == wanted or path.startswith(f"{wanted}.")


def _block(part: KeySection) -> Iterator[str]:
    yield part.header
    yield from textwrap.wrap(
        _sentence(part), 78, initial_indent="  ", subsequent_indent="  "
    )
    for key in part.keys:
        such = _such_as(key)
        words = f"{key.means}{f', such as {such}' if such else ''}; {_silence(key)}"
        yield f"  {key.name}"
        yield from textwrap.wrap(
            words.replace("`", ""),
            78,
            initial_indent="      ",
            subsequent_indent="      ",
        )


def _such_as(key: Key) -> str:
    """Return how a key is written, where its default doesn't show it."""
    if key.choices and not all(f'"{c}"' in key.means for c in key.choices):
        return " or ".join(toml(c) for c in key.choices)
    return "" if key.write is None else toml(key.write)


def _silence(key: Key) -> str:
    if key.needed:
        return "needed"
    return f"left out: {key.otherwise or toml(key.default)}"


def _left_out(key: Key) -> str:
    if key.needed:
        return "needed"
    return key.otherwise or _coded(toml(key.default))


def _coded(words: str) -> str:
    return f"`{words}`" if words else ""


def _sentence(part: KeySection) -> str:
    return f"{part.title[:1].upper()}{part.title[1:]}."
