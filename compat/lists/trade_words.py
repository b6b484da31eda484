"""What suppliers call their columns, in a few languages (common practice, no source)."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["COLUMNS", "POSITIONS", "SPECS"]

COLUMNS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "code": (
            "code",
            "part no",
            "part number",
            "part no.",
            "item",
            "item no",
            "item number",
            "article",
            "sku",
            "order code",
            "ref",
            "reference",
            "art.-nr.",
            "art nr",
            "artikelnummer",
            "artikel-nr.",
            "bestellnummer",
            "teilenummer",
            "référence",
            "réf.",
            "codice",
            "artikelnr",
            "varenr",
            "número",
        ),
        "name": (
            "name",
            "description",
            "part",
            "product",
            "title",
            "bezeichnung",
            "beschreibung",
            "benennung",
            "désignation",
            "descrizione",
            "benämning",
            "betegnelse",
            "descripción",
        ),
        "price": (
            "price",
            "list price",
            "net price",
            "trade price",
            "price each",
            "unit price",
            "rrp",
            "preis",
            "nettopreis",
            "listenpreis",
            "stückpreis",
            "prix",
            "prix net",
            "prezzo",
            "pris",
            "precio",
            "cost",
        ),
        "pack": (
            "pack",
            "pack size",
            "pack qty",
            "per pack",
            "set of",
            "pieces per set",
            "vpe",
            "verpackungseinheit",
            "stück je satz",
            "conditionnement",
            "confezione",
            "förpackning",
            "qty per set",
        ),
        "lead": (
            "lead",
            "lead time",
            "delivery",
            "delivery days",
            "days",
            "lieferzeit",
            "liefertage",
            "délai",
            "consegna",
            "leveranstid",
            "leveringstid",
        ),
        "sizes": (
            "sizes",
            "oversizes",
            "oversize",
            "undersizes",
            "available sizes",
            "übermaß",
            "übermaße",
            "untermaß",
            "cotes",
            "maggiorazioni",
        ),
        "fills": (
            "position",
            "type",
            "category",
            "group",
            "kind",
            "warengruppe",
            "gruppe",
            "catégorie",
            "gruppo",
        ),
        "note": ("note", "notes", "remark", "remarks", "comment", "bemerkung", "hinweis", "remarque", "note"),
    }
)
"""Headings of what is no spec, by the field of a mapping."""

POSITIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "piston": ("piston", "kolben", "pistone", "kolv", "stempel", "pistón"),
        "piston_ring_set": ("ring set", "piston ring", "kolbenring", "segment", "fasce"),
        "rod": ("connecting rod", "con rod", "pleuel", "bielle", "biella", "vevstake", "plejlstang"),
        "rod_bearing": ("rod bearing", "big end bearing", "pleuellager", "coussinet de bielle"),
        "main_bearing": ("main bearing", "hauptlager", "coussinet de ligne", "ramlager"),
        "crankshaft": ("crankshaft", "kurbelwelle", "vilebrequin", "albero motore", "vevaxel"),
        "camshaft": ("camshaft", "nockenwelle", "arbre à cames", "albero a camme"),
        "head_gasket": ("head gasket", "kopfdichtung", "joint de culasse", "guarnizione testa"),
    }
)
"""What parts of a position are called in names of sheets, files and parts."""

SPECS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "mass": ("weight", "gewicht", "masse", "poids", "peso"),
        "bore_size": ("bore", "bohrung", "alésage", "alesaggio"),
        "bore": ("bore", "bohrung", "alésage"),
        "compression_height": (
            "comp height",
            "compression height",
            "kompressionshöhe",
            "khv",
            "hauteur de compression",
        ),
        "centre_length": (
            "centre to centre",
            "center to center",
            "c-c",
            "length",
            "stichmaß",
            "länge",
            "entraxe",
        ),
        "big_end_bore": ("big end", "big end bore", "hubzapfenbohrung", "tête de bielle"),
        "small_end_bore": ("small end", "small end bore", "bolzenbohrung", "pin bore"),
        "stroke": ("stroke", "hub", "course", "corsa"),
        "material": ("material", "werkstoff", "matière", "materiale"),
        "thickness": ("thickness", "dicke", "stärke", "épaisseur", "spessore"),
        "width": ("width", "breite", "largeur", "larghezza"),
        "thread": ("thread", "gewinde", "filetage", "filetto"),
        "undersize": ("undersize", "untermaß"),
    }
)
"""Headings of specs that are called otherwise than here."""
