"""What `carve lab` writes and starts, without starting it."""

import json
import os
import re
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any, NoReturn
from urllib.parse import unquote

import pytest
from nbformat import reads, validate
from nbformat.sign import NotebookNotary

from carve.errors import CarveError, FileTrouble
from carve.lab import launch as lab
from carve.lab.launch import EXTENSIONS, command, launch, notebook_for


@pytest.fixture(autouse=True)
def _own_jupyter(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Signatures made in a test stay out of the developer's own Jupyter, and nobody is root."""
    monkeypatch.setattr(os, "geteuid", lambda: 1000, raising=False)
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(tmp_path_factory.mktemp("jupyter")))


@pytest.fixture
def design(tmp_path: Path) -> Path:
    path = tmp_path / "wren.toml"
    path.write_text("", encoding="utf-8")
    return path


def _read(notebook: Path) -> Any:
    text = notebook.read_text(encoding="utf-8")
    return reads(text, as_version=4)  # type: ignore[no-untyped-call]


def _trusted(notebook: Any) -> bool:
    return bool(NotebookNotary().check_signature(notebook))  # type: ignore[no-untyped-call]


def test_the_notebook_lies_beside_the_design(design: Path) -> None:
    notebook = notebook_for(design)
    assert notebook == design.parent / "wren.lab.ipynb"
    assert {path.name for path in design.parent.iterdir()} == {"wren.toml", "wren.lab.ipynb"}


def test_the_notebook_is_valid_and_asks_to_be_run(design: Path) -> None:
    notebook = _read(notebook_for(design))
    validate(notebook)
    assert notebook.metadata.carve == {"run_on_open": True}
    assert [cell.cell_type for cell in notebook.cells] == ["markdown", "code"]


def test_the_builder_is_not_asked_for_a_kernel(design: Path) -> None:
    notebook = _read(notebook_for(design))
    assert notebook.metadata.kernelspec.name == "python3"


def test_the_line_of_code_is_folded_away(design: Path) -> None:
    code = _read(notebook_for(design)).cells[1]
    assert code.metadata.jupyter.source_hidden is True


def test_the_builders_own_new_notebook_is_trusted(design: Path) -> None:
    notebook = _read(notebook_for(design))
    assert _trusted(notebook)


@pytest.mark.parametrize(
    "name", ["wren.toml", "Hälfte 2 #1.toml", 'the "old" one.toml', "a.b.toml"]
)
def test_the_folder_can_be_moved(tmp_path: Path, name: str) -> None:
    """The code names the design as a plain string without a folder, whatever its letters."""
    code = json.loads(notebook_for(tmp_path / name).read_text(encoding="utf-8"))["cells"][1]
    named: list[str] = []
    exec(code["source"].replace("from carve.lab import Lab", ""), {"Lab": named.append})
    assert named == [name]


def test_a_notebook_with_notes_is_left_as_it_is(design: Path) -> None:
    notebook = design.with_name("wren.lab.ipynb")
    notebook.write_bytes(b"not even a notebook, but mine")
    assert notebook_for(design) == notebook
    assert notebook.read_bytes() == b"not even a notebook, but mine"


def test_a_notebook_from_elsewhere_is_not_made_trusted(design: Path) -> None:
    text = notebook_for(design).read_text(encoding="utf-8").replace("Lab(", "print(")
    notebook_for(design).write_text(text, encoding="utf-8")
    assert not _trusted(_read(notebook_for(design)))


def test_a_home_that_takes_no_files_does_not_stop_the_builder(
    design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(design))
    assert notebook_for(design).is_file()


def test_a_folder_that_takes_no_files_gives_one_sentence(tmp_path: Path) -> None:
    blocked = tmp_path / "shelf"
    blocked.write_text("a file where a folder should be", encoding="utf-8")
    with pytest.raises(FileTrouble, match=r"^wren\.lab\.ipynb cannot be written.*shelf.*own.*$"):
        notebook_for(blocked / "wren.toml")


