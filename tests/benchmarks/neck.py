"""How fast a neck is made, measured against a general CAD kernel on the same machine.

    pip install -e '.[benchmark]'
    python tests/benchmarks/neck.py

Only ratios within one run mean anything, so everything that is compared is timed in
turns: whatever else the machine is doing then hits both sides.

What is timed
    preview      one dial moved: design, shape, preview mesh and every finding
    full export  the same at 0.02 mm, channel cut, every finding, files on the disk
    loft, cut    build123d on the same sections; `peer.py` says what it is given and why
    STL writing  a large mesh written against its bytes written raw, both flushed and synced
    a turn       neck, fretboard, strings and body together, one dial moved, split into making
                 the parts, finding and drawing; by a dial that leaves the fretboard as it is
                 and by one that changes both parts

All but the last is the neck alone: that is what the kernel is given.

No two repeats have the same design, so nothing is ever found in the cache of parts.
"""

import argparse
import cProfile
import gc
import io
import itertools
import json
import multiprocessing
import os
import pstats
import statistics
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import IO, Any

import numpy as np
from rich.console import Console
from rich.table import Table

from carve.check.finding import Finding
from carve.check.report import inspect
from carve.design import Design, load, read_text, value_at, with_values
from carve.export.bundle import export
from carve.export.formats.stl import write_stl
from carve.lab.charts import chart
from carve.lab.job_views import JobViews
from carve.lab.tables import findings_table
from carve.parts.job import Job, make, preview_chord
from carve.parts.kind import EXPORT_CHORD
from carve.shape.neck.area import neck_volume
from carve.shape.neck.build import neck_shape
from carve.shape.neck.shape import NeckShape
from carve.solid.mesh import Mesh
from carve.solid.neck import neck_solid

EXAMPLE = Path(__file__).parents[2] / "examples" / "wren.toml"
FULL = EXAMPLE.with_name("heron.toml")
CHORD_ERRORS = (0.1, 0.05, 0.02, 0.01, 0.005)  # mm
DIAL_STEP = 0.0005  # mm; the thickness moves by this from one repeat to the next
BIG = 500_000  # triangles in the mesh whose writing is timed
SAME_VOLUME = 0.003  # share by which the kernel's volume may differ

PREVIEW_GOAL = 1 / 3  # of the kernel's loft alone
EXPORT_GOAL = 1 / 5  # of the kernel's loft, cut, mesh and STL
WRITING_GOAL = 2.0  # times the raw bytes


@dataclass
class Times:
    """Seconds that one step took, repeat by repeat."""

    name: str
    seconds: list[float] = field(default_factory=list)

    @contextmanager
    def timed(self) -> Iterator[None]:
        """Time the block once, without Python's garbage collector, as ``timeit`` does.

        It would fall on one step or another by chance, and sweep up after both sides.
        """
        gc.collect()
        gc.disable()
        try:
            start = time.perf_counter()
            yield
            self.seconds.append(time.perf_counter() - start)
        finally:
            gc.enable()

    def settle(self) -> None:
        """Forget the warm-up."""
        self.seconds.clear()

    @property
    def median(self) -> float:
        return statistics.median(self.seconds)

    @property
    def best(self) -> float:
        return min(self.seconds)


def total(name: str, steps: list[Times]) -> Times:
    """Steps that follow each other, as one."""
    return Times(name, [sum(turn) for turn in zip(*(s.seconds for s in steps), strict=True)])


@dataclass(frozen=True)
class Ratio:
    """One step against another. goal: greatest ratio of the medians wanted, None for none."""

    ours: Times
    other: Times
    goal: float | None = None

    @property
    def median(self) -> float:
        return self.ours.median / self.other.median

    @property
    def best(self) -> float:
        return self.ours.best / self.other.best

    @property
    def verdict(self) -> str:
        if self.goal is None:
            return ""
        return "reached" if self.median <= self.goal else "missed"


@dataclass(frozen=True)
class Cost:
    """What a chord error costs. bound, error: mm. grown: MB the whole process grew by."""

    bound: float
    error: float
    triangles: int
    median: float
    best: float
    array_peak: float
    grown: float | None


class Dial:
    """A design of which one length differs each time, by default its last station's thickness."""

    def __init__(self, design: Design, key: str | None = None) -> None:
        self.design = design
        self._key = key or f"neck.stations[{len(design.neck.stations) - 1}].thickness"
        self._length = value_at(design, self._key)
        self._turns = itertools.count(1)

    def turned(self) -> Design:
        return with_values(self.design, {self._key: self._length + DIAL_STEP * next(self._turns)})


def shape_of(design: Design) -> NeckShape:
    return neck_shape(design.neck, design.scale_length, design.fretboard.thickness)


