"""What a build buys: against the report and the catalogue, and piece by piece on a small shop."""

from __future__ import annotations

import pytest

from compat import Check
from compat.library.library import Library
from compat.trade.wanting import brought, wanted
from tests.conftest import Tiny
from tests.look import check, checked_once

BUILDS = (
    "endurance-ethanol",
    "fell-30-top-end",
    "first-draft",
    "long-stroke-20",
    "phase-upgrade",
    "street-turbo",
)


@pytest.mark.parametrize("name", BUILDS)
def test_a_demo_build_buys_what_its_file_and_its_report_say(demo: Library, name: str) -> None:
    checked = checked_once(name)
    build = demo.shop.builds[name]
    extra = {
        (part.position, part.part, part.count) for part in checked.report.extra_parts if not part.held_back
    }
    # a sister's used piece is not bought where that place is renewed, nor where the new piece is held back
    renewed = {part.position for part in checked.report.extra_parts}
    chosen = {(position, part) for position, part in build.fit.items() if position != "fuel"}
    for taken in build.take_from:
        sister = demo.shop.variants[taken.variant].parts
        chosen |= {(p, sister[p]) for p in taken.positions if p not in renewed}
    found = wanted(checked.checked)
    assert {(one.position, one.part) for one in found} == chosen | {(p, part) for p, part, _ in extra}
    assert extra <= {(one.position, one.part, one.count) for one in found}
    assert len({one.position for one in found}) == len(found)
    held = {(part.position, part.part, part.count) for part in checked.report.extra_parts if part.held_back}
    assert {(one.position, one.part, one.count) for one in wanted(checked.checked, held=True)} == held
    assert all(one.reasons and one.build == name for one in found)


def of_tiny(tiny: Tiny, says: str, goal: str = "power: 50 kW, at: 6000 rpm") -> Check:
    lines = ["- build: own", "  name: Own", "  variant: hob-13", f"  goal: {{{goal}}}"]
    lines += ["  " + line.strip() for line in says.strip().splitlines()]
    tiny.write("catalog/builds/own.yaml", "\n".join(lines) + "\n")
    library = tiny.load()
    return check(library.shop, library.book, "own")


def bought(checked: Check) -> dict[str, tuple[str, int, str]]:
    return {one.position: (one.part, one.count, one.reasons[0]) for one in wanted(checked.checked)}


def test_a_factory_part_is_bought_only_when_a_joint_consumes_it(tiny: Tiny) -> None:
    found = bought(of_tiny(tiny, "fit: {piston: hob-piston}"))
    assert found["piston"] == ("hob-piston", 4, "chosen in the build")
    assert found["head_gasket"] == ("hob-gasket", 1, "renewed: head joint is opened")
    assert "rod" not in found


def test_what_the_customer_brings_is_told_and_not_bought(tiny: Tiny) -> None:
    says = "fit: {piston: hob-piston}\nbrought: {piston: used and weighed, head_gasket: new in its bag}"
    checked = of_tiny(tiny, says)
    assert not {"piston", "head_gasket"} & bought(checked).keys()
    told = [(one.position, one.part, one.count, one.state) for one in brought(checked.checked)]
    assert told == [
        ("piston", "hob-piston", 4, "used and weighed"),
        ("head_gasket", "hob-gasket", 1, "new in its bag"),
    ]
    assert "no-effect" not in " ".join(finding.rule for finding in checked.report.findings)


def test_bringing_what_nobody_buys_is_a_word_without_effect(tiny: Tiny) -> None:
    report = of_tiny(tiny, "brought: [fuel_pump]").report
    (finding,) = [finding for finding in report.findings if finding.rule == "no-effect-brought-fuel-pump"]
    assert finding.verdict == "conflict"
    assert "the build buys nothing for it" in finding.because


def test_what_is_taken_from_a_sister_may_be_used(tiny: Tiny) -> None:
    checked = of_tiny(tiny, "take_from: [{variant: hob-15, positions: [crankshaft]}]")
    (one,) = [each for each in wanted(checked.checked) if each.position == "crankshaft"]
    assert (one.part, one.used, one.reasons) == ("hob-crank-long", True, ("taken from hob-15",))
    assert not any(each.used for each in wanted(checked.checked) if each.position != "crankshaft")


BOXES = """\
- part: boxed-piston
  name: Piston with its rod
  fills: piston
  includes: [boxed-rod]
- part: boxed-rod
  name: Rod of the box
  fills: rod
"""


def test_what_comes_in_a_box_is_not_bought_beside_it(tiny: Tiny) -> None:
    tiny.write("catalog/parts/boxes.yaml", BOXES)
    assert "rod" not in bought(of_tiny(tiny, "fit: {piston: boxed-piston}"))
    both = bought(of_tiny(tiny, "fit: {rod: boxed-rod, piston: boxed-piston}"))
    assert "piston" in both
    assert "rod" not in both
    assert bought(of_tiny(tiny, "fit: {rod: boxed-rod}"))["rod"][0] == "boxed-rod"
    told = brought(of_tiny(tiny, "fit: {piston: boxed-piston}\nbrought: [piston]").checked)
    assert told[0].boxed == ("boxed-rod",)


def test_a_count_of_the_build_is_bought_and_none_is_not(tiny: Tiny) -> None:
    assert bought(of_tiny(tiny, "fit: {rod: hob-rod}\ncounts: {rod: 3}"))["rod"][1] == 3
    assert "rod" not in bought(of_tiny(tiny, "fit: {rod: hob-rod}\ncounts: {rod: 0}"))
