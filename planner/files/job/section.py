"""What every section of a job file shares."""

from pydantic import BaseModel, ConfigDict


class Section(BaseModel):
    """What all sections share: unknown keys are faults."""

    model_config = ConfigDict(extra="forbid", frozen=True)