def test_a_failed_write_leaves_nothing_behind(
    design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_self: Path, _target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(FileTrouble, match="no space left on device"):
        notebook_for(design)
    assert [path.name for path in design.parent.iterdir()] == ["wren.toml"]


def _option(arguments: list[str], name: str) -> str:
    (value,) = [
        argument.split("=", 1)[1] for argument in arguments if argument.startswith(f"--{name}=")
    ]
    return value


def _command(notebook: Path, *, browser: bool = True) -> list[str]:
    return command(notebook, browser=browser, port=8899, scratch=notebook.parent / "scratch")


def test_the_server_of_this_python_opens_the_notebook_in_its_folder(tmp_path: Path) -> None:
    arguments = _command(tmp_path / "Hälfte 2 #1?.lab.ipynb")
    assert arguments[:3] == [sys.executable, "-m", "carve.lab.serve"]
    assert _option(arguments, "ServerApp.root_dir") == str(tmp_path.resolve())
    page = _option(arguments, "LabApp.default_url")
    assert unquote(page) == "/lab/tree/Hälfte 2 #1?.lab.ipynb"
    assert not set(page) & set(" #?")


def test_a_port_that_was_asked_for_is_not_swapped_for_another(tmp_path: Path) -> None:
    arguments = _command(tmp_path / "wren.lab.ipynb")
    assert _option(arguments, "ServerApp.port") == "8899"
    assert _option(arguments, "ServerApp.port_retries") == "0"


@pytest.mark.parametrize("browser", [True, False])
def test_the_browser_opens_only_if_wanted(tmp_path: Path, *, browser: bool) -> None:
    arguments = _command(tmp_path / "wren.lab.ipynb", browser=browser)
    assert _option(arguments, "ServerApp.open_browser") == str(browser)


def test_the_extension_lies_where_jupyterlab_looks_for_it() -> None:
    """JupyterLab makes the address from the package's name but finds the file by its folder."""
    (manifest,) = EXTENSIONS.glob("*/package.json")
    package = json.loads(manifest.read_text(encoding="utf-8"))
    assert package["name"] == manifest.parent.name
    assert (manifest.parent / package["jupyterlab"]["_build"]["load"]).is_file()


def test_a_taken_port_gives_one_sentence(design: Path) -> None:
    with socket.create_server(("localhost", 0)) as other:
        port = other.getsockname()[1]
        with pytest.raises(CarveError, match=rf"^Port {port} cannot be used.*$"):
            launch(design, browser=False, port=port)


def test_a_port_taken_on_the_other_localhost_gives_one_sentence(design: Path) -> None:
    """A browser may take `localhost` for `::1`, and whoever listens there would get the token."""
    try:
        other = socket.create_server(("::1", 0), family=socket.AF_INET6)
    except OSError as error:
        pytest.skip(f"this machine has no ::1 ({error})")
    if not {"::1"} & {place[4][0] for place in socket.getaddrinfo("localhost", 0)}:
        other.close()
        pytest.skip("here localhost is 127.0.0.1 alone")
    with other:
        port = other.getsockname()[1]
        with pytest.raises(CarveError, match=rf"^Port {port} cannot be used.*$"):
            launch(design, browser=False, port=port)


def test_a_number_that_is_no_port_gives_one_sentence(design: Path) -> None:
    with pytest.raises(CarveError, match=r"^Port 70000 cannot be used.*$"):
        launch(design, browser=False, port=70000)


def test_a_missing_design_gives_one_sentence_and_no_notebook(tmp_path: Path) -> None:
    with pytest.raises(CarveError, match=r"^There is no design file wren\.toml in .*$"):
        launch(tmp_path / "wren.toml", browser=False)
    assert not list(tmp_path.iterdir())


def test_missing_jupyterlab_gives_one_sentence(
    design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lab, "find_spec", lambda name: None if name == "jupyterlab" else object())
    with pytest.raises(CarveError, match=r"needs jupyterlab, .*pip install jupyterlab$"):
        launch(design, browser=False)


@pytest.fixture
def as_root(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Root with Jupyter settings of their own; the folder of these."""
    monkeypatch.setattr(os, "geteuid", lambda: 0, raising=False)
    folder = tmp_path / "settings of Jupyter"
    folder.mkdir()
    monkeypatch.setenv("JUPYTER_CONFIG_DIR", str(folder))
    return folder


@pytest.fixture
def not_started(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Command lines that would have been run."""
    started: list[list[str]] = []

    def run(arguments: list[str], **_: Any) -> NoReturn:
        started.append(arguments)
        raise CarveError("not in this test")

    monkeypatch.setattr(subprocess, "Popen", run)
    return started


@pytest.mark.skipif(os.name != "posix", reason="root is of Unix")
def test_root_is_told_what_to_do_before_anything_is_started(
    design: Path, as_root: Path, not_started: list[list[str]]
) -> None:
    with pytest.raises(CarveError, match=r"^`carve lab` was started as root, .*ordinary user.*$"):
        launch(design, browser=False)
    assert not_started == []
    assert [path.name for path in design.parent.glob("wren*")] == ["wren.toml"]


@pytest.mark.skipif(os.name != "posix", reason="root is of Unix")
def test_what_root_is_told_to_set_lets_them_in(
    design: Path, as_root: Path, not_started: list[list[str]]
) -> None:
    with pytest.raises(CarveError) as refused:
        launch(design, browser=False)
    said = re.search(r"put (\{.*\}) into (.*)\.$", str(refused.value))
    assert said
    Path(said[2]).write_text(said[1], encoding="utf-8")
    with pytest.raises(CarveError, match="not in this test"):
        launch(design, browser=False)
    (arguments,) = not_started
    assert not [argument for argument in arguments if "allow" in argument and "root" in argument]


@pytest.mark.skipif(os.name != "posix", reason="root is of Unix")
@pytest.mark.parametrize(
    ("file", "says", "lets_in"),
    [
        ("jupyter_server_config.py", "c.ServerApp.allow_root = True", True),
        ("jupyter_lab_config.py", "c.ServerApp.allow_root = True", True),
        ("jupyter_server_config.py", "c.ServerApp.allow_root = False", False),
        ("jupyter_server_config.py", "c.ServerApp.ip = '0.0.0.0'", False),
    ],
)
def test_roots_own_settings_are_heeded(
    design: Path, as_root: Path, not_started: list[list[str]], file: str, says: str, lets_in: bool
) -> None:
    (as_root / file).write_text(says, encoding="utf-8")
    with pytest.raises(CarveError):
        launch(design, browser=False)
    assert bool(not_started) == lets_in
