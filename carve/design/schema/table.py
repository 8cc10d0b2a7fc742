"""What every table of the design file is: a frozen value that knows its keys."""

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of the design file: unknown keys are errors, values never change."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)
