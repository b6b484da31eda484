"""Lists of three invented suppliers, 2 000 rows together, made anew for each test from a seed.

The first row of each kind says what a part of the demo shop says, in the supplier's own way of writing; so what
is checked with it must come out as with that part.
"""

from __future__ import annotations

import io
import random
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from compat.library.library import Library
from compat.library.sources import demo_folder
from compat.lists.comparing import shown_value

SUPPLIERS = """
# Three more, for their lists.

- supplier: ostermoor
  name: Ostermoor Kolbenbau
  currency: EUR
  lead: 12 days

- supplier: tollgate
  name: Tollgate Rods
  currency: GBP
  lead: 9 days

- supplier: cutbank
  name: Cutbank Shell Company
  currency: USD
  lead: 20 days
"""
DATED = ("--dated", "2026-11-02", "--until", "2027-04-30")
PISTON, ROD, SHELL = "hg-piston-860-308-d120", "sf-rod-1480-h-22", "hd-rod-std"
ROWS = {"ostermoor": 800, "tollgate": 700, "cutbank": 500}


@dataclass(frozen=True)
class SupplierList:
    """A list, its mapping, and what it must come to."""

    supplier: str
    file: Path
    map: Path
    first: str
    """Id that the part gets which is that of the demo."""
    like: str
    """The part of the demo that it is like."""


def own_shop(folder: Path) -> Path:
    """A copy of the demo shop with the three suppliers in it."""
    for name in ("catalog", "rules"):
        shutil.copytree(demo_folder() / name, folder / name)
    suppliers = folder / "catalog/suppliers.yaml"
    suppliers.write_text(suppliers.read_text() + SUPPLIERS)
    info = folder / "catalog/shop.yaml"
    text = info.read_text()
    rate = "    EUR: {rate: 0.8640, on: 2026-11-02}\n"
    assert rate in text
    info.write_text(text.replace(rate, f"{rate}    USD: {{rate: 0.7550, on: 2026-11-02}}\n"))
    return folder


def three(folder: Path, library: Library, seed: int = 7, share: int = 1) -> list[SupplierList]:
    """Make the three lists and their mappings in a folder, with all rows or a share of them."""
    chance = random.Random(seed)
    rows = {supplier: count // share for supplier, count in ROWS.items()}
    return [
        _ostermoor(folder, library, chance, rows["ostermoor"]),
        _tollgate(folder, library, chance, rows["tollgate"]),
        _cutbank(folder, library, chance, rows["cutbank"]),
    ]


def _specs(library: Library, part: str) -> dict[str, str]:
    """What a part of the demo says that a list can hold."""
    kinds = library.shop.kinds[library.shop.parts[part].fills[0]]
    return {
        name: shown_value(spec)
        for name, spec in library.shop.specs[part].items()
        if kinds[name].sort in ("quantity", "choice", "flag", "text")
    }


def _map(folder: Path, supplier: str, tables: Sequence[Mapping[str, Any]], **more: str) -> Path:
    path = folder / f"{supplier}.yaml"
    data = {"list": f"{supplier}-autumn", "supplier": supplier, **more, "tables": list(tables)}
    path.write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True))
    return path


def _fields(
    library: Library, position: str, headings: Mapping[str, str], words: Mapping[str, str]
) -> dict[str, Any]:
    """Specs of a mapping: each with its column, unit and words."""
    kinds = library.shop.kinds[position]
    made: dict[str, Any] = {}
    for spec, heading in headings.items():
        made[spec] = {"column": heading}
        if kinds[spec].sort == "quantity" and kinds[spec].unit:
            made[spec]["unit"] = kinds[spec].unit
        if kinds[spec].sort in ("choice", "flag") and words:
            here_known = kinds[spec].words or ("yes", "no")
            own = {there: here for there, here in words.items() if here in here_known}
            made[spec]["words"] = own
    return made


# ---- pistons: CSV, semicolons, decimal commas, a code page, sizes


GERMAN = {
    "forged_high_silicon": "geschmiedet, hochsiliziert",
    "floating": "schwimmend",
    "yes": "ja",
    "no": "nein",
}


def _comma(text: str) -> str:
    return text.replace(".", ",")


