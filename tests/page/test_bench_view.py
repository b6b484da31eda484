"""The bench on the page: what is asked, what becomes of each value, who sees what, what is never lost."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
import yaml
from fastapi import FastAPI

from compat.checking.conformity import decide
from compat.library.library import build_of_id
from compat.page.at_bench import bench_of, with_measured
from compat.page.bench_photos import MOST_BYTES, MOST_PHOTOS
from compat.page.settings import Role
from compat.trade.numbered import kept_measured
from tests.page.visiting import Visitor

BUILD = "street-turbo"
BLOCK = f"/bench/{BUILD}/12"
PNG = b"\x89PNG\r\n\x1a\n" + bytes(200)
JPEG = b"\xff\xd8\xff\xe0" + bytes(200)


@pytest.fixture(autouse=True)
def kept_in_the_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is measured lies in the shop's own folder, not where the tests of the command keep theirs."""
    monkeypatch.delenv("COMPAT_QUOTES", raising=False)


def sit(app: FastAPI, visitor: Visitor, role: Role) -> Visitor:
    """Give a visitor's sitting a role."""
    visitor.get("/bench")
    sitting = app.state.sittings.of(next(iter(visitor.cookies.values())))
    sitting.role = role
    return visitor


def value(
    number: int, text: str, name: str, what: str = "block.bore_diameter", place: str = "top", **more: Any
) -> Any:
    return {"kind": "reading", "what": what, "piece": number, "place": place, "value": text, "id": name, **more}


def keep(visitor: Visitor, *entries: Any, step: int = 12) -> httpx.Response:
    return visitor.post(f"/bench/{BUILD}/keep", entries=json.dumps(list(entries)), step=str(step))


def told(visitor: Visitor, *entries: Any, step: int = 12) -> dict[str, Any]:
    answer = keep(visitor, *entries, step=step)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def measured(folder: Path) -> dict[str, Any]:
    path = folder / f"quotes/measured/{BUILD}.yaml"
    found: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))["measured"]
    return found


def lines(folder: Path) -> list[dict[str, Any]]:
    path = folder / f"quotes/measured/{BUILD}.jsonl"
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()] if path.exists() else []


# what is asked


def test_the_overview_has_every_step_in_the_order_of_the_sheet(client: Visitor) -> None:
    sheet = client.get(f"/sheet/{BUILD}?as=json").json()
    shown = client.get(f"/bench/{BUILD}").text
    numbers = [
        int(number) for number in re.findall(rf'href="/bench/{BUILD}/(\d+)"><span class="count">', shown)
    ]
    assert numbers == [step["step"] for step in sheet["steps"]] == list(range(1, len(numbers) + 1))


def test_each_step_asks_what_the_sheet_asks(client: Visitor) -> None:
    """Every piece and place of the sheet's data is one field of its step, and nothing else is asked there."""
    sheet = client.get(f"/sheet/{BUILD}?as=json").json()
    steps = [step for step in sheet["steps"] if step["pieces"] or step["clearances"]]
    assert len(steps) > 20
    for step in steps[:12]:
        shown = client.get(f"/bench/{BUILD}/{step['step']}").text
        fields = set(re.findall(r'name="(reading/[^"]+)"', shown))
        wanted = {
            f"reading/{one['what']}/{number}/{place}"
            for one in step["pieces"]
            if one["unit"]
            for number in range(1, one["pieces"] + 1)
            for place in one["places"] or [""]
        }
        assert fields == wanted
        assert set(re.findall(r'name="found/([^"]+)/0/least"', shown)) <= {
            one["rule"] for one in step["clearances"] if one["direct"]
        }


def test_cautions_come_first_and_fasteners_are_drawn(client: Visitor) -> None:
    shown = client.get(BLOCK).text
    assert shown.index("Heed first") < shown.index('id="do"') < shown.index("<form method")
    bolts = client.get(f"/bench/{BUILD}/22").text
    assert re.findall(r"<li><strong>([^<]+)</strong>", bolts)[:3] == ["28 N·m", "55 N·m", "turn by 90°"]
    picture = client.get(f"/bench/{BUILD}/22/pattern.svg")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert picture.content.startswith(b"<svg")
    assert f'src="/bench/{BUILD}/22/pattern.svg"' in bolts
    assert client.get(f"{BLOCK}/pattern.svg").status_code == 404


