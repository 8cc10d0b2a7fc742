"""The text of a design file that goes along with an export."""

from pathlib import Path

from carve.design import Design, parse, read_text, rewrite, with_values
from carve.errors import DesignError
from carve.parts.job import Job
from carve.parts.settle import resolve_top_height


def design_source(job: Job, file: Path) -> tuple[str, str]:
    """Name and text of the file that a job's design was loaded from.

    The text is the file's own where it says what the job was made from. Where values were
    changed since, they are written into it and all else stays, comments too.
    Raises FileTrouble, and DesignError where the file holds another design.
    """
    text = read_text(file)
    if resolve_top_height(parse(text, str(file), file.parent)) == job.design:
        return file.name, text
    try:
        return file.name, rewrite(text, _as_asked(job.design))
    except ValueError:  # lists of other lengths cannot be told apart line by line
        raise DesignError(
            [f"{file} holds another design than the one to export; name the file it came from"]
        ) from None


def _as_asked(design: Design) -> Design:
    """The design with ``bridge.top_height`` left out where it follows from a carved top."""
    if design.bridge is None or design.bridge.top_height is None:
        return design
    left_out = with_values(design, {"bridge.top_height": None})
    return left_out if resolve_top_height(left_out) == design else design
