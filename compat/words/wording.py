"""How a finding says itself: names in place of ids, numbers with the digits they are worth."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from functools import cache

from compat.rulebook.scope import GOAL
from compat.rulebook.values import Refusal
from compat.shop.models import Family, Work
from compat.shop.shop import Shop
from compat.units import preferred, show, unit

__all__ = [
    "article",
    "each_of",
    "goal_unit",
    "half_width",
    "hours_text",
    "in_sentence",
    "listed",
    "missing_remedy",
    "one_other",
    "plain",
    "readable",
    "refusal_text",
    "remedy_text",
    "spec_name",
    "told",
    "unstated_text",
]

_ABBREVIATIONS = {"pcd": "PCD", "ecu": "ECU", "vr": "VR", "can": "CAN", "rz": "Rz"}
_HEAD = re.compile(r" (?:for|of|to|under|on|that|in|between)\b")


@cache
def plain(word: str) -> str:
    """An id as words.

    >>> plain("flange_bolt_pcd")
    'flange bolt PCD'
    """
    return " ".join(_ABBREVIATIONS.get(part, part) for part in word.split("_"))


@cache
def in_sentence(name: str) -> str:
    """A name as it stands inside a sentence: small first letter, no remark on how it is counted.

    >>> in_sentence("Main bearing shells, a pair"), in_sentence("VR signal conditioner")
    ('main bearing shells', 'VR signal conditioner')
    """
    name = name.partition(", a ")[0]
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def _many(name: str) -> bool:
    """Whether a name is a plural: by the last word before its first preposition."""
    head = _HEAD.split(name, maxsplit=1)[0]
    return head.endswith("s") and not head.endswith("ss")


def article(name: str) -> str:
    """A name with its article, none for a plural.

    >>> article("Oil cooler"), article("Ground straps to head and block")
    ('an oil cooler', 'ground straps to head and block')
    """
    text = in_sentence(name)
    if _many(text):
        return text
    return f"{'an' if text[:1].lower() in 'aeiou' else 'a'} {text}"


def one_other(name: str) -> str:
    """Another one of that name.

    >>> one_other("Flywheel"), one_other("Main bearing shells, a pair")
    ('another flywheel', 'other main bearing shells')
    """
    text = in_sentence(name)
    return f"{'other' if _many(text) else 'another'} {text}"


def spec_name(shop: Shop, position: str, spec: str) -> str:
    """A spec by the name of its position.

    Parameters
    ----------
    shop : Shop
        The shop.
    position, spec : str
        Ids.

    Returns
    -------
    str
        Words that stand inside a sentence.
    """
    place = shop.positions.get(position)
    return f"{in_sentence(place.name) if place else plain(position)} {plain(spec)}"


def told(value: float, name: str = "", half: float = 0.0, system: str = "metric", *, bare: bool = False) -> str:
    """Write a value with no more digits than its uncertainty leaves it.

    Parameters
    ----------
    value : float
        SI value.
    name : str
        Metric unit wanted.
    half : float
        Half width of its uncertainty, SI; the second digit of it is the last that is shown.
    system : str
        ``metric`` or ``imperial``.
    bare : bool
        Leave the unit out.

    Returns
    -------
    str
        Number and unit.

    Examples
    --------
    >>> told(151664.0), told(151664.0, half=4730.0), told(0.0865, "mm", 3e-6)
    ('151664', '151700', '86.500 mm')
    """
    text, space, label = show(value, name, system).partition(" ")
    if half > 0 and "e" not in text:
        own = unit(preferred(name, system))
        place = 1 - math.floor(math.log10(half / own.factor))
        if place < len(text.partition(".")[2]) or (place < 0 and "." not in text):
            number = round(own.from_si(value), place) + 0.0
            text = f"{number:.{max(place, 0)}f}"
    return text if bare else text + space + label


def half_width(half: float, name: str = "", system: str = "metric", decimals: int = 12) -> str:
    """Half a tolerance to two digits and at most so many decimals, without its unit.

    >>> half_width(0.000118 * 0.0254, "mm", "imperial"), half_width(146 * 6894.757, "kPa", "imperial")
    ('0.00012', '150')
    """
    number = half / unit(preferred(name, system)).factor
    if not number:
        return "0"
    place = min(1 - math.floor(math.log10(number)), decimals)
    text = f"{round(number, place):.{max(place, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def each_of(per: str) -> str:
    """What something is counted by, after what is counted.

    >>> each_of("main_journals")
    'for each of the main journals'
    """
    return f"for each of the {plain(per)}"


def hours_text(work: Work, family: Family | None = None) -> str:
    """How long a piece of work takes: on an engine of a family, or as its card says it."""
    if family is not None or work.per == "engine":
        return f"{work.hours_on(family) if family is not None else work.set_up + work.hours} h"
    each = f"{work.hours} h {each_of(work.per)}"
    return f"{work.set_up} h and {each}" if work.set_up else each


_ASKED = {
    ("relax", "power"): "Ask for less power.",
    ("raise", "power"): "Ask for more power.",
    ("relax", "torque"): "Ask for less torque.",
    ("raise", "torque"): "Ask for more torque.",
    ("relax", "speed"): "Look for the power at a lower speed.",
    ("raise", "speed"): "Look for the power at a higher speed.",
    ("relax", "torque_speed"): "Look for the torque at a lower speed.",
    ("raise", "torque_speed"): "Look for the torque at a higher speed.",
    ("relax", "rev_limit"): "Lower the rev limit.",
    ("raise", "rev_limit"): "Raise the rev limit.",
    ("relax", "boost"): "Ask for less boost.",
    ("raise", "boost"): "Ask for more boost.",
}


def remedy_text(shop: Shop, key: str, name: str, family: Family | None = None) -> str:
    """One remedy as a sentence.

    Parameters
    ----------
    shop : Shop
        The shop.
    key : str
        ``work``, ``swap``, ``add``, ``leave_out``, ``relax``, ``raise``, ``set`` or ``do``.
    name : str
        Work, position or part, entry of the goal, word of the setup; or the sentence itself.
    family : Family, optional
        The engine, which says how long work takes on it.

    Returns
    -------
    str
        The sentence.
    """
    match key:
        case "work":
            work = shop.works[name]
            return f"{work.name} (work {name}, {hours_text(work, family)})."
        case "swap":
            return f"Fit {one_other(shop.positions[name].name)}."
        case "add" if name in shop.positions:
            return f"Add {article(shop.positions[name].name)}."
        case "add":
            return f"Add {name} ({shop.parts[name].name})."
        case "leave_out":
            return f"Leave out the {in_sentence(shop.positions[name].name)}."
        case "relax" | "raise":
            return _ASKED[key, name]
        case "set":
            word, _, value = name.partition("=")
            return f"Say `{word}: {value}` in the setup."
    return name if name.endswith((".", "!")) else f"{name}."


def missing_remedy(shop: Shop, spec: str) -> str:
    """What to do about a spec that nobody stated: where the build says it."""
    position, _, name = spec.partition(".")
    if position == "goal":
        return f"State {GOAL[name][1] if name in GOAL else name} in the build's goal."
    if position == "setup":
        return f"State {name} in the build's setup."
    if position in shop.positions and name in shop.kinds[position]:
        what = spec_name(shop, position, name)
        return f"Measure or look up the {what}; state it in the build's `measured` as {spec}."
    return f"State {spec}."


def unstated_text(shop: Shop, spec: str, part: str = "") -> str:
    """A spec that is not stated, with the part that should state it."""
    position, _, name = spec.partition(".")
    text = spec_name(shop, position, name) if name else plain(position)
    return f"{text} ({part})" if part else text


def refusal_text(refusal: Refusal, system: str = "metric") -> str:
    """Why there is no value, figures in the reader's unit.

    >>> refusal_text(Refusal("bore must ...", "swept_volume", "bore", "must be above zero", -0.086, "mm"))
    'swept volume: bore must be above zero, got -86.000 mm'
    """
    text = refusal.text
    if refusal.argument:
        text = f"{plain(refusal.argument)} {refusal.must}, got {show(refusal.value, refusal.unit, system)}"
    return f"{plain(refusal.formula)}: {text}" if refusal.formula else text


_CALLS: tuple[tuple[str, str], ...] = (
    (r"not fitted\((\w+)\)", r"no \1 is fitted"),
    (r"fitted\((\w+)\)", r"\1 is fitted"),
    (r"not changed\((\w+)\)", r"\1 is the variant's own"),
    (r"changed\((\w+)\)", r"\1 is not the variant's own"),
    (r'not done\("([^"]*)"\)', r"work \1 is not done"),
    (r'done\("([^"]*)"\)', r"work \1 is done"),
    (r'not opened\("([^"]*)"\)', r"\1 is not opened"),
    (r'opened\("([^"]*)"\)', r"\1 is opened"),
    (r"not stated\(([\w.]+)\)", r"\1 is not stated"),
    (r"stated\(([\w.]+)\)", r"\1 is stated"),
    (r"not computed\((\w+)\)", r"\1 is out of reach"),
    (r"computed\((\w+)\)", r"\1 is within reach"),
    (r"not kept\((\w+)\)", r"\1 is new"),
    (r"kept\((\w+)\)", r"\1 is used again"),
    (r"not measured\(([\w.]+)\)", r"\1 is not measured"),
    (r"measured\(([\w.]+)\)", r"\1 is measured"),
    (r"count\((\w+)\)", r"number of \1"),
    (r'(holds\([\w.]+, [\w.]+), "?([^()",]+)"?\)', r"\1 with \2)"),
    (r"not holds\(([\w.]+), ([^()]+)\)", r"\1 lacks \2"),
    (r"holds\(([\w.]+), ([^()]+)\)", r"\1 has \2"),
    (r'(?<=lacks )"([^"]*)"', r"\1"),
    (r'(?<=has )"([^"]*)"', r"\1"),
    (r'sister\((\w+)\) != ""', r"\1 is from a sister variant"),
    (r' == "([^"]*)"', r" is \1"),
    (r' != "([^"]*)"', r" is not \1"),
    (r" == ", " is "),
    (r" != ", " is not "),
    (r"prefer\(([\w.]+), ([^(),]+)\)", r"\1 (\2 where there is none)"),
    (r"(?<=\d)\*(?=[A-Za-z]{1,4}(?![\w.]))", " "),
    (r"(?<=[\w)])/(?=[a-z_.]{5})", " / "),
)


def readable(shop: Shop, text: str) -> str:
    """An expression as words: names in place of ids, the calls a reader need not know as sentences.

    Parameters
    ----------
    shop : Shop
        The shop, for the names of positions.
    text : str
        The expression as its file has it.

    Returns
    -------
    str
        The same, for reading only.
    """
    for pattern, words in _CALLS:
        text = re.sub(pattern, words, text)

    def name(match: re.Match[str]) -> str:
        word = match[0]
        position, _, spec = word.partition(".")
        if spec and (position in shop.positions or position in ("goal", "setup", "engine")):
            return spec_name(shop, position, spec)
        if not spec and position in shop.positions and position not in ("fuel", "setup", "oil"):
            return in_sentence(shop.positions[position].name)
        return plain(word)

    return re.sub(r"[a-z]\w*(?:\.[a-z]\w*)?", name, text)


def goal_unit(name: str) -> str:
    """Unit in which an entry of the goal is read; a temperature in degrees.

    >>> goal_unit("air_temperature"), goal_unit("power")
    ('degC', 'kW')
    """
    text = GOAL[name][0] if name in GOAL else ""
    return "degC" if text == "K" else text


def listed(words: Iterable[str], last: str = "and") -> str:
    """Words as a list in a sentence.

    >>> listed(["bolts", "oil", "filter"]), listed(["oil"])
    ('bolts, oil and filter', 'oil')
    """
    words = list(words)
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
