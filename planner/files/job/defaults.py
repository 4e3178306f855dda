"""What a job rests on because its file is silent: defaults in words."""

from collections.abc import Callable
from typing import Any

from planner import units
from planner.files.job import methods as job_methods
from planner.trade import recipes


def defaults_used(sections: dict[str, Any]) -> tuple[str, ...]:
    """Return each value that the file leaves to its default, in words."""
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
            out.append(f"{name}.{field}: {_default_words(field, info.default)}")
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
_WORDED: dict[str, Callable[[Any], str]] = {
    "tick": lambda v: f"{v * 60:.0f} min",
    "drying_margin": lambda v: f"{v:.0f} %",
    "temperature": units.temperature_words,
    "humidity": lambda v: f"{v:.0f} %",
    "wall_colder": lambda v: f"{v:g} °C",
    "module_mass": lambda v: f"{v:g} kg",
    "drying_times": lambda v: f"{v:g} times as long on the modules as on board",
    "moving": lambda v: f"{v:g} m/s, still air",
    "results": lambda v: f"{v / 24:g} days until the laboratory's report",
    "isolated": lambda v: f"{v:g} h until services are isolated",
    "day_hours": lambda v: f"{v[0]:%H:%M}-{v[1]:%H:%M}",
}


def _default_words(field: str, value: object) -> str:
    if field in _WORDED:
        return _WORDED[field](value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return units.length_words(value)
    return str(value)
