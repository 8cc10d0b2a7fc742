"""Instrument parts for a three-axis router: shaped, proven and exported.

Four calls do the work. ``load`` reads a design file, ``make`` makes its parts, ``inspect`` proves
them, ``export`` writes the files::

    >>> import carve
    >>> design = carve.load("examples/wren.toml")
    >>> job = carve.make(design, only=["neck"])
    >>> {found.verdict.value for found in carve.inspect(job)}
    {'good'}

A design is a frozen value with a table for each part; ``with_values`` gives another one::

    >>> design.neck.stations[0].thickness
    21.0
    >>> thinner = carve.with_values(design, {"neck.stations[0].thickness": 19.5})
    >>> thinner.neck.stations[0].thickness, design.neck.stations[0].thickness
    (19.5, 21.0)

What is wrong is said in plain sentences, one for each problem::

    >>> carve.with_values(design, {"neck.nut_width": 500})
    Traceback (most recent call last):
    carve.errors.DesignError: neck.nut_width: 500 mm is not allowed; from 20 mm to 120 mm

Everything named in ``__all__`` is loaded when it is first asked for, so importing ``carve`` takes
no time. Data flows one way through the rooms below: design, shape, solid, parts, then shop and
check, export, and last the two faces, ``lab`` and ``cli``.
"""

# Not from typing, which takes longer to load than all else here: until a program's first line has
# run, Ctrl-C is Python's own, and this file comes before it. Type checkers know it by its name.
TYPE_CHECKING = False

if TYPE_CHECKING:
    from carve.check.finding import Finding, FindingCurve, Verdict
    from carve.check.report import inspect
    from carve.design.io.parse import value_at, with_values
    from carve.design.io.toml_file import load
    from carve.design.schema.assembly import Action, Bridge, Film, Finish, Joint, Strings
    from carve.design.schema.blank import Blank
    from carve.design.schema.body import Body, BodyBlank, BodyOutline, Bore, Hollow, Pocket
    from carve.design.schema.bouts import Bouts, Cutaway
    from carve.design.schema.cover import Cover, CoverBlank, CoverScrews
    from carve.design.schema.design import Access, Design, Limits, Neck, Station, TrussRod
    from carve.design.schema.fretboard import Binding, Fretboard, Markers, NutSlot, Radius, Slots
    from carve.design.schema.graduation import Block, Flat, Graduation
    from carve.design.schema.headstock import DrawnHead, HeadOutline, Headstock, Tuners, Volute
    from carve.design.schema.heel import BoltHole, Heel, Tongue
    from carve.design.schema.outline import OutlineFile
    from carve.design.schema.plate import (
        ArchPad,
        ArchStation,
        ArchTemplate,
        CarvedPlate,
        NeckPlane,
    )
    from carve.design.values.paper import A4, LETTER, Paper
    from carve.design.values.profile import Dials, Profile
    from carve.design.values.units import Place
    from carve.errors import (
        CarveError,
        DesignError,
        ExportRefused,
        FileTrouble,
        FindingFailed,
        OutsidePart,
        SolidError,
    )
    from carve.export.bundle import Export, export
    from carve.parts.job import Job, Part, make

__version__ = "0.1.0"

__all__ = [
    "A4",
    "LETTER",
    "Access",
    "Action",
    "ArchPad",
    "ArchStation",
    "ArchTemplate",
    "Binding",
    "Blank",
    "Block",
    "Body",
    "BodyBlank",
    "BodyOutline",
    "BoltHole",
    "Bore",
    "Bouts",
    "Bridge",
    "CarveError",
    "CarvedPlate",
    "Cover",
    "CoverBlank",
    "CoverScrews",
    "Cutaway",
    "Design",
    "DesignError",
    "Dials",
    "DrawnHead",
    "Export",
    "ExportRefused",
    "FileTrouble",
    "Film",
    "Finding",
    "FindingCurve",
    "FindingFailed",
    "Finish",
    "Flat",
    "Fretboard",
    "Graduation",
    "HeadOutline",
    "Headstock",
    "Heel",
    "Hollow",
    "Job",
    "Joint",
    "Limits",
    "Markers",
    "Neck",
    "NeckPlane",
    "NutSlot",
    "OutlineFile",
    "OutsidePart",
    "Paper",
    "Part",
    "Place",
    "Pocket",
    "Profile",
    "Radius",
    "Slots",
    "SolidError",
    "Station",
    "Strings",
    "Tongue",
    "TrussRod",
    "Tuners",
    "Verdict",
    "Volute",
    "__version__",
    "export",
    "inspect",
    "load",
    "make",
    "value_at",
    "with_values",
]

_HOMES = {  # where each name is made
    "carve.check.finding": ("Finding", "FindingCurve", "Verdict"),
    "carve.check.report": ("inspect",),
    "carve.design.io.parse": ("value_at", "with_values"),
    "carve.design.io.toml_file": ("load",),
    "carve.design.schema.assembly": ("Action", "Bridge", "Film", "Finish", "Joint", "Strings"),
    "carve.design.schema.blank": ("Blank",),
    "carve.design.schema.body": ("Body", "BodyBlank", "BodyOutline", "Bore", "Hollow", "Pocket"),
    "carve.design.schema.bouts": ("Bouts", "Cutaway"),
    "carve.design.schema.design": ("Access", "Design", "Limits", "Neck", "Station", "TrussRod"),
    "carve.design.schema.fretboard": (
        "Binding",
        "Fretboard",
        "Markers",
        "NutSlot",
        "Radius",
        "Slots",
    ),
    "carve.design.schema.cover": ("Cover", "CoverBlank", "CoverScrews"),
    "carve.design.schema.graduation": ("Block", "Flat", "Graduation"),
    "carve.design.schema.headstock": ("DrawnHead", "Headstock", "HeadOutline", "Tuners", "Volute"),
    "carve.design.schema.heel": ("BoltHole", "Heel", "Tongue"),
    "carve.design.schema.outline": ("OutlineFile",),
    "carve.design.schema.plate": (
        "ArchPad",
        "ArchStation",
        "ArchTemplate",
        "CarvedPlate",
        "NeckPlane",
    ),
    "carve.design.values.paper": ("A4", "LETTER", "Paper"),
    "carve.design.values.profile": ("Dials", "Profile"),
    "carve.design.values.units": ("Place",),
    "carve.errors": (
        "CarveError",
        "DesignError",
        "ExportRefused",
        "FileTrouble",
        "FindingFailed",
        "OutsidePart",
        "SolidError",
    ),
    "carve.export.bundle": ("Export", "export"),
    "carve.parts.job": ("Job", "Part", "make"),
}
_HOME = {name: module for module, names in _HOMES.items() for name in names}


if not TYPE_CHECKING:  # so that a type checker tells of a name that is none

    def __getattr__(name: str) -> object:
        # late: whoever imports one name need not wait for all that the others stand on
        if name not in _HOME:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        from importlib import import_module  # late too: the program's start waits for this file

        found = globals()[name] = getattr(import_module(_HOME[name]), name)
        return found


def __dir__() -> list[str]:
    return __all__
