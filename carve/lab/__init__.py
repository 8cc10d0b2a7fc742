"""The lab: a design shaped live in JupyterLab. ``Lab("wren.toml")`` in a cell shows it."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from carve.lab.app import Lab

__all__ = ["Lab"]


def __getattr__(name: str) -> Any:
    # late, so that `carve lab` can start, and say what is missing, without the 3D libraries
    if name == "Lab":
        from carve.lab.app import Lab

        return Lab
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
