"""A known outline, and what a random drawing is told to add to it."""

import math
import random

import numpy as np
import shapely

Point = tuple[float, float]


class Page:
    """What is drawn, in mm: x from the edge that meets the neck, y to the treble side.

    pieces: of the outline, cubic ones and straight ones by their two ends. left, hidden: how many
    things the finding must tell of as left over, and as not shown. refused: what a refusal may
    say, empty where there must be none. extras: what was added, to be told. by_layer, by_id: what
    the design asks for; where it is neither, the layer of the outermost curve counts.
    """

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.layer = "body"
        self.across = round(rng.uniform(200, 300), 3)
        self.down = round(rng.uniform(20, 60), 3)
        way = rng.random()
        self.by_layer, self.by_id = way < 0.6, way > 0.8  # or neither is asked for
        self.left = self.hidden = 0
        self.refused: list[str] = []
        self.extras: list[str] = []
        self.pieces = self._outline()
        self.length = round(float(np.ptp(self.points()[:, 0])), 6)

    def _outline(self) -> list[list[Point]]:
        rng = self.rng
        count = rng.randint(6, 14)
        length, half = rng.uniform(350, 480), rng.uniform(110, 170)
        corners = []
        for n in range(count):
            turn = math.tau * (n + rng.uniform(-0.25, 0.25)) / count
            out = rng.uniform(0.82, 1.0)
            x = length / 2 * (1 - out * math.cos(turn))
            corners.append((round(x, 3), round(out * half * math.sin(turn), 3)))
        pieces = []
        for one, other in zip(corners, corners[1:] + corners[:1], strict=True):
            if rng.random() < 0.5:
                pieces.append([one, other])
                continue
            (ax, ay), (bx, by) = one, other
            across = -(by - ay) * rng.uniform(-0.08, 0.08), (bx - ax) * rng.uniform(-0.08, 0.08)
            pieces.append(
                [
                    one,
                    (ax + (bx - ax) / 3 + across[0], ay + (by - ay) / 3 + across[1]),
                    (bx - (bx - ax) / 3 + across[0], by - (by - ay) / 3 + across[1]),
                    other,
                ]
            )
        return pieces

    def points(self) -> np.ndarray:
        """(n, 2) mm on the outline, within 1e-3 mm of it."""
        t = np.linspace(0, 1, 100, endpoint=False)[:, None]
        rows = []
        for piece in self.pieces:
            if len(piece) == 2:
                rows.append(np.array(piece[:1]))
                continue
            a, b, c, d = np.array(piece)
            u = 1 - t
            rows.append(u**3 * a + 3 * u * u * t * b + 3 * u * t * t * c + t**3 * d)
        return np.concatenate(rows)

    def ring(self) -> shapely.LinearRing:
        """The outline in the body's frame, whose origin is where the centre line meets it."""
        points = self.points()
        ring = shapely.LinearRing(points)
        axis = shapely.LineString([(-1e3, 0), (1e3, 0)])
        edge = min(point.x for point in shapely.get_parts(ring.intersection(axis)))
        return shapely.LinearRing(points - [edge, 0])

    def box(self) -> list[Point]:
        """The corners of a small rectangle within the outline."""
        x = self.length / 2 + self.rng.uniform(-60, 60)
        y = self.rng.uniform(-30, 30)
        long, wide = self.rng.uniform(5, 30), self.rng.uniform(5, 30)
        return [(x, y), (x + long, y), (x + long, y + wide), (x, y + wide)]

    def add(
        self, name: str, left: int = 0, hidden: int = 0, refused: str = "", *, rim: bool = False
    ) -> None:
        """Say what was drawn on the outline's layer. rim: whether it has the outline's id."""
        self.extras.append(name)
        if rim or not self.by_id:
            self.left += left
            self.hidden += hidden
        if refused:
            self.refused.append(refused)
