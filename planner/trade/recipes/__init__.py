"""The recipes that a crew lead chooses among, one file each, and their registry.

A recipe is a function `recipe(site, leads, bays) → Part` in a file of its own: its
tasks with their labour and cautions, its links and waits. `recipes.toml` names each
by the choice that it answers, the walls that it suits and the labour rates that it
uses. Adding one is adding a file and a row (and rates, where the work is new).
"""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import import_module
from importlib.resources import files
from typing import Any

from planner.nouns.job import Methods
from planner.nouns.work import Task
from planner.trade.parts import Leads, Part, Site
from planner.trade.takeoff import Bay

Cook = Callable[[Site, Leads, tuple[Bay, ...]], Part]

CHOSEN: Mapping[str, Callable[[Methods], str]] = {
    "backing": lambda m: m.backing,
    "fill": lambda m: m.fill,
    "bonding": lambda m: "agent" if m.bonding_agent else "none",
    "compound": lambda m: "setting" if m.setting_coats else "drying",
    "sanding": lambda m: m.sanding,
    "primer": lambda m: m.primer_in,
    "colour": lambda m: "two" if m.second_colour else "one",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A row of the registry.

    `walls` are the walls that it suits (none: every wall) and `needs` says why it
    suits no other; `lays` are the keys of [methods] for products that no other recipe
    of its choice lays; `bring` and `cautions` are added to each of its tasks.
    """

    choice: str
    name: str
    title: str
    file: str
    rates: tuple[str, ...]
    source: str
    walls: tuple[str, ...] = ()
    needs: str = ""
    lays: tuple[str, ...] = ()
    bring: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def suits(self, wall: str) -> bool:
        """Tell whether the recipe can be done on a wall."""
        return not self.walls or wall in self.walls


@cache
def recipes() -> tuple[Recipe, ...]:
    """Return every recipe, in the order of the data."""
    text = files(__name__).joinpath("recipes.toml").read_text(encoding="utf-8")
    return tuple(_row(raw) for raw in tomllib.loads(text)["recipe"])


def _row(raw: Mapping[str, Any]) -> Recipe:
    frozen: dict[str, Any] = {
        k: tuple(v) if isinstance(v, list) else v for k, v in raw.items()
    }
    return Recipe(**frozen)


def names(choice: str) -> tuple[str, ...]:
    """Return the names that a choice may take, each once."""
    return tuple(dict.fromkeys(r.name for r in recipes() if r.choice == choice))


def of(choice: str, name: str) -> tuple[Recipe, ...]:
    """Return the recipes of a name: one, or one for each kind of wall."""
    return tuple(r for r in recipes() if (r.choice, r.name) == (choice, name))


def chosen(choice: str, methods: Methods, wall: str) -> Recipe:
    """Return the recipe that the methods choose, for a wall that it suits."""
    name = CHOSEN[choice](methods)
    return next(r for r in of(choice, name) if r.suits(wall))


def cook(choice: str, site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the part of the work that the chosen recipe makes in `bays`."""
    recipe = chosen(choice, site.methods, site.stage.wall)
    made: Cook = import_module(f"{__name__}.{recipe.file}").recipe
    part = made(site, leads, bays)
    if not recipe.bring and not recipe.cautions:
        return part
    with_more = {t.id: _more(recipe, t) for t in part.tasks}
    return replace(part, tasks=tuple(with_more[t.id] for t in part.tasks))


def _more(recipe: Recipe, task: Task) -> Task:
    return replace(
        task,
        bring=(*task.bring, *recipe.bring),
        cautions=(*task.cautions, *recipe.cautions),
    )
