"""What comes of one cause stands under it: clean builds with one wrong part, so that all that fails is its."""

from __future__ import annotations

import pytest

import compat
from compat.paper.causes import causes
from compat.rulebook.models import AGAINST
from compat.words.report import Report


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    return compat.open_shop()


def report_with(shop: compat.OpenShop, build: str, position: str, part: str) -> Report:
    assert shop.check(build).clean
    return shop.check(shop.build(build).fitting(**{position: part})).report


@pytest.mark.parametrize(
    ("position", "part", "among"),
    [
        # its faces, its holes, and the boss that the exhaust cam's sensor had in the head it replaces
        ("cylinder_head", "tarn-20-base-head",
         {"head-finish-suits-gasket", "head-hole-for-fastener", "need-cam-sensor-boss",
          "cam-sensor-boss-exhaust", "tail-hole-closed"}),
        # its flanges, the gate that it needs and does not bring, and the manifold that has no place for that
        ("turbocharger", "sk-60-ball",
         {"turbo-flange", "downpipe-flange-turbo", "wastegate-present", "need-gate-flange", "gate-flange",
          "a-gate-on-every-flange"}),
        # channels that are too few are its own, whoever asks for them
        ("ecu", "wx-ecu-4", {"coil-outputs", "knock-inputs", "need-ecu-coil-driver"}),
    ],
    ids=["head", "turbo", "ecu"],
)  # fmt: skip
def test_all_that_one_wrong_part_brings_stands_under_it(
    position: str, part: str, among: set[str], shop: compat.OpenShop
) -> None:
    report = report_with(shop, "street-turbo", position, part)
    against = [finding for finding in report.findings if finding.verdict in AGAINST]
    groups = causes(report, against)
    assert [(cause.part, cause.position) for cause in groups] == [(part, position)]
    assert among <= {finding.rule for finding in groups[0].findings}


def test_of_two_wrong_parts_each_has_its_own(shop: compat.OpenShop) -> None:
    ready = shop.build("street-turbo").fitting(cylinder_head="tarn-20-base-head", turbocharger="sk-60-ball")
    report = shop.check(ready).report
    alone = {
        part: {
            finding.rule
            for finding in report_with(shop, "street-turbo", position, part).findings
            if finding.verdict in AGAINST
        }
        for position, part in (("cylinder_head", "tarn-20-base-head"), ("turbocharger", "sk-60-ball"))
    }
    groups = causes(report, [finding for finding in report.findings if finding.verdict in AGAINST])
    found = {cause.part: {finding.rule for finding in cause.findings} for cause in groups}
    assert found.keys() == alone.keys()
    for part, rules in alone.items():
        assert found[part] == rules
