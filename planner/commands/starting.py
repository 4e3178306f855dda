"""A job of one's own: `new`; what can stand in it: `keys`."""

import sys
from collections.abc import Iterator, Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperCommand

from planner.commands.options import typed
from planner.errors import PlannerError
from planner.measures import Units

_NAME = "What is the stage called?"
_ZONE = "In which time zone is it, such as America/Halifax?"
_WALLS = 'Which walls get a cove, in order, such as "back wall 7.2 m, side wall 4.8 m"?'
_CORNERS = "Does each meet the next one in an inside corner?"
_CEILING = 'How high is the ceiling, such as "3.6 m" or "12 ft"?'
_PEOPLE = (
    'Who comes, with which trades, such as "Ana: carpenter, finisher; Li: painter"? '
    "Trades: carpenter, finisher, painter, labourer"
)
_EARLIEST = "Which is the first day that may be used, such as 2027-02-08?"
_UNITS = "Units: metric or us?"
_PIECES = {  # measures of the kit: what is asked; from the corner's on, only where one is
    "module_width": 'Measure a straight module: how wide is it, such as "1 m" or "3 ft"?',
    "radius": "What is the radius of its curve? Measure straight from one end of the curve "
    "to the other, and divide by 1.414",
    "straight_height": "How high does it stand on the wall, lip included?",
    "module_mass": 'What does it weigh, such as "9 kg" or "20 lb"?',
    "corner_height": "Measure a corner piece: how high is it, without the uprights?",
    "corner_leg": "How far does it reach along each wall?",
    "upright_height": "How high is one of the uprights that stand on it?",
}
_STRAIGHT = tuple(_PIECES)[:4]

Walls = Annotated[
    str,
    typer.Option(
        metavar="WALLS",
        prompt=_WALLS,
        help='In order, such as "back wall 7.2 m, side wall 4.8 m"',
    ),
]
People = Annotated[
    str,
    typer.Option(
        metavar="PEOPLE",
        prompt=_PEOPLE,
        help='Such as "Ana: carpenter, finisher; Li: painter"',
    ),
]
Pieces = Annotated[
    list[str] | None,
    typer.Option(
        metavar="KEY=MEASURE",
        help='A measure of the pieces, by its key, such as "radius=30 in"',
    ),
]


class Asking(TyperCommand):
    """A command that asks for what isn't given; without a terminal it names all of it."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the command line; nobody is asked where nobody can answer."""
        if not (ctx.resilient_parsing or at_terminal()):
            given, _, _ = self.make_parser(ctx).parse_args(args=list(args))
            missing = list(self._missing(given)) if "help" not in given else []
            if missing:
                raise PlannerError(
                    "nothing can be asked without a terminal, so all is to be given as "
                    "options; these are missing:",
                    where=ctx.command_path,
                    hint=", ".join(missing),
                )
        return super().parse_args(ctx, args)

    def _missing(self, given: Mapping[str, Any]) -> Iterator[str]:
        """Yield what would be asked for: options, and measures of the kit."""
        for option in self.params:
            if getattr(option, "prompt", None) and option.name not in given:
                yield "/".join((*option.opts, *option.secondary_opts))
        kit = {said.partition("=")[0].strip() for said in given.get("kit", ())}
        asked = _STRAIGHT if given.get("corners") is False else _PIECES
        yield from (f"--kit {key}=MEASURE" for key in asked if key not in kit)


def at_terminal() -> bool:
    """Tell whether somebody can be asked."""
    return sys.stdin is not None and sys.stdin.isatty()


class Form(StrEnum):
    """As what the keys of a job file are printed."""

    WORDS = "words"
    PAGE = "page"
    SCHEMA = "schema"


def new(
    folder: Annotated[
        Path, typer.Argument(help="A folder for the job; it is made if there is none")
    ],
    name: Annotated[
        str, typer.Option(metavar="NAME", prompt=_NAME, help="What the stage is called")
    ],
    time_zone: Annotated[
        str, typer.Option(metavar="ZONE", prompt=_ZONE, help="Such as America/Halifax")
    ],
    walls: Walls,
    ceiling: Annotated[
        str, typer.Option(metavar="HEIGHT", prompt=_CEILING, help='Such as "12 ft"')
    ],
    people: People,
    earliest: Annotated[
        str,
        typer.Option(metavar="DAY", prompt=_EARLIEST, help="Such as 2027-02-08"),
    ],
    units: Annotated[
        Units, typer.Option(metavar="UNITS", prompt=_UNITS, help="metric or us")
    ],
    corners: Annotated[
        bool,
        typer.Option(
            prompt=_CORNERS, help="Whether each wall meets the next in an inside corner"
        ),
    ],
    kit: Pieces = None,
) -> None:
    """Begin a job of your own: a job file and empty calendars.

    Asks for what isn't given, and never writes over a file. Have a tape and scales
    ready: the pieces are asked for as they are measured.

    Example: covetime new our-stage
    """
    from planner.files.job.starter import Beginning
    from planner.usecases.new import begin, people_of, pieces_of, walls_of

    given = pieces_of(kit or [])
    asked = [k for k in (_PIECES if corners else _STRAIGHT) if k not in given]
    beginning = Beginning(
        name=name,
        time_zone=time_zone,
        earliest=earliest,
        walls=walls_of(walls),
        corners=corners,
        ceiling=ceiling,
        people=people_of(people),
        units=units.value,
        pieces=given | {key: typer.prompt(_PIECES[key]) for key in asked},
    )
    for path in begin(beginning, folder):
        print(path)
    job = typed(folder / "job.toml")
    print(f"Read it, put your calendars in place, then: covetime check {job}")


def keys(
    section: Annotated[
        str,
        typer.Argument(metavar="[SECTION]", help="Such as methods or air.room"),
    ] = "",
    form: Annotated[
        Form,
        typer.Option(
            "--as",
            metavar="FORM",
            help="words, or all as a page (Markdown) or schema (JSON Schema)",
        ),
    ] = Form.WORDS,
) -> None:
    """Say what each key of a job file means, and its default.

    Example: covetime keys methods
    """
    from planner.files.job.keys import words as key_words
    from planner.files.job.keys.known import schema_text

    match form:
        case Form.PAGE:
            print(key_words.page(), end="")
        case Form.SCHEMA:
            print(schema_text(), end="")
        case Form.WORDS:
            print(key_words.on_terminal(section))
