"""What a build is told to add: how many, of what kind, which comes first, what stays out, what it drags in.

On the small shop. Its factory control unit offers one analogue input, the other one two and a cam signal;
the knock sensor `ear` needs an input and a boss, which only the work `tap-knock-boss` offers.
"""

from __future__ import annotations

from typing import Any

import pytest

EAR = "fit: {knock_sensor: ear}"
SPORT_BOX = "fit: {control_unit: sport-box}"


def added(report: Any) -> list[str]:
    return [entry.part for entry in report.extra_parts]


def done(report: Any) -> list[str]:
    return [entry.work for entry in report.extra_work]


# how many


def test_a_need_whose_count_nobody_stated_is_no_need_for_none(tiny: Any) -> None:
    tiny.edit("catalog/parts/factory.yaml", ", gears: 7", "")
    assert tiny.finds("need: {feature: cam_signal, count: fuel_pump.gears}").verdict in ("missing", "unknown")


def test_a_need_counted_by_what_is_left_out_is_no_need(tiny: Any) -> None:
    tiny.rule("need: {feature: cam_signal, count: fuel_pump.gears}")
    assert tiny.found("mine").verdict == "missing"
    assert tiny.found("mine", "leave_out: [fuel_pump]") is None


@pytest.mark.parametrize(
    ("count", "box", "expected"),
    [
        ("1", "hob-box", "ok"),
        ("2", "hob-box", "missing"),
        ("2", "sport-box", "ok"),
        ("3", "sport-box", "missing"),
        # a hair under three in binary floats is three
        ("0.3/0.1", "sport-box", "missing"),
        ("count(rod) - 2", "sport-box", "ok"),
    ],
)
def test_a_rule_asks_for_as_many_as_it_says(count: str, box: str, expected: str, tiny: Any) -> None:
    text = f"need: {{feature: analogue_input, count: {count}}}"
    assert tiny.finds(text, f"fit: {{control_unit: {box}}}").verdict == expected


def test_a_rule_asks_and_a_part_takes(tiny: Any) -> None:
    """Two rules may look at the same input; two sensors may not share it."""
    tiny.rule("need: {feature: analogue_input}")
    tiny.write("rules/yours.yaml", tiny.text("rules/mine.yaml").replace("rule: mine", "rule: yours"))
    found = {f.rule: f.verdict for f in tiny.report().findings}
    assert (found["mine"], found["yours"]) == ("ok", "ok")


def test_a_part_needs_as_many_as_it_says(tiny: Any) -> None:
    tiny.edit(
        "catalog/parts/extra.yaml",
        "[{feature: analogue_input}, knock",
        "[{feature: analogue_input, count: 2}, knock",
    )
    assert tiny.found("need-analogue-input", EAR).verdict == "missing"
    both = "fit: {knock_sensor: ear, control_unit: sport-box}"
    assert tiny.found("need-analogue-input", both).verdict == "ok"


@pytest.mark.parametrize(
    ("needs", "count", "box", "expected"),
    [
        # with every piece, or once for the whole set
        ("{feature: analogue_input}", 1, "hob-box", "ok"),
        ("{feature: analogue_input}", 2, "hob-box", "missing"),
        ("{feature: analogue_input}", 2, "sport-box", "ok"),
        ("{feature: analogue_input}", 3, "sport-box", "missing"),
        ("{feature: analogue_input, per: set}", 3, "hob-box", "ok"),
        ("{feature: analogue_input, count: 2, per: set}", 1, "hob-box", "missing"),
        ("{feature: analogue_input, count: 2}", 2, "sport-box", "missing"),
        # in pairs: the odd one takes a unit to itself
        ("{feature: analogue_input, shared_by: 2}", 2, "hob-box", "ok"),
        ("{feature: analogue_input, shared_by: 2}", 3, "hob-box", "missing"),
        ("{feature: analogue_input, shared_by: 2}", 4, "sport-box", "ok"),
        ("{feature: analogue_input, shared_by: 2}", 5, "sport-box", "missing"),
    ],
)
def test_a_need_goes_with_the_pieces(needs: str, count: int, box: str, expected: str, tiny: Any) -> None:
    tiny.edit("catalog/parts/extra.yaml", "[{feature: analogue_input}, knock", f"[{needs}, knock")
    build = f"fit: {{knock_sensor: ear, control_unit: {box}}}\ncounts: {{knock_sensor: {count}}}"
    assert tiny.found("need-analogue-input", build).verdict == expected


