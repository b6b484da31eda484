"""The chain of reasons as sentences, on every rule of two builds."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from compat.engineering import OutOfRange, find
from compat.library.library import Library
from compat.paper.findings import in_short
from compat.paper.sentences import chain, say
from compat.rulebook.values import refused
from compat.words.reasons import Reason, reasons
from compat.words.report import Finding
from compat.words.wording import article, in_sentence, one_other, readable, refusal_text, told
from tests.look import checked_once


@pytest.mark.parametrize("system", ["metric", "imperial"])
@pytest.mark.parametrize("build", ["first-draft", "fell-30-top-end"])
def test_every_rule_explains_itself(build: str, system: str, demo: Library) -> None:
    world = checked_once(build).world
    for rule in demo.book.rules.values():
        for depth, text in chain(reasons(world, rule, system), system):
            assert depth >= 0
            assert text.endswith("."), text
            assert text[0] == text[0].upper(), text
            assert " is is " not in text
            assert " is does " not in text
            assert "None" not in text, text
            assert not re.search(r"\d\.\d{7,}\b|\de-\d\d", text.partition(" = ")[0]), text


def test_every_expression_reads_without_ids(demo: Library) -> None:
    for rule in demo.book.rules.values():
        for text in filter(None, (rule.rule.where, rule.rule.measure, rule.rule.never)):
            said = readable(demo.shop, text)
            assert not re.search(r"\b(fitted|changed|done|opened|stated)\(", said), said
            assert not re.search(r"[a-z]_[a-z]", said), said


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('oil_pump.drive == "nose_flats"', "oil pump drive is nose flats"),
        ("fitted(turbocharger) and not fitted(intercooler)",
         "turbocharger is fitted and no intercooler is fitted"),
        ("goal.rev_limit > 7000*rpm", "goal rev limit > 7000 rpm"),
        ("prefer(piston.least_skirt_clearance, 0.04*mm)",
         "piston least skirt clearance (0.04 mm where there is none)"),
        ('done("align-hone") or changed(main_cap)',
         "work align-hone is done or main bearing cap is not the variant's own"),
        ("air_flow + fuel_flow", "air flow + fuel flow"),
        ("goal.boost/most_boost", "goal boost / most boost"),
        ("340*g/(kW*h)", "340 g/(kW*h)"),
    ],
)  # fmt: skip
def test_expressions_as_words(text: str, says: str, demo: Library) -> None:
    assert readable(demo.shop, text) == says


def test_every_position_can_be_asked_for(demo: Library) -> None:
    for place in demo.shop.positions.values():
        assert not re.search(r"\ban? (a|an|the)\b", article(place.name))
        assert "," not in in_sentence(place.name).partition(", a ")[0] or "," in place.name
        assert one_other(place.name).split()[0] in ("another", "other")
    assert one_other("Ground straps to head and block") == "other ground straps to head and block"
    assert one_other("Bellhousing and cover dowel") == "another bellhousing and cover dowel"
    assert article("Engine control unit") == "an engine control unit"


@pytest.mark.parametrize(
    ("reason", "says"),
    [
        (Reason("a", "swept volume", 499.6e-6, unit="cm^3", half=2e-6), "Swept volume is 499.6 cm^3 ±2."),
        (Reason("a", "rod mass", gap="is not stated for a-rod (rod.mass)"),
         "Rod mass is not stated for a-rod (rod.mass)."),
        (Reason("a", "skirt clearance", gap="is not known (not stated: skirt)", how="= bore - skirt"),
         "Skirt clearance is not known (not stated: skirt); it comes from bore - skirt."),
        (Reason("a", "air flow", 0.1, unit="kg/s", how="= x", estimate=True, seen=True),
         "Air flow is 0.1 kg/s (as shown above)."),
        (Reason("a", "water cooled", "yes", source="a-turbo, maker"), "Water cooled is yes (a-turbo, maker)."),
    ],
)  # fmt: skip
def test_one_reason(reason: Reason, says: str) -> None:
    assert say(reason, "metric") == says


@pytest.mark.parametrize(
    ("value", "unit", "half", "says"),
    [
        (1387.3e3, "kPa", 140e3, "1390 kPa"),
        (0.0865, "mm", 0.000003, "86.500 mm"),
        (0.017, "mm", 0.001, "17.0 mm"),
        (-0.00001, "mm", 0.0002, "-0.01 mm"),
        (-1e-7, "mm", 0.0002, "0.00 mm"),
        (0.0, "mm", 0.0, "0.000 mm"),
    ],
)
def test_digits_follow_the_uncertainty(value: float, unit: str, half: float, says: str) -> None:
    assert told(value, unit, half) == says


def test_a_refusal_speaks_in_the_unit_typed() -> None:
    volume = find("swept_volume")
    with pytest.raises(OutOfRange) as caught:
        volume.function(bore=-0.086, stroke=0.086)
    assert str(caught.value) == "bore must be above zero, got -0.086 (SI)"
    refusal = refused(volume, caught.value)
    assert refusal_text(refusal, "imperial") == "swept volume: bore must be above zero, got -3.3858 in"
    words = refused(find("open_belt_length"), OutOfRange("the belt is too short"))
    assert refusal_text(words, "imperial") == "open belt length: the belt is too short"
    again = type(caught.value)(*caught.value.args)
    assert (str(again), again.argument, again.value) == (str(caught.value), "bore", -0.086)


def test_what_prints_like_its_limit_is_said_to_be_just_beyond_it() -> None:
    over = Finding("a", "shortfall", "", "", value=10.02, limit=10.0, at_most=10.0, unit="%")
    assert in_short(over) == "10.0 %, just over 10.0, the most allowed"
    under = Finding("a", "shortfall", "", "", load=1.0, headroom=0.348, headroom_asked=0.35)
    assert in_short(under) == "headroom just below the 35% asked"
    assert in_short(replace(under, headroom=0.30)) == "headroom 30%, 35% asked"
