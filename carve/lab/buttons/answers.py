"""What Export and Save answer, as HTML."""

from collections.abc import Iterator, Sequence
from html import escape
from pathlib import Path

from carve.check.finding import Finding, Verdict
from carve.check.report import summary
from carve.design import read_text
from carve.design.drawing.source import beside, changed_since
from carve.design.schema.outline import drawings_in
from carve.errors import CarveError, FileInTheWay, FindingFailed
from carve.export import Export
from carve.lab.buttons.export_form import ALLOW_FAILED, OVERWRITE
from carve.lab.state import LabState
from carve.lab.tables import message
from carve.shop.cautions import CAUTIONS


def refusal(done: str, why: str) -> str:
    """Nothing was written. done: what was not done, as "exported"."""
    return message(f"Nothing was {done}: {why}", Verdict.FAILED)


def failed(error: Exception) -> str:
    """Why nothing came of it, and what to tick where that would help."""
    way_on = ""
    if isinstance(error, FindingFailed):
        way_on = f" (to export all the same, tick “{ALLOW_FAILED}”)"
    elif isinstance(error, FileInTheWay):
        way_on = f" (to replace them, tick “{OVERWRITE}”)"
    return message(f"{str(error) or type(error).__name__}{way_on}", Verdict.FAILED)


def exported(done: Export, on_screen: Sequence[Finding], changed: Sequence[str]) -> str:
    """What was written, and in what it is not what the screen or the disk show.

    on_screen: findings of the same design as they are shown. changed: as ``changed_elsewhere``.
    """
    folder = done.paths[0].parent
    files = "".join(f"<div>{escape(line)}</div>" for line in done.done)
    listed = f"<details><summary>the files</summary>{files}</details>"
    found = f"exported the design on the dials: {len(done.paths)} files in {folder}\n"
    found += f"as exported: {summary(done.findings)}"
    warnings = [*other_verdicts(done.findings, on_screen), *done.warnings]
    if changed:
        warnings += [*changed, "The export has the design and the drawings as the lab has them."]
    cautions = message("\n".join(CAUTIONS), Verdict.WARNING)
    return message("\n".join(warnings), Verdict.WARNING) + (
        message(found, Verdict.GOOD) + listed + cautions
    )


def saved(file: Path, changed: Sequence[str]) -> str:
    """That the file was saved. changed: as ``changed_elsewhere``."""
    warnings = [*changed, "The lab shows the drawing as it was."] if changed else []
    return message(f"saved {file}", Verdict.GOOD) + message("\n".join(warnings), Verdict.WARNING)


def other_verdicts(exported: Sequence[Finding], on_screen: Sequence[Finding]) -> Iterator[str]:
    """A sentence for each finding of an export that came out otherwise on the screen.

    The mesh of an export is finer, and some findings are measured on it.
    """
    shown = {(finding.part, finding.name): finding for finding in on_screen}
    for finding in exported:
        before = shown.get((finding.part, finding.name))
        if before is not None and before.verdict is not finding.verdict:
            yield (
                f"{finding.part}, {finding.check} ({finding.place}): {finding.verdict.value} as "
                f"exported, {before.verdict.value} on the screen, whose mesh is coarser"
            )


def changed_elsewhere(state: LabState, file: Path) -> list[str]:
    """A sentence for the design file and each drawing that is no longer as the lab read it."""
    again = "Run the cell again to start from what is there now."
    found = []
    try:
        if read_text(file) != state.text:
            found.append(f"{file.name} has been changed elsewhere since the lab read it. {again}")
    except CarveError as error:
        found.append(str(error))
    drawings = changed_since(drawings_in(state.opened), beside(file.parent))
    return found + [f"{sentence}. {again}" for sentence in drawings]
