"""Ways for wires through random bodies, flooded voxel by voxel in the body's mesh."""

from pathlib import Path
from typing import Any

import numpy as np
import shapely
import trimesh
from random_necks import Dice
from scipy import ndimage

from carve.check.body.wires import check
from carve.design import load, with_values
from carve.errors import DesignError
from carve.parts.job import make
from carve.shape.body.cuts import RoundBore
from carve.solid.as_written import as_written
from trials.trial import Outcome, Trial

ROOT = Path(__file__).parents[2]
SEED = 4077
SIZE = (120.0, 80.0, 36.0)  # mm, of the block
PITCH = 0.5  # mm, of a voxel
BLURRED = 1.5  # mm of a way's width; three voxels
UNDERSTATED = 0.4  # of a width, by which a way is wider where a bore only grazes a cavity
CHORD = 0.05  # mm
EVERYWHERE = np.ones((3, 3, 3))


def random_body(number: int) -> dict[str, Any]:
    """A block with a pickup, controls and a jack, and something between them now and then."""
    dice = Dice(SEED, number)
    pockets = [
        _box(dice, "pickup", "pickup", (20, 45), (10, 25), "front"),
        _box(dice, "controls", "control", (70, 95), (20, 40), dice.one_of("front", "back")),
    ]
    for count in range(dice.whole(0, 3)):
        shape = dice.one_of("slot", "rectangle", "circle")
        pocket = {
            **{"name": f"way {count}", "shape": shape, "face": dice.one_of("front", "back")},
            **{"x": dice.figure(45, 75), "y": dice.figure(-15, 15), "depth": dice.figure(4, 30)},
        }
        if shape == "circle":
            pocket["diameter"] = dice.figure(5, 30)
        else:
            pocket |= {"length": dice.figure(30, 60), "width": dice.figure(3, 14)}
            pocket["angle"] = dice.figure(-60, 60)
        pockets.append(pocket)
    bores = [_bore(dice, "jack", (8, 20)), *(_bore(dice, "bore", (4, 12)) for _ in "ab")]
    bores = [{**bore, "name": f"bore {count}"} for count, bore in enumerate(bores)]
    long, wide, _ = SIZE
    corners = [[0, -wide / 2], [long, -wide / 2], [long, wide / 2], [0, wide / 2]]
    return {
        "body.outline": {"points": corners, "smooth": False},
        "body.thickness": SIZE[2],
        "body.pockets": pockets,
        "body.bores": bores[: dice.whole(1, 3)],
        "body.hollow": {"rim": 8.0, "top": 5.0, "back": 4.0, "centre_block": dice.figure(30, 55)}
        if dice.true(0.2)
        else None,
    }


def _box(dice: Dice, name: str, kind: str, x: Any, sizes: Any, face: str) -> dict[str, Any]:
    return {
        **{"name": name, "kind": kind, "shape": "rectangle", "face": face},
        **{"x": dice.figure(*x), "y": dice.figure(-15, 15), "angle": dice.figure(-20, 20)},
        **{"length": dice.figure(*sizes), "width": dice.figure(*sizes)},
        "depth": dice.figure(12, 30),
    }


def _bore(dice: Dice, kind: str, across: tuple[float, float]) -> dict[str, Any]:
    long, wide, thick = SIZE
    side = dice.one_of(0, 1, 2)
    x = (dice.figure(20, 100), 0.0, long)[side]
    y = (wide / 2, dice.figure(-25, 25), dice.figure(-25, 25))[side]
    angle = (-90.0, 0.0, 180.0)[side] + dice.figure(-35, 35)
    angle -= 360 if angle > 180 else 0
    diameter = dice.figure(*across)
    below = dice.figure(diameter / 2 + 1, thick - diameter / 2 - 1)
    sizes = {"diameter": diameter, "depth": dice.figure(20, 100), "below": below}
    return {"kind": kind, "x": x, "y": y, "angle": angle, **sizes}


def once(number: int) -> Outcome:
    """One body: its findings, and a flood of its mesh a little narrower and a little wider."""
    base = load(ROOT / "examples" / "linnet.toml")
    try:
        job = make(with_values(base, random_body(number)), CHORD, only=["body"])
    except DesignError as error:
        return Outcome("refused", str(error))
    part = job.parts[0]
    depth = _free(as_written(part.mesh))
    said = []
    numbers = {taken.name: n for n, taken in enumerate(part.shape.removals)}
    for found in check(job):
        source, target = found.place.removeprefix("from ").split(",")[0].split(" to ")
        ends = [_alone(part.shape, numbers[name]) for name in (source, target)]
        most = found.value * (1 + UNDERSTATED) + BLURRED
        for wide, expected in ((found.value - BLURRED, True), (most, False)):
            # a bore that lies in the other cavity but for its mouth holds no ball by itself
            fits = all(bool((depth[end] >= wide / 2).any()) for end in ends)
            if wide > PITCH and (fits or not expected) and _flooded(depth, ends, wide) != expected:
                way = "no" if expected else "a"
                said.append(f"{found.place}: {found.value:.2f}, yet {way} way of {wide:.2f}")
    return Outcome("wrong" if said else "held", "; ".join(said))


def _grid() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    long, wide, thick = SIZE
    return tuple(
        np.arange(low + PITCH / 2, high, PITCH)
        for low, high in ((0, long), (-wide / 2, wide / 2), (-thick, 0))
    )


def _free(mesh) -> np.ndarray:
    """(n, m, k) mm from each voxel of the block to the wood; the world around it is wood too."""
    x, y, z = _grid()
    theirs = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    void = np.zeros((len(x), len(y), len(z)), dtype=bool)
    places = np.meshgrid(x, y, indexing="ij")
    for layer, height in enumerate(z):
        # a little off, since floors lie on round figures
        cut = trimesh.intersections.mesh_plane(theirs, [0, 0, 1.0], [0, 0, height + 0.0137])
        lines = shapely.multilinestrings(np.round(cut[..., :2], 6))
        wood = shapely.build_area(shapely.node(lines))
        shapely.prepare(wood)
        void[..., layer] = ~shapely.contains_xy(wood, *places)
    around = np.pad(void, 1)
    return ndimage.distance_transform_edt(around)[1:-1, 1:-1, 1:-1] * PITCH - PITCH / 2


def _alone(shape, number: int) -> np.ndarray:
    """(n, m, k) which voxels lie in a cavity and in no other: there it holds the ball itself."""
    others = [n for n in range(len(shape.removals)) if n != number]
    return _within(shape, number) & ~np.any([_within(shape, n) for n in others], axis=0)


def _within(shape, number: int) -> np.ndarray:
    """(n, m, k) which voxels lie in a cavity."""
    x, y, z = _grid()
    taken, plan = shape.removals[number], shape.within[number]
    inside = shapely.contains_xy(plan, *np.meshgrid(x, y, indexing="ij"))
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    low, high = (np.asarray(side).reshape(inside.shape) for side in taken.heights(points))
    if isinstance(taken, RoundBore):
        inside &= high > low
    return inside[..., None] & (z > low[..., None]) & (z < high[..., None])


def _flooded(depth: np.ndarray, ends: list[np.ndarray], wide: float) -> bool:
    """Whether a ball of a diameter in mm gets from one cavity to another."""
    labels, _ = ndimage.label(depth >= wide / 2, EVERYWHERE)
    first, second = (set(np.unique(labels[end])) - {0} for end in ends)
    return bool(first & second)


TRIAL = Trial(
    name="wires",
    claim="a way for wires is as wide as a ball that floods the body's mesh from end to end",
    count=40,
    once=once,
)
