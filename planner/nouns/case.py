"""A case: all that was read for a job, and what is asked of its plan besides."""

from dataclasses import dataclass

from planner.nouns.inputs import Inputs


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What is to be planned."""

    inputs: Inputs

    @property
    def fingerprint(self) -> str:
        """What tells this case from every other one, in hexadecimal digits."""
        return self.inputs.fingerprint
