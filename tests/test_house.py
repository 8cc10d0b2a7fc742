"""How the house is built: which room may know which, and that each says what it is for."""

import ast
import re
from collections import Counter
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import NamedTuple

import pytest

from carve.design.schema.design import Design

ROOT = Path(__file__).parents[1]
MODULES = sorted((ROOT / "carve").rglob("*.py"))

# Data flows one way: a room may know the rooms before it and itself, and none after it.
ORDER = [
    "base",
    "design",
    "shape",
    "solid",
    "parts",
    "shop",
    "check",
    "render",
    "export",
    "lab",
    "cli",
    "__main__",
]
BASE = {"carve", "carve.errors", "carve.arrays", "carve.stop"}
FACES = {"lab", "cli"}
GEOMETRY = {"scipy", "manifold3d", "stl", "trimesh", "shapely"}

# The same inside a room: its shelves in order; those on one line do not know one another.
WITHIN: dict[str, list[set[str]]] = {
    "design": [{"values"}, {"drawing"}, {"schema"}, {"derived"}, {"rules"}, {"io"}],
    "shape": [
        {"numeric"},
        {"planar"},
        {"outlines"},
        {"neck", "fretboard", "plate", "cover"},
        {"body"},
        {"assembly"},
        {"views"},
    ],
    "check": [
        {"figures", "tolerances"},
        {"finding"},
        {"judge", "declare"},
        {"reading"},
        {"every_part", "neck", "fretboard", "body", "plate", "cover", "assembly"},
        {"order"},
        {"report"},
    ],
}
MOST_FILES = 14  # in a folder, besides the one that says what the folder is
MOST_LINES = 400  # in a file
LONGER: dict[str, str] = {}  # and why

PUBLIC = "carve"  # names what every room gives, and loads none of them before it is asked

OTHER_CACHES = {  # functions that remember results and stand outside carve/parts/cache.py, and why
    "fan_of": "asked for hundreds of times in one turn, in a room that may not know parts",
    "_page": "a drawing's lines are joined once; in a room that may not know parts",
    "placed": "the same drawing, set on the centre line",
    "curves_on_layer": "the same drawing, one layer of it",
    "fields": "a carved plate's equations are solved once for all of its checks and drawings",
}


class Import(NamedTuple):
    """One import: who, whom, in which line, and whether not yet when the file is loaded.

    That is in a function, or behind ``if TYPE_CHECKING``, where only a type checker looks.
    """

    importer: Path
    imported: str
    line: int
    lazy: bool

    def __str__(self) -> str:
        return f"{self.importer.relative_to(ROOT)}:{self.line} imports {self.imported}"


def room_of(name: str) -> str:
    if name in BASE or name == "carve.__version__":
        return "base"
    room = name.split(".")[1]
    assert room in ORDER, f"{name}: a room that the order does not know"
    return room


def name_of(module: Path) -> str:
    parts = module.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def is_module(name: str) -> bool:
    path = ROOT.joinpath(*name.split("."))
    return path.with_suffix(".py").exists() or (path / "__init__.py").exists()