@pytest.mark.parametrize(
    "path", [f"/bench/{BUILD}/0", f"/bench/{BUILD}/9999", "/bench/nothing", "/bench/nothing/1"]
)
def test_no_other_step_is_there(client: Visitor, path: str) -> None:
    assert client.get(path).status_code in (400, 404, 422)


@pytest.mark.parametrize(
    "path", ["/bench", f"/bench/{BUILD}", BLOCK, f"/bench/{BUILD}/22", f"/bench/{BUILD}/53"]
)
def test_no_view_holds_what_the_policy_forbids(client: Visitor, path: str) -> None:
    text = client.get(path).text
    assert not re.search(r"<[^>]*\sstyle=", text)
    assert not re.search(r"<[^>]*\son[a-z]+=", text)
    assert not re.search(r"<script(?![^>]*\ssrc=)", text)
    assert text.count("<h1") == 1
    for name in re.findall(r'<input id="([^"]+)"', text):
        assert f'for="{name}"' in text


def test_the_bench_sees_no_price(demo_page: FastAPI, visit: Callable[..., Visitor]) -> None:
    bench = sit(demo_page, visit(demo_page), "bench")
    steps = len(bench_of(demo_page.state.desk, BUILD, "metric").sheet.steps)
    for path in ["/bench", f"/bench/{BUILD}", *(f"/bench/{BUILD}/{n}" for n in range(1, steps + 1, 9))]:
        answer = bench.get(path)
        assert answer.status_code == 200
        assert not re.search(r"[£€$]\s?\d|\d\s?(GBP|EUR|USD)|price", answer.text), path
    for ending in ("json", "txt", "html"):
        text = bench.get(f"/sheet/{BUILD}?as={ending}").text
        assert not re.search(r"[£€$]\s?\d|\d\s?(GBP|EUR|USD)", text)


def test_who_has_not_signed_in_sees_no_bench(demo_page: FastAPI, visit: Callable[..., Visitor]) -> None:
    nobody = sit(demo_page, visit(demo_page), "bench")
    demo_page.state.sittings.of(next(iter(nobody.cookies.values()))).role = None
    for path in (
        "/bench",
        f"/bench/{BUILD}",
        BLOCK,
        f"/bench/{BUILD}/stands",
        f"/bench/{BUILD}/22/pattern.svg",
    ):
        assert nobody.get(path).status_code in (303, 401), path
    assert keep(nobody, value(1, "86.01", "tablet-a-1")).status_code in (401, 403)


# values


def test_a_value_comes_back_decided_and_is_in_the_file_at_once(writer: Visitor, shop_folder: Path) -> None:
    found = told(writer, value(1, "86.012", "tablet-a-1", by="J. Askrigg"))
    assert found["kept"] == ["tablet-a-1"]
    field = found["fields"]["reading/block.bore_diameter/1/top"]
    assert (field["value"], field["saw"], field["beside"]) == ("86.012", "tablet-a-1", [])
    piece = found["pieces"]["block.bore_diameter/1"]
    assert piece["decision"] == "in"
    assert "wanted" in piece["says"][0]
    group = measured(shop_folder)["block.bore_diameter"]
    assert group["pieces"] == {1: {"top": "86.012 mm"}}
    assert (group["uncertainty"], group["gauge"], group["by"]) == ("0.004 mm", "bore gauge", "J. Askrigg")


ROUND = 0.010  # bore-roundness: at most 0.010 mm
ROUNDS = [
    "0.001",
    "0.005",
    "0.006",
    "0.0061",
    "0.009",
    "0.010",
    "0.011",
    "0.012",
    "0.014",
    "0.0141",
    "0.02",
    "0.03",
]


