"""Verdicts on measured pieces, against every way to put them together worked out here."""

from __future__ import annotations

import itertools
import math
import random
import shutil
from pathlib import Path

import pytest

import compat
from compat.checking.built import settle
from compat.checking.by_pieces import _left
from compat.checking.judging import judge
from compat.checking.outcome import RANK, Held, Outcome, Pieced
from compat.library.sources import demo_folder
from compat.rulebook.models import VERDICTS
from compat.shop.build_work import with_more
from compat.shop.writing import as_said
from tests.measured.conftest import Said, bores_and_skirts, pieces

LEAST, MOST = 0.040, 0.070
"""Skirt clearance on the card of hg-piston-860-308-d120."""
BORES = [86.002, 85.999, 86.001, 86.000]
SKIRTS = [85.950, 85.947, 85.951, 85.949]


def ask(shop: compat.OpenShop, build: compat.Build, rule: str, said: Said, **more: object) -> Outcome | None:
    ready = (build.changed(**more) if more else build).measuring(said)
    return judge(settle(shop.things, shop.book, ready, shop.session.answers), shop.book.rules[rule])


def expected(bores: list[float], skirts: list[float], u: float) -> str:
    """By hand: a pairing below by more than the guard is out, above the most it is a caution."""
    guard = math.hypot(u, u)
    margin = [[round(bore - skirt - LEAST, 9) for skirt in skirts] for bore in bores]
    out = [[each < -guard - 1e-9 for each in row] for row in margin]
    saved = any(not any(out[i][p] for i, p in enumerate(order)) for order in itertools.permutations(range(4)))
    if not saved:
        return "conflict"
    if any(each < guard - 1e-9 for row in margin for each in row):
        return "measure"
    high = any(bore - skirt > MOST + 1e-9 for bore in bores for skirt in skirts)
    return "caution" if high else "ok"


def test_verdicts_are_those_of_every_way_to_put_the_pieces_together(
    shop: compat.OpenShop, street: compat.Build
) -> None:
    chance, seen = random.Random(86), set()
    for _ in range(150):
        wide, middle, u = (
            chance.uniform(0.002, 0.014),
            chance.uniform(0.034, 0.072),
            chance.choice([1, 2, 4]) * 1e-3,
        )
        bores = [round(86 + chance.uniform(-wide, wide), 4) for _ in range(4)]
        skirts = [round(86 - middle + chance.uniform(-wide, wide), 4) for _ in range(4)]
        outcome = ask(shop, street, "piston-skirt-clearance", bores_and_skirts(bores, skirts, u))
        assert outcome is not None
        assert outcome.verdict == expected(bores, skirts, u), (bores, skirts, u)
        seen.add(outcome.verdict)
    assert seen == {"conflict", "measure", "caution", "ok"}


def test_a_seat_that_no_piece_can_change_decides(shop: compat.OpenShop, street: compat.Build) -> None:
    """The middle of the bores lies well inside; the fourth bore alone is past the largest the block allows."""
    said = {"block.bore_diameter": pieces([86.00, 86.00, 86.00, 86.52])}
    outcome = ask(shop, street, "bore-within-limit", said)
    assert outcome is not None
    assert outcome.verdict == "conflict"
    assert isinstance(outcome.seen, Pieced)
    assert outcome.seen.worst.numbers == (("cylinders", 4),)


@pytest.mark.parametrize(
    ("fourth", "u", "verdict"),
    [
        (86.497, 0.002, "ok"),
        (86.499, 0.002, "measure"),
        (86.501, 0.002, "measure"),
        (86.503, 0.002, "conflict"),
    ],
)
def test_the_guard_band_stands_on_both_sides_of_a_limit(
    fourth: float, u: float, verdict: str, shop: compat.OpenShop, street: compat.Build
) -> None:
    outcome = ask(
        shop, street, "bore-within-limit", {"block.bore_diameter": pieces([86.0, 86.0, 86.0, fourth], u)}
    )
    assert outcome is not None
    assert outcome.verdict == verdict


