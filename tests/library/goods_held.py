"""All that the index of parts holds, to be compared."""

from __future__ import annotations

from typing import Any

from compat.library.search import Goods

__all__ = ["holds"]

ROWS = {
    "texts": "SELECT g.part, families, supplier, each, currency, lead, t.name, t.fills, t.sold, t.said FROM "
    "goods g JOIN texts t ON t.rowid = g.doc ORDER BY g.part",
    "sizes": "SELECT g.part, k.name, s.low, s.high FROM goods g JOIN sizes s USING (doc) JOIN specs k "
    "USING (spec) ORDER BY 1, 2",
    "asks": "SELECT g.part, number, a.supplier, a.each, a.currency, a.lead FROM goods g JOIN asks a "
    "USING (doc) ORDER BY 1, 2",
    "words": "SELECT term, doc, cnt FROM spelt ORDER BY term",
    "lost": "SELECT count(*) FROM texts WHERE rowid NOT IN (SELECT doc FROM goods)",
}


def holds(goods: Goods) -> dict[str, Any]:
    return {name: goods._store.ask(question) for name, question in ROWS.items()}