@pytest.mark.parametrize("off", [0.001, 0.004])
def test_the_verdict_is_that_of_the_decision_rule(writer: Visitor, off: float) -> None:
    """ISO 14253-1 by the limit and the gauge alone, reckoned here from the numbers of the rule."""
    what, saw, seen = "block.bore_roundness", ["", "", "", ""], set()
    for first in range(0, len(ROUNDS), 4):
        typed = ROUNDS[first : first + 4]
        names = [f"tablet-{first}-{n}" for n in range(4)]
        found = told(
            writer,
            *(
                value(n + 1, typed[n], names[n], what=what, place="", off=str(off), over=saw[n])
                for n in range(4)
            ),
        )
        for n in range(4):
            decision = found["pieces"][f"{what}/{n + 1}"]["decision"]
            assert decision == decide(ROUND - float(typed[n]), off), (typed[n], off)
            seen.add(decision)
        saw = names
    assert seen == {"in", "undecided", "out"}


def test_a_clearance_found_is_decided_by_the_same_rule(writer: Visitor) -> None:
    """Counterweight to crankcase: at least 1.500 mm, feelers that may be off 0.010 mm."""
    what, saw = "counterweight-clears-block", ""
    for number, text in enumerate(["1.5", "1.51", "1.509", "1.495", "1.489", "4", "0.2"]):
        entry = {"kind": "found", "what": what, "piece": 0, "place": "least", "value": text, "over": saw}
        saw = f"tablet-a-{number}"
        piece = told(writer, {**entry, "id": saw}, step=22)["pieces"][f"{what}/0"]
        assert piece["decision"] == decide(float(text) - 1.5, 0.01), text
        assert "at least 1.500 mm" in piece["says"][0]


def test_pieces_are_decided_together_and_the_other_step_shows_it(writer: Visitor) -> None:
    """A bore that is fine by itself, with a piston that was measured too large for it."""
    told(writer, *(value(n, "86.002", f"tablet-a-{n}") for n in range(1, 5)))
    what = "piston.skirt_diameter"
    found = told(writer, *(value(n, "85.999", f"tablet-b-{n}", what, "") for n in range(1, 5)), step=24)
    assert {found["pieces"][f"{what}/{n}"]["decision"] for n in range(1, 5)} == {"out"}
    bores = writer.get(f"/bench/{BUILD}/stands?step=12").json()["pieces"]
    assert {bores[f"block.bore_diameter/{n}"]["decision"] for n in range(1, 5)} == {"out"}
    shown = writer.get(f"/bench/{BUILD}").text
    assert "does not go together" in shown
    assert "Piston skirt clearance" in shown


REFUSED = [
    (value(1, "8.6", "tablet-a-1"), "outside anything possible"),
    (value(1, "86,0,1", "tablet-a-1"), ""),
    (value(1, "86.01 kPa", "tablet-a-1"), "pressure"),
    (value(1, "86.01 ±0.1 mm", "tablet-a-1"), "tolerance"),
    (value(1, "-86.01", "tablet-a-1"), ""),
    (value(1, "nonsense", "tablet-a-1"), ""),
    (value(1, "1e999", "tablet-a-1"), ""),
    (value(1, "nan", "tablet-a-1"), ""),
    (value(1, "86.01", "tablet-a-1", off="0"), "no gauge is exact"),
    (value(1, "86.01", "tablet-a-1", off="-0.004"), "no gauge is exact"),
    (value(1, "86.01", "tablet-a-1", off="5"), ""),
    (value(1, "86.01", "tablet-a-1", off="x"), ""),
    (value(9, "86.01", "tablet-a-1"), "does not ask for this"),
    (value(1, "86.01", "tablet-a-1", place="rim"), "does not ask for this"),
    (value(1, "86.01", "tablet-a-1", what="block.nothing"), "does not ask for this"),
    (value(1, "86.01", "tablet-a-1", what="../../x"), "does not ask for this"),
    ({**value(1, "86.01", "tablet-a-1"), "kind": "photo"}, "does not ask for this"),
    (value(1, "86.01", "short"), "without an id"),
    (value(1, "86.01", "../../../etc/passwd"), "without an id"),
    ({"kind": "done", "what": "fit:nothing", "value": "done", "id": "tablet-a-1"}, "no such step"),
]


