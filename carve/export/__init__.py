"""Files for CAM and for the record. Each writer turns a job into one kind of file.

``carve.export`` is this room, and for those who use the library it is the call that opens it:
Python puts a room into its house under its own name, so the room itself can be called.
"""

import sys
from types import ModuleType
from typing import Any

from carve.export.bundle import Export, export

__all__ = ["Export", "export"]


class _Callable(ModuleType):
    """A room that does what its one door does."""

    __wrapped__ = staticmethod(export)  # whose signature a help page shows

    def __call__(self, *arguments: Any, **options: Any) -> Export:
        return export(*arguments, **options)


sys.modules[__name__].__class__ = _Callable
