"""Saving: whole, with comments, with everybody's changes, and nowhere but into the file of the build."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from fastapi import FastAPI

from compat.library.sources import demo_folder
from compat.page import saving
from compat.shop.builds import read_build
from compat.shop.source import Faults
from tests.look import demo_shop
from tests.page.visiting import Visitor, make_page

STREET = "/build/street-turbo"
FILE = "catalog/builds/street-turbo.yaml"


def said(folder: Path, file: str = FILE) -> dict[str, object]:
    """What a build file says."""
    entry: dict[str, object] = yaml.safe_load((folder / file).read_text())[0]
    return entry


def everything(folder: Path) -> dict[str, bytes]:
    """Every file of a shop."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def edit(folder: Path, old: str, new: str, file: str = FILE) -> None:
    """Change a file as a person does in an editor."""
    path = folder / file
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))


@pytest.fixture(autouse=True)
def looks_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The files are looked at with every request, not every half second."""
    from compat.page import desk

    monkeypatch.setattr(desk, "LOOK_EVERY", 0.0)


def test_what_is_saved_stands_in_the_file_and_all_else_as_it_was(writer: Visitor, shop_folder: Path) -> None:
    before = (shop_folder / FILE).read_text()
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    text = writer.send(f"{STREET}/save").text
    assert "Saved." in text
    assert "As its file has it" in text
    after = (shop_folder / FILE).read_text()
    assert after == before.replace("spark_plug: spn-plug-short-2", "spark_plug: spn-plug-short-3")
    assert "# A factory turbo engine" in after
    assert "there is nothing" not in text
    # and it can be taken back, and saved again
    assert "Not saved" in writer.send(f"{STREET}/undo").text
    writer.send(f"{STREET}/save")
    assert (shop_folder / FILE).read_text() == before


def test_saving_writes_nothing_else(writer: Visitor, shop_folder: Path) -> None:
    before = everything(shop_folder)
    writer.send(f"{STREET}/aim", **{"goal-power": "175 kW", "goal-at": "5800 rpm", "goal-duty": "street"})
    writer.send(f"{STREET}/save")
    after = everything(shop_folder)
    assert before.keys() == after.keys()
    assert [name for name in before if before[name] != after[name]] == [FILE]


@pytest.mark.parametrize(
    "name", ["endurance-ethanol", "fell-30-top-end", "first-draft", "long-stroke-20", "phase-upgrade"]
)
def test_every_build_of_the_demo_can_be_changed_and_saved(
    writer: Visitor, shop_folder: Path, name: str
) -> None:
    path = f"/build/{name}"
    file = f"catalog/builds/{name}.yaml"
    comments = [line for line in (shop_folder / file).read_text().splitlines() if line.lstrip().startswith("#")]
    writer.send(f"{path}/head", name="Another", customer="C. Sund", note="on the bench", scope="vehicle")
    writer.send(f"{path}/renew", everything="yes")
    writer.send(f"{path}/take-from", position="dipstick", variant="fell-30")
    text = writer.send(f"{path}/save").text
    assert "Saved." in text
    after = (shop_folder / file).read_text()
    for line in comments:
        assert line in after
    ready = read_build(demo_shop().shop, (shop_folder / file).read_bytes(), file)
    assert ready.build.customer == "C. Sund"
    assert ready.build.renew == "all"


def test_two_people_on_one_build_lose_nothing(
    app: FastAPI, visit: Callable[..., Visitor], shop_folder: Path
) -> None:
    one, other = visit(app), visit(app)
    one.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    other.send(f"{STREET}/aim", **{"goal-power": "170 kW", "goal-at": "5800 rpm", "goal-duty": "street"})
    assert "was changed since it was read here" not in one.get(STREET).text
    assert "Saved." in other.send(f"{STREET}/save").text
    noticed = one.get(STREET).text
    assert "was changed since it was read here" in noticed
    assert "Changed in the file alone" in one.get(f"{STREET}/meanwhile").text
    text = html.unescape(one.send(f"{STREET}/save").text)
    assert "Saved, with what was changed there meanwhile: goal: power" in text
    entry = said(shop_folder)
    assert entry["fit"]["spark_plug"] == "spn-plug-short-3"  # type: ignore[index]
    assert entry["goal"]["power"] == "170 kW"  # type: ignore[index]
    assert field_of(text, "goal-power") == "170 kW"
    assert saving.MEANWHILE in html.unescape(text)
    # the other one sees it, and is told that the file moved on
    assert "was changed since it was read here" in other.get(STREET).text


def field_of(text: str, name: str) -> str:
    found = re.search(rf'<input name="{name}" value="([^"]*)"', text)
    assert found is not None
    return html.unescape(found[1])


def test_what_both_changed_is_shown_side_by_side_and_chosen(writer: Visitor, shop_folder: Path) -> None:
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    writer.send(f"{STREET}/fit", position="fuel_pump", part=other_pump())
    edit(shop_folder, "spark_plug: spn-plug-short-2", "spark_plug: spn-plug-short-1   # an editor")
    edit(shop_folder, "customer: A. Fenwright", "customer: A. Fenwright-Holme")
    before = (shop_folder / FILE).read_text()
    shown = writer.send(f"{STREET}/save")
    text = html.unescape(shown.text)
    assert (shop_folder / FILE).read_text() == before
    assert "Changed by both" in text
    assert "spn-plug-short-2" in text
    assert "spn-plug-short-3" in text
    assert "spn-plug-short-1" in text
    mark = re.search(r'name="mark" value="(\w+)"', text)
    assert mark is not None
    answer = writer.send(f"{STREET}/save", **{"mark": mark[1], "keep place spark_plug": "theirs"})
    assert "Saved, with what was changed there meanwhile" in html.unescape(answer.text)
    entry = said(shop_folder)
    assert entry["fit"]["spark_plug"] == "spn-plug-short-1"  # type: ignore[index]
    assert entry["fit"]["fuel_pump"] != "ash-pump-255"  # type: ignore[index]
    assert entry["customer"] == "A. Fenwright-Holme"
    assert "# an editor" in (shop_folder / FILE).read_text()


def other_pump() -> str:
    return next(part for part in demo_shop().shop.fillers["fuel_pump"] if part != "ash-pump-255")


def test_a_choice_of_what_has_changed_again_is_asked_anew(writer: Visitor, shop_folder: Path) -> None:
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    edit(shop_folder, "spark_plug: spn-plug-short-2", "spark_plug: spn-plug-short-1")
    text = writer.send(f"{STREET}/save").text
    mark = re.search(r'name="mark" value="(\w+)"', text)
    assert mark is not None
    plugs = demo_shop().shop.fillers["spark_plug"]
    third = next(p for p in plugs if p not in ("spn-plug-short-1", "spn-plug-short-2", "spn-plug-short-3"))
    edit(shop_folder, "spark_plug: spn-plug-short-1", f"spark_plug: {third}")
    text = writer.send(f"{STREET}/save", **{"mark": mark[1], "keep place spark_plug": "mine"}).text
    assert "Changed by both" in text
    assert said(shop_folder)["fit"]["spark_plug"] == third  # type: ignore[index]
    text = writer.send(f"{STREET}/save", **{"keep place spark_plug": "neither"}).text
    assert "Changed by both" in text


def test_a_file_that_is_broken_is_left_alone(writer: Visitor, shop_folder: Path) -> None:
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    edit(shop_folder, "- build: street-turbo", "- build: street-turbo\n  colour: red\n")
    before = (shop_folder / FILE).read_text()
    answer = writer.send(f"{STREET}/save")
    assert answer.status_code == 400
    assert "colour" in html.unescape(answer.text)
    assert (shop_folder / FILE).read_text() == before
    assert "spn-plug-short-3" in html.unescape(writer.get(f"{STREET}/at/spark_plug").text)


def test_a_file_that_is_gone_is_told(writer: Visitor, shop_folder: Path) -> None:
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    (shop_folder / FILE).unlink()
    answer = writer.send(f"{STREET}/save")
    assert answer.status_code == 400
    assert not (shop_folder / FILE).exists()
    assert "Not saved" in writer.get(STREET).text
    text = writer.send(f"{STREET}/save-as", new="street-turbo-again").text
    assert "Saved as street-turbo-again." in text


def test_a_build_is_saved_under_another_id(writer: Visitor, shop_folder: Path) -> None:
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    before = (shop_folder / FILE).read_text()
    text = html.unescape(writer.send(f"{STREET}/save-as", new="street-turbo-2", title="The second").text)
    assert "Saved as street-turbo-2." in text
    assert "<h1>The second " in text
    assert (shop_folder / FILE).read_text() == before
    entry = said(shop_folder, "catalog/builds/street-turbo-2.yaml")
    assert entry["build"] == "street-turbo-2"
    assert entry["fit"]["spark_plug"] == "spn-plug-short-3"  # type: ignore[index]
    assert "# A factory turbo engine" in (shop_folder / "catalog/builds/street-turbo-2.yaml").read_text()
    assert "street-turbo-2" in writer.get("/").text


def test_a_variant_is_saved_as_a_build_and_never_over(writer: Visitor, shop_folder: Path) -> None:
    path = "/build/tarn-20-base"
    writer.send(f"{path}/aim", **{"goal-power": "100 kW", "goal-at": "6000 rpm", "goal-duty": "street"})
    answer = writer.send(f"{path}/save")
    assert answer.status_code == 400
    assert "save it as a build of its own" in html.unescape(answer.text)
    assert "Saved as mild." in writer.send(f"{path}/save-as", new="mild").text
    assert said(shop_folder, "catalog/builds/mild.yaml")["variant"] == "tarn-20-base"


@pytest.mark.parametrize(
    "name",
    [
        "", ".", "..", "../evil", "a/b", "a\\b", "Street", "street turbo", "x.yaml", "-x", "x-", "x" * 81,
        "\N{LATIN SMALL LETTER E WITH ACUTE}", "x\n", "con", "aux", "com1", "street-turbo", "tarn-20-base",
        "a\0b", "/etc/x",
    ],
)  # fmt: skip
def test_no_id_leads_anywhere_else(writer: Visitor, shop_folder: Path, tmp_path: Path, name: str) -> None:
    before = everything(tmp_path)
    answer = writer.send(f"{STREET}/save-as", new=name)
    assert answer.status_code == 400 or (name == "x\n" and "Saved as x." in answer.text)
    if answer.status_code == 400:
        assert everything(tmp_path) == before


def test_a_file_that_is_there_is_not_written_over(writer: Visitor, shop_folder: Path) -> None:
    path = shop_folder / "catalog/builds/mine.yaml"
    path.write_text(
        "- build: another\n  name: Another\n  variant: tarn-20-base\n  goal: {power: 90 kW, at: 5500 rpm}\n"
    )
    answer = writer.send(f"{STREET}/save-as", new="mine")
    assert answer.status_code == 400
    assert "is there already" in html.unescape(answer.text)
    assert "Another" in path.read_text()


def test_the_demo_itself_is_not_written_to(client: Visitor) -> None:
    before = (demo_folder() / FILE).read_bytes()
    client.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    for path, form in (("save", {}), ("save-as", {"new": "mine"})):
        answer = client.send(f"{STREET}/{path}", **form)
        assert answer.status_code == 400
        assert "the demo shop comes with the program" in html.unescape(answer.text)
    assert (demo_folder() / FILE).read_bytes() == before
    assert not (demo_folder() / "catalog/builds/mine.yaml").exists()
    file = client.get(f"{STREET}/file")
    assert file.headers["content-disposition"] == 'attachment; filename="street-turbo.yaml"'
    ready = read_build(demo_shop().shop, file.content, "street-turbo.yaml")
    assert ready.build.fit["spark_plug"] == "spn-plug-short-3"
    assert b"# A factory turbo engine" in file.content


def test_changes_are_put_aside_and_had_back(writer: Visitor, shop_folder: Path) -> None:
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    edit(shop_folder, "power: 180 kW", "power: 160 kW")
    text = writer.send(f"{STREET}/reread").text
    assert field_of(text, "goal-power") == "160 kW"
    assert "As its file has it" in text
    back = writer.send(f"{STREET}/undo").text
    assert field_of(back, "goal-power") == "180 kW"
    assert "spn-plug-short-3" in html.unescape(writer.get(f"{STREET}/at/spark_plug").text)


def test_what_goes_together_only_apart_is_not_written(writer: Visitor, shop_folder: Path) -> None:
    """One side says no torque any more, the other at what speed it is to be."""
    writer.send(f"{STREET}/aim", **{"goal-power": "180 kW", "goal-at": "5800 rpm", "goal-duty": "street"})
    edit(shop_folder, "torque_at: 3800 rpm", "torque_at: 3900 rpm")
    before = (shop_folder / FILE).read_text()
    text = html.unescape(writer.send(f"{STREET}/save").text)
    assert "goal: torque_at" in text
    answer = writer.send(f"{STREET}/save", **{"keep goal torque_at": "theirs"})
    assert answer.status_code == 400
    told = html.unescape(answer.text)
    assert "what both sides changed does not go together: 'torque_at' says at what speed" in told
    assert (shop_folder / FILE).read_text() == before
    assert "Saved" in writer.send(f"{STREET}/save", **{"keep goal torque_at": "mine"}).text


def test_a_draft_goes_on_when_the_shop_changes_under_it(writer: Visitor, shop_folder: Path) -> None:
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    part = next(
        p for p in (shop_folder / "catalog/parts").rglob("*.yaml") if "spn-plug-short-3" in p.read_text()
    )
    edit(shop_folder, "part: spn-plug-short-3", "part: spn-plug-short-33", str(part.relative_to(shop_folder)))
    answer = writer.get(STREET)
    assert answer.status_code == 400
    text = html.unescape(answer.text)
    assert "does not go with them any more" in text
    assert "Take back: Spark plug" in text
    assert writer.send(f"{STREET}/undo").status_code == 200


def test_drafts_outlive_the_page(visit: Callable[..., Visitor], shop_folder: Path, tmp_path: Path) -> None:
    kept = tmp_path / "drafts"
    one = visit(make_page(shop_folder, drafts=kept))
    one.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    one.send(f"{STREET}/aim", **{"goal-power": "170 kW", "goal-at": "5800 rpm", "goal-duty": "street"})
    one.send(f"{STREET}/undo")
    edit(shop_folder, "customer: A. Fenwright", "customer: B. Fenwright")
    files = list(kept.iterdir())
    assert len(files) == 1
    assert files[0].stat().st_mode & 0o077 == 0
    again = visit(make_page(shop_folder, drafts=kept))
    again.cookies.update(one.cookies)
    text = html.unescape(again.get(STREET).text)
    assert "Not saved" in text
    assert "Take back" in text
    assert "was changed since it was read here" in text
    assert field_of(again.send(f"{STREET}/redo").text, "goal-power") == "170 kW"
    again.send(f"{STREET}/save")
    entry = said(shop_folder)
    assert entry["goal"]["power"] == "170 kW"  # type: ignore[index]
    assert entry["customer"] == "B. Fenwright"
    stranger = visit(make_page(shop_folder, drafts=kept))
    assert "As its file has it" in stranger.get(STREET).text


def test_half_a_line_of_a_draft_is_passed_over(
    visit: Callable[..., Visitor], shop_folder: Path, tmp_path: Path
) -> None:
    kept = tmp_path / "drafts"
    one = visit(make_page(shop_folder, drafts=kept))
    one.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    (file,) = kept.iterdir()
    with file.open("ab") as end:
        end.write(b'{"draft": "street-turbo", "take": "half a')
    again = visit(make_page(shop_folder, drafts=kept))
    again.cookies.update(one.cookies)
    assert "Not saved" in again.get(STREET).text


def test_a_lost_race_is_tried_again(
    writer: Visitor, app: FastAPI, shop_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody writes between reading and writing: what came then is taken in as well."""
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")
    put, raced = saving._put, []

    def slow(*given: object) -> bool:
        if not raced:
            raced.append(True)
            edit(shop_folder, "power: 180 kW", "power: 175 kW")
        return put(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(saving, "_put", slow)
    text = html.unescape(writer.send(f"{STREET}/save").text)
    assert "Saved, with what was changed there meanwhile: goal: power." in text
    entry = said(shop_folder)
    assert entry["goal"]["power"] == "175 kW"  # type: ignore[index]
    assert entry["fit"]["spark_plug"] == "spn-plug-short-3"  # type: ignore[index]


def test_a_disk_that_is_full_is_told(
    writer: Visitor, shop_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = everything(shop_folder)
    writer.send(f"{STREET}/fit", position="spark_plug", part="spn-plug-short-3")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(saving, "write_together", full)
    answer = writer.send(f"{STREET}/save")
    assert answer.status_code == 400
    assert "cannot be written: No space left on device" in html.unescape(answer.text)
    assert everything(shop_folder) == before
    assert "Not saved" in writer.get(STREET).text


def test_a_build_that_is_not_the_only_one_of_its_file_leaves_the_others(
    writer: Visitor, shop_folder: Path
) -> None:
    both = (
        (shop_folder / FILE).read_text()
        + "\n"
        + (shop_folder / "catalog/builds/phase-upgrade.yaml").read_text()
    )
    (shop_folder / FILE).write_text(both)
    (shop_folder / "catalog/builds/phase-upgrade.yaml").unlink()
    path = "/build/phase-upgrade"
    writer.send(f"{path}/head", name="Phased", customer="", note="", scope="vehicle")
    assert "Saved." in writer.send(f"{path}/save").text
    after = (shop_folder / FILE).read_text()
    assert after != both
    start = both.index("- build: phase-upgrade")
    assert after[:start] == both[:start]
    assert "name: Phased" in after


def test_faults_of_a_shop_are_no_faults_of_the_program() -> None:
    with pytest.raises(Faults):
        saving._build_in(b"- build: x\n", "x.yaml", "y")