def preview(dial: Dial) -> tuple[Job, tuple[Finding, ...]]:
    design = dial.turned()
    job = make(design, preview_chord(design), only=["neck"])
    return job, inspect(job)


def full_export(dial: Dial, directory: Path) -> None:
    """From the dial to the files: the findings are looked for by ``export`` itself."""
    design = dial.turned()
    job = make(design, EXPORT_CHORD, only=["neck"])
    export(job, directory, (EXAMPLE.name, read_text(EXAMPLE)))


def time_ours(dial: Dial, directory: Path, previews: Times, exports: Times) -> None:
    with previews.timed():
        preview(dial)
    with tempfile.TemporaryDirectory(dir=directory) as folder, exports.timed():
        full_export(dial, Path(folder))


def compared(
    dial: Dial, repeats: int, warm_up: int, directory: Path
) -> tuple[list[Times], list[Ratio], dict[str, Any]]:
    """Ours and the kernel's in turns. Returns times, ratios, and what the kernel made."""
    import peer  # only here: the rest runs without the kernel

    previews, exports = Times("preview"), Times("full export")
    kinds = {
        "splines through points": peer.through_points,
        "our control points": peer.by_control_points,
    }
    steps = {
        kind: [Times(f"{step}, {kind}") for step in ("sections", "loft", "cut", "mesh and STL")]
        for kind in kinds
    }
    for turn in range(warm_up + repeats):
        if turn == warm_up:
            for step in (previews, exports, *itertools.chain(*steps.values())):
                step.settle()
        time_ours(dial, directory, previews, exports)
        shape = shape_of(dial.turned())
        for kind, drawing in kinds.items():
            draw = drawing(shape)
            sections, loft, cut, stl = steps[kind]
            with sections.timed():
                faces = draw()
            with loft.timed():
                solid = peer.lofted(faces)
            with cut.timed():
                solid = peer.cut(solid, shape)
            with tempfile.TemporaryDirectory(dir=directory) as folder, stl.timed():
                peer.write(solid, Path(folder) / "neck.stl", EXPORT_CHORD)

    ratios = []
    for kind, (sections, loft, cut, stl) in steps.items():
        drawn = total(f"sections and loft, {kind}", [sections, loft])
        whole = total(f"loft, cut, mesh and STL, {kind}", [loft, cut, stl])
        ratios += [
            Ratio(previews, loft, PREVIEW_GOAL),
            Ratio(previews, drawn),
            Ratio(exports, whole, EXPORT_GOAL),
        ]
    every = [previews, exports, *itertools.chain(*steps.values())]
    return every, ratios, peer_facts(dial.design, kinds, directory)


def peer_facts(
    design: Design, kinds: Mapping[str, Callable[[NeckShape], Any]], directory: Path
) -> dict[str, Any]:
    """What the kernel made, and whether it is the same neck."""
    import peer

    shape = shape_of(design)
    facts: dict[str, Any] = {}
    for kind, drawing in kinds.items():
        loft = peer.lofted(drawing(shape)())
        solid = peer.cut(loft, shape)
        with tempfile.TemporaryDirectory(dir=directory) as folder:
            path = Path(folder) / "neck.stl"
            peer.write(solid, path, EXPORT_CHORD)
            error, triangles = peer.mesh_error(path, shape)
        share = peer.volume(solid) / neck_volume(shape) - 1
        facts[kind] = {
            "sections": len(peer.section_places(shape)),
            "loft_deviation_mm": peer.loft_deviation(loft, shape),
            "triangles": triangles,
            "mesh_error_mm": error,
            "volume_mm3": peer.volume(solid),
            "our_volume_mm3": neck_volume(shape),
            "volume_differs_by": share,
            "same_volume": abs(share) <= SAME_VOLUME,
        }
    return facts


def alone(
    dial: Dial, repeats: int, warm_up: int, directory: Path
) -> tuple[list[Times], list[Ratio], dict[str, Any]]:
    """Ours without the kernel."""
    previews, exports = Times("preview"), Times("full export")
    for turn in range(warm_up + repeats):
        if turn == warm_up:
            previews.settle()
            exports.settle()
        time_ours(dial, directory, previews, exports)
    return [previews, exports], [], {}


def turns(repeats: int, warm_up: int) -> dict[str, list[Times]]:
    """What the lab does at each turn of a dial of the full example, by dial and step.

    Making includes reading the changed design, drawing all that the lab shows but the 3D view.
    """
    found = {}
    for name, key in (("neck's thickness", None), ("fretboard's thickness", "fretboard.thickness")):
        dial, views = Dial(load(FULL), key), JobViews()
        making, finding, drawing = steps = [Times(n) for n in ("make", "inspect", "views")]
        for turn in range(warm_up + repeats):
            if turn == warm_up:
                for step in steps:
                    step.settle()
            with making.timed():
                design = dial.turned()
                job = make(design, preview_chord(design))
            with finding.timed():
                findings = inspect(job)
            with drawing.timed():
                shown(views, job, findings)
        found[name] = [*steps, total("together", steps)]
    return found


