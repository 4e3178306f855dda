"""The command `covetime`: its commands in the order of a job. Decides nothing."""

import typer

from planner.commands.about import about
from planner.commands.closing import closures
from planner.commands.comparing import compare
from planner.commands.drying import dry
from planner.commands.ending import Ending
from planner.commands.futures import odds
from planner.commands.living import log, revise, today
from planner.commands.looking import air, hours, opening, quantities
from planner.commands.planning import check, plan, publish, why
from planner.commands.repainting import repaint
from planner.commands.starting import Asking, keys, new

app = typer.Typer(
    cls=Ending,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.callback()(about)
app.command(cls=Asking)(new)
for command in (
    keys,
    plan,
    odds,
    compare,
    closures,
    repaint,
    publish,
    check,
    why,
    hours,
    air,
    quantities,
    opening,
    dry,
    log,
    revise,
    today,
):
    app.command()(command)

if __name__ == "__main__":
    app()
