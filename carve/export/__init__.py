"""Files for CAM and for the record. Each writer turns a job into one kind of file."""

from carve.export.bundle import Export, export

__all__ = ["Export", "export"]