def shown(views: JobViews, job: Job, findings: tuple[Finding, ...]) -> None:
    """What the lab makes of a job for the page."""
    views.drawings(job)
    views.tables(job)
    chart(findings, job.design.units)
    findings_table(findings, job.design.units)
    views.layers(job, None, next(iter(views.colours(job)), ""))


def big_mesh(design: Design) -> Mesh:
    """As many necks side by side as make a large mesh."""
    one, _ = neck_solid(shape_of(design), EXPORT_CHORD)
    copies = -(-BIG // len(one.triangles))
    aside = np.array([0.0, 2 * np.ptp(one.points[:, 1]), 0.0])
    return Mesh(
        np.concatenate([one.points + i * aside for i in range(copies)]),
        np.concatenate([one.triangles + i * len(one.points) for i in range(copies)]),
        np.tile(one.surface, copies),
        one.names,
    )


def writing(mesh: Mesh, repeats: int, warm_up: int, directory: Path) -> list[Ratio]:
    """An STL against its bytes, both to a new file: synced to the disk, then left to the system."""
    buffer = io.BytesIO()
    write_stl(buffer, mesh, "benchmark")
    content = buffer.getvalue()
    size = f"{len(mesh.triangles)} triangles, {len(content) / 1e6:.0f} MB"
    ratios = []
    for synced, goal in ((True, WRITING_GOAL), (False, None)):
        how = "synced" if synced else "not synced"
        ours, raw = Times(f"STL writing, {size}, {how}"), Times(f"raw bytes, {how}")
        for turn in range(warm_up + repeats):
            if turn == warm_up:
                ours.settle()
                raw.settle()
            # a new value each time, since a mesh keeps its corners once they were asked for
            fresh = Mesh(mesh.points, mesh.triangles, mesh.surface, mesh.names)
            with new_file(directory) as file, ours.timed():
                write_stl(file, fresh, "benchmark")
                finish(file, synced=synced)
            with new_file(directory) as file, raw.timed():
                file.write(content)
                finish(file, synced=synced)
        ratios.append(Ratio(ours, raw, goal))
    return ratios


@contextmanager
def new_file(directory: Path) -> Iterator[IO[bytes]]:
    with (
        tempfile.TemporaryDirectory(dir=directory) as folder,
        (Path(folder) / "mesh.stl").open("xb") as file,
    ):
        yield file


def finish(file: IO[bytes], *, synced: bool) -> None:
    file.flush()
    if synced:
        os.fsync(file.fileno())


def costs(design: Design, repeats: int, warm_up: int) -> list[Cost]:
    """Meshing and cutting at each chord error; memory in passes of their own."""
    shape = shape_of(design)
    table = []
    for bound in CHORD_ERRORS:
        times = Times(f"{bound:g} mm")
        for turn in range(warm_up + repeats):
            if turn == warm_up:
                times.settle()
            with times.timed():
                mesh, error = neck_solid(shape, bound)
        tracemalloc.start()
        neck_solid(shape, bound)
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        # the kernel of the booleans is not Python: only the system sees what it takes
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            grown = pool.submit(growth, design, bound).result()
        table.append(
            Cost(bound, error, len(mesh.triangles), times.median, times.best, peak / 1e6, grown)
        )
    return table


def growth(design: Design, bound: float) -> float | None:
    """MB by which the greatest size of this fresh process grows as the neck is meshed.

    By Linux's own count, None elsewhere: getrusage would count the parent's size too.
    """
    status = Path("/proc/self/status")
    if not status.exists():
        return None

    def greatest() -> int:
        line = next(row for row in status.read_text().splitlines() if row.startswith("VmHWM"))
        return int(line.split()[1])

    neck_solid(shape_of(design), 1.0)  # whatever is loaded on first use is loaded now
    before = greatest()
    neck_solid(shape_of(design), bound)
    return (greatest() - before) * 1024 / 1e6


def show_profile(dial: Dial, console: Console) -> None:
    for _ in range(5):
        preview(dial)
    profile = cProfile.Profile()
    rounds = 40
    with profile:
        for _ in range(rounds):
            preview(dial)
    console.print(f"{rounds} previews under the profiler, which slows small calls most:")
    for order in ("cumulative", "tottime"):
        pstats.Stats(profile, stream=console.file).sort_stats(order).print_stats(30)


def show(
    console: Console,
    times: list[Times],
    ratios: list[Ratio],
    facts: dict[str, Any],
    table: list[Cost],
    full: Mapping[str, list[Times]],
) -> None:
    for kind, fact in facts.items():
        console.print(
            f"build123d, {kind}: {fact['sections']} sections, loft off by "
            f"{fact['loft_deviation_mm']:.4f} mm; {fact['triangles']} triangles, off by "
            f"{fact['mesh_error_mm']:.4f} mm; volume {fact['volume_mm3'] / 1000:.2f} cm³ "
            f"against {fact['our_volume_mm3'] / 1000:.2f} cm³ "
            f"({fact['volume_differs_by']:+.3%}, "
            f"{'the same neck' if fact['same_volume'] else 'NOT the same neck'})"
        )
    steps = Table("step", "median ms", "best ms", "repeats", title="Times")
    for step in times:
        steps.add_row(
            step.name, f"{step.median * 1e3:.1f}", f"{step.best * 1e3:.1f}", str(len(step.seconds))
        )
    console.print(steps)

    grid = Table("ours", "against", "ms", "ratio", "of the best", "goal", "", title="Ratios")
    for ratio in ratios:
        grid.add_row(
            ratio.ours.name,
            ratio.other.name,
            f"{ratio.ours.median * 1e3:.1f} : {ratio.other.median * 1e3:.1f}",
            f"{ratio.median:.3f}",
            f"{ratio.best:.3f}",
            "" if ratio.goal is None else f"≤ {ratio.goal:.3g}",
            ratio.verdict,
        )
    console.print(grid)

    cost_table = Table(
        "asked, mm", "measured, mm", "triangles", "median ms", "best ms", "arrays' peak, MB",
        "process grew, MB", title="Chord error and its cost: mesh and cut",
    )  # fmt: skip
    for cost in table:
        cost_table.add_row(
            f"{cost.bound:g}", f"{cost.error:.4f}", str(cost.triangles),
            f"{cost.median * 1e3:.1f}", f"{cost.best * 1e3:.1f}",
            f"{cost.array_peak:.1f}", "" if cost.grown is None else f"{cost.grown:.1f}",
        )  # fmt: skip
    console.print(cost_table)

    turn_table = Table("a turn of", "step", "median ms", "best ms", title="Neck, fretboard and all")
    for name, parts in full.items():
        for step in parts:
            turn_table.add_row(
                name, step.name, f"{step.median * 1e3:.1f}", f"{step.best * 1e3:.1f}"
            )
    console.print(turn_table)


def as_plain(
    times: list[Times],
    ratios: list[Ratio],
    facts: dict[str, Any],
    table: list[Cost],
    full: Mapping[str, list[Times]],
) -> dict[str, Any]:
    return {
        "times_s": {t.name: {"median": t.median, "best": t.best, "all": t.seconds} for t in times},
        "ratios": [
            {
                "ours": r.ours.name,
                "against": r.other.name,
                "ours_s": r.ours.median,
                "against_s": r.other.median,
                "median": r.median,
                "best": r.best,
                "goal": r.goal,
                "verdict": r.verdict,
            }
            for r in ratios
        ],
        "peer": facts,
        "chord_error": [asdict(cost) for cost in table],
        "turns_s": {
            name: {step.name: {"median": step.median, "best": step.best} for step in parts}
            for name, parts in full.items()
        },
    }


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Time a neck against a general CAD kernel.")
    parser.add_argument("--repeats", type=int, default=15, help="timed turns of each step")
    parser.add_argument("--warm-up", type=int, default=2, help="turns before them")
    parser.add_argument("--without-peer", action="store_true", help="time our part only")
    parser.add_argument("--profile", action="store_true", help="profile the preview and stop")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures there too")
    parser.add_argument(
        "--directory",
        type=Path,
        default=Path(tempfile.gettempdir()),
        help="on the disk that files are written to",
    )
    return parser.parse_args()


def main() -> None:
    wanted = arguments()
    console = Console(width=None if sys.stdout.isatty() else 180)
    design = load(EXAMPLE)
    dial = Dial(design)
    if wanted.profile:
        show_profile(dial, console)
        return
    run = alone if wanted.without_peer else compared
    times, ratios, facts = run(dial, wanted.repeats, wanted.warm_up, wanted.directory)
    ratios += writing(big_mesh(design), wanted.repeats, wanted.warm_up, wanted.directory)
    table = costs(design, wanted.repeats, wanted.warm_up)
    full = turns(wanted.repeats, wanted.warm_up)
    show(console, times, ratios, facts, table, full)
    if wanted.json is not None:
        text = json.dumps(as_plain(times, ratios, facts, table, full), indent=2, ensure_ascii=False)
        wanted.json.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