def imports_of(module: Path) -> Iterator[Import]:
    tree = ast.parse(module.read_text(encoding="utf-8"))
    inside = {
        node
        for outer in ast.walk(tree)
        if isinstance(outer, ast.FunctionDef | ast.AsyncFunctionDef)
        or (isinstance(outer, ast.If) and ast.unparse(outer.test) == "TYPE_CHECKING")
        for node in ast.walk(outer)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif not isinstance(node, ast.ImportFrom):
            continue
        else:
            assert node.level == 0, (
                f"{module}:{node.lineno}: write the whole name of what you import"
            )
            assert node.module is not None
            names = [
                f"{node.module}.{alias.name}"
                if is_module(f"{node.module}.{alias.name}")
                else node.module
                for alias in node.names
            ]
        for name in dict.fromkeys(names):
            yield Import(module, name, node.lineno, node in inside)


ALL = [found for module in MODULES for found in imports_of(module)]
OWN = [found for found in ALL if found.imported.split(".")[0] == "carve"]


def shelf_of(name: str) -> tuple[str, str]:
    """Room and shelf of a module: ``("shape", "neck")``; "" for what stands in the room itself."""
    parts = name.split(".")
    return (parts[1], parts[2]) if len(parts) > 2 else (room_of(name), "")


def rank_within(name: str) -> int | None:
    """How far on a module's shelf stands in its room, None where the room has no order."""
    room, shelf = shelf_of(name)
    ranks = [rank for rank, shelves in enumerate(WITHIN.get(room, [])) if shelf in shelves]
    return ranks[0] if ranks else None


def test_each_shelf_has_its_place() -> None:
    known = {(room, shelf) for room, ranks in WITHIN.items() for rank in ranks for shelf in rank}
    there = {shelf_of(name_of(module)) for module in MODULES}
    assert {one for one in there if one[0] in WITHIN and one[1]} == known


def test_imports_point_one_way_inside_a_room() -> None:
    wrong = []
    for found in OWN:
        one, other = name_of(found.importer), found.imported
        if shelf_of(one)[0] != shelf_of(other)[0] or shelf_of(one) == shelf_of(other):
            continue
        ranks = rank_within(one), rank_within(other)
        if None not in ranks and ranks[0] <= ranks[1]:
            wrong.append(str(found))
    assert wrong == []


def test_no_modules_import_one_another_in_a_circle() -> None:
    knows: dict[str, set[str]] = {}
    for found in OWN:
        if name_of(found.importer) != PUBLIC:
            knows.setdefault(name_of(found.importer), set()).add(found.imported)
    with pytest.raises(CycleError):  # the sorter itself can tell
        TopologicalSorter({"a": {"b"}, "b": {"a"}}).prepare()
    TopologicalSorter(knows).prepare()  # raises CycleError, which names the circle


def test_no_folder_and_no_file_is_too_large_to_find_ones_way_in() -> None:
    folders = Counter(module.parent for module in MODULES if module.name != "__init__.py")
    assert {str(folder): n for folder, n in folders.items() if n > MOST_FILES} == {}
    lines = {
        str(module.relative_to(ROOT)): len(module.read_text(encoding="utf-8").splitlines())
        for module in MODULES
    }
    assert {name for name, n in lines.items() if n > MOST_LINES} == set(LONGER)


def test_there_are_imports_to_look_at() -> None:
    assert {room_of(found.imported) for found in OWN} == {*ORDER[:-1]}


def test_imports_point_one_way() -> None:
    wrong = [
        str(found)
        for found in OWN
        if ORDER.index(room_of(found.imported)) > ORDER.index(room_of(name_of(found.importer)))
        and name_of(found.importer) != PUBLIC
    ]
    assert wrong == []


def test_the_public_face_loads_no_room_before_it_is_asked() -> None:
    early = [str(found) for found in OWN if name_of(found.importer) == PUBLIC and not found.lazy]
    assert early == []


def test_the_command_line_loads_no_room_but_the_plain_values_before_a_command_runs() -> None:
    early = {
        shelf_of(found.imported)
        for found in OWN
        if name_of(found.importer) == "carve.cli" and not found.lazy
    }
    assert early == {("base", ""), ("design", "values")}


def test_the_command_line_loads_the_lab_only_when_it_is_asked_for() -> None:
    from_lab = [
        found
        for found in OWN
        if room_of(found.imported) == "lab" and room_of(name_of(found.importer)) != "lab"
    ]
    assert [str(found) for found in from_lab if not found.lazy] == []
    assert {name_of(found.importer) for found in from_lab} == {"carve.cli"}


def test_the_faces_do_no_geometry_of_their_own() -> None:
    wrong = [
        str(found)
        for found in ALL
        if room_of(name_of(found.importer)) in FACES and found.imported.split(".")[0] in GEOMETRY
    ]
    assert wrong == []


def test_only_the_lab_draws() -> None:
    drawing = {"pyvista", "vtk", "vtkmodules", "matplotlib", "ipywidgets", "trame", "jupyterlab"}
    wrong = [
        str(found)
        for found in ALL
        if room_of(name_of(found.importer)) != "lab" and found.imported.split(".")[0] in drawing
    ]
    assert wrong == []


def test_the_design_knows_no_arrays() -> None:
    # what a builder decided is plain values; geometry begins in the next room
    wrong = [
        str(found)
        for found in ALL
        if room_of(name_of(found.importer)) == "design"
        and found.imported.split(".")[0] in {"numpy", *GEOMETRY}
    ]
    assert wrong == []


def test_general_geometry_knows_no_instrument() -> None:
    # plain values of the design, such as a curve, are no instrument's
    wrong = [
        str(found)
        for found in OWN
        if shelf_of(name_of(found.importer)) in {("shape", "numeric"), ("shape", "planar")}
        and room_of(found.imported) == "design"
        and shelf_of(found.imported) != ("design", "values")
    ]
    assert wrong == []


KEY_IN_TEXT = re.compile(r"^(?:\{\}|[a-z_]+)(?:\.[a-z_]+|\[\{\}\])+(?::|$)|^[a-z_]+: ")


def texts_in(module: Path) -> Iterator[tuple[int, str]]:
    """Every text of a module but its docstrings, ``{}`` for what is filled in, with its line."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    inner = {
        part for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values
    }
    inner |= {node.value for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield (
                node.lineno,
                "".join(
                    str(part.value) if isinstance(part, ast.Constant) else "{}"
                    for part in node.values
                ),
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in inner:
            yield node.lineno, node.value


@pytest.mark.parametrize(
    ("text", "is_key"),
    [
        ("body.top.recurve: {} mm must be more", True),
        ("{}.recurve: {} mm must be more", True),
        ("body.pockets[{}]", True),
        ("rim: nothing is left", True),
        ("neck plane", False),
        ("{}'s bolt {}", False),
        ("{}.2f", False),
    ],
)
def test_a_key_of_the_design_file_is_known_by_its_looks(text: str, is_key: bool) -> None:
    assert bool(KEY_IN_TEXT.search(text)) == is_key


def test_shapes_speak_no_sentences_about_keys() -> None:
    shapes = [module for module in MODULES if room_of(name_of(module)) == "shape"]
    tables = set(Design.model_fields)
    spoken = [
        f"{module.relative_to(ROOT)}:{line}: {text}"
        for module in shapes
        if shelf_of(name_of(module))[1] != "views"  # those write titles and columns
        for line, text in texts_in(module)
        if KEY_IN_TEXT.search(text) or (text.split(".")[0] in tables and "." in text)
    ]
    assert spoken == []
    rules = {("design", "rules"), ("design", "io")}
    judged = [
        str(found)
        for found in OWN
        if room_of(name_of(found.importer)) == "shape" and shelf_of(found.imported) in rules
    ]
    assert judged == []
    barred = {"DesignError", "quoted"}
    wrong = [
        f"{module.relative_to(ROOT)}:{node.lineno}"
        for module in shapes
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and barred & {alias.name for alias in node.names}
    ]
    assert wrong == []


def test_each_module_says_what_it_is_for() -> None:
    wrong = []
    for module in MODULES:
        said = ast.get_docstring(ast.parse(module.read_text(encoding="utf-8"))) or ""
        first = (said.splitlines() or [""])[0].rstrip()
        if len(first) < 10 or not first.endswith((".", ":", "?")):
            wrong.append(f"{module.relative_to(ROOT)}: {first!r}")
    assert wrong == []


def test_nothing_is_imported_by_star() -> None:
    stars = [
        f"{module.relative_to(ROOT)}:{node.lineno}"
        for module in MODULES
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and any(alias.name == "*" for alias in node.names)
    ]
    assert stars == []


def _remembering(tree: ast.Module) -> Iterator[str]:
    """Functions that a module has decorated with a cache of functools."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            for decorator in node.decorator_list:
                called = decorator.func if isinstance(decorator, ast.Call) else decorator
                name = called.attr if isinstance(called, ast.Attribute) else ast.unparse(called)
                if name in {"cache", "lru_cache"}:
                    yield node.name


def test_caches_stand_in_one_file_or_are_named_with_a_reason() -> None:
    example = "@functools.lru_cache(maxsize=2)\ndef a(): ...\n@cache\ndef b(): ...\ndef c(): ..."
    assert list(_remembering(ast.parse(example))) == ["a", "b"]
    place = ROOT / "carve" / "parts" / "cache.py"
    trees = {module: ast.parse(module.read_text(encoding="utf-8")) for module in MODULES}
    found = [name for module in trees if module != place for name in _remembering(trees[module])]
    assert sorted(found) == sorted(OTHER_CACHES)
    # nor is one made by a call, as `kept` does
    calling = [
        str(module.relative_to(ROOT))
        for module, tree in trees.items()
        if module != place
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Call)
        and ast.unparse(node.func.func).endswith("lru_cache")
    ]
    assert calling == []
