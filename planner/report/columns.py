"""Text in columns: how all that is printed or written as text is wrapped to one width."""

import re
import textwrap

WIDTH = 80
# Between a number and its unit no line ends: a sign of ASCII that parts units, and that no
# text holds, stands there while lines are made.
_JOINED = "\x1f"
_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|h|min|d|°[CF]|K|mm|cm|m[²³]?|ft[²³]?|in|kg|g|lb|ml|l|gal)(?!\w))"
)


def wrapped(
    text: str, *, first: str = "", rest: str = "", width: int = WIDTH
) -> list[str]:
    """Return text as lines: the first begins with `first`, the others with `rest`.

    Words are broken only where one alone is longer than a line; a number stays with its
    unit.
    """
    lines = textwrap.wrap(
        _BEFORE_UNIT.sub(_JOINED, text),
        width,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
    )
    return [line.replace(_JOINED, " ") for line in lines]


def item(text: str, indent: str = "  ", *, hang: int = 4) -> list[str]:
    """Return an item of a list, its further lines indented by `hang` more."""
    return wrapped(text, first=indent, rest=indent + " " * hang)


def labelled(
    label: str, text: str, column: int, *, hang: int = 0, width: int = WIDTH
) -> list[str]:
    """Return text in a column that begins at `column`, with a label left of it."""
    lines = wrapped(text, rest=" " * hang, width=width - column)
    labels = [label, *[""] * max(len(lines) - 1, 0)]
    return [
        f"{head:<{column}}{line}".rstrip()
        for head, line in zip(labels, lines, strict=True)
    ]
