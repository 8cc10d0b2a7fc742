"""What every table of the design file is: a frozen value that knows its keys."""

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of the design file: unknown keys are errors, values never change."""

    # deferred: a table is made ready when it is first read, and with it all that stand in it
    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, defer_build=True
    )
