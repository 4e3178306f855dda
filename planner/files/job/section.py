"""What every section of a job file shares."""

from pydantic import BaseModel, ConfigDict


class Section(BaseModel):
    """What all sections share: unknown keys are faults."""

    # built when a file is read, all sections at once: that takes half the time
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)
