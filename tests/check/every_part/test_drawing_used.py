"""All of a drawing on the layers asked for is used, or the finding tells what is not and where.

Places are by hand: a rectangle of 300 mm by 200 mm stands on a page of 1 mm a unit, its edge
toward the neck 50 mm below the top and its centre line 150 mm from the left. Drawings as programs
write them: common practice.
"""

import io
from pathlib import Path
from typing import Any

import ezdxf
import pytest

import carve
from carve.check.finding import Finding, Verdict
from carve.errors import DesignError

EXAMPLES = Path(__file__).parents[3] / "examples"
RIM = "M 50 50 h 200 v 300 h -200 z"
HOLE = "M 100 100 h 20 v 40 h -20 z"


def page(inside: str = "", rim: str = RIM, on_rim: str = "", around: str = "") -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" '
        f'viewBox="0 0 400 400"><g id="body"><path id="rim" {on_rim} d="{rim}"/>{inside}</g>'
        f"{around}</svg>"
    ).encode()


def made(
    folder: Path, data: bytes, name: str = "body.svg", asks: str = 'layer = "body"', more: str = ""
) -> Any:
    """The body of a design that has this drawing for its outline."""
    before, _, rest = (EXAMPLES / "dotterel.toml").read_text().partition("[body.outline]")
    _, blank, after = rest.partition("[body.blank]")
    (folder / name).write_bytes(data)
    (folder / "design.toml").write_text(
        f'{before}[body.outline]\nfile = "{name}"\ncentre_at = 150\nlength = 300\n{asks}\n'
        f"{more}\n{blank}{after}"
    )
    return carve.make(carve.load(folder / "design.toml"), only=["body"])


def found(*args: Any, **keys: Any) -> Finding:
    (finding,) = [
        one for one in carve.inspect(made(*args, **keys)) if one.name == "drawing-used:outline"
    ]
    return finding


@pytest.mark.parametrize("name", ["bittern", "dotterel", "lapwing", "merlin", "wigeon", "ouzel"])
def test_our_own_drawings_are_used_whole(name: str) -> None:
    design = carve.load(EXAMPLES / f"{name}.toml")
    findings = carve.inspect(carve.make(design, only=["neck" if name == "ouzel" else "body"]))
    (used,) = [one for one in findings if one.name.startswith("drawing-used")]
    assert (used.verdict, used.value, used.limit, used.detail) == (Verdict.GOOD, 0, 0, "")


def test_a_second_closed_shape_on_the_layer_fails_with_its_place(tmp_path: Path) -> None:
    finding = found(tmp_path, page(f'<path id="hole" d="{HOLE}"/>'))
    assert (finding.verdict, finding.value, finding.limit) == (Verdict.FAILED, 1, 0)
    assert finding.id == "body.drawing-used:outline"
    assert finding.check == "all of the drawing on its layer is used"
    assert finding.detail == 'closed curve "hole", 20 mm x 40 mm, at x 110 mm, y 120 mm'
    assert "x 110 mm, y 120 mm" in finding.place
    assert "[[body.pockets]]" in finding.advice
    # 70 mm from the edge, 40 mm to the bass side, on the left of a page with the neck up
    assert finding.point == pytest.approx((70, -40, 0))


def test_every_hole_of_a_compound_path_is_told(tmp_path: Path) -> None:
    holes = HOLE + " M 180 100 h 20 v 40 h -20 z M 150 200 h 5 v 5 z"
    for asks in ('layer = "body"', 'curve = "rim"', ""):
        finding = found(tmp_path, page(rim=RIM + holes), asks=asks)
        assert (finding.verdict, finding.value) == (Verdict.FAILED, 3)


def test_pockets_on_their_layers_are_used(tmp_path: Path) -> None:
    pocket = '[[body.pockets]]\nname = "p"\nkind = "pickup"\nshape = "drawing"\n'
    data = page(around=f'<g id="pickup"><path d="{HOLE}"/><text>a</text></g>')
    finding = found(tmp_path, data, more=f'{pocket}layer = "pickup"\ndepth = 9\n')
    assert finding.value == 1  # the words among the pockets
    assert finding.detail.startswith("words")
    # a pocket may ask for the outline's own layer, too
    finding = found(
        tmp_path, page(f'<path d="{HOLE}"/>'), more=f'{pocket}layer = "body"\ndepth = 9\n'
    )
    assert (finding.verdict, finding.value) == (Verdict.GOOD, 0)