def test_what_is_no_value_is_refused_and_harms_no_other(writer: Visitor, shop_folder: Path) -> None:
    sent = [
        {**entry, "id": f"tablet-a-{n}"} if entry["id"] == "tablet-a-1" else entry
        for n, (entry, _) in enumerate(REFUSED)
    ]
    found = told(writer, value(2, "86.011", "tablet-b-1"), *sent, value(3, "86.012", "tablet-b-2"))
    assert found["kept"] == ["tablet-b-1", "tablet-b-2"]
    assert list(found["refused"]) == [entry["id"] for entry in sent]
    for entry, (_, why) in zip(sent, REFUSED, strict=True):
        assert why in found["refused"][entry["id"]], entry
    assert [line["id"] for line in lines(shop_folder)] == ["tablet-b-1", "tablet-b-2"]


def test_a_value_is_read_as_the_bench_types_it(writer: Visitor, shop_folder: Path) -> None:
    typed = ["86,012", " 86.012 ", "86.012 mm", "8.6012 cm"]
    told(writer, *(value(n, text, f"tablet-a-{n}") for n, text in enumerate(typed, 1)))
    ready = build_of_id(writer.app.state.desk.library.shop, BUILD)
    spec = ready.measuring(shop_folder / f"quotes/measured/{BUILD}.yaml").measured["block", "bore_diameter"]
    pieces = spec.pieces
    assert len(pieces) == len(typed)
    for piece in pieces:
        assert piece.readings == (("top", pytest.approx(0.086012)),)


def test_in_inches_the_fields_are_in_inches(writer: Visitor, shop_folder: Path) -> None:
    told(writer, value(1, "86.012", "tablet-a-1"))
    writer.post("/own", units="imperial")
    shown = writer.get(BLOCK).text
    assert 'value="3.38629921"' in shown
    told(writer, value(2, "3.3863", "tablet-a-2"))
    assert measured(shop_folder)["block.bore_diameter"]["pieces"][2] == {"top": "3.3863 in"}
    writer.post("/own", units="metric")
    assert re.search(r'name="reading/block.bore_diameter/2/top" value="86.01202"', writer.get(BLOCK).text)


NO_LISTS = [
    "", "{}", "null", "[1]", '[{"kind": 1}]', '[{"value": null}]', "[" * 5000, '[{"piece": true}]', "not json",
    json.dumps([{"piece": -1}]), json.dumps([{}] * 301), json.dumps([{"value": "x" * 5000}]),
]  # fmt: skip


def test_a_list_that_is_none_is_refused_whole(writer: Visitor, shop_folder: Path) -> None:
    for entries in NO_LISTS:
        assert writer.post(f"/bench/{BUILD}/keep", entries=entries).status_code == 422, entries[:40]
    assert lines(shop_folder) == []


def test_forged_forms_keep_nothing(writer: Visitor, shop_folder: Path) -> None:
    entries = json.dumps([value(1, "86.01", "tablet-a-1")])
    for data in ({"entries": entries}, {"entries": entries, "token": "00" * 64}):
        assert writer.ask("POST", f"/bench/{BUILD}/keep", data=data).status_code == 403
    assert writer.ask("POST", BLOCK, data={"reading/block.bore_diameter/1/top": "86.01"}).status_code == 403
    assert writer.ask("POST", f"{BLOCK}/photo", files={"photo": ("a.png", PNG)}).status_code == 403
    assert lines(shop_folder) == []


# nothing twice, nothing lost


def test_the_same_value_sent_again_is_kept_once(writer: Visitor, shop_folder: Path) -> None:
    for _ in range(3):
        assert told(writer, value(1, "86.012", "tablet-a-1"))["kept"] == ["tablet-a-1"]
    assert len(lines(shop_folder)) == 1