def test_an_offer_goes_with_the_pieces_or_the_set(tiny: Any) -> None:
    count = "measure: offered('analogue_input')\nat_least: 0"
    two = "counts: {control_unit: 2}"
    assert tiny.finds(count, two).value == 2
    tiny.edit(
        "catalog/parts/factory.yaml",
        "{feature: analogue_input, count: 1}",
        "{feature: analogue_input, per: set}",
    )
    assert tiny.finds(count, two).value == 1
    assert tiny.finds(count, "counts: {control_unit: 0}").value == 0


def test_a_position_left_without_pieces_neither_asks_nor_offers(tiny: Any) -> None:
    none = "fit: {knock_sensor: ear}\ncounts: {knock_sensor: 0}"
    assert tiny.found("need-knock-boss", none) is None
    tiny.rule("need: {position: knock_sensor}")
    assert tiny.found("mine", none).verdict == "missing"


def test_a_rule_counts_pieces_of_what_is_not_used_up(tiny: Any) -> None:
    tiny.rule("need: {position: rod, count: 5}")
    assert tiny.found("mine").verdict == "missing"
    assert tiny.found("mine", "counts: {rod: 5}").verdict == "ok"


@pytest.mark.parametrize(("serves", "pieces"), [("1", 4), ("2", 2), ("3", 2), ("4", 1), (None, 4)])
def test_a_piece_that_serves_several(serves: str | None, pieces: int, tiny: Any) -> None:
    said = f"  specs: {{ways: {serves}}}\n" if serves else ""
    tiny.write(
        "catalog/horn.yaml",
        "- {position: horn, name: Horn, system: ignition, per: cylinders, each_serves: ways,\n"
        "   specs: {ways: number}}\n"
        f"- part: big-horn\n  name: Big horn\n  fills: horn\n{said}",
    )
    assert tiny.finds("measure: count(horn)\nat_least: 0", "fit: {horn: big-horn}").value == pieces


def test_open_needs_are_told_in_the_order_they_are_asked(tiny: Any) -> None:
    """A part's own in the order of its card."""
    tiny.edit("catalog/parts/factory.yaml", "  offers: [{feature: analogue_input, count: 1}]\n", "")
    findings = [
        f.rule for f in tiny.report(EAR).findings if f.verdict == "missing" and f.rule.startswith("need-")
    ]
    assert findings == ["need-analogue-input", "need-knock-boss"]


# of what kind


@pytest.mark.parametrize(
    ("offered", "asked", "expected"),
    [
        ("{kind: hall}", "{kind: hall}", "ok"),
        ("{kind: coil}", "{kind: hall}", "missing"),
        # one word that agrees does not make up for one that does not
        ("{kind: hall, teeth: '1'}", "{kind: hall, teeth: '4'}", "missing"),
        ("{kind: hall, teeth: '4'}", "{kind: hall, teeth: '4'}", "ok"),
        # an offer that does not say may be of any kind
        ("{teeth: '4'}", "{kind: hall, teeth: '4'}", "ok"),
    ],
)
def test_what_is_offered_is_of_the_kind_that_is_asked_for(
    offered: str, asked: str, expected: str, tiny: Any
) -> None:
    tiny.edit(
        "catalog/parts/extra.yaml",
        "count: 2}, cam_signal]",
        f"count: 2}}, {{feature: cam_signal, with: {offered}}}]",
    )
    assert tiny.finds(f"need: {{feature: cam_signal, with: {asked}}}", SPORT_BOX).verdict == expected
    tiny.edit(
        "catalog/parts/extra.yaml",
        "[{feature: analogue_input}, knock",
        f"[{{feature: cam_signal, with: {asked}}}, knock",
    )
    both = "fit: {knock_sensor: ear, control_unit: sport-box}"
    assert tiny.found("need-cam-signal", both).verdict == expected


# under what condition


