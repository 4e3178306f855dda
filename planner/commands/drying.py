"""The command `dry`: when a coat is ready, asked at the wall."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from planner import units
from planner.commands.options import measure, of_this_century
from planner.errors import PlannerError
from planner.measures import mostly


def dry(
    product: Annotated[str, typer.Argument(help="A product's id, such as topping")],
    temp: Annotated[
        str | None,
        typer.Option(metavar="TEMPERATURE", help='Temperature, such as "68 F"'),
    ] = None,
    rh: Annotated[
        str | None, typer.Option(metavar="HUMIDITY", help='Humidity, such as "62 %"')
    ] = None,
    thickness: Annotated[
        str | None,
        typer.Option(
            metavar="THICKNESS", help='Wet thickness of the coat, such as "1/16 in"'
        ),
    ] = None,
    job: Annotated[
        Path | None, typer.Option(metavar="JOB", help="Use the air of this job")
    ] = None,
    at: Annotated[
        datetime | None,
        typer.Option(
            formats=["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"],
            metavar="TIME",
            callback=of_this_century,
            help='When the coat is finished, such as "2027-02-09 12:00", site '
            "time; with --job",
        ),
    ] = None,
    table: Annotated[
        bool, typer.Option("--table", help="Print hours by temperature and humidity")
    ] = False,
) -> None:
    """Say when a coat may be coated, sanded, primed or walked on.

    Example: covetime dry topping --temp 68F --rh 62%
    """
    from planner.usecases import dry as wall

    _one_way(job=(job, at), now=(temp, rh), table=(table or None,))
    thick = measure(units.length_mm, thickness, "--thickness")
    first = mostly(filter(None, (temp, thickness)))
    if table:
        print(wall.table(product, thickness_mm=thick, units=first), end="")
    elif job is not None and at is not None:
        print(wall.dry_in_job(product, job, at=at, thickness_mm=thick), end="")
    else:
        air_c = measure(units.temperature_c, temp, "--temp")
        rh_pct = measure(units.percent, rh, "--rh")
        if air_c is None or rh_pct is None:
            raise PlannerError(
                "the air isn't known",
                hint="give --temp and --rh, or --job with --at, or --table",
            )
        words = wall.now_dry(
            product, temp_c=air_c, rh_pct=rh_pct, thickness_mm=thick, units=first
        )
        print(words, end="")


def _one_way(**ways: tuple[object, ...]) -> None:
    """Refuse to be asked in two ways at once: in a job's air, in this air, as a table."""
    asked = [name for name, given in ways.items() if any(x is not None for x in given)]
    if len(asked) > 1:
        raise PlannerError(
            "asked in two ways at once",
            hint="give --temp and --rh, or --job with --at, or --table, not both",
        )
