"""Random bodies: outline, pockets of every shape, covers, bores, chamber and carved faces."""

from typing import Any

from random_necks import Dice

Data = dict[str, Any]

SOLID, CHAMBERED, HOLLOW = "solid", "chambered", "hollow"


def random_body(dice: Dice, saddle: float, heel: Data, height: float) -> Data:
    """A body as a design file would hold it, in mm. Not every one is free of contradictions.

    saddle: mm from the body's edge. heel: the neck's table. height: of the glue plane over the
    edge plane at the body's edge, mm.
    """
    deep = heel["kind"] == "carved"
    long = saddle + dice.figure(85, 170)
    build = HOLLOW if deep else dice.one_of(SOLID, SOLID, SOLID, CHAMBERED)
    thick = heel["depth"] - height + dice.figure(4, 25)
    thick = max(thick, dice.figure(60, 85)) if deep else max(thick, dice.figure(36, 52))
    wide = dice.figure(0.7, 0.85) * long
    body: Data = {"thickness": thick, "outline": _outline(dice, long, wide, cut=not deep)}
    place = _Places(dice, long, wide, thick, saddle)
    if dice.true(0.35):
        body["top"] = _carved(dice, place, pads=not deep, planed=not deep and dice.true(0.3))
    if dice.true(0.2):
        body["back"] = _carved(dice, place, pads=False, planed=False)
    pockets: list[Data] = []
    if heel["kind"] in ("bolted", "tenon") or heel.get("tongue"):
        inside = heel["tongue"]["depth"] if deep else heel["depth"]
        pocket: Data = {"name": "neck", "kind": "neck", "shape": "heel"}
        pocket["depth"] = min(inside - height + dice.or_nothing(-0.3, 0.3), thick - 0.3)
        if heel.get("holes") and dice.true(0.7):
            pocket["bolts"] = dice.figure(3, 6)
        pockets.append(pocket)
    if build == SOLID:
        pockets += place.solid()
    else:
        body["hollow"] = place.hollow(body, chambered=build == CHAMBERED)
        pockets += place.sound_holes() if build == HOLLOW or dice.true(0.4) else []
    if dice.true(0.3):
        pockets += place.odd_ones()
    body["pockets"] = pockets
    body["bores"] = place.bores()
    if dice.true(0.5):
        boards = dice.whole(1, 4)
        body["blank"] = {
            "length": long + dice.figure(5, 120),
            "width": wide + dice.figure(2, 40),
            "thickness": thick + dice.figure(1, 60),
            "boards": boards,
            "joint": "centre line" if boards % 2 == 0 and dice.true() else "anywhere",
        }
    return body


def _outline(dice: Dice, long: float, wide: float, *, cut: bool) -> Data:
    if dice.true(0.15):  # a box with round corners, as points in straight lines or smooth
        half, edge = wide / 2, 35.0
        points = [[0, -edge], [0, 0], [0, edge], [25, half * 0.8], [60, half]]
        points += [[long - 40, half], [long, half * 0.7], [long, -half * 0.7]]
        points += [[long - 40, -half], [60, -half], [25, -half * 0.8]]
        return {"points": points, "smooth": dice.true(0.3)}
    bouts: Data = {
        "length": long,
        "lower": wide,
        "lower_at": dice.figure(0.68, 0.78) * long,
        "waist": dice.figure(0.65, 0.85) * wide,
        "waist_at": dice.figure(0.4, 0.48) * long,
        "upper": dice.figure(0.72, 0.92) * wide,
        "upper_at": dice.figure(0.14, 0.2) * long,
        "joint": dice.figure(60, 80),
    }
    if dice.true(0.3):
        bouts["offset"] = dice.figure(-20, 20)
    if cut:
        for side in ("bass", "treble"):
            if dice.true(0.6):
                bouts[side] = {
                    "depth": dice.figure(40, 90),
                    "horn": dice.figure(-10, 60),
                    "notch": dice.figure(28, 38),
                }
    return {"bouts": bouts}


def _carved(dice: Dice, place: "_Places", *, pads: bool, planed: bool) -> Data:
    ledge = dice.figure(3, 10)
    if dice.true(0.2):
        first = ledge + dice.figure(6, 15)
        rise = dice.figure(1, 3)
        lines = [[first, rise], [first + 18, 2.2 * rise], [first + 45, 3.5 * rise]]
        plate: Data = {"ledge": ledge, "contours": lines[: dice.whole(1, 3)]}
        if dice.true():
            plate["softness"] = dice.figure(5, 30)
        return plate
    rise, long = dice.figure(6, 18), place.long
    stations = [{"x": long * dice.figure(0.5, 0.65), "height": rise}]
    if dice.true(0.6):
        stations = [
            {"x": long * 0.3, "height": rise * dice.figure(0.7, 0.95)},
            *stations,
            {"x": long * 0.83, "height": rise * dice.figure(0.6, 0.9)},
        ]
    plate = {"ledge": ledge, "recurve": ledge + dice.figure(6, 16), "stations": stations}
    plate["recurve_depth"] = dice.or_nothing(0.2, 1.5)
    if dice.true(0.4):
        plate["falloff"] = dice.figure(0.16, 0.24) * place.wide
    if dice.true(0.3):
        x = stations[-1]["x"] if len(stations) > 1 else long * 0.4
        crown = stations[-1]["height"] if len(stations) > 1 else rise * 0.9
        y = place.wide * 0.2
        sides = [[-y, crown * 0.8], [y, crown * 0.8]]
        plate["templates"] = [{"x": x, "heights": sides}]
    if pads and dice.true(0.3):
        x = place.saddle
        corners = [[x - 10, -40], [x + 14, -40], [x + 14, 40], [x - 10, 40]]
        plate["pads"] = [{"name": "bridge", "points": corners, "height": rise * 0.97}]
    if planed:
        plate["neck_plane"] = {"margin": dice.figure(0, 4), "clearance": dice.or_nothing(0.5, 2)}
    return plate


