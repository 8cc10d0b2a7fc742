"""The piece of wood that a part is cut from."""

from typing import Annotated

from pydantic import Field

from carve.design.schema.fields import Length
from carve.design.schema.table import Table


class Blank(Table):
    """The piece of wood on the bench."""

    length: Annotated[float, Length(50, 2000)] = Field(description="along the neck")
    width: Annotated[float, Length(10, 1000)] = Field(description="across the neck")
    thickness: Annotated[float, Length(5, 300)] = Field(description="glue face to the other side")
    allowance: Annotated[float, Length(0, 50)] = Field(
        default=1.0, description="wood to spare on every side of the part"
    )