def test_every_height_of_a_bore_counts(shop: compat.OpenShop, street: compat.Build) -> None:
    """Two heights are fine and the foot is tight: the piston passes there too."""
    bore = {"top": "86.003 mm", "middle": "86.002 mm", "foot": "85.985 mm"}
    said = {
        "block.bore_diameter": {
            "pieces": {1: bore, 2: "86.001 mm", 3: "86.001 mm", 4: "86.001 mm"},
            "uncertainty": "0.001 mm",
            "gauge": "bore gauge",
        },
        "piston.skirt_diameter": pieces([85.950] * 4, 0.001, "micrometer"),
    }
    outcome = ask(shop, street, "piston-skirt-clearance", said)
    assert outcome is not None
    assert outcome.verdict == "conflict"  # 0.035 mm at the foot, and every piston measures the same


def test_pieces_nobody_measured_are_as_their_card_says(shop: compat.OpenShop, street: compat.Build) -> None:
    """Skirts of 85.948 ±0.004 by their card: bores that leave 0.041 at the middle may leave 0.037."""
    some = {"block.bore_diameter": {**pieces([85.989] * 4, 0.0005)}}
    outcome = ask(shop, street, "piston-skirt-clearance", some)
    assert outcome is not None
    assert outcome.verdict == "measure"
    tight = {"block.bore_diameter": {**pieces([85.986] * 4, 0.0005)}}
    outcome = ask(shop, street, "piston-skirt-clearance", tight)
    assert outcome is not None
    assert outcome.verdict == "conflict"  # no tolerance excuses 0.038


def test_three_of_four_measured_leave_the_fourth_as_its_card_says(
    shop: compat.OpenShop, street: compat.Build
) -> None:
    measured = bores_and_skirts([86.0] * 4, SKIRTS)
    measured["piston.skirt_diameter"]["pieces"] = {1: "85.950 mm", 2: "85.950 mm", 3: "85.950 mm"}
    outcome = ask(shop, street, "piston-skirt-clearance", measured)
    assert outcome is not None
    assert isinstance(outcome.seen, Pieced)
    fourth = [p for p in outcome.seen.pairings if dict(p.numbers)["piston"] == 4]
    assert {round(p.loose * 1e3, 6) for p in fourth} == {0.004}


def test_selected_pieces_meet_only_where_they_go(shop: compat.OpenShop, street: compat.Build) -> None:
    bores, skirts = [86.010, 86.000, 86.000, 86.000], [85.950, 85.951, 85.966, 85.952]
    said = bores_and_skirts(bores, skirts, 0.001)
    loose = ask(shop, street, "piston-skirt-clearance", said)
    put = ask(shop, street, "piston-skirt-clearance", said, selected={"piston": [3, 1, 2, 4]})
    wrong = ask(shop, street, "piston-skirt-clearance", said, selected={"piston": [1, 3, 2, 4]})
    assert loose is not None
    assert put is not None
    assert wrong is not None
    assert (loose.verdict, put.verdict, wrong.verdict) == ("measure", "ok", "conflict")


@pytest.mark.parametrize("rule", ["main-film", "main-film-temperature", "oil-flow-hot", "main-pressure"])
def test_what_takes_long_is_judged_on_the_worst_journal(
    rule: str, shop: compat.OpenShop, street: compat.Build
) -> None:
    """Never better than an engine all of whose journals are as the widest measured, or as the tightest."""
    chance = random.Random(58)
    for _ in range(3):
        housings = [round(62.005 + chance.uniform(-0.012, 0.012), 4) for _ in range(5)]
        journals = [round(57.992 + chance.uniform(-0.012, 0.012), 4) for _ in range(5)]
        found = ask(
            shop,
            street,
            rule,
            {
                "block.main_housing_bore": pieces(housings, 0.0001),
                "crankshaft.main_journal_diameter": pieces(journals, 0.0001, "micrometer"),
            },
        )
        gaps = [housing - journal for housing, journal in zip(housings, journals, strict=True)]
        ends = gaps.index(min(gaps)), gaps.index(max(gaps))
        alone = [
            ask(
                shop,
                street,
                rule,
                {
                    "block.main_housing_bore": f"{housings[end]} mm",
                    "crankshaft.main_journal_diameter": f"{journals[end]} mm",
                },
            )
            for end in ends
        ]
        assert found is not None
        for each in alone:
            assert each is not None
            assert RANK[found.verdict] <= RANK[each.verdict]
            if found.verdict == each.verdict == "ok" and isinstance(found.seen, Held):
                assert isinstance(each.seen, Held)
                assert _left(found) <= _left(each) + 1e-3 * abs(each.seen.value)