def test_what_is_not_asked_for_is_not_told(tmp_path: Path) -> None:
    data = page(around=f'<g id="notes"><path d="{HOLE}"/><text>a</text></g>')
    for asks in ('layer = "body"', 'curve = "rim"', ""):
        assert found(tmp_path, data, asks=asks).value == 0
    data = page(f'<path d="{HOLE}"/><text>a</text>')
    assert found(tmp_path, data, asks='curve = "rim"').value == 0
    assert found(tmp_path, data, asks="").value == 2


def test_what_is_hidden_is_not_cut_and_told_of_without_failing(tmp_path: Path) -> None:
    inside = f'<path d="{HOLE}" visibility="hidden"/><path d="{HOLE}" display="none"/>'
    finding = found(tmp_path, page(inside))
    assert finding.verdict is Verdict.GOOD
    assert "1 not shown in the drawing and not cut: it has visibility: hidden" in finding.detail
    assert "1 not shown in the drawing and not cut: it has display: none" in finding.detail


def test_a_clip_path_fails_where_it_cuts_and_not_where_it_does_not(tmp_path: Path) -> None:
    clip = '<clipPath id="c"><rect width="400" height="{}"/></clipPath>'
    whole = found(tmp_path, page(clip.format(400), on_rim='clip-path="url(#c)"'))
    assert (whole.verdict, whole.value) == (Verdict.GOOD, 0)
    cut = found(tmp_path, page(clip.format(200), on_rim='clip-path="url(#c)"'))
    assert (cut.verdict, cut.value) == (Verdict.FAILED, 1)
    assert cut.detail.startswith('curve cut off by a clip path "rim"')
    assert "draw a curve that is cut off as it is to be cut" in cut.advice
    masked = found(tmp_path, page('<mask id="m"/>', on_rim='mask="url(#m)"'))
    assert masked.detail.startswith('curve cut off by a mask "rim"')


def test_the_outline_may_be_drawn_twice_and_have_no_length_in_it(tmp_path: Path) -> None:
    inside = '<path d="M 250 50 v 300 h -200 v -300 z"/><path d="M 60 60 C 60 60 60 60 60 60"/>'
    finding = found(tmp_path, page(inside))
    assert (finding.verdict, finding.value) == (Verdict.GOOD, 0)
    assert finding.detail == "the outline is drawn 2 times, and cut once"


def test_without_a_layer_open_lines_are_told_but_for_the_centre_line(tmp_path: Path) -> None:
    inside = '<path d="M 150 20 V 380"/>'
    assert found(tmp_path, page(inside), asks="").value == 0
    finding = found(tmp_path, page(inside + '<path d="M 100 100 H 120"/>'), asks="")
    assert finding.detail == "open curve, 20 mm x 0 mm, at x 110 mm, y 100 mm"
    assert finding.advice == "put what is not to be cut on another layer"


def test_only_the_first_few_are_listed_the_largest_first(tmp_path: Path) -> None:
    inside = "".join(f'<path d="M {60 + 20 * n} 70 h {n + 2} v 3 z"/>' for n in range(6))
    finding = found(tmp_path, page(inside))
    assert finding.value == 6
    assert finding.detail.startswith("closed curve, 7 mm x 3 mm")
    assert finding.detail.endswith("; and 3 more")


