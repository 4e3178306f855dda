"""What every section of a job file shares."""

from typing import Any, Protocol

from pydantic import BaseModel, ConfigDict

from planner.nouns.ids import slug


class Section(BaseModel):
    """What all sections share: unknown keys are faults."""

    # built when a file is read, all sections at once: that takes half the time
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


def models_in(annotation: Any) -> list[type[BaseModel]]:
    """Return the models that a field of a model may hold."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    inner = getattr(annotation, "__args__", ())
    return [m for part in inner for m in models_in(part)]


class Named(Protocol):
    """A section with a name, and with an id if the file gives one."""

    @property
    def name(self) -> str:
        """The name that people read."""

    @property
    def id(self) -> str | None:
        """The id that stays when the name is written otherwise."""


def id_of(section: Named) -> str:
    """Return the id of a section: as given, else made of its name."""
    return section.id or slug(section.name)