def test_size_before_the_work_is_told(shop: compat.OpenShop, street: compat.Build) -> None:
    """The build hones to 86.000 ±0.003; bores of 85.51 were measured before that."""
    found = shop.check(street.measuring({"block.bore_diameter": pieces([85.51, 85.51, 85.52, 86.001])}))
    told = next(f for f in found.report.findings if f.rule == "measured-block-bore-diameter")
    assert told.verdict == "conflict"
    assert "pieces 1, 2 and 3 measured as it was before" in told.because
    assert "hone-torque-plate" in told.because


def test_size_that_the_work_missed_is_measured_again(shop: compat.OpenShop, street: compat.Build) -> None:
    """Never 86.020 before, and not what was honed to: the gauge or the hone went astray."""
    found = shop.check(street.measuring({"block.bore_diameter": pieces([86.020, 86.0, 86.0, 86.001])}))
    told = next(f for f in found.report.findings if f.rule == "measured-block-bore-diameter")
    assert told.verdict == "measure"
    assert "piece 1 measured outside that" in told.because


@pytest.mark.parametrize(
    ("height", "verdict"),
    # 222.50 ±0.08 mm on the card, 222.20 ±0.02 once 0.30 mm are off
    [("222.50 mm", "conflict"), ("222.45 mm ±0.01", "conflict"), ("222.30 mm", "measure"), ("222.21 mm", "")],
)
def test_one_value_for_all_is_no_older_than_the_work(
    shop: compat.OpenShop, street: compat.Build, height: str, verdict: str
) -> None:
    work = ["strip-clean", "crack-test", "wall-test", {"work": "deck-block", "depth": "0.30 mm"}]
    build = street.changed(
        work=[*work, *as_said(street.build)["work"][3:]], measured={"block.deck_height": height}
    )
    told = {f.rule: f for f in shop.check(build).report.findings}.get("measured-block-deck-height")
    assert (told.verdict if told else "") == verdict


def test_a_size_that_was_read_on_one_part_is_none_of_another(
    shop: compat.OpenShop, street: compat.Build
) -> None:
    """A small end of 22 mm, and then a rod of 21 mm: the reading went with the rod that it was taken on."""
    read = street.changed(measured={"rod.small_end_bore": "22.012 mm", "piston.skirt_diameter": "85.951 mm"})
    other = read.fitting(rod="sf-rod-1480-h-21")
    assert dict(other.build.measured) == {"piston.skirt_diameter": "85.951 mm"}
    assert shop.ask("pin-running-clearance", other).verdict == "conflict"
    assert read.fitting(rod="sf-rod-1480-h-22").build.measured == read.build.measured


def test_what_is_not_measured_changes_nothing(shop: compat.OpenShop, street: compat.Build) -> None:
    """A check of measured pieces leaves the session's next check of the plain build as it was."""
    before = [(o.rule, o.verdict, o.seen) for o in shop.check(street).outcomes]
    shop.check(street.measuring(bores_and_skirts(BORES, SKIRTS)))
    fresh = compat.OpenShop(shop.things, shop.book)
    assert [(o.rule, o.verdict, o.seen) for o in shop.check(street).outcomes] == before
    assert [(o.rule, o.verdict) for o in fresh.check(street).outcomes] == [(r, v) for r, v, _ in before]


