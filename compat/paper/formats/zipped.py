"""The package of a workbook packed again: values behind its formulas, and no clock in it."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from xml.sax.saxutils import escape

from compat.paper.document import Value
from compat.paper.formats.values import plain
from compat.shop.money import Money

__all__ = ["repacked"]

_LIVE = re.compile(
    r'<c r="(?P<place>[A-Z]+[0-9]+)"(?P<rest>[^>]*)><f>(?P<formula>[^<]*)</f><v ?/?>(?:</v>)?</c>'
)
_STAMP = re.compile(r"(<dcterms:(?:created|modified)[^>]*>)[^<]*(<)")


def repacked(
    package: bytes, sheets: Sequence[str], values: Mapping[tuple[str, str], Value], stamp: datetime
) -> bytes:
    """The same package with a value behind each formula and one stamp for every time in it.

    Parameters
    ----------
    package : bytes
        A workbook as openpyxl writes it (Office Open XML, ISO/IEC 29500-1).
    sheets : Sequence[str]
        Names of its sheets, in their order.
    values : Mapping
        Value by name of the sheet and address.
    stamp : datetime
        The time that stands in it.

    Returns
    -------
    bytes
        The package.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(package)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            if found := re.fullmatch(r"xl/worksheets/sheet(\d+)\.xml", name):
                content = _filled(content.decode(), sheets[int(found[1]) - 1], values).encode()
            elif name == "docProps/core.xml":
                content = _STAMP.sub(rf"\g<1>{stamp.isoformat()}Z\g<2>", content.decode()).encode()
            entry = zipfile.ZipInfo(name, (max(stamp.year, 1980), stamp.month, stamp.day, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            new.writestr(entry, content)
    return out.getvalue()


def _filled(xml: str, sheet: str, values: Mapping[tuple[str, str], Value]) -> str:
    def fill(found: re.Match[str]) -> str:
        value = values.get((sheet, found["place"]))
        if value is None or isinstance(value, date):
            return found[0]
        rest = re.sub(r' t="[a-z]+"', "", found["rest"])
        kind = "" if isinstance(value, int | Decimal | Money) else ' t="str"'
        return f'<c r="{found["place"]}"{rest}{kind}><f>{found["formula"]}</f><v>{escape(plain(value))}</v></c>'

    return _LIVE.sub(fill, xml)
