"""A file of a supplier and its mapping, held against a shop: what would come of bringing it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from compat.lists.comparing import Bringing, compare
from compat.lists.csv_reading import read_csv
from compat.lists.grid import SupplierFile
from compat.lists.mapping import ListMap, read_map
from compat.lists.memory import remembered
from compat.lists.taking import take
from compat.lists.taking_back import is_own, take_back
from compat.lists.xlsx_reading import read_workbook
from compat.record import record
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Node, Spot, nearest, read_bytes

__all__ = ["ENDINGS", "Asked", "bring", "bring_back", "read_file"]

MOST_BYTES = 20_000_000
OWN_PARTS = "catalog/parts/of_the_workbook.yaml"
"""File of parts that somebody put into a workbook."""
ENDINGS = (".csv", ".txt", ".tsv", ".xlsx", ".xlsm")


@record
class Asked:
    """What is said of a list beside its mapping."""

    day: date | None = None
    expires: date | None = None
    over: bool = False
    """Whether the list's word goes over the shop's own."""
    shown: str = ""
    """How messages name the list; else by its path."""
    shown_map: str = ""
    """How they name its mapping; else by its path."""


def read_file(
    path: Path, encoding: str | None = None, separator: str | None = None, shown: str = ""
) -> SupplierFile:
    """Read a file of a supplier, as its ending says.

    Parameters
    ----------
    path : Path
        CSV or XLSX.
    encoding, separator : str, optional
        How a CSV file is written, where that is known.
    shown : str, optional
        How messages name it; else by its path.

    Raises
    ------
    Faults
        When it is neither, or cannot be read.
    """
    shown, ending = shown or str(path), path.suffix.lower()
    if ending not in ENDINGS:
        hint = nearest(ending, ENDINGS) or f"; save it as one that ends in {', '.join(ENDINGS)}"
        raise Faults([Fault(Spot(shown, 0), f"'{ending or 'no ending'}' is no ending of a list{hint}")])
    raw = read_bytes(path, shown, MOST_BYTES)
    if ending in (".xlsx", ".xlsm"):
        return read_workbook(raw, shown)
    return read_csv(raw, shown, encoding, separator)


def bring(path: Path, by: Path, shop: Shop, folder: Path, asked: Asked) -> tuple[Bringing, str]:
    """Hold a list against a shop; nothing is written.

    Parameters
    ----------
    path : Path
        The list.
    by : Path
        Its mapping.
    shop : Shop
        The shop.
    folder : Path
        The shop's folder, for what the list said before.
    asked : Asked
        What is said beside the mapping.

    Returns
    -------
    tuple
        What would come of it; and the file that new parts would go into.

    Raises
    ------
    Faults
        With everything wrong in the mapping, or with the list as a whole.
    """
    own, node = read_map(by, shop, asked.shown_map)
    day, expires = _days(own, node, shop, asked)
    file = read_file(path, own.encoding, own.separator, asked.shown)
    read = take(file, own, node, shop)
    there = shop.suppliers[own.supplier].lists.get(own.list)
    dated = there is None or (there.date, there.expires) != (day, expires)
    start = Bringing(asked.shown or str(path), own.list, own.supplier, day, expires, dated)
    return compare(start, read, remembered(folder, own.list), shop, over=asked.over), own.file


def bring_back(path: Path, shop: Shop, *, over: bool = False, shown: str = "") -> tuple[Bringing, str]:
    """Hold an edited workbook of the shop's own parts against the shop; nothing is written.

    Parameters
    ----------
    path : Path
        The workbook.
    shop : Shop
        The shop.
    over : bool
        Whether the workbook's word goes over what was edited in the shop meanwhile.
    shown : str, optional
        How messages name it; else by its path.

    Returns
    -------
    tuple
        What would come of it; and the file that new parts would go into.

    Raises
    ------
    Faults
        When it is none, or something is wrong with it as a whole.
    """
    shown = shown or str(path)
    file = read_file(path, shown=shown)
    if not is_own(file):
        told = (
            "is no workbook of `compat parts --out`: say how it is to be understood, --by MAP.yaml; "
            "--guess --supplier ID makes a first mapping of it"
        )
        raise Faults([Fault(Spot(shown, 0), told)])
    read, before = take_back(file, shop)
    return compare(Bringing(shown, "", ""), read, before, shop, over=over, whole=False), OWN_PARTS


def _days(own: ListMap, node: Node, shop: Shop, asked: Asked) -> tuple[date, date | None]:
    """Of what day a list is, and until when it holds: as said with it, else as its mapping says."""
    day = asked.day or own.date
    expires = asked.expires if asked.day or asked.expires else own.expires
    if day is None:
        told = (
            "does not say of what day the list is: say it with the list, --dated 2026-11-30, or as `date` here"
        )
        raise Faults([Fault(node.spot, told)])
    there = shop.suppliers[own.supplier].lists.get(own.list)
    if expires is not None and expires < day:
        raise Faults([Fault(node.spot, f"the list would end on {expires}, before its own day, {day}")])
    if there is not None and day < there.date:
        told = f"the list is of {day}, and the shop has the one of {there.date} already"
        raise Faults([Fault(node.spot, told)])
    return day, expires