def test_an_offer_that_cannot_be_decided_is_not_counted_on_and_a_need_is(tiny: Any) -> None:
    """Who does not know must take it that the signal is not there, and that the input is taken."""
    tiny.edit(
        "catalog/parts/extra.yaml",
        "count: 2}, cam_signal]",
        "count: 2}, {feature: cam_signal, when: fuel_pump.gears > 3}]",
    )
    tiny.edit(
        "catalog/parts/extra.yaml",
        "[{feature: analogue_input}]",
        "[{feature: analogue_input, when: fuel_pump.gears > 3}]",
    )
    tiny.edit("catalog/parts/factory.yaml", "  offers: [{feature: analogue_input, count: 1}]\n", "")
    tiny.rule("need: {feature: cam_signal}")
    sensor = "fit: {pressure_sensor: sport-sensor}"
    assert tiny.found("mine", SPORT_BOX).verdict == "ok"
    assert tiny.found("need-analogue-input", sensor).verdict == "missing"
    # what hangs on a part that is left out is neither offered nor needed
    without = "\nleave_out: [fuel_pump]"
    assert tiny.found("mine", SPORT_BOX + without).verdict == "missing"
    assert tiny.found("need-analogue-input", sensor + without) is None
    tiny.edit("catalog/parts/factory.yaml", ", gears: 7", "")
    assert tiny.found("mine", SPORT_BOX).verdict == "missing"
    assert tiny.found("need-analogue-input", sensor).verdict == "missing"


def test_what_is_offered_twice_counts_twice(tiny: Any) -> None:
    tiny.write(
        "catalog/parts/loom.yaml",
        "- part: spare-loom\n  name: Loom\n  fills: [knock_sensor, pressure_sensor]\n"
        "  offers: [{feature: analogue_input, count: 2}]\n",
    )
    count = "measure: offered('analogue_input')\nat_least: 0"
    assert tiny.finds(count).value == 1
    assert tiny.finds(count, "fit: {knock_sensor: spare-loom}").value == 3
    assert tiny.finds(count, "fit: {knock_sensor: spare-loom, pressure_sensor: spare-loom}").value == 5


# which comes first

CHOICES = """
- {feature: boost_signal, name: Boost signal%s}
- {supplier: cornmill, name: Cornmill, currency: GBP}
- {family: wren, name: Wren, numbers: {cylinders: 4, banks: 1, main_journals: 5, cams: 1, inlet_valves: 4,
   exhaust_valves: 4, valves: 8}}
- {part: alien, name: Of another engine, fills: pressure_sensor, families: [wren], offers: [boost_signal],
   sold_by: [{supplier: cornmill, price: 1 GBP}]}
- {part: dear, name: Dear, fills: knock_sensor, families: [wren, hob], offers: [boost_signal],
   sold_by: [{supplier: cornmill, price: 30 GBP}]}
- {part: by-the-pack, name: By the pack, fills: pressure_sensor, offers: [boost_signal],
   sold_by: [{supplier: cornmill, price: 80 GBP, pack: 4}]}
- {position: wastegate, name: Wastegate, system: induction}
- {work: nowhere, name: On what is not there, on: wastegate, offers: [boost_signal], hours: 0.1}
- {work: slow, name: Slow, on: block, offers: [boost_signal], hours: 2}
- {work: quick, name: Quick, on: block, offers: [boost_signal], hours: 0.5}
"""


@pytest.mark.parametrize(
    ("remedies", "taken", "first"),
    [
        ("", "", "by-the-pack"),  # the least for a piece, of those for this engine
        ("", "pressure_sensor: sport-sensor", "dear"),
        ("", "pressure_sensor: sport-sensor, knock_sensor: ear", "quick"),  # work comes after parts, by hours
        (", remedies: [{add: dear}]", "", "dear"),  # what the feature itself names comes first
        (", remedies: [{work: slow}]", "", "slow"),
        (", remedies: [{work: slow}, {add: dear}]", "", "slow"),
        (", remedies: [{add: alien}]", "", "by-the-pack"),
        (", remedies: [{work: nowhere}]", "", "by-the-pack"),
    ],
)
def test_what_is_suggested_first(remedies: str, taken: str, first: str, tiny: Any) -> None:
    tiny.write("catalog/choices.yaml", CHOICES % remedies)
    tiny.rule("need: {feature: boost_signal}")
    report = tiny.report(f"fit: {{control_unit: sport-box, {taken}}}\nwork: [tap-knock-boss]\nrenew: all")
    wanted = [
        name for name in added(report) + done(report) if name not in ("hob-gasket", "oil-10w40", "final-wash")
    ]
    assert wanted == [first]


def test_work_on_what_is_not_there_is_no_way_out(tiny: Any) -> None:
    tiny.edit(
        "catalog/work.yaml",
        "  name: Tap a knock sensor boss\n  on: block\n",
        "  name: Tap a boss\n  on: pressure_sensor\n",
    )
    assert done(tiny.report(EAR)) == []
    assert done(tiny.report("fit: {knock_sensor: ear, pressure_sensor: sport-sensor}")) == ["tap-knock-boss"]


