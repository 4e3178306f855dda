"""What the program says of itself: `covetime --version`."""

from typing import Annotated

import typer

from planner import __version__


def _say_version(asked: bool) -> None:
    if asked:
        print(f"covetime {__version__}")
        raise typer.Exit


def about(
    _version: Annotated[
        bool,
        typer.Option(
            "--version",
            help="Say which version this is.",
            callback=_say_version,
            is_eager=True,
        ),
    ] = False,
) -> None:
    """Plan the work, the waits and the stage closure for a curved backdrop."""
