"""What words typed at the counter ask for: sizes, a position, words; slips of the finger forgiven, and told."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property

from compat.library.search import Goods
from compat.library.wanted import Size
from compat.planning.slips import one_slip, two_slips
from compat.shop.shop import Shop
from compat.shop.source import Fault, Spot, nearest
from compat.units import UnitFault, is_usual, read_band, unfit

__all__ = ["Meant", "read_words"]

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)?(?:/\d+)?|\.\d+)"
_VALUE = re.compile(rf"(?P<number>{_NUMBER}\.\.{_NUMBER}|{_NUMBER}\.\.|\.\.{_NUMBER}|{_NUMBER})(?P<unit>\D*)")
_ENDS = {("at", "least"): "{}..", ("at", "most"): "..{}", ("from",): "{}..", ("up", "to"): "..{}"}
"""Words before a number that leave one end open."""
WIDEST = 1e-9
"""Two sizes that differ by so small a part are one: written in other units they come out so."""
LEAST = 2
"""So many letters and digits a word has at least that was written together with another."""
SURE = 4
"""Fewer letters than these are not taken for a slip of another word but where one letter alone differs."""


@dataclass(frozen=True, slots=True)
class Meant:
    """What is asked for, and how the words were read."""

    position: str = ""
    words: tuple[str, ...] = ()
    """Clauses of the full-text index, all of which must hold."""
    sizes: tuple[Size, ...] = ()
    told: tuple[str, ...] = ()
    """How it was read, clause by clause."""
    slips: tuple[tuple[str, str], ...] = ()
    """Words as typed, and what they were taken for."""
    unknown: tuple[tuple[str, str], ...] = ()
    """Words that stand nowhere in the shop, with a hint at the nearest one."""
    faults: tuple[Fault, ...] = ()


def read_words(
    shop: Shop, goods: Goods, typed: Sequence[str], places: bool = True, begun: bool = False
) -> Meant:
    """Read what was typed.

    Parameters
    ----------
    shop : Shop
        The shop, whose positions, specs and suppliers words may name.
    goods : Goods
        Its index, whose words they may be.
    typed : sequence of str
        Words, in any order: ``piston bore 86..86.5 mm``.
    places : bool
        Whether words that name a position keep to what fills it; else they are words like any other.
    begun : bool
        Whether the last word is still being typed, and any that begins so is meant.

    Returns
    -------
    Meant
        With a fault for each size that is none of its spec.
    """
    return _Reading(shop, goods, places, begun).read(" ".join(typed).split())


class _Reading:
    def __init__(self, shop: Shop, goods: Goods, places: bool, begun: bool) -> None:
        self.shop = shop
        self.goods = goods
        self.places = places
        self.begun = begun
        self.told: list[str] = []
        self.slips: list[tuple[str, str]] = []
        self.unknown: list[tuple[str, str]] = []
        self.faults: list[Fault] = []

    def read(self, tokens: list[str]) -> Meant:
        found, rest = self._sizes(tokens)
        words = [one for word in _words(rest) for one in self._right(word).split(" ")]
        if tokens and not found and not words:
            self._fault(f"'{' '.join(tokens)[:80]}' has neither letters nor digits")
        position, words = self._position(words) if self.places else ("", words)
        sizes = tuple(size for value in found if (size := self._size(*value, position)) is not None)
        clauses = [f'fills : "{position}"'] if position else []
        if position:
            self.told.insert(0, f"position {position}")
        plain = [word for word in words if word]
        clauses += [self._clause(word, self.begun and word == plain[-1]) for word in plain]
        if plain:
            self.told.append(f"words {', '.join(plain)}")
        return Meant(
            position, tuple(clauses), sizes, tuple(self.told), tuple(self.slips), tuple(self.unknown),
            tuple(self.faults),
        )  # fmt: skip

    # sizes

    @cached_property
    def declared(self) -> dict[str, list[str]]:
        """Specs that are quantities, each with the units that positions declare it in."""
        found: dict[str, dict[str, None]] = {}
        for specs in self.shop.sized.values():
            for name, one in specs.items():
                found.setdefault(name, {})[one] = None
        return {name: list(units) for name, units in found.items()}

    def _sizes(self, tokens: list[str]) -> tuple[list[tuple[list[str], str]], list[str]]:
        """Specs with the values that stand behind them, and the words that are left."""
        found: list[tuple[list[str], str]] = []
        rest: list[str] = []
        at = 0
        while at < len(tokens):
            value = self._value(tokens, at)
            if value is None:
                rest.append(tokens[at])
                at += 1
                continue
            text, step = value
            before = list(rest)
            form = next((form for ends, form in _ENDS.items() if _ends_with(before, ends)), None)
            if form is not None:
                before = before[: -len(next(ends for ends in _ENDS if _ends_with(before, ends)))]
                text = _open(text, form)
            specs, taken = self._specs(before, bare=_bare(text))
            if not specs and _bare(text) and form is None:
                rest.append(tokens[at])  # a number by itself is part of a name or code
                at += 1
                continue
            rest = before[: len(before) - taken]
            found.append((specs, text))
            at += step
        return found, rest

    def _value(self, tokens: list[str], at: int) -> tuple[str, int] | None:
        """A number or range that stands here, with its unit, and over how many words."""
        if (
            tokens[at + 1 : at + 2] == ["to"]
            and (second := tokens[at + 2 : at + 3])
            and tokens[at][:1].isdigit()
        ):
            tokens = [*tokens[:at], f"{tokens[at]}..{second[0]}", *tokens[at + 3 :]]
            found = self._value(tokens, at)
            return (found[0], found[1] + 2) if found is not None else None
        match = _VALUE.fullmatch(tokens[at])
        if match is None or (match["unit"] and not is_usual(match["unit"])):
            return None
        if match["unit"]:
            return f"{match['number']} {match['unit']}", 1
        if at + 1 < len(tokens) and is_usual(tokens[at + 1]):
            return f"{match['number']} {tokens[at + 1]}", 2
        return match["number"], 1

    def _specs(self, before: Sequence[str], bare: bool) -> tuple[list[str], int]:
        """The specs that the last words before a value name, and how many words that are."""
        words = [word.casefold().replace("-", "_") for word in before]
        for count in range(min(5, len(words)), 0, -1):
            if (name := "_".join(words[-count:])) in self.declared:
                return [name, *self._holding(words[-count:], but=name)], count
        if bare:
            return [], 0
        for count in range(min(3, len(words)), 0, -1):
            if (count == 1 and words[-1] in self._places) or (count > 1 and words[-count] in self._place_words):
                continue  # it names what the size is one of
            if found := self._holding(words[-count:]):
                return found, count
        if words and words[-1] not in self._place_words and not self.goods.spelt(words[-1:]):
            known = {word: None for name in self.declared for word in (name, *name.split("_"))}
            if close := get_close_matches(words[-1], known, 1, 0.7):
                self.slips.append((before[-1], close[0]))
                return [name for name in self.declared if close[0] in (name, *name.split("_"))], 1
        return [], 0

    def _holding(self, words: Sequence[str], but: str = "") -> list[str]:
        """Specs that have all of some words in their names."""
        wanted = set("_".join(words).split("_"))
        return [name for name in self.declared if wanted <= set(name.split("_")) and name != but]

    def _size(self, specs: list[str], text: str, position: str) -> Size | None:
        number, _, own = text.partition(" ")
        here = self.shop.sized.get(position, {}) if position else None
        names = specs or list(self.declared)
        if here is not None:
            if specs and not set(specs) & set(here):
                hint = nearest(specs[0], here) or f"; `compat show {position}` lists what it has"
                self._fault(f"position '{position}' has no spec '{specs[0]}'{hint}")
                return None
            names = specs[:1] if specs and specs[0] in here else [name for name in names if name in here]
        first, dots, last = number.partition("..")
        wrong: list[str] = []
        fitting: dict[str, tuple[float, float]] = {}
        for name in names:
            for wanted in [here[name]] if here is not None else self.declared[name]:
                try:
                    ends = [
                        read_band(f"{end} {own or ('' if wanted == 'number' else wanted)}")
                        for end in (first, last)
                        if end
                    ]
                except UnitFault as error:
                    self._fault(str(error))
                    return None
                if why := next(filter(None, (unfit(text, end, wanted) for end in ends)), ""):
                    wrong.append(f"{why}; {name} is a quantity in {wanted}")
                    continue
                low = ends[0].low if first else float("-inf")
                high = ends[-1].high if last or not dots else float("inf")
                fitting[name] = (low, high)
        if not fitting:
            self._fault(wrong[0] if wrong else f"'{text}' is no size of anything in this shop")
            return None
        low, high = next(iter(fitting.values()))
        if low > high:
            self._fault(f"'{text}' runs from high to low")
            return None
        said = " or ".join(list(fitting)[:4]) + (" or others" if len(fitting) > 4 else "")
        self.told.append(
            f"{said if specs else 'any size'} {_as_said(number, own or self._unit(fitting, here))}"
        )
        slack = WIDEST * max(abs(one) for one in (low, high) if abs(one) != float("inf"))
        return Size(tuple(fitting), low - slack, high + slack)

    def _unit(self, fitting: Iterable[str], here: Mapping[str, str] | None) -> str:
        name = next(iter(fitting))
        found = here[name] if here is not None else self.declared[name][0]
        return "" if found == "number" else found

    def _fault(self, message: str) -> None:
        self.faults.append(Fault(Spot("find", 0), message))

    # words

    @cached_property
    def _places(self) -> dict[str, str]:
        """Positions by what they are called: their ids and names, the words parted by blanks."""
        called = self.shop.called("position")
        by_id = {name.replace("_", " "): name for name in called}
        return {" ".join(_words([name])): place for place, name in called.items()} | by_id

    @cached_property
    def _place_words(self) -> dict[str, list[str]]:
        """By each word of positions those that have it in their id or name."""
        return _by_word(self.shop.called("position"))

    @cached_property
    def _seller_words(self) -> dict[str, list[str]]:
        return _by_word(self.shop.called("supplier"))

    def _position(self, words: list[str]) -> tuple[str, list[str]]:
        """The position that most of the words name, and the words that are left."""
        for count in range(min(5, len(words)), 0, -1):
            for at in range(len(words) - count + 1):
                said = " ".join(words[at : at + count])
                for name in (said, said.removesuffix("s"), said.replace("_", " ")):
                    if name in self._places:
                        return self._places[name], words[:at] + words[at + count :]
        return "", words

    def _right(self, word: str) -> str:
        """A word as the shop has it, or the several that it was made of; empty where it has nothing like it."""
        if self._known(word) or self.goods.beginning(word) or _begun(word, self._place_words):
            return word
        single = word.removesuffix("s")
        if single != word and self._known(single):
            return single
        best = self._parted(word) or self._slipped(word) if any(letter.isalpha() for letter in word) else None
        if best is None:
            known = [*self._place_words, *self._seller_words, *self.goods.beginning(word[:2], 500)]
            self.unknown.append((word, nearest(word, known)))
            return ""
        self.slips.append((word, best))
        return best

    def _known(self, word: str) -> bool:
        return word in self._place_words or word in self._seller_words or bool(self.goods.spelt([word]))

    def _parted(self, word: str) -> str | None:
        """A code that is parted in the shop and was typed without its signs, in the fewest words."""
        if not any(letter.isdigit() for letter in word):
            return None
        for at in range(len(word) - LEAST, LEAST - 1, -1):
            if not word[at - 1 : at + 1].isdigit() and self.goods.spelt([word[:at]]):  # a number stays whole
                rest = word[at:]
                last = rest if self.goods.spelt([rest]) else self._parted(rest)
                if last is not None:
                    return f"{word[:at]} {last}"
        return None

    def _slipped(self, word: str) -> str | None:
        """The word that was meant: one slip away, of a long word two; the most usual one."""
        if len(word) < 3:
            return None
        own = {*self._place_words, *self._seller_words}
        near = one_slip(word)
        found = self.goods.spelt(sorted(near)) | dict.fromkeys(near & own, 10**9)
        if not found and len(word) >= SURE + 2:
            found = {
                other: 1 for other in {*own, *self.goods.beginning(word[:3], 2000)} if two_slips(word, other)
            }
        found = {other: count for other, count in found.items() if _numbers(other) == _numbers(word)}
        if len(word) < SURE:  # of a short word the first letter is hardly ever wrong
            found = {other: count for other, count in found.items() if other[0] == word[0]}
        return max(found, key=lambda other: (found[other], other), default=None)

    def _clause(self, word: str, begun: bool) -> str:
        whole = self._known(word) and not begun
        places = self._place_words.get(word, ()) if whole else _begun(word, self._place_words)
        either = [f'"{word}"' if whole else f'"{word}" *']
        if places:
            either.append(f"fills : ({_either(places)})")
        if sellers := self._seller_words.get(word):
            either.append(f"sold : ({_either(sellers)})")
        return " OR ".join(either)


def _numbers(word: str) -> list[str]:
    """The numbers in a word; one that differs is another part and no slip."""
    return re.findall(r"\d+", word)


def _words(tokens: Iterable[str]) -> list[str]:
    """Words as the index cuts them: letters and digits, small and without accents."""
    plain = " ".join(tokens).casefold()
    if not plain.isascii():
        parted = unicodedata.normalize("NFKD", plain)
        plain = "".join(letter for letter in parted if not unicodedata.combining(letter))
    return re.findall(r"\w+", plain)


def _by_word(called: Mapping[str, str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, text in called.items():
        for word in dict.fromkeys(_words([name.replace("_", " "), text])):
            found.setdefault(word, []).append(name)
    return found


def _begun(word: str, by_word: Mapping[str, list[str]]) -> list[str]:
    if len(word) < 3:
        return []
    return list(dict.fromkeys(name for other in by_word if other.startswith(word) for name in by_word[other]))


def _either(names: Iterable[str]) -> str:
    """Any of some names; the index holds no order of words, so that one of several words is all of them.

    >>> _either(["inlet_valve", "quay-side"])
    '("inlet_valve") OR ("quay" AND "side")'
    """
    cut = (" AND ".join(f'"{word}"' for word in _words([name])) for name in names)
    return " OR ".join(f"({words})" for words in cut)


def _ends_with(words: Sequence[str], ends: Sequence[str]) -> bool:
    return tuple(word.casefold() for word in words[-len(ends) :]) == tuple(ends)


def _open(text: str, form: str) -> str:
    number, _, own = text.partition(" ")
    return f"{form.format(number)} {own}".strip()


def _bare(text: str) -> bool:
    return " " not in text and ".." not in text


def _as_said(number: str, own: str) -> str:
    first, dots, last = number.partition("..")
    tail = f" {own}" if own else ""
    if not dots:
        return first + tail
    if not first or not last:
        return f"{'at most' if not first else 'at least'} {first or last}{tail}"
    return f"{first} to {last}{tail}"