# what stays out


def test_what_a_part_of_the_build_cannot_stand_beside_is_not_suggested(tiny: Any) -> None:
    tiny.rule("need: {position: knock_sensor}")
    assert "ear" in added(tiny.report())
    tiny.edit("catalog/parts/factory.yaml", "- part: hob-box\n", "- part: hob-box\n  never_with: [ear]\n")
    assert added(tiny.report()) == []
    assert "ear" in added(tiny.report(SPORT_BOX))


def test_what_cannot_stand_beside_a_part_of_the_build_is_not_suggested(tiny: Any) -> None:
    tiny.rule("need: {position: knock_sensor}")
    tiny.edit("catalog/parts/extra.yaml", "- part: ear\n", "- part: ear\n  never_with: [hob-box]\n")
    assert added(tiny.report()) == []
    assert "ear" in added(tiny.report(SPORT_BOX))


def test_two_that_cannot_stand_beside_each_other_are_not_both_suggested(tiny: Any) -> None:
    """The knock sensor drags in a target that bars the pressure sensor, asked for in a later round."""
    tiny.write(
        "catalog/targets.yaml",
        "- {position: cam_target, name: Cam target, system: management}\n"
        "- {position: cam_wheel, name: Cam wheel, system: management}\n"
        "- {feature: wheel, name: Wheel}\n"
        "- {part: target, name: Target, fills: cam_target, offers: [cam_signal], needs: [wheel]}\n"
        "- {part: wheel-a, name: Wheel, fills: cam_wheel, offers: [wheel]}\n",
    )
    tiny.rule("need: {feature: cam_signal}")
    assert added(tiny.report()) == ["target", "wheel-a"]
    tiny.edit("catalog/targets.yaml", "offers: [cam_signal]", "offers: [cam_signal], never_with: [wheel-a]")
    assert added(tiny.report()) == ["target"]


# what it drags in


@pytest.mark.parametrize(
    ("when", "gears", "dragged"),
    [
        ("", "7", True),
        (", when: wastegate.ports > 1", "7", True),  # only the candidate's own card could say: taken as so
        (", when: fuel_pump.gears > 3", "7", True),
        (", when: fuel_pump.gears > 9", "7", False),
        (", when: fuel_pump.gears > 9", "", True),  # nobody stated it: taken as so
    ],
)
def test_what_is_added_brings_its_own_needs(when: str, gears: str, dragged: bool, tiny: Any) -> None:
    tiny.write(
        "catalog/gates.yaml",
        "- {position: wastegate, name: Wastegate, system: induction, specs: {ports: number}}\n"
        "- {position: cam_target, name: Cam target, system: management}\n"
        "- {part: gate, name: Gate, fills: wastegate, specs: {ports: 2}, "
        f"needs: [{{feature: cam_signal{when}}}]}}\n"
        "- {part: target, name: Target, fills: cam_target, offers: [cam_signal]}\n",
    )
    if not gears:
        tiny.edit("catalog/parts/factory.yaml", ", gears: 7", "")
    tiny.rule("need: {position: wastegate}")
    assert added(tiny.report()) == (["gate", "target"] if dragged else ["gate"])


def test_work_that_is_added_brings_what_it_forces_and_what_it_needs(tiny: Any) -> None:
    tiny.write(
        "catalog/targets.yaml",
        "- {position: cam_target, name: Cam target, system: management}\n"
        "- {part: target, name: Target, fills: cam_target, offers: [cam_signal]}\n",
    )
    alone = tiny.report(EAR)
    assert (done(alone), "target" in added(alone)) == (["tap-knock-boss"], False)
    tiny.edit(
        "catalog/work.yaml",
        "  offers: [knock_boss]\n",
        "  offers: [knock_boss]\n  forces: [final-wash]\n  needs: [cam_signal]\n",
    )
    more = tiny.report(EAR)
    assert set(done(more)) == {"tap-knock-boss", "final-wash"}
    assert "target" in added(more)


def test_a_need_met_by_what_is_added_still_stands_out(tiny: Any) -> None:
    """What the check adds is a suggestion: nobody has bought it yet."""
    report = tiny.report(EAR)
    assert done(report) == ["tap-knock-boss"]
    assert tiny.found("need-knock-boss", EAR).verdict == "missing"
    assert tiny.found("need-knock-boss", f"{EAR}\nwork: [tap-knock-boss]").verdict == "ok"
