"""Films of finish, and what they take from the wood so that finished faces meet.

The wood is cut smaller by what is laid on it. Faces that are glued (the glue face under
the fretboard, the end faces, the truss rod's channel) are never finished.
"""

from dataclasses import dataclass

from carve.design.schema.assembly import FACES, Face, Finish


@dataclass(frozen=True)
class NeckFilm:
    """Films that bear on the neck's size, in mm.

    back: at the keel. sides: at the glue edge. board_top: on the fretboard's surface.
    board_sides: on the fretboard's edges.
    """

    back: float = 0.0
    sides: float = 0.0
    board_top: float = 0.0
    board_sides: float = 0.0

    @property
    def narrower(self) -> float:
        """What the neck's wood stands back on each side, in mm, behind the fretboard's wood.

        Then both come out flush: wood + film on the neck = wood + film on the board.
        """
        return self.sides - self.board_sides


BARE = NeckFilm()


def neck_film(finish: Finish | None) -> NeckFilm:
    """The films that bear on the neck's size."""
    if finish is None:
        return BARE
    return NeckFilm(
        back=finish.on("neck back"),
        sides=finish.on("neck sides"),
        board_top=finish.on("fretboard top"),
        board_sides=finish.on("fretboard sides"),
    )


def bare_faces(finish: Finish | None) -> tuple[Face, ...]:
    """The faces without film, masked ones among them."""
    return tuple(face for face in FACES if finish is None or finish.on(face) == 0)


def pocket_width(tenon: float, tenon_film: float, wall_film: float, room: float) -> float:
    """Width to cut a pocket so that a tenon fits it once both are finished.

    tenon: mm, width of its wood. tenon_film, wall_film: mm on each of its sides and on each
    wall, 0 where masked. room: mm on each side, for glue and to slide. Returns mm.
    """
    return tenon + 2 * (tenon_film + wall_film + room)


def room_in_pocket(pocket: float, tenon: float, tenon_film: float, wall_film: float) -> float:
    """Room left on each side in mm between a finished tenon and a finished pocket.

    pocket, tenon: mm, widths of the wood. Negative where the tenon does not go in.
    """
    return (pocket - tenon) / 2 - tenon_film - wall_film