def test_a_form_sent_twice_keeps_once(writer: Visitor, shop_folder: Path) -> None:
    for _ in range(2):
        writer.post(BLOCK, **{"reading/block.bore_diameter/1/top": "86.012", "remark": "fine", "then": "next"})
    assert [line["kind"] for line in lines(shop_folder)].count("reading") == 1
    assert [line["kind"] for line in lines(shop_folder)].count("remark") == 1


def test_two_tablets_are_told_of_each_other(
    app: FastAPI, visit: Callable[..., Visitor], shop_folder: Path
) -> None:
    one, other = visit(app), visit(app)
    told(one, value(1, "86.012", "tablet-a-1", by="A"))
    found = told(other, value(1, "86.016", "tablet-b-1", by="B"))
    field = found["fields"]["reading/block.bore_diameter/1/top"]
    assert field["value"] == "86.012"
    assert [(each["value"], each["by"]) for each in field["beside"]] == [("86.016 mm", "B")]
    shown = one.get(BLOCK).text
    assert "Also told: <strong>86.016 mm</strong> by B" in shown
    assert "two differ" in one.get(f"/bench/{BUILD}").text
    assert measured(shop_folder)["block.bore_diameter"]["pieces"][1] == {
        "top": "86.012 mm",
        "top again": "86.016 mm",
    }
    found = told(one, value(1, "86.016", "tablet-a-2", over=field["saw"]))
    assert found["fields"]["reading/block.bore_diameter/1/top"]["beside"] == []
    assert measured(shop_folder)["block.bore_diameter"]["pieces"][1] == {"top": "86.016 mm"}


def test_whoever_saw_a_value_puts_another_in_its_place_or_takes_it_back(
    writer: Visitor, shop_folder: Path
) -> None:
    told(writer, value(1, "86.012", "tablet-a-1"))
    told(writer, value(1, "86.013", "tablet-a-2", over="tablet-a-1"))
    assert measured(shop_folder)["block.bore_diameter"]["pieces"][1] == {"top": "86.013 mm"}
    found = told(writer, value(1, "", "tablet-a-3", over="tablet-a-2"))
    assert found["fields"]["reading/block.bore_diameter/1/top"]["value"] == ""
    assert measured(shop_folder) == {}
    assert len(lines(shop_folder)) == 3  # what was told is never taken out


def test_another_gauge_is_another_statement(writer: Visitor, shop_folder: Path) -> None:
    name = "reading/block.bore_diameter"
    writer.post(BLOCK, **{f"{name}/1/top": "86.012"})
    writer.post(
        BLOCK,
        **{f"{name}/1/top": "86.012", f"saw/{name}/1/top": lines(shop_folder)[-1]["id"],
           "off/reading/block.bore_diameter": "0.001", "gauge/reading/block.bore_diameter": "air gauge"},
    )  # fmt: skip
    group = measured(shop_folder)["block.bore_diameter"]
    assert (group["uncertainty"], group["gauge"]) == ("0.001 mm", "air gauge")
    assert 'value="0.001"' in writer.get(BLOCK).text


def test_a_page_started_again_has_everything(
    app: FastAPI, visit: Callable[..., Visitor], shop_folder: Path
) -> None:
    from tests.page.visiting import make_page

    told(visit(app), value(1, "86.012", "tablet-a-1"))
    again = visit(make_page(shop_folder))
    assert 'value="86.012"' in again.get(BLOCK).text
    assert told(again, value(1, "86.012", "tablet-a-1"))["kept"] == ["tablet-a-1"]
    assert len(lines(shop_folder)) == 1


# who else sees it


