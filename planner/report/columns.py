"""Text in columns: how all that is printed or written as text is wrapped to one width."""

import textwrap

WIDTH = 80


def wrapped(
    text: str, *, first: str = "", rest: str = "", width: int = WIDTH
) -> list[str]:
    """Return text as lines: the first begins with `first`, the others with `rest`.

    Words are broken only where one alone is longer than a line.
    """
    return textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
    )


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
