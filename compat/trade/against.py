"""What has changed since a quote was given: in price, parts, terms, rules and verdicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["Altered", "Changes", "changes"]


@dataclass(frozen=True, slots=True)
class Altered:
    """Something that was one way and is another; None is not at all."""

    what: str
    was: str | None
    is_now: str | None


@dataclass(frozen=True, slots=True)
class Changes:
    """All that has changed, by matter."""

    number: str
    """Of the quote that is compared with."""
    currency: str
    total: Altered
    prices: tuple[Altered, ...]
    parts: tuple[Altered, ...]
    terms: tuple[Altered, ...]
    verdicts: tuple[Altered, ...]
    rules: tuple[Altered, ...]

    @property
    def any(self) -> bool:
        """Whether anything has changed."""
        moved = self.total.was != self.total.is_now
        return moved or any((self.prices, self.parts, self.terms, self.verdicts, self.rules))


def changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> Changes:
    """Compare a quote with an earlier one.

    Parameters
    ----------
    before, now : mapping
        Records: ``quote`` and what it ``rests_on``.

    Returns
    -------
    Changes
        What is not as it was.
    """
    old, new = before["quote"], now["quote"]
    was, stands = before["rests_on"], now["rests_on"]
    sums = [
        change for key in ("net", "tax", "deposit") for change in _differing({key: old[key]}, {key: new[key]})
    ]
    return Changes(
        number=old["number"],
        currency=new["currency"],
        total=Altered("total", old["total"], new["total"]),
        prices=(*_differing(_lines(old), _lines(new)), *sums),
        parts=(
            *_differing(was["fitted"], stands["fitted"]),
            *_differing(_cards(was), _cards(stands)),
            *_differing(was["shelf"], stands["shelf"], "from the shelf: "),
        ),
        terms=(
            *_differing(was["terms"], stands["terms"]),
            *_differing(was["build"], stands["build"], "build: "),
            *_differing(was["work"], stands["work"], "work "),
            *_differing(was["suppliers"], stands["suppliers"], "supplier "),
        ),
        verdicts=tuple(_differing(was["verdicts"], stands["verdicts"])),
        rules=tuple(
            Altered(name, "as it was then", "another")
            for name in sorted(was["rules"].keys() & stands["rules"].keys())
            if was["rules"][name] != stands["rules"][name]
        ),
    )


def _lines(quote: Mapping[str, Any]) -> dict[str, str]:
    """What each line says of money, by what it is for."""
    return {
        " ".join(part for part in (line["what"], f"({line['id']})" if line["id"] else "") if part): (
            f"{line['quantity']} {line['unit']} at {line['unit_price']}: {line['amount']}"
        )
        for line in quote["lines"]
    }


def _cards(rests_on: Mapping[str, Any]) -> dict[str, Any]:
    """Parts without what nobody builds with: remarks."""
    return {
        name: {key: value for key, value in card.items() if key not in ("part", "note", "leaves_out")}
        for name, card in rests_on["parts"].items()
    }


def _differing(before: Any, now: Any, at: str = "") -> Iterator[Altered]:
    """Every place in which two pieces of plain data differ."""
    if before == now:
        return
    if isinstance(before, Mapping) and isinstance(now, Mapping):
        for key in dict.fromkeys([*before, *now]):
            inner = f"{at}{'.' * bool(at and at[-1] not in ' .')}{key}"
            if key not in before or key not in now:
                yield Altered(inner, _told(before.get(key)), _told(now.get(key)))
            else:
                yield from _differing(before[key], now[key], inner)
        return
    if isinstance(before, list) and isinstance(now, list) and len(before) == len(now):
        for number, (one, other) in enumerate(zip(before, now, strict=True), 1):
            yield from _differing(one, other, f"{at}.{number}")
        return
    yield Altered(at, _told(before), _told(now))


MOST = 160


def _told(value: Any) -> str | None:
    if value is None:
        return None
    if isinstance(value, Mapping):
        text = ", ".join(f"{key} {_told(entry)}" for key, entry in value.items())
    elif isinstance(value, list):
        text = ", ".join(_told(entry) or "" for entry in value)
    else:
        text = str(value)
    return text if len(text) <= MOST else f"{text[: MOST - 3]}..."
