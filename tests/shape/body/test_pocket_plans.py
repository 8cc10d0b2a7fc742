"""Every shape a pocket may have is handled everywhere: in its rules and in its plan."""

from typing import get_args

from carve.design.rules.body import SIZES
from carve.design.schema.body import Pocket, PocketShape
from carve.shape.body.pocket_plans import PLANS


def test_each_shape_has_a_plan_and_sizes_of_its_own() -> None:
    assert set(PLANS) == set(get_args(PocketShape)) == set(SIZES)
    assert len(set(PLANS.values())) == len(PLANS)


def test_each_size_is_a_key_of_a_pocket() -> None:
    assert {size for sizes in SIZES.values() for size in sizes} <= set(Pocket.model_fields)
