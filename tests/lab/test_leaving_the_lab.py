"""What leaves the lab is what its dials say when a button is pressed, and was proven; or nothing.

Files are read back by trimesh, by Python's own readers of JSON and TOML, and by `load`.
"""

import json
import shutil
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
import trimesh

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load
from carve.design.io.toml_file import changed_keys
from carve.errors import DesignError
from carve.lab.app import Lab
from carve.lab.buttons.answers import other_verdicts

EXAMPLES = Path(__file__).parents[2] / "examples"
FIRST, TWELFTH = "neck.stations[0].thickness", "neck.stations[2].thickness"
TOO_THIN = 14.0  # mm; board and channel together take 15.5


@pytest.fixture
def file(tmp_path):
    return Path(shutil.copy(EXAMPLES / "wren.toml", tmp_path))


@pytest.fixture
def lab(file):
    return Lab(file)


def walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)


def of_class(lab, name):
    """The widgets on a lab's page that have a class, each once."""
    found = [one for one in walk(lab.widget) if name in getattr(one, "_dom_classes", ())]
    return list(dict.fromkeys(found))


def turn(lab, key, number):
    """Write a number into the field of a dial, as a builder does."""
    (box,) = of_class(lab, "carve-" + key.replace("[", "-").translate({93: None, 46: 45, 95: 45}))
    box.children[1].value = number


def press(lab, button):
    """Press a button and give what stands beside it then."""
    (one,) = of_class(lab, button)
    one.click()
    return beside(lab, button)


def beside(lab, button):
    row = next(one for one in walk(lab.widget) if of_class(lab, button)[0] in children(one))
    return " ".join(row.children[-1].value.split())


def children(widget):
    return getattr(widget, "children", ())


@pytest.mark.parametrize(
    ("button", "done"), [("carve-export", "exported"), ("carve-save", "saved")]
)
def test_with_an_impossible_dial_nothing_is_written_and_the_button_says_why(
    lab, file, button, done
):
    before = sorted(file.parent.iterdir()), file.read_bytes()
    turn(lab, FIRST, TOO_THIN)
    told = press(lab, button)
    assert f"Nothing was {done}: {FIRST}: 14 mm is no more than fretboard and channel" in told
    assert (sorted(file.parent.iterdir()), file.read_bytes()) == before
    # put right, it is refused no longer, and the sentence that is no longer true is gone
    turn(lab, FIRST, 21.5)
    assert beside(lab, button) == ""
    assert "Nothing was" not in press(lab, button)


def test_what_the_lab_gives_to_another_cell_is_the_design_on_the_dials_or_nothing(lab):
    turn(lab, FIRST, TOO_THIN)
    with pytest.raises(DesignError, match="14 mm is no more than"):
        assert lab.design
    turn(lab, TWELFTH, 24.0)
    turn(lab, FIRST, 21.5)
    assert [s.thickness for s in lab.design.neck.stations] == [21.5, 22.2, 24.0]


def test_a_turn_that_is_still_waiting_is_finished_before_anything_leaves(lab, file, monkeypatch):
    monkeypatch.setattr(lab._turns, "submit", lambda turns: None)  # the loop has not come to it
    turn(lab, FIRST, 22.4)
    press(lab, "carve-export")
    press(lab, "carve-save")
    assert exported(file).neck.stations[0].thickness == 22.4
    assert load(file).neck.stations[0].thickness == 22.4
    turn(lab, FIRST, TOO_THIN)
    assert "Nothing was saved" in press(lab, "carve-save")
    assert load(file).neck.stations[0].thickness == 22.4


def test_what_was_written_is_not_taken_for_what_the_dials_say_later(lab, file):
    turn(lab, FIRST, 22.4)
    assert "saved" in press(lab, "carve-save")
    assert "turned since" not in beside(lab, "carve-save")
    turn(lab, FIRST, 22.6)
    turn(lab, FIRST, 22.7)
    told = beside(lab, "carve-save")
    assert told.count("the dials have been turned since") == 1
    assert "saved" in told
    assert "turned since" not in press(lab, "carve-save")
    assert load(file).neck.stations[0].thickness == 22.7