def test_a_session_finds_what_a_check_by_itself_finds(shop: compat.OpenShop, street: compat.Build) -> None:
    """The band of both is the same, and the pieces in it are not."""
    ends = [86.004, 85.996]
    for middle in ([86.0, 86.0], [86.004, 86.004], [85.996, 85.996]):
        build = street.measuring(bores_and_skirts([*ends, *middle], [85.952, 85.944, 85.959, 85.950]))
        alone = compat.OpenShop(shop.things, shop.book).check(build)
        assert [(o.rule, o.verdict) for o in shop.check(build).outcomes] == [
            (o.rule, o.verdict) for o in alone.outcomes
        ]
        assert shop.check(build).report.findings == alone.report.findings


def test_another_part_drops_what_was_measured_on_the_one_before(
    shop: compat.OpenShop, street: compat.Build
) -> None:
    build = street.measuring(bores_and_skirts(BORES, SKIRTS))
    other = build.fitting(piston="hg-piston-860-308-d106")
    assert ("piston", "skirt_diameter") not in other.measured
    assert ("block", "bore_diameter") in other.measured
    assert build.fitting(piston="hg-piston-860-308-d120").measured == build.measured
    assert build.aiming(power="170 kW").measured == build.measured


def test_a_selection_of_what_was_not_measured_is_told(shop: compat.OpenShop, street: compat.Build) -> None:
    found = shop.check(street.changed(selected={"piston": [2, 1, 3, 4]}))
    told = next(f for f in found.report.findings if f.rule == "no-effect-selected-piston")
    assert told.verdict == "conflict"
    assert "none was measured by itself" in told.because


def test_what_it_says(shop: compat.OpenShop, street: compat.Build) -> None:
    """Sentences name the pieces, the distance and the uncertainty that would decide."""
    edge = bores_and_skirts([86.000] * 4, [85.950, 85.950, 85.950, 85.9590], 0.002)
    report = shop.check(street.measuring(edge)).reported("metric")
    because = next(f.because for f in report.findings if f.rule == "piston-skirt-clearance")
    assert because == (
        "piston skirt clearance comes to 0.0410 mm in cylinder 1 with piston 4, 0.0010 mm inside the least "
        "allowed, 0.040 mm, and what measured it may be off by 0.0028 mm (k = 2): not decided; an uncertainty "
        "of 0.0010 mm or less would decide"
    )
    tight = bores_and_skirts([86.000] * 4, [85.970] * 4, 0.002)
    report = shop.check(street.measuring(tight)).reported("imperial")
    because = next(f.because for f in report.findings if f.rule == "piston-skirt-clearance")
    assert because.endswith(
        "less than the least allowed, 0.0016 in: proven, uncertainty 0.00011 in (k = 2); no way to put these "
        "pieces together avoids it"
    )


def test_a_bore_that_was_gauged_has_its_taper_and_roundness(
    shop: compat.OpenShop, street: compat.Build, tmp_path: Path
) -> None:
    """The hone is to leave 0.006 mm of taper; what the gauge found counts."""
    bore = {
        "top along": "86.001 mm",
        "top across": "86.004 mm",
        "foot along": "86.020 mm",
        "foot across": "86.021 mm",
    }
    said = {"block.bore_diameter": {"pieces": [bore] * 4, "uncertainty": "0.001 mm", "gauge": "bore gauge"}}
    measured = street.measuring(said)
    found = {finding.rule: finding for finding in shop.check(measured).report.findings}
    assert found["bore-taper"].verdict == "conflict"
    assert found["bore-taper"].value == pytest.approx(0.019)
    assert found["bore-roundness"].verdict == "ok"
    assert found["bore-roundness"].value == pytest.approx(0.003)
    by_piece = {"pieces": ["0.004 mm"] * 4, "uncertainty": "0.001 mm", "gauge": "bore gauge"}
    for typed in ("0.004 mm", by_piece):  # what was typed does not talk away what the readings show
        own = street.measuring({**said, "block.bore_taper": typed})
        assert {f.rule: f.verdict for f in shop.check(own).report.findings}["bore-taper"] == "conflict"
    own = street.measuring({**said, "block.bore_roundness": "0.030 mm"})  # and what is worse counts
    assert {f.rule: f.verdict for f in shop.check(own).report.findings}["bore-roundness"] == "conflict"
    one = street.measuring({"block.bore_diameter": pieces([86.0] * 4)})
    assert ("block", "bore_taper") not in one.measured


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("bore_diamter over heights", "'spread_of' names no spec of this position with places `at`"),
        ("bore_diameter over places", "'spread_of' is written as: bore_diameter over heights or directions"),
        ("bore_spacing over heights", "'spread_of' names no spec of this position with places `at`"),
    ],
)
def test_what_follows_from_what_is_declared_rightly(said: str, message: str, tmp_path: Path) -> None:
    shutil.copytree(demo_folder(), tmp_path / "shop")
    path = tmp_path / "shop/catalog/vocabulary/short_block.yaml"
    text = path.read_text(encoding="utf-8")
    assert "spread_of: bore_diameter over heights" in text
    path.write_text(text.replace("bore_diameter over heights", said), encoding="utf-8")
    with pytest.raises(compat.Faults) as found:
        compat.open_shop(tmp_path / "shop", cache=False)
    assert any(f"spec 'bore_taper': {message}" in str(fault) for fault in found.value.faults)


