"""Pictures of a checked build: each a small record of its numbers, and the drawing of that record."""

from compat.paper.pictures.kinds import PICTURES, Data, Kind, computed, drawn, picture
from compat.paper.pictures.numbers import Nothing

__all__ = ["PICTURES", "Data", "Kind", "Nothing", "computed", "drawn", "picture"]
