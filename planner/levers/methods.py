"""Levers of methods and products: another compound or primer, foam for mortar."""

from collections.abc import Iterator

from planner.files.job.methods import KINDS
from planner.levers.lever import (
    COATS,
    DRYING,
    FUMES,
    HARDENING,
    WORKING,
    Lever,
    lever,
)
from planner.nouns.job import Job, Methods
from planner.trade import recipes
from planner.trade.data import materials

NAMED = {
    "setting": "setting compound",
    "drying": "bedding compound",
    "topping": "topping",
    "primer": "primer",
}


def of_methods(job: Job) -> Iterator[Lever]:
    """Yield other products that are known, and other ways to do the work."""
    yield from _products(job)
    yield from _ways(job)


def _products(job: Job) -> Iterator[Lever]:
    """Yield each other product of a kind, where the job lays one of that kind."""
    known = materials.merged(job.products)
    methods = job.methods
    laid = {
        "setting": methods.setting_coats > 0,
        "drying": methods.drying_coats > 0,
        "topping": methods.topping_coats > 0,
        "primer": True,
    }
    for key in (k for k, used in laid.items() if used):
        now = getattr(methods, key)
        for other in known.values():
            if other.kind == KINDS[key] and other.id not in (now, methods.skim):
                title = f"another {NAMED[key]}: {other.title}"
                yield lever(title, {f"methods.{key}": other.id}, COATS)


def _ways(job: Job) -> Iterator[Lever]:
    methods = job.methods
    for name in recipes.names("fill"):
        suits = any(r.suits(job.stage.wall) for r in recipes.of("fill", name))
        if name != methods.fill and suits:
            title = f"{name} in place of {methods.fill} behind the modules"
            said = {"methods.fill": name}
            yield lever(title, said, (HARDENING, WORKING))
    for key, title, other, eases in _others(methods):
        yield lever(title, {f"methods.{key}": other}, eases)


def _others(methods: Methods) -> Iterator[tuple[str, str, str, tuple[str, ...]]]:
    """Yield keys with what else they may say, a title, and what that eases."""
    if methods.sanding == "stage":
        title = "loose modules sanded in the workshop, before the closure"
        yield "sanding", title, "workshop", (WORKING,)
    if methods.next_coat_after == "dry":
        title = "the next coat over setting compound as soon as it has set"
        yield "next_coat_after", title, "set", (DRYING,)
    if methods.primer_in == "one go":
        yield "primer_in", "primer bay by bay", "bays", (DRYING, FUMES, WORKING)
    else:
        yield "primer_in", "primer in one go", "one go", (WORKING,)
    if methods.tape == "paper" and methods.setting_coats:
        yield "tape", "mesh tape in place of paper", "mesh", (DRYING, HARDENING)
    if methods.lifting != "hoist":
        yield "lifting", "a hoist or material lift", "hoist", (WORKING,)
    if methods.slab_test != "slab-sheet":
        title = "the slab tested by a taped sheet"
        yield "slab_test", title, "slab-sheet", ("waiting for a test",)
