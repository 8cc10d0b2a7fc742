"""A body's outline by what a builder measures on one: its bouts, its waist, its horns."""

from typing import Annotated

from pydantic import Field

from carve.design.schema.fields import Dial, Length
from carve.design.schema.table import Table


class Cutaway(Table):
    """The notch beside the neck, and the horn that stands outside it."""

    depth: Annotated[float, Length(5, 250, Dial(15, 140, 0.5))] = Field(
        description="from the edge that meets the neck to the bottom of the notch"
    )
    horn: Annotated[float, Length(-120, 200, Dial(-60, 110, 0.5))] = Field(
        description="how far the horn reaches beyond that edge toward the head; less than 0 where "
        "it ends before it"
    )
    notch: Annotated[float, Length(15, 150, Dial(20, 80, 0.5))] = Field(
        default=36.0, description="across the notch, half way up the horn"
    )


class Bouts(Table):
    """A smooth outline through a handful of measures, all along from the edge toward the neck."""

    length: Annotated[float, Length(150, 800, Dial(300, 560, 0.5))] = Field(
        description="from the edge that meets the neck to the tail, on the centre line"
    )
    upper: Annotated[float, Length(60, 700, Dial(180, 420, 0.5))] = Field(
        description="width of the upper bout"
    )
    upper_at: Annotated[float, Length(5, 700, Dial(20, 220, 0.5))] = Field(
        description="where the upper bout is"
    )
    waist: Annotated[float, Length(50, 700, Dial(150, 400, 0.5))] = Field(
        description="width of the waist; of a body without one, its width at that place"
    )
    waist_at: Annotated[float, Length(10, 750, Dial(80, 320, 0.5))] = Field(
        description="where the waist is"
    )
    lower: Annotated[float, Length(80, 800, Dial(240, 480, 0.5))] = Field(
        description="width of the lower bout"
    )
    lower_at: Annotated[float, Length(20, 780, Dial(180, 440, 0.5))] = Field(
        description="where the lower bout is"
    )
    joint: Annotated[float, Length(20, 160, Dial(50, 100, 0.5))] = Field(
        default=64.0, description="width of the straight edge that meets the neck"
    )
    offset: Annotated[float, Length(-120, 120, Dial(-50, 50, 0.5))] = Field(
        default=0.0,
        description="how much further to the tail bouts and waist lie on the treble side",
    )
    bass: Cutaway | None = Field(
        default=None, description="cutaway on the bass side; left out, there is none"
    )
    treble: Cutaway | None = Field(
        default=None, description="cutaway on the treble side; left out, there is none"
    )
