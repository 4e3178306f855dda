"""The commands that the pages of Markdown and the help texts print."""

import re
from typing import Any

import typer
from markdown_it import MarkdownIt

from planner import cli
from tests.support.places import ROOT

STORY = "examples/three-days/"  # commands on it are run one after another, by one test
PROGRAM = re.compile(r"[\w./]*\b(covetime|python3?|pip|pytest|poe|keyring)\s")


class Page:
    """The code on a page of Markdown: in blocks, each in a language, and within lines."""

    def __init__(self, name: str) -> None:
        self.text = (ROOT / name).read_text("utf-8")
        tokens = MarkdownIt().enable("table").parse(self.text)
        self.blocks = [
            (t.info, t.content) for t in tokens if t.type in ("fence", "code_block")
        ]
        self.within_lines = [
            t.content
            for token in tokens
            for t in token.children or ()
            if t.type == "code_inline"
        ]

    def commands(self) -> list[str]:
        """Return the lines of the blocks marked `sh`, and commands within lines.

        `covetime plan` within a line is the name of a command, and isn't to be typed.
        """
        lines = [x for kind, text in self.blocks if kind == "sh" for x in _lines(text)]
        inline = [x for x in self.within_lines if PROGRAM.match(x)]
        return list(dict.fromkeys([*lines, *(x for x in inline if not _names(x))]))

    def named(self) -> set[str]:
        """Return the commands of covetime that are named within lines."""
        return {x.split()[1] for x in self.within_lines if _names(x)}

    def options(self) -> set[str]:
        """Return the options that are named within lines, alone or with a command."""
        return {
            word
            for x in self.within_lines
            for word in re.findall(r"(?:^|\s)(--[a-z-]+)", x)
        }

    def other_lines(self) -> list[str]:
        """Return the lines of blocks that hold no commands."""
        return [x for kind, text in self.blocks if kind != "sh" for x in _lines(text)]


def _lines(text: str) -> list[str]:
    return [line for line in text.splitlines() if line.strip()]


def _names(code: str) -> bool:
    return re.fullmatch(r"covetime [a-z]+", code) is not None


def helps() -> dict[str, Any]:
    """Return each command of covetime by its name, as the help shows it."""
    group: Any = typer.main.get_command(cli.app)
    return dict(group.commands)


def examples_in_help() -> list[str]:
    """Return the example of each command's help, as one line."""
    paragraphs = [
        " ".join(paragraph.split())
        for command in helps().values()
        for paragraph in str(command.help).split("\n\n")
    ]
    return [p.removeprefix("Example: ") for p in paragraphs if p.startswith("Example:")]