def test_a_headstock_s_drawing_is_looked_at_too(tmp_path: Path) -> None:
    data = (EXAMPLES / "outlines" / "ouzel-headstock.svg").read_text()
    # 60 mm over the nut's edge and 10 mm to the right of the centre line, as the page has it
    (tmp_path / "head.svg").write_text(
        data.replace("</g>", '<path d="M 68 138 h 4 v 4 h -4 z"/></g>', 1)
    )
    text = (EXAMPLES / "ouzel.toml").read_text()
    (tmp_path / "design.toml").write_text(text.replace("outlines/ouzel-headstock", "head"))
    design = carve.load(tmp_path / "design.toml")
    findings = carve.inspect(carve.make(design, only=["neck"]))
    (finding,) = [one for one in findings if one.name.startswith("drawing-used")]
    assert finding.id == "neck.drawing-used:headstock.drawn"
    assert (finding.verdict, finding.value) == (Verdict.FAILED, 1)
    assert "x 70 mm, y 140 mm" in finding.place
    assert "pockets" not in finding.advice
    assert finding.point is not None
    x, y, z = finding.point
    assert (x**2 + z**2) ** 0.5 == pytest.approx(60, abs=1)
    assert (x < 0, z <= 0, y) == (True, True, pytest.approx(10))


# what cannot be used at all


def document(layer: str = "BODY") -> Any:
    new = ezdxf.new("R2010", units=4)
    new.layers.add(layer)
    corners = [(50, -50), (250, -50), (250, -350), (50, -350)]
    new.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
    return new


def written(new: Any) -> bytes:
    text = io.StringIO()
    new.write(text)
    data: bytes = new.encode(text.getvalue())
    return data


@pytest.mark.parametrize("state", ["frozen", "off"])
def test_a_layer_that_is_not_shown_is_said_to_be_so(tmp_path: Path, state: str) -> None:
    new = document()
    layer = new.layers.get("BODY")
    (layer.freeze if state == "frozen" else layer.off)()
    with pytest.raises(DesignError) as alone:
        made(tmp_path, written(new), "body.dxf")
    assert f'shows no lines and no curves: layer "BODY" is {state}' in str(alone.value)
    new.modelspace().add_circle((0, 0), 9, dxfattribs={"layer": "notes"})
    with pytest.raises(DesignError) as caught:
        made(tmp_path, written(new), "body.dxf")
    (said,) = caught.value.problems
    assert said == (
        f'body.outline.layer: "body.dxf" does not show what layer "body" holds: layer "BODY" is '
        f"{state}; show it there, or name another layer"
    )


def test_a_hidden_curve_that_is_asked_for_by_its_id_is_said_to_be_so(tmp_path: Path) -> None:
    data = page(f'<path d="{HOLE}"/>', on_rim='style="display:none"')
    with pytest.raises(DesignError, match='does not show the curve "rim": it has display: none'):
        made(tmp_path, data, asks='curve = "rim"')


def test_a_hole_is_not_taken_for_the_outline_that_is_hidden_without_a_word(tmp_path: Path) -> None:
    data = page('<path d="M 140 100 h 20 v 40 h -20 z"/>', on_rim='style="display:none"')
    with pytest.raises(DesignError, match=r"40 mm long; .*not shown: it has display: none"):
        made(tmp_path, data)


def test_an_open_outline_says_that_there_is_more_which_is_hidden(tmp_path: Path) -> None:
    data = page('<path d="M 50 50 v 300" visibility="hidden"/>', rim="M 50 50 h 200 v 300 h -200")
    with pytest.raises(DesignError, match=r"is open at .*not show \(it has visibility: hidden"):
        made(tmp_path, data)


def test_a_block_that_was_never_scaled_is_refused_with_both_units(tmp_path: Path) -> None:
    new = ezdxf.new("R2010", units=4)
    block = new.blocks.new("SHAPE")
    block.block_record.dxf.units = 1
    corners = [(50, -50), (250, -50), (250, -350), (50, -350)]
    block.add_lwpolyline([(x / 25.4, y / 25.4) for x, y in corners], close=True)
    insert = new.modelspace().add_blockref("SHAPE", (0, 0), dxfattribs={"layer": "BODY"})
    with pytest.raises(DesignError) as caught:
        made(tmp_path, written(new), "body.dxf")
    (said,) = caught.value.problems
    assert said == (
        'body.outline.file: in "body.dxf" the block "SHAPE" counts in inches, but is inserted '
        "without a scale where millimetres count; scale it by 25.4 in the drawing, or give the "
        "block its drawing's unit"
    )
    insert.set_scale(25.4)
    finding = found(tmp_path, written(new), "body.dxf")
    assert (finding.verdict, finding.value) == (Verdict.GOOD, 0)
