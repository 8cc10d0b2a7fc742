"""A block of a body in which pockets are tried."""

import pytest
from outlines import BLOCK

from carve.design import load, with_values
from carve.parts.body import BODY
from carve.parts.job import shape_of


@pytest.fixture(scope="module")
def linnet(request):
    return load(request.config.rootpath / "examples" / "linnet.toml")


@pytest.fixture(scope="module")
def block(linnet):
    """A block of 300 x 200 x 40 mm with some pockets, as a shape."""

    def made(*pockets, bores=(), hollow=None):
        changes = {
            "body.outline": BLOCK,
            "body.thickness": 40.0,
            "body.pockets": list(pockets),
            "body.bores": list(bores),
            "body.hollow": hollow,
        }
        return shape_of(BODY, with_values(linnet, changes))

    return made
