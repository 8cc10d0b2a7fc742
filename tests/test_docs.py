"""The pages about this house: what they name is there, and what is made by a program is current."""

import ast
import doctest
import importlib
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import carve
from carve.design.schema.design import Design
from carve.design.schema.table import Table

ROOT = Path(__file__).parents[1]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
FOLDERS = "carve|tests|docs|scripts|examples|notebooks|[.]ci"


def named_in(page: Path) -> set[str]:
    """The files and folders of this house that a page names."""
    text = page.read_text("utf-8")
    return set(re.findall(rf"(?<![\w/.-])(?:{FOLDERS})/[\w./-]*[\w/]", text))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_file_that_a_page_names_is_there(page: Path) -> None:
    gone = {name for name in named_in(page) if not (ROOT / name).exists()}
    assert gone == set()


def test_names_of_files_are_found_where_there_are_some() -> None:
    assert "scripts/check" in named_in(ROOT / "DEVELOPERS.md")
    assert any(name.endswith(".py") for name in named_in(ROOT / "docs" / "mathematics.md"))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_leads_somewhere(page: Path) -> None:
    for link in re.findall(r"\]\(([^)]+)\)", page.read_text("utf-8")):
        file, _, heading = link.partition("#")
        target = page.parent / file if file else page
        assert target.exists(), link
        if heading:
            assert heading in set(headings(target)), link


def headings(page: Path) -> Iterator[str]:
    """A page's headings as links name them."""
    for title in re.findall(r"^#+ (.*)$", page.read_text("utf-8"), re.MULTILINE):
        yield re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-")


# What `import carve` gives


def test_the_page_of_public_names_is_what_the_docstrings_say() -> None:
    code = "import runpy, sys; sys.stdout.write(runpy.run_path('scripts/api')['page']())"
    made = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True)
    assert made.returncode == 0, made.stderr.decode()
    page = (ROOT / "docs" / "api.md").read_text("utf-8")
    assert made.stdout.decode("utf-8") == page, "renew it with scripts/api"


@pytest.mark.parametrize("name", ["carve", "carve.design.io.toml_file"])
def test_the_examples_in_docstrings_come_out_as_they_say(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    found = doctest.testmod(importlib.import_module(name))
    assert found.attempted > 0
    assert found.failed == 0


def test_all_public_names_are_there_and_a_type_checker_sees_the_same() -> None:
    for name in carve.__all__:
        assert getattr(carve, name) is not None
    assert sorted(carve.__all__) == sorted(dir(carve))
    # what stands behind TYPE_CHECKING is what __all__ says
    tree = ast.parse((ROOT / "carve" / "__init__.py").read_text("utf-8"))
    (seen,) = (
        node
        for node in tree.body
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
    )
    imported = {
        alias.name for node in seen.body if isinstance(node, ast.ImportFrom) for alias in node.names
    }
    assert {*imported, "__version__"} == set(carve.__all__)
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = carve.nothing  # type: ignore[attr-defined]


def tables_in(table: type[Table]) -> set[type[Table]]:
    """A table and all tables that can stand in it."""
    found = {table}

    def look(annotation: object) -> None:
        table = isinstance(annotation, type) and issubclass(annotation, Table)
        if table and annotation not in found:
            found.update(tables_in(annotation))
        for one in getattr(annotation, "__args__", ()):
            look(one)

    for field in table.model_fields.values():
        look(field.annotation)
    return found


def test_every_table_of_a_design_is_a_public_name() -> None:
    names = {table.__name__ for table in tables_in(Design)}
    assert len(names) > 20
    assert names - set(carve.__all__) == set()


def test_importing_carve_loads_nothing_until_it_is_asked() -> None:
    code = (
        "import sys, carve; print(*(n for n in sys.modules if n.split('.')[0] in {})); carve.load"
    )
    heavy = "('numpy', 'scipy', 'pydantic', 'shapely', 'manifold3d')"
    done = subprocess.run(
        [sys.executable, "-c", code.replace("{}", heavy)], capture_output=True, text=True
    )
    assert done.stdout.strip() == "", done.stdout
    assert done.returncode == 0, done.stderr


def test_the_package_says_that_it_has_types() -> None:
    assert (ROOT / "carve" / "py.typed").exists()


def test_export_is_a_call_also_after_its_room_was_imported(tmp_path: Path) -> None:
    # Python hangs a package into its parent under its own name
    import carve.export.bundle

    job = carve.make(carve.load(ROOT / "examples" / "wren.toml"), only=["fretboard"])
    written = carve.export(job, tmp_path / "cut", ROOT / "examples" / "wren.toml")
    assert isinstance(written, carve.Export)
    kept = tmp_path / "cut" / "wren-as-exported.toml"
    assert kept.read_text("utf-8") == (ROOT / "examples" / "wren.toml").read_text("utf-8")


def test_an_export_of_a_changed_design_says_what_was_changed(tmp_path: Path) -> None:
    file = ROOT / "examples" / "wren.toml"
    design = carve.with_values(carve.load(file), {"fretboard.thickness": 6.5})
    carve.export(carve.make(design, only=["fretboard"]), tmp_path, file)
    kept = tmp_path / "wren-as-exported.toml"
    assert carve.load(kept) == design
    assert "# A station is a place" in kept.read_text("utf-8")  # the builder's own words stay


def test_an_export_with_another_designs_file_is_refused(tmp_path: Path) -> None:
    job = carve.make(carve.load(ROOT / "examples" / "wren.toml"), only=["fretboard"])
    with pytest.raises(carve.DesignError):
        carve.export(job, tmp_path / "cut", ROOT / "examples" / "heron.toml")
    assert not (tmp_path / "cut").exists()


def test_what_follows_from_a_carved_top_is_not_written_down_as_if_it_were_given() -> None:
    from carve.export.source import design_source

    file = ROOT / "examples" / "brambling.toml"
    design = carve.load(file)
    assert design.bridge is not None
    assert design.bridge.top_height is None
    changed = carve.with_values(design, {"fretboard.thickness": 6.25})
    _, text = design_source(carve.make(changed, only=["fretboard"]), file)
    assert "top_height" not in text