def test_a_turn_after_the_press_is_not_exported(lab, file, monkeypatch):
    presses = []
    monkeypatch.setattr(lab._exports, "submit_soon", lambda take: presses.append(take()))
    turn(lab, FIRST, 22.4)
    press(lab, "carve-export")
    turn(lab, FIRST, 23.5)
    lab._exports.submit(*presses)  # the loop comes to it only now
    assert exported(file).neck.stations[0].thickness == 22.4
    assert lab.design.neck.stations[0].thickness == 23.5
    assert "the dials have been turned since" in beside(lab, "carve-export")


def exported(file):
    return load(file.parent / "cut" / f"{file.stem}-as-exported.toml")


@pytest.mark.parametrize(
    ("name", "turns"),
    [
        ("wren", {FIRST: 21.3741, TWELFTH: 23.4}),
        ("wren", {"scale_length": 629.3, "neck.nut_width": 43.1}),  # spelled in inches there
        ("plover", {FIRST: 0.83217, "neck.nut_width": 1.65123}),
    ],
)
def test_dial_screen_file_and_mesh_say_the_same(tmp_path, name, turns):
    file = Path(shutil.copy(EXAMPLES / f"{name}.toml", tmp_path))
    lab = Lab(file)
    for key, number in turns.items():
        turn(lab, key, number)
    press(lab, "carve-export")
    written = exported(file)
    assert written == lab.design
    assert set(changed_keys(load(file), written)) == set(turns)
    # as Python reads the file: no digit more and none other than were typed, where the unit is
    # the file's own
    plain = tomllib.loads((file.parent / "cut" / f"{name}-as-exported.toml").read_text("utf-8"))
    for station, spelled in zip(written.neck.stations, plain["neck"]["stations"], strict=True):
        per = 25.4 if plain.get("units") == "in" else 1.0
        if isinstance(spelled["thickness"], float):
            assert station.thickness == spelled["thickness"] * per
    stl = trimesh.load_mesh(file.parent / "cut" / f"{name}-neck.stl")
    findings = {one.name: one for one in inspect(lab._drawn) if one.part == "neck"}
    for number, station in enumerate(written.neck.stations):
        section = stl.section((1, 0, 0), (written.place(station.at), 0, 0))
        cut = written.fretboard.thickness - float(section.vertices[:, 2].min())
        # a caliper measures the finish with the wood, a mesh is the wood alone
        assert cut + finish_on_it(written) == pytest.approx(station.thickness, abs=1e-4)
        found = findings[f"thickness:stations[{number}]"]
        assert found.value == pytest.approx(station.thickness, abs=1e-4)


def finish_on_it(design):
    """mm of finish between a caliper's jaws, on the neck's back and the fretboard's top."""
    films = design.finish.films if design.finish else ()
    return sum(film.thickness for film in films if {"neck back", "fretboard top"} & {*film.on})


def test_the_export_finds_what_the_screen_shows(lab, file):
    turn(lab, FIRST, 21.37)
    told = press(lab, "carve-export")
    manifest = json.loads((file.parent / "cut" / "wren-manifest.json").read_text("utf-8"))
    screen = inspect(lab._drawn)
    assert [(one["part"], one["check"], one["verdict"]) for one in manifest["findings"]] == [
        (one.part, one.check, one.verdict.value) for one in screen
    ]
    assert f"as exported: {len(screen)} findings, none failed" in told
    assert "on the screen" not in told


def test_a_verdict_that_is_another_in_the_finer_mesh_is_told(lab):
    screen = inspect(lab._drawn)
    one = next(f for f in screen if f.check == "chord error" and f.part == "neck")
    finer = [replace(f, verdict=Verdict.WARNING) if f is one else f for f in screen]
    (told,) = other_verdicts(finer, screen)
    assert told.startswith("neck, chord error (whole part): warning as exported, good on the")
    assert list(other_verdicts(screen, screen)) == []


def test_a_file_that_was_changed_elsewhere_is_left_alone_and_told(lab, file):
    turn(lab, FIRST, 21.5)
    other = file.read_text("utf-8").replace("thickness = 23.0", "thickness = 25.0")
    file.write_text(other, "utf-8")
    assert "nothing was saved" in press(lab, "carve-save")
    told = press(lab, "carve-export")
    assert file.read_text("utf-8") == other
    assert "wren.toml has been changed elsewhere since the lab read it" in told
    assert "The export has the design and the drawings as the lab has them" in told
    assert exported(file) == lab.design
    assert exported(file).neck.stations[2].thickness == 23.0