class _Places:
    """Where on a body what may lie. long, wide, thick: the body, mm. saddle: from its edge."""

    def __init__(self, dice: Dice, long: float, wide: float, thick: float, saddle: float) -> None:
        self.dice, self.long, self.wide, self.thick = dice, long, wide, thick
        self.saddle = saddle

    def solid(self) -> list[Data]:
        """Pickups, bridge, controls with their cover, battery, weight relief."""
        dice, found = self.dice, []
        for name, share in (("first", 0.42), ("second", 0.62), ("third", 0.83)):
            if dice.true(0.5):
                found.append(self._pickup(f"{name} pickup", share * self.saddle))
        if dice.true(0.5):
            found += self._bridge()
        if dice.true(0.7):
            found += self._covered("controls", "control", 0.72, 0.29, back=dice.true(0.7))
        if dice.true(0.4):
            found += self._covered("battery", "battery", 0.72, -0.29, back=dice.true(0.7))
        if dice.true(0.4):
            found += self._relief()
        return found

    def _pickup(self, name: str, x: float) -> Data:
        dice = self.dice
        pocket: Data = {"name": name, "kind": "pickup", "x": x}
        pocket["depth"] = dice.figure(8, self.thick - 6)
        pocket["angle"] = dice.or_nothing(-12, 12)
        pocket["shape"] = shape = dice.one_of("rectangle", "rectangle", "slot", "circle")
        if shape == "circle":
            pocket |= {"diameter": dice.figure(30, 46)}
            return pocket
        short, long = dice.figure(16, 40), dice.figure(60, 92)
        if shape == "slot":
            pocket["angle"] += 90.0
            return pocket | {"length": long, "width": short}
        corner = min(dice.or_nothing(1, short / 2), short / 2)
        return pocket | {"length": short, "width": long, "corner_radius": corner}

    def _bridge(self) -> list[Data]:
        dice, x = self.dice, self.saddle + self.dice.figure(-2, 12)
        if dice.true():
            size = {"diameter": dice.figure(6, 14), "depth": dice.figure(12, 24)}
            return [
                {"name": f"post {y:g}", "kind": "bridge", "shape": "circle", "x": x, "y": y} | size
                for y in (-37.0, 37.0)
            ]
        slot = {"shape": "slot", "x": x + 20, "angle": 90.0, "length": 60.0, "width": 10.0}
        return [{"name": "block", "kind": "bridge", "depth": "through", **slot}]

    def _covered(
        self, name: str, kind: str, along: float, aside: float, *, back: bool
    ) -> list[Data]:
        """A cavity, and around it a recess with a cover now and then."""
        dice, face = self.dice, "back" if back else "front"
        x, y = along * self.long, aside * self.wide
        plan = dice.one_of("rectangle", "circle", "slot", "polygon")
        size, more = dice.figure(20, 32), dice.figure(3, 12)
        turned = dice.or_nothing(-40, 40)

        def laid(half: float, corner: float) -> Data:
            if plan == "circle":
                return {"shape": plan, "x": x, "y": y, "diameter": 2 * half}
            if plan == "polygon":
                points = [[-half, -half * 0.8], [half * 0.9, -half], [half, half * 0.7]]
                points.append([-half * 0.8, half])
                return {"shape": plan, "x": x, "y": y, "points": points, "corner_radius": corner}
            sizes = {"length": 2.2 * half, "width": 1.6 * half, "angle": turned}
            if plan == "slot":
                return {"shape": plan, "x": x, "y": y, **sizes}
            return {"shape": plan, "x": x, "y": y, **sizes, "corner_radius": corner}

        deep = self.thick - dice.figure(5, 12)
        found = [{"name": name, "kind": kind, "face": face, "depth": deep, **laid(size, 4.0)}]
        if dice.true(0.6):
            found.append(
                {
                    "name": f"{name} cover",
                    "kind": "cover recess",
                    "face": face,
                    "depth": (depth := dice.figure(1.5, 5)),
                    **laid(size + more, dice.or_nothing(3, 8)),
                    "cover": self._cover(depth, plan in ("rectangle", "polygon")),
                }
            )
        if dice.true(0.5):
            found.append(
                {
                    "name": f"{name} shaft",
                    "kind": "hole",
                    "shape": "circle",
                    "x": x + dice.figure(-6, 6),
                    "y": y,
                    "diameter": dice.figure(5, 10),
                    "depth": "through",
                }
            )
        return found

    def _cover(self, depth: float, cornered: bool) -> Data:
        dice = self.dice
        cover: Data = {"gap": dice.figure(0.1, 0.8)}
        if dice.true(0.3):
            cover["thickness"] = max(depth + dice.figure(-0.3, 0.3), 0.6)
        if dice.true(0.7):
            hole = dice.figure(2, 3.5)
            screws: Data = {"diameter": hole, "pilot": hole - dice.figure(0, 1)}
            screws["pilot_depth"] = dice.figure(4, 14)
            screws["from_edge"] = dice.figure(3, 6)
            if not cornered or dice.true(0.4):
                screws["count"] = dice.whole(2, 8)
            if dice.true(0.4) and depth > 1.8:
                screws["head"] = hole + dice.figure(0.4, 1.6)
            cover["screws"] = screws
        return cover

    def _relief(self) -> list[Data]:
        dice = self.dice
        step = dice.figure(26, 36)
        return [
            {
                "name": f"relief {number + 1}",
                "kind": "weight relief",
                "shape": "circle",
                "x": self.long * 0.68 + step * (number % 3),
                "y": -0.2 * self.wide - step * (number // 3),
                "diameter": step - dice.figure(4, 8),
                "depth": self.thick - dice.figure(4, 12),
                "face": "front",
            }
            for number in range(dice.whole(1, 4))
        ]

    def odd_ones(self) -> list[Data]:
        """A slot and a hole where nothing says that they find wood."""
        dice = self.dice
        return [
            {
                "name": "slot",
                "shape": "slot",
                "x": dice.figure(0.3, 0.9) * self.long,
                "y": dice.figure(-0.25, 0.25) * self.wide,
                "angle": dice.figure(-90, 90),
                "length": dice.figure(20, 90),
                "width": dice.figure(4, 12),
                "depth": dice.figure(2, self.thick - 2),
                "face": dice.one_of("front", "back"),
            },
            {
                "name": "hole",
                "kind": "hole",
                "shape": "circle",
                "x": dice.figure(0.3, 0.9) * self.long,
                "y": dice.figure(-0.25, 0.25) * self.wide,
                "diameter": dice.figure(2, 12),
                "depth": "through",
            },
        ]

    def bores(self) -> list[Data]:
        """A jack's in the side or in the tail."""
        dice = self.dice
        if not dice.true(0.4):
            return []
        size = dice.figure(8, 22)
        bore: Data = {"name": "jack", "diameter": size, "depth": dice.figure(15, 50)}
        low, high = size / 2 + 1, self.thick - size / 2 - 1
        bore["below"] = self.thick / 2 if dice.true() else dice.figure(low, max(low, high))
        if dice.true(0.4):
            return [bore | {"x": self.long, "y": 0.0, "angle": 180.0}]
        side = dice.one_of(-1, 1)
        y, angle = side * 0.48 * self.wide, -side * dice.figure(60, 130)
        return [bore | {"x": 0.74 * self.long, "y": y, "angle": angle}]

    def hollow(self, body: Data, *, chambered: bool) -> Data:
        """A chamber under plates of even thickness, or graduated under carved ones."""
        dice = self.dice
        found: Data = {"rim": dice.figure(5, 20)}
        for face in ("top", "back"):
            if face in body and dice.true(0.6):
                recurve = found["rim"] + dice.figure(8, 25)
                edge = dice.figure(3, 8)
                found[f"{face}_graduation"] = {
                    "edge": edge,
                    "cove": dice.figure(5, 20),
                    "recurve": recurve,
                    "at_recurve": dice.figure(3, 5),
                    "centre": recurve + dice.figure(30, 90),
                    "at_centre": dice.figure(4, 8),
                }
            else:
                found[face] = dice.figure(3, 8)
        if chambered or dice.true(0.15):
            found["centre_block"] = dice.figure(60, 120)
        if dice.true(0.7):
            found["neck_block"] = {"length": dice.figure(40, 90), "width": dice.figure(80, 110)}
        if dice.true(0.7):
            found["tail_block"] = {"length": dice.figure(15, 50), "width": dice.figure(50, 100)}
        return found

    def sound_holes(self) -> list[Data]:
        """One round, or two slots."""
        dice, x = self.dice, self.saddle - self.dice.figure(0, 15)
        hole: Data = {"kind": "sound hole", "depth": "through"}
        if dice.true(0.4):
            size = dice.figure(60, 100)
            x = 0.45 * self.saddle
            return [hole | {"name": "rose", "shape": "circle", "x": x, "diameter": size}]
        size = {"length": dice.figure(70, 120), "width": dice.figure(9, 15)}
        aside, turned = 0.24 * self.wide, dice.figure(-15, 15)
        return [
            hole
            | {"name": f"{name} hole", "shape": "slot", "x": x, "y": side * aside}
            | {"angle": side * turned}
            | size
            for name, side in (("bass", -1), ("treble", 1))
        ]