def _ostermoor(folder: Path, library: Library, chance: random.Random, rows: int) -> SupplierList:
    specs = _specs(library, PISTON)
    headings = {name: f"{name.replace('_', ' ')} ({n})" for n, name in enumerate(specs)}
    headings |= {"mass": "Gewicht g", "bore_size": "Ø Bohrung mm", "compression_height": "Kompressionshöhe"}
    kinds = library.shop.kinds["piston"]
    lines = ["Ostermoor Kolbenbau, Preisliste Herbst;;", ";;"]
    lines.append(";".join(["Art.-Nr.", "Bezeichnung", *headings.values(), "Übermaß", "Preis", "VPE", "Status"]))
    for number in range(rows):
        own = dict(specs)
        if number:
            height = 28 + chance.randrange(600) / 100
            own |= {"compression_height": f"{height:.2f} mm ±0.03", "mass": f"{chance.randrange(290, 380)} g"}
        cells = [GERMAN.get(text, text) for text in own.values()]
        said = [
            _comma(text.removesuffix(f" {kinds[name].unit}")) if kinds[name].sort == "quantity" else text
            for name, text in zip(own, cells, strict=True)
        ]
        sizes = chance.choice(["STD", "STD/+0,25/+0,50", "STD/+0,50"]) if number else "STD"
        price = (
            "€ 1.204,50" if number == 5 else f"{chance.randrange(40000, 99900) / 100:.2f} €".replace(".", ",")
        )
        status = "auslaufend" if number % 97 == 50 else ""
        price = "auf Anfrage" if number % 101 == 60 else price
        lines.append(";".join([f"OK-{1000 + number}", f"Kolben Ø {number}", *said, sizes, price, "4", status]))
    file = folder / "ostermoor.csv"
    file.write_bytes("\r\n".join(lines).encode("cp1252"))
    table = {
        "code": "Art.-Nr.",
        "name": "Bezeichnung",
        "fills": {"is": "piston"},
        "families": ["tarn"],
        "includes": ["hg-pin-22", "hg-clip-22"],
        "specs": _fields(library, "piston", headings, {there: here for here, there in GERMAN.items()}),
        "sizes": {"column": "Übermaß", "adds": {"bore_size": 1, "skirt_diameter": 1}},
        "price": {"column": "Preis", "none": ["auf Anfrage"]},
        "pack": "VPE",
        "leave_out": [{"column": "Status", "is": "auslaufend"}],
    }
    return SupplierList("ostermoor", file, _map(folder, "ostermoor", [table]), "ostermoor-ok-1000", PISTON)


# ---- rods: XLSX, two sheets, merged headings, merged cells, what is hidden