def test_a_drawing_that_was_changed_elsewhere_is_told_and_the_one_shown_is_exported(tmp_path):
    file = Path(shutil.copy(EXAMPLES / "dotterel.toml", tmp_path))
    (tmp_path / "outlines").mkdir()
    drawing = Path(shutil.copy(EXAMPLES / "outlines" / "dotterel.svg", tmp_path / "outlines"))
    was = drawing.read_bytes()
    lab = Lab(file)
    drawing.write_bytes(was + b"<!-- redrawn -->")
    told = press(lab, "carve-export")
    assert "has been changed since it was read" in told
    assert (tmp_path / "cut" / "dotterel-drawing-dotterel.svg").read_bytes() == was


def test_what_is_shown_is_marked_as_not_current_and_unmarked(lab):
    notice = of_class(lab, "carve-notice")[0]
    assert notice.layout.display == "none"
    assert not of_class(lab, "carve-stale")
    before = lab._drawings.text, lab._findings.value
    turn(lab, FIRST, TOO_THIN)
    assert notice.layout.display != "none"
    assert "Not the design on the dials: shows the last one that could be made" in notice.value
    dimmed = {id(one) for box in of_class(lab, "carve-stale") for one in walk(box)}
    for shown in (lab._viewer.widget, lab._sections.box, lab._drawings.box, lab._chart):
        assert id(shown) in dimmed
    assert {id(lab._tables.box), id(lab._findings)} <= dimmed
    assert (lab._drawings.text, lab._findings.value) == before
    turn(lab, FIRST, 21.5)
    assert notice.layout.display == "none"
    assert not of_class(lab, "carve-stale")


def test_the_dial_at_fault_is_marked_in_words_and_its_folded_heading_too(lab):
    turn(lab, "neck.truss_rod.width", 200.0)
    (dial,) = of_class(lab, "carve-marked")
    assert "carve-neck-truss-rod-width" in dial._dom_classes
    (sentence,) = of_class(lab, "carve-at-dial")
    assert 'role="alert"' in sentence.value
    assert "neck.truss_rod.width: 200 mm is not allowed; from 1 mm to 30 mm" in sentence.value
    (folded,) = [one for one in walk(lab.widget) if hasattr(one, "titles")]
    marked = [title for title in folded.titles if "see the marked dial" in title]
    assert marked == ["\N{BALLOT X} neck truss rod: see the marked dial"]
    assert dial in folded.children[folded.titles.index(marked[0])].children
    assert dial.children[-1] is sentence
    turn(lab, "neck.truss_rod.width", 6.0)
    assert not of_class(lab, "carve-marked")
    assert not of_class(lab, "carve-at-dial")
    assert "neck truss rod" in folded.titles


@pytest.mark.parametrize("where", ["app.inspect", "job_views.JobViews.drawings", "state.make"])
def test_a_fault_of_the_program_is_said_and_nothing_leaves(lab, file, monkeypatch, where):
    def breaks(*_):
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(f"carve.lab.{where}", breaks)
    turn(lab, FIRST, 22.5)
    assert "division by zero" in lab._message.value
    assert of_class(lab, "carve-stale")
    assert "Nothing was exported: division by zero" in press(lab, "carve-export")
    assert not (file.parent / "cut").exists()


def test_a_file_that_cannot_be_shaped_opens_with_its_dials(tmp_path):
    file = tmp_path / "sanderling.toml"
    text = (EXAMPLES / "sanderling.toml").read_text("utf-8")
    file.write_text(text.replace("waist_at = 168.0", "waist_at = 60.0"), "utf-8")
    lab = Lab(file)
    assert "body.outline.bouts.waist_at: 60 mm is not allowed" in lab._message.value
    assert "Nothing was exported" in press(lab, "carve-export")
    turn(lab, "body.outline.bouts.waist_at", 168.0)
    assert lab._message.value == lab._said.value == ""
    assert "sanderling" in lab._drawings.text.lower()