def test_sheet_and_build_see_what_was_measured(writer: Visitor) -> None:
    before = writer.get(f"/sheet/{BUILD}?as=json").json()
    told(writer, *(value(n, "86.002", f"tablet-a-{n}") for n in range(1, 5)))
    what = "piston.skirt_diameter"
    told(writer, *(value(n, "85.999", f"tablet-b-{n}", what, "") for n in range(1, 5)), step=24)
    assert before["clean"]
    assert "so no sheet is given" in writer.get(f"/sheet/{BUILD}").text
    assert "Piston skirt clearance" in writer.get(f"/build/{BUILD}").text
    assert "conflict" in writer.get(f"/build/{BUILD}").text


def test_what_was_measured_on_a_part_that_was_swapped_does_not_count(writer: Visitor) -> None:
    desk = writer.app.state.desk
    what = "piston.skirt_diameter"
    told(writer, *(value(n, "85.95", f"tablet-b-{n}", what, "") for n in range(1, 5)), step=24)
    ready = build_of_id(desk.library.shop, BUILD)
    assert ("piston", "skirt_diameter") in with_measured(desk, ready).measured
    other = next(
        part.part
        for part in ready.shop.parts.values()
        if "piston" in part.fills and part.part != ready.part_in("piston")
    )
    assert ("piston", "skirt_diameter") not in with_measured(desk, ready.fitting(piston=other)).measured


def test_what_the_builds_own_file_states_is_not_asked_again(writer: Visitor, shop_folder: Path) -> None:
    told(writer, value(1, "86.012", "tablet-a-1"))
    path = next(path for path in shop_folder.rglob("*.yaml") if f"build: {BUILD}\n" in path.read_text())
    text = path.read_text(encoding="utf-8")
    head = f"build: {BUILD}\n"
    indent = re.search(rf"^( *-? *){re.escape(head)}", text, re.MULTILINE)
    assert indent is not None
    pad = " " * len(indent[1])
    text = text.replace(indent[0], f"{indent[0]}{pad}measured: {{block.bore_diameter: 86.01 mm}}\n", 1)
    path.write_text(text, encoding="utf-8")
    writer.app.state.desk.look_again()
    shown = writer.get(BLOCK).text
    assert "states it as measured" in shown
    assert re.search(r'name="reading/block.bore_diameter/1/top"[^>]*readonly', shown)
    found = told(writer, value(2, "86.012", "tablet-a-2"))
    assert "does not ask" in found["refused"]["tablet-a-2"]


def test_a_file_that_a_hand_spoilt_is_told_and_values_are_kept(writer: Visitor, shop_folder: Path) -> None:
    told(writer, value(1, "86.012", "tablet-a-1"))
    path = shop_folder / f"quotes/measured/{BUILD}.yaml"
    path.write_text("measured: [", encoding="utf-8")
    found = told(writer, value(2, "86.013", "tablet-a-2"))
    assert found["kept"] == ["tablet-a-2"]
    assert "is not valid YAML" in found["faults"][0]
    assert "is not valid YAML" in writer.get(BLOCK).text
    assert path.read_text(encoding="utf-8") == "measured: ["
    path.unlink()
    told(writer, value(3, "86.014", "tablet-a-3"))
    assert set(measured(shop_folder)["block.bore_diameter"]["pieces"]) == {1, 2, 3}


def test_a_hand_in_the_file_is_seen_on_the_page(writer: Visitor, shop_folder: Path) -> None:
    told(writer, value(1, "86.012", "tablet-a-1"))
    path = shop_folder / f"quotes/measured/{BUILD}.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("86.012", "86.017"), encoding="utf-8")
    assert 'value="86.017"' in writer.get(BLOCK).text


