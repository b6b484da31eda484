"""A small list for the small shop, and ways to spoil it."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Ran, Run
from tests.conftest import Tiny

HEAD = "Code;Name;Skirt;Height;Pin;Price;Pack"
ROWS = (
    "P-1;Piston one;74,500;31,00;floating;120,00;4",
    "P-2;Piston two;75,000;31,00;floating;130,00;4",
    "P-3;Piston three;75,500;31,00;pressed;1.140,50;4",
)
MAP = """\
list: quay-pistons
supplier: quayside
tables:
  - code: Code
    name: Name
    fills: {is: piston}
    families: [hob]
    specs:
      skirt_diameter: {column: Skirt, unit: mm}
      compression_height: {column: Height, unit: mm}
      pin_retention: Pin
    price: Price
    pack: Pack
"""


class Small:
    """The small shop with a list beside it, to be edited and brought."""

    def __init__(self, tiny: Tiny, run: Run, folder: Path) -> None:
        self.tiny, self.run, self.folder = tiny, run, folder
        self.list, self.map = folder / "list.csv", folder / "map.yaml"
        self.rows(*ROWS)
        self.map.write_text(MAP, encoding="utf-8")

    def rows(self, *rows: str, head: str = HEAD) -> None:
        self.list.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")

    def edit_map(self, old: str, new: str) -> None:
        text = self.map.read_text(encoding="utf-8")
        assert old in text
        self.map.write_text(text.replace(old, new, 1), encoding="utf-8")

    def bring(self, *more: object, dated: str = "2026-11-02") -> Ran:
        words = ("--dated", dated) if dated else ()
        return self.run("bring", self.list, "--by", self.map, "--shop", self.tiny.folder, *words, *more)

    @property
    def parts(self) -> str:
        return self.tiny.text("catalog/parts/quay_pistons.yaml")
