"""Pictures of a checked build: each made of a small record of its numbers, computed in one place and drawn in another."""

from compat.paper.pictures.numbers import Nothing
from compat.paper.pictures.kinds import PICTURES, Data, Kind, computed, drawn, picture

__all__ = ["PICTURES", "Data", "Kind", "Nothing", "computed", "drawn", "picture"]