def test_the_demo_is_not_written_to(
    client: Visitor, demo_page: FastAPI, monkeypatch: Any, tmp_path: Path
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    library = demo_page.state.desk.library
    where = kept_measured(library)
    assert where.is_relative_to(tmp_path)
    told(client, value(1, "86.012", "tablet-a-1"))
    assert (where / f"{BUILD}.yaml").is_file()
    assert not (library.folder / "quotes").exists()


# marks, remarks, photos


def test_done_remark_and_back(writer: Visitor, shop_folder: Path) -> None:
    answer = writer.post(BLOCK, then="next", remark="web of main 3 dressed", by="J. Askrigg")
    assert answer.headers["location"] == f"/bench/{BUILD}/13"
    shown = writer.get(BLOCK).text
    assert "web of main 3 dressed" in shown
    assert "data-done" in shown
    assert "1 of " in writer.get(f"/bench/{BUILD}").text
    assert 'value="J. Askrigg"' in shown
    writer.post(BLOCK, undo="yes", remark="web of main 3 dressed")
    assert "data-done" not in writer.get(BLOCK).text
    assert len([line for line in lines(shop_folder) if line["kind"] == "remark"]) == 1


def test_what_is_typed_is_no_markup(writer: Visitor) -> None:
    writer.post(BLOCK, remark="<script>alert(1)</script>", by="<b>x</b>", then="stay")
    shown = writer.get(BLOCK).text
    assert "<script>alert" not in shown
    assert "<b>x" not in shown
    found = told(writer, value(1, "86.01", "tablet-a-1", by='"><img src=x>', gauge="a: b\n- c"))
    assert "<" not in found["fields"]["reading/block.bore_diameter/1/top"]["by"]


@pytest.mark.parametrize(("raw", "media"), [(PNG, "image/png"), (JPEG, "image/jpeg")])
def test_a_photo_is_renamed_kept_once_and_shown(
    writer: Visitor, shop_folder: Path, raw: bytes, media: str
) -> None:
    for _ in range(2):
        answer = writer.post(f"{BLOCK}/photo", files={"photo": ("../../evil.html", raw, "text/html")})
        assert answer.status_code == 303
    found = list((shop_folder / f"quotes/measured/{BUILD}.photos").iterdir())
    assert len(found) == 1
    assert re.fullmatch(r"[0-9a-f]{32}\.(png|jpg)", found[0].name)
    shown = writer.get(f"/bench/{BUILD}/photo/{found[0].name}")
    assert (shown.content, shown.headers["content-type"]) == (raw, media)
    assert shown.headers["x-content-type-options"] == "nosniff"
    assert found[0].name in writer.get(BLOCK).text
    assert found[0].name not in writer.get(f"/bench/{BUILD}/13").text
    assert writer.get(f"/bench/endurance-ethanol/photo/{found[0].name}").status_code == 404


def test_what_is_no_photo_is_refused(writer: Visitor, shop_folder: Path) -> None:
    for raw in (b"", b"GIF89a", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"<html>", b"\x89PNG", bytes(50)):
        answer = writer.post(f"{BLOCK}/photo", files={"photo": ("photo.jpg", raw, "image/jpeg")})
        assert answer.status_code == 400
    assert not (shop_folder / f"quotes/measured/{BUILD}.photos").exists()


def test_a_photo_too_large_or_one_too_many_is_refused(writer: Visitor, shop_folder: Path) -> None:
    answer = writer.post(f"{BLOCK}/photo", files={"photo": ("a.png", PNG + bytes(MOST_BYTES), "image/png")})
    assert answer.status_code == 400
    for number in range(MOST_PHOTOS + 1):
        raw = PNG + bytes([number])
        answer = writer.post(f"{BLOCK}/photo", files={"photo": ("a.png", raw, "image/png")})
        assert answer.status_code == (303 if number < MOST_PHOTOS else 400)


def test_only_photos_are_given(writer: Visitor, shop_folder: Path) -> None:
    told(writer, value(1, "86.012", "tablet-a-1"))
    own = f"{BUILD}.yaml"
    for name in (f"../{own}", f"..%2f{own}", own, "0" * 32 + ".png", "0" * 32 + ".html", "x"):
        answer = writer.get(f"/bench/{BUILD}/photo/{name}")
        assert answer.status_code in (404, 422)
        assert "86.012" not in answer.text


def test_the_worker_speaks_for_the_bench_alone(client: Visitor) -> None:
    answer = client.get("/bench-worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert "service-worker-allowed" not in answer.headers
    assert 'startsWith("/bench/")' in answer.text