def test_other_parts_are_asked_on_the_pieces_that_were_measured(
    shop: compat.OpenShop, street: compat.Build
) -> None:
    """One question, a sweep and whole checks agree, shell by shell and piston by piston."""
    build = street.measuring(
        bores_and_skirts(BORES, SKIRTS)
        | {
            "crankshaft.rod_journal_diameter": pieces([47.990, 47.962, 47.990, 47.991], gauge="micrometer"),
            "rod.big_end_bore": pieces([51.004, 51.006, 51.011, 51.005]),
        }
    )
    shells = ["tarn-20-rod-bearing", "hd-rod-std", "hd-rod-025x", "hd-rod-u25"]
    pistons = ["hg-piston-860-308-d120", "hg-piston-860-308-d106", "tarn-20-turbo-piston"]
    grid = shop.sweep(build, {"rod_bearing": shells, "piston": pistons})
    for row, shell in enumerate(shells):
        for column, piston in enumerate(pistons):
            found = shop.check(build.fitting(rod_bearing=shell, piston=piston))
            verdicts = {outcome.rule: outcome.verdict for outcome in found.outcomes}
            assert VERDICTS[grid.worst[row, column]] == found.verdict
            for rule in ("big-end-clearance", "piston-skirt-clearance"):
                asked = shop.ask(rule, build, rod_bearing=shell, piston=piston)
                assert (asked.verdict if asked else None) == verdicts.get(rule), (rule, shell, piston)


def test_a_pairing_that_is_out_passes_no_oftener_than_the_rule_allows(
    shop: compat.OpenShop, street: compat.Build
) -> None:
    """Every piece in truth exactly on the limit: what the gauges said proves the engine once in forty-four."""
    chance, draws, u = random.Random(44), 400, 0.003
    passed = 0
    for _ in range(draws):
        bore = 86.0 + chance.gauss(0, u / 2)
        skirt = 85.960 + 1e-6 + chance.gauss(0, u / 2)
        said = {
            "block.bore_diameter": pieces([bore, 86.01, 86.01, 86.01], u),
            "piston.skirt_diameter": pieces([skirt, 85.951, 85.951, 85.951], u, "micrometer"),
        }
        outcome = ask(shop, street, "piston-skirt-clearance", said, selected={"piston": [1, 2, 3, 4]})
        assert outcome is not None
        passed += outcome.verdict == "ok"
    expected = draws * 0.02275
    assert passed <= expected + 4 * math.sqrt(expected)
    assert passed > 0  # it is the edge that is tried


def test_more_work_than_the_build_names_leaves_no_piece_as_it_was_measured(
    shop: compat.OpenShop, street: compat.Build
) -> None:
    """Bores that were gauged are not known any more once the block is honed again; journals are."""
    build = street.measuring(
        {"block.bore_diameter": pieces([86.0] * 4), "crankshaft.main_journal_diameter": pieces([57.992] * 5)}
    )
    again = with_more(build, {}, ["hone-torque-plate"])
    assert set(again.measured) == {("crankshaft", "main_journal_diameter")}
    assert with_more(build, {}, ["measure"]).measured == build.measured
