"""A shop to begin with: it checks at once, in every size, and never writes over anything."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from compat.checking.lint import lint
from compat.library.library import Library, load
from compat.library.skeleton import SIZES
from compat.library.sources import look
from compat.library.starting import start
from compat.rulebook.reading import MODELS as RULEBOOK
from compat.shop.reading import MODELS as CATALOGUE
from compat.shop.source import Faults
from compat.shop.tidying import keys_of, tidied
from tests.look import check


@pytest.fixture(scope="module", params=SIZES)
def started(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Library:
    folder = tmp_path_factory.mktemp("begin") / "shop"
    start(folder, request.param)
    return load(folder)


def test_lint_has_nothing_to_say(started: Library) -> None:
    assert lint(started) == []


def test_its_files_are_in_order(started: Library) -> None:
    orders = {word: keys_of(model) for word, model in {**CATALOGUE, **RULEBOOK}.items()}
    for shown, path in look(started.folder):
        text = path.read_text(encoding="utf-8")
        assert tidied(text, orders) == text, shown


def test_builds_come_out_as_their_comments_say(started: Library) -> None:
    for name in started.shop.builds:
        said = (started.folder / "catalog" / "builds" / f"{name}.yaml").read_text(encoding="utf-8")
        found = check(started.shop, started.book, name)
        if "ends\n# with 0" in said:
            assert found.clean, found.report.findings[0]
            assert found.proven
        else:
            assert "ends\n# with 1" in said
            assert found.report.summary.shortfall


def test_no_spec_is_asked_that_the_skeleton_lacks(started: Library) -> None:
    for name in (*started.shop.builds, *started.shop.variants):
        assert check(started.shop, started.book, name).report.unknown == ()


def test_every_spec_of_it_is_asked_for(started: Library) -> None:
    """Nobody is made to state what nothing looks at; the bench sheet alone prints some."""
    from compat.checking.lint import _expressions

    used = {spec for expression in _expressions(started.book) for spec in expression.names.specs}
    used |= {(bound.position, bound.spec) for work in started.book.changes.values() for bound in work}
    counting = {tuple(text.split(".")) for p in started.shop.positions.values() if (text := p.counted_by)}
    counting |= {
        tuple(text.split("."))
        for place in started.shop.positions.values()
        if place.fitting.tighten is not None and (text := place.fitting.tighten.counted_by)
    }
    counting |= {(p.position, p.each_serves) for p in started.shop.positions.values() if p.each_serves}
    for part in started.shop.parts.values():
        for spec in started.shop.specs[part.part]:
            sheet = spec.startswith("tightening_") or any(
                started.shop.kinds[position][spec].sheet
                for position in part.fills
                if spec in started.shop.kinds[position]
            )
            asked = any((position, spec) in used | counting for position in part.fills)
            assert asked or sheet, f"{part.part}.{spec}"


def test_the_report_says_by_which_rules(started: Library) -> None:
    house = check(started.shop, started.book, "as-it-stands").report.house
    assert house is not None
    whole = len(house.uses) == 14
    assert house.beyond == len(started.shop.beyond)
    assert (house.beyond == 0) == whole
    own = {"design_pressure_at_power", "design_pressure_at_torque", "boost"}
    assert (not house.instead) == whole
    assert whole or {f"figure {name}" for name in own} <= set(house.instead)


def test_a_higher_pressure_never_makes_it_look_stronger(tmp_path: Path) -> None:
    """The tuner's word takes the place of the cycle: every headroom that hangs on it falls with it."""
    start(tmp_path / "shop", "short-block")
    build = tmp_path / "shop/catalog/builds/as-it-stands.yaml"
    text = build.read_text(encoding="utf-8")
    headrooms: list[dict[str, float]] = []
    for pressure in (60, 90, 140):
        build.write_text(text + f"  setup: {{cylinder_pressure: {pressure} bar}}\n", encoding="utf-8")
        library = load(tmp_path / "shop")
        report = check(library.shop, library.book, "as-it-stands").report
        headrooms.append({f.rule: f.headroom for f in report.findings if f.headroom is not None})
    falling = {rule for rule in headrooms[0] if headrooms[2][rule] < headrooms[0][rule]}
    assert {"rod-buckling", "pin-bending", "deck-pressure-as-stated"} <= falling
    for rule in headrooms[0]:
        assert headrooms[0][rule] >= headrooms[1][rule] >= headrooms[2][rule]


@pytest.mark.parametrize("what", ["a file", "a folder with something in it", "a link"])
def test_nothing_is_written_over(tmp_path: Path, what: str) -> None:
    folder = tmp_path / "shop"
    match what:
        case "a file":
            folder.write_text("mine", encoding="utf-8")
        case "a link":
            (tmp_path / "other").mkdir()
            folder.symlink_to(tmp_path / "other")
        case _:
            folder.mkdir()
            (folder / "notes.txt").write_text("mine", encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(Faults, match="is there already"):
        start(folder, "short-block")
    assert sorted(tmp_path.rglob("*")) == before


def test_an_empty_folder_will_do(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "shop"
    folder.mkdir(parents=True)
    written = start(folder, "short-block")
    assert {path for path in folder.rglob("*") if path.is_file()} == set(written)


def test_what_fails_in_the_middle_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(self: Path, *_: object, **__: object) -> int:
        raise OSError(28, "No space left on device", str(self))

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(OSError, match="No space left"):
        start(tmp_path / "shop", "short-block")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("size", ["short-block", "long-block"])
def test_a_pressure_left_standing_from_a_weaker_goal_is_a_conflict(tmp_path: Path, size: str) -> None:
    """Weak parts would pass at it: what the tuner states must fit the torque that the build asks."""
    start(tmp_path / "shop", size)
    build = tmp_path / "shop/catalog/builds/more-power.yaml"
    text = build.read_text(encoding="utf-8")
    setup = next(line for line in text.splitlines(keepends=True) if line.startswith("  setup:"))
    fits = {"stated-pressure-fits-torque", "stated-boost-fits-torque"}

    def against() -> set[str]:
        library = load(tmp_path / "shop")
        found = check(library.shop, library.book, "more-power").report.findings
        return {finding.rule for finding in found if finding.verdict == "conflict"} & fits

    assert against() == set()
    build.write_text(text.replace(setup, ""), encoding="utf-8")
    assert against() == fits


def test_what_is_in_the_way_is_told(tmp_path: Path) -> None:
    (tmp_path / "a-file").write_text("kept", encoding="utf-8")
    with pytest.raises(Faults, match="a-file: is a file, so that no folder can be made in it"):
        start(tmp_path / "a-file" / "below", "short-block")
    assert (tmp_path / "a-file").read_text(encoding="utf-8") == "kept"
    with pytest.raises(OSError, match="shop") as told:  # the file system's own word, of the folder asked for
        start(tmp_path / ("x" * 300) / "shop", "short-block")
    assert told.value.filename.endswith("/shop")


def test_nothing_in_it_is_called_like_the_demo(started: Library) -> None:
    for shown, path in look(started.folder):
        text = path.read_text(encoding="utf-8")
        assert not set(re.findall(r"tarn|fell-|marrick|northgate|pellow", text)), shown