def _tollgate(folder: Path, library: Library, chance: random.Random, rows: int) -> SupplierList:
    from openpyxl import Workbook

    specs = _specs(library, ROD)
    kinds = library.shop.kinds["rod"]
    book = Workbook()
    old = book.active
    assert old is not None
    old.title = "last year"
    old.append(["Code", "Description"])
    old.append(["00001", "gone"])
    old.sheet_state = "hidden"
    bores = [name for name in specs if name.startswith(("big_end", "small_end"))]
    others = [name for name in specs if name not in bores]
    sheets = {"H section": rows // 2, "I section": rows - rows // 2}
    tables, code = [], 100
    for title, count in sheets.items():
        sheet = book.create_sheet(title)
        sheet["A1"] = f"Tollgate Rods: {title}"
        sheet.merge_cells("A1:H1")
        sheet["C3"] = "Ends"
        sheet.merge_cells(start_row=3, start_column=3, end_row=3, end_column=2 + len(bores))
        head = ["Code", "Description", *(name.replace("_", " ") for name in [*bores, *others]), "Price", "Days"]
        for at, text in enumerate(head, 1):
            sheet.cell(4, at, text)
        for number in range(count):
            own = dict(specs)
            if code > 100:
                own["centre_length"] = f"{chance.randrange(13000, 15500) / 100:.2f} mm ±0.02"
                own["mass"] = f"{chance.randrange(480, 620)} g"
            row = 5 + number
            sheet.cell(row, 1, code).number_format = "00000"
            sheet.cell(row, 2, f"{title} rod {code}")
            for at, name in enumerate([*bores, *others], 3):
                sheet.cell(row, at, _number(own[name].removesuffix(f" {kinds[name].unit}")))
            sheet.cell(row, len(head) - 1, chance.randrange(50000, 90000) / 100).number_format = '"£"#,##0.00'
            sheet.cell(row, len(head), chance.choice([7, "10 days", "2 weeks"]))
            code += 1
        # one material for three rods below each other
        at = head.index("material") + 1
        sheet.merge_cells(start_row=8, start_column=at, end_row=10, end_column=at)
        sheet.row_dimensions[12].hidden = True
        headings = {name: f"Ends / {name.replace('_', ' ')}" for name in bores}
        headings |= {name: name.replace("_", " ") for name in others}
        tables.append(
            {
                "sheet": title,
                "code": "Code",
                "name": "Description",
                "fills": {"is": "rod"},
                "families": ["tarn"],
                "includes": ["sf-bolt-m9"],
                "part": "tg-{Code}",
                "specs": _fields(library, "rod", headings, {}),
                "price": {"column": "Price", "per": "piece"},
                "pack": {"is": "4"},
                "lead": "Days",
            }
        )
    file = folder / "tollgate.xlsx"
    out = io.BytesIO()
    book.save(out)
    file.write_bytes(out.getvalue())
    return SupplierList("tollgate", file, _map(folder, "tollgate", tables), "tg-00100", ROD)


def _number(text: str) -> str | float:
    try:
        return float(text)
    except ValueError:
        return text


# ---- shells: CSV, commas, inches


def _inches(text: str) -> str:
    """A length in millimetres in inches, its tolerance too."""
    number, _, tail = text.partition(" mm")
    ends = "/".join(f"{float(end) / 25.4:+.9f}" for end in tail.strip().lstrip("±").split("/")) if tail else ""
    mark = "±" if "±" in tail else ""
    return f"{float(number) / 25.4:.9f} {mark}{ends.lstrip('+') if mark else ends}".strip()


def _cutbank(folder: Path, library: Library, chance: random.Random, rows: int) -> SupplierList:
    specs = _specs(library, SHELL)
    kinds = library.shop.kinds["rod_bearing"]
    long = [name for name in specs if kinds[name].unit == "mm"]
    headings = {
        name: f"{name.replace('_', ' ')} (in)" if name in long else name.replace("_", " ") for name in specs
    }
    lines = [",".join(["Part No.", "Description", *headings.values(), "Undersizes", "Each", "10 up"])]
    for number in range(rows):
        own = {name: _inches(text) if name in long else text for name, text in specs.items()}
        if number:
            own["width"] = chance.choice(["45/64", "11/16", '3/4"', "0.7087", "23/32 in"])
        sizes = chance.choice(["STD", "STD | .010 | .020"]) if number else "STD"
        price = chance.randrange(900, 1900) / 100
        cells = [_bare(text, kinds[name].unit) for name, text in own.items()]
        quoted = [
            f'"{cell.replace(chr(34), chr(34) * 2)}"' if '"' in cell or "," in cell else cell for cell in cells
        ]
        ends = [sizes, f"${price:.2f}", f"${price * 0.9:.2f}"]
        lines.append(",".join([f"CB{number:04}", f'"Rod shells, no. {number}"', *quoted, *ends]))
    file = folder / "cutbank.csv"
    file.write_text("\n".join(lines), encoding="utf-8")
    fields = _fields(library, "rod_bearing", headings, {})
    for name in long:
        fields[name]["unit"] = "in"
    table = {
        "code": "Part No.",
        "name": "Description",
        "fills": {"is": "rod_bearing"},
        "families": ["tarn"],
        "specs": fields,
        "sizes": {
            "column": "Undersizes",
            "split": "|",
            "unit": "in",
            "adds": {"shell_thickness": 0.5},
            "states": "undersize",
            "code": "{code}-{digits}",
        },
        "price": "Each",
        "breaks": [{"packs": 10, "column": "10 up"}],
    }
    path = _map(folder, "cutbank", [table], decimal=".")
    return SupplierList("cutbank", file, path, "cutbank-cb0000", SHELL)


def _bare(text: str, unit: str) -> str:
    return text.removesuffix(f" {unit}") if unit else text
