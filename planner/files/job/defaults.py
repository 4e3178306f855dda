"""What a job rests on because its file is silent: defaults in words."""

from collections.abc import Callable
from typing import Any

from planner.files.job import methods as job_methods
from planner.measures import Units
from planner.trade import recipes


def defaults_used(sections: dict[str, Any], written: Units) -> tuple[str, ...]:
    """Return each value that the file leaves to its default, in words.

    `written` are the units in which most measures of the file are.
    """
    units = sections["job"].units or written
    out: list[str] = []
    idle = _idle(sections)
    for name, section in sections.items():
        if section is None:
            continue
        for field, info in type(section).model_fields.items():
            if field in section.model_fields_set or info.is_required():
                continue
            if info.default is None or info.default in ("", ()):
                continue
            if (name, field) in idle:
                continue
            out.append(f"{name}.{field}: {_default_words(field, info.default, units)}")
    if sections["job"].units is None:
        out.append(f"job.units: {units}, as most measures of the file are")
    return tuple(out)


def _idle(sections: dict[str, Any]) -> set[tuple[str, str]]:
    """Return the defaults that this job makes no use of."""
    methods, air = sections["methods"], sections["air"]
    out = {
        ("methods", lays)
        for recipe in recipes.recipes()
        if recipe.choice == "fill" and recipe.name != methods.fill
        for lays in recipe.lays
    }
    if not methods.bonding_agent:
        out.add(("methods", "bonding"))
    if not job_methods.drying_coats(methods):
        out.add(("methods", "drying"))
    survey = sections["survey"]
    if survey.own_making or survey.done is not None:
        out |= {("survey", "results")}
    if survey.own_making or survey.located is not None:
        out |= {("survey", "isolated")}
    if air.day is not None:
        out |= {("air", "temperature"), ("air", "humidity")}
    elif air.night is None:
        out.add(("air", "day_hours"))
    return out


WITH_DEFAULTS = ("job", "stage", "kit", "methods", "calendars", "air", "survey")
_MEASURES: dict[str, Callable[[Units, float], str]] = {
    "temperature": Units.temperature,
    "wall_colder": Units.kelvins,
}
_WORDED: dict[str, Callable[[Any], str]] = {
    "tick": lambda v: f"{v * 60:.0f} min",
    "drying_margin": lambda v: f"{v:.0f} %",
    "sure": lambda v: f"{v:.0f} %",
    "humidity": lambda v: f"{v:.0f} %",
    "drying_times": lambda v: f"{v:g} times as long on the modules as on board",
    "moving": lambda v: f"{v:g} m/s, still air",
    "results": lambda v: f"{v / 24:g} days until the laboratory's report",
    "isolated": lambda v: f"{v:g} h until services are isolated",
    "day_hours": lambda v: f"{v[0]:%H:%M}-{v[1]:%H:%M}",
}


def _default_words(field: str, value: object, units: Units) -> str:
    if field in _WORDED:
        return _WORDED[field](value)
    if field in _MEASURES:
        return _MEASURES[field](units, float(str(value)))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return units.length(value)
    return str(value)
