"""What the lab shows is what the design says, whatever was turned before.

The reference is always a lab, or its views, that has shown nothing yet.
"""

import numpy as np
import pytest

from carve.design import Place, load, rewrite, value_at, with_values
from carve.design.io.dials import dials
from carve.design.io.toml_file import changed_keys
from carve.errors import CarveError
from carve.lab.app import Lab
from carve.lab.job_views import JobViews
from carve.parts.cache import forget_all
from carve.parts.job import make
from carve.shape.views.kit.section_cuts import SectionPlane

CHORD = 0.3  # mm; coarse, since nothing here is measured


@pytest.fixture
def examples(request):
    return request.config.rootpath / "examples"


def one_dial_of_each_group(design):
    """The first dial of each group that turns a number, a step up or down."""
    groups = {}
    for spec in dials(design):
        if spec.step is not None:
            groups.setdefault(spec.group, spec)
    return [
        (spec.key, value)
        for spec in groups.values()
        for value in [next_value(design, spec.key, spec.value, spec.step)]
        if value is not None
    ]


def next_value(design, key, value, step):
    for turned in (value + step, value - step):
        try:
            make(with_values(design, {key: turned}), CHORD)
        except CarveError:
            continue
        return turned
    return None


def shown(views, job):
    """All that is shown of a job, as plain values."""
    views.forget_missing(job)
    colours = views.colours(job)
    planes = views.section_planes(job)
    parts = {part.name: part for part in job.parts}
    middle = {name: sum(of.along) / 2 for name, of in planes.items()}
    first = next(iter(colours), "")
    return {
        "colours": colours,
        "drawings": views.drawings(job),
        "tables": views.tables(job),
        "sections": {
            name: views.section(job, parts[name], of.within(SectionPlane(middle[name])))
            for name, of in planes.items()
        },
        "layers": [
            (layer.name, layer.colour, layer.label, layer.range, _bytes(layer))
            for layer in views.layers(job, None, first)
        ],
    }


def _bytes(layer):
    values = b"" if layer.values is None else np.asarray(layer.values).tobytes()
    return layer.points.tobytes() + layer.triangles.tobytes() + values


OTHER_TURNS = [
    ("title", "Another name"),
    ("limits.wood_under_channel_good", 5.0),
    ("limits.wood_under_pockets", 7.5),
    ("limits.hollow_plate", 1.9),
    ("handed", "left"),
    ("neck.gauges", (Place(fret=3), Place(fret=9))),
    ("fretboard.table_step", 0.5),
    ("units", "in"),
    ("handed", "right"),
]


@pytest.mark.parametrize(
    "name", ["siskin", "kite", "linnet", pytest.param("dipper", marks=pytest.mark.slow)]
)
def test_after_any_turn_views_are_those_of_views_that_have_shown_nothing(examples, name):
    design = load(examples / f"{name}.toml")
    turns = [*one_dial_of_each_group(design), *OTHER_TURNS]
    views, counted = JobViews(), 0
    shown(views, make(design, CHORD))
    for key, value in turns:
        try:
            turned = with_values(design, {key: value})
            job = make(turned, CHORD)
        except CarveError:  # several dials together may ask for what cannot be
            continue
        design = turned
        counted += 1
        fresh = shown(JobViews(), job)
        for what, found in shown(views, job).items():
            assert found == fresh[what], (key, what)
    assert counted >= 9


def test_a_part_that_goes_and_comes_back_is_shown_as_at_first(examples):
    design = load(examples / "linnet.toml")
    without = with_values(design, {"body": None})
    views = JobViews()
    for one in (design, without, design):
        job = make(one, CHORD)
        assert shown(views, job) == shown(JobViews(), job)
        assert ("body, views" in views.drawings(job)) == (one.body is not None)


def test_a_turn_of_the_neck_leaves_the_bodys_views_and_layers_alone(examples):
    design = load(examples / "dipper.toml")
    views = JobViews()
    before = make(design, CHORD)
    after = make(with_values(design, {"neck.stations[0].thickness": 21.3}), CHORD)
    assert before.parts[0] is not after.parts[0]

    def of(job):
        pages = {**views.drawings(job), **views.tables(job)}
        layers = {id(layer): layer.name for layer in views.layers(job, None, "wood left")}
        return {name: id(page) for name, page in pages.items()}, layers

    (pages, layers), (later_pages, later_layers) = of(before), of(after)
    same = {name for name in pages if pages[name] == later_pages[name]}
    assert {"body, views", "body, maps", "body, tables", "fretboard, views"} <= same
    assert not {"neck, views", "neck, drawings"} & same
    kept = {layers[one] for one in layers.keys() & later_layers.keys()}
    assert {name.split(",")[0] for name in kept} == {"body", "fretboard"}


def state_of(lab):
    """What stands on a lab's page and in its scene."""
    scene = {
        name: (
            np.asarray(actor.mapper.dataset.points).tobytes(),
            np.asarray(actor.mapper.dataset.point_data.get("values", [])).tobytes(),
            actor.mapper.scalar_range if actor.mapper.scalar_visibility else None,
            actor.prop.color.hex_rgb,
        )
        for name, actor in lab._viewer._actors.items()
    }
    return {
        "scene": scene,
        "bars": {label: table.scalar_range for label, table in lab._viewer._tables.items()},
        "drawings": lab._drawings.text,
        "tables": lab._tables.text,
        "findings": lab._findings.value,
        "chart": lab._chart.value,
        "message": lab._message.value,
        "notice": lab._stale._notice.layout.display,
        "colours": lab._view_choice._colours.options,
        "sections": [box.children[1].value for box in lab._sections.box.children],
    }


@pytest.mark.parametrize("name", ["siskin", "brambling"])
def test_a_lab_after_many_turns_shows_what_a_new_lab_shows(examples, tmp_path, name):
    file = tmp_path / f"{name}.toml"
    file.write_text((examples / f"{name}.toml").read_text("utf-8"), "utf-8")
    lab = Lab(file)
    changes = {}
    for key, value in one_dial_of_each_group(lab.design):
        changes[key] = round(value, 3)
        lab._on_dial(key, changes[key])
    lab._on_dial("neck.stations[0].thickness", 1.0)  # which no neck can be
    assert "last one that could be made" in lab._stale._notice.value
    lab._on_dial("neck.stations[0].thickness", 22.0)
    lab._view_choice.box.children[1].value = "nothing"
    lab._view_choice.box.children[1].value = lab._view_choice._colours.options[0]
    anew = tmp_path / "anew" / file.name
    anew.parent.mkdir()
    anew.write_text(rewrite(file.read_text("utf-8"), lab.design), "utf-8")
    written = load(anew)  # an inch in a file has five decimals
    for key in changed_keys(lab.design, written):
        lab._on_dial(key, value_at(written, key))
    forget_all()
    fresh = Lab(anew)
    assert fresh.design == lab.design
    for mine, its in zip(lab._sections.box.children, fresh._sections.box.children, strict=True):
        for slider, other in zip(
            mine.children[0].children[1:], its.children[0].children[1:], strict=True
        ):
            other.value = slider.value  # a section stays where the builder looks at it
    one, other = state_of(lab), state_of(fresh)
    for what, found in one.items():
        assert found == other[what], what
