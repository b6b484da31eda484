"""What the bench tells is kept line by line: once, whole, beside what others told, and as a file."""

from __future__ import annotations

import json
import multiprocessing
import random
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from threading import Thread

import pytest
import yaml

from compat.bench.journal import Entry, Journal, Standing, standing
from compat.bench.kept import Kept, as_measured, measured_as_kept
from compat.library.library import build_of_id
from compat.shop.builds import ReadyBuild
from compat.shop.source import Faults
from tests.look import demo_shop

BUILD = "street-turbo"


@pytest.fixture(scope="module")
def ready() -> ReadyBuild:
    return build_of_id(demo_shop().shop, BUILD)


def bore(number: int, value: str, name: str = "", over: str = "", place: str = "top") -> Entry:
    own = name or f"tablet-{number}-{value}".replace(" ", "-").replace(".", "-")
    of = "block.bore_diameter", value, "tarn-20-turbo-block", number, place
    return Entry(own, "reading", *of, "0.004 mm", "bore gauge", "K.", "2026-11-30T10:00:00+00:00", over)


DECK = Entry("tablet-a-7", "reading", "block.deck_height", "222.5 mm", "tarn-20-turbo-block", 1, "", "0.02 mm")


def said(path: Path) -> dict[str, object]:
    found: dict[str, object] = yaml.safe_load(path.read_text(encoding="utf-8"))["measured"]
    return found


# lines


def test_a_line_sent_twice_is_one_line(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "one.jsonl")
    assert len(journal.add([bore(1, "86.01 mm"), bore(1, "86.01 mm")])) == 1
    assert journal.add([bore(1, "86.01 mm")]) == ()
    assert len(journal.path.read_text().splitlines()) == 1
    assert Journal(journal.path).entries() == journal.entries() == (bore(1, "86.01 mm"),)


@pytest.mark.parametrize("cut", range(1, 60, 7))
def test_a_line_that_broke_off_is_passed_over_and_harms_no_other(tmp_path: Path, cut: int) -> None:
    path = tmp_path / "one.jsonl"
    Journal(path).add([bore(1, "86.01 mm"), bore(2, "86.02 mm")])
    whole = path.read_bytes()
    path.write_bytes(whole[:-cut])
    journal = Journal(path)
    assert journal.entries() == (bore(1, "86.01 mm"),)
    journal.add([bore(2, "86.02 mm"), bore(3, "86.03 mm")])  # whoever heard nothing sends it again
    assert Journal(path).entries() == (bore(1, "86.01 mm"), bore(2, "86.02 mm"), bore(3, "86.03 mm"))


@pytest.mark.parametrize(
    "line",
    [
        b"null",
        b"[]",
        b"{}",
        b'{"id": 1, "kind": "reading", "what": "a.b", "value": "1 mm"}',
        b'{"id": "abcdefgh", "kind": "strange", "what": "a.b", "value": "1 mm"}',
        b'{"id": "abcdefgh", "kind": "reading", "what": "a.b", "value": "1 mm", "more": "x"}',
        b'{"id": "abcdefgh", "kind": "reading", "what": "a.b", "value": "1 mm", "piece": true}',
        b"\xff\xfe",
    ],
)
def test_a_line_that_is_none_is_passed_over(tmp_path: Path, line: bytes) -> None:
    path = tmp_path / "one.jsonl"
    Journal(path).add([bore(1, "86.01 mm")])
    path.write_bytes(path.read_bytes() + line + b"\n")
    assert Journal(path).entries() == (bore(1, "86.01 mm"),)


def test_what_another_process_adds_is_seen(tmp_path: Path) -> None:
    one, other = Journal(tmp_path / "one.jsonl"), Journal(tmp_path / "one.jsonl")
    one.add([bore(1, "86.01 mm")])
    other.add([bore(2, "86.02 mm"), bore(1, "86.01 mm")])
    assert one.entries() == other.entries() == (bore(1, "86.01 mm"), bore(2, "86.02 mm"))


def _many(path: Path, who: int) -> None:
    journal = Journal(path)
    for number in range(1, 51):
        journal.add([bore(number, f"86.0{who} mm", f"process-{who}-{number}")])


def test_processes_that_write_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "one.jsonl"
    context = multiprocessing.get_context("fork")
    workers = [context.Process(target=_many, args=(path, who)) for who in range(3)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert {entry.id for entry in Journal(path).entries()} == {
        f"process-{who}-{number}" for who in range(3) for number in range(1, 51)
    }


def test_threads_that_tell_at_once_lose_nothing(tmp_path: Path, ready: ReadyBuild) -> None:
    kept = Kept(tmp_path, BUILD)

    def tell(who: int) -> None:
        for number in range(1, 5):
            kept.add(ready, [bore(number, f"86.01{who} mm", f"thread-{who}-{number}")])

    threads = [Thread(target=tell, args=(who,)) for who in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    held = standing(kept.journal.entries())
    assert all(len(one.beside) == 3 for one in held.values())
    assert len(held) == 4
    kept.look(ready)
    assert said(kept.path) == as_measured(ready, held)


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path, ready: ReadyBuild) -> None:
    (tmp_path / "there").write_text("a file")
    with pytest.raises(Faults, match="cannot be kept here"):
        Kept(tmp_path / "there", BUILD).add(ready, [bore(1, "86.01 mm")])


@pytest.mark.parametrize("name", ["", "..", "../other", "a/b", ".hidden", "a\x00b", "x" * 200, "a\nb"])
def test_no_id_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(Faults, match="no id that a file may be called by"):
        Kept(tmp_path, name)


# what holds


def slow(entries: Sequence[Entry]) -> dict[tuple[int, str], list[str]]:
    """Values that stand of each bore and place, said without regard to speed: told in pairs of who saw whom."""
    found: dict[tuple[int, str], list[Entry]] = {}
    for entry in entries:
        key = entry.piece, entry.place
        before = found.get(key, [])
        if not before or not before[0].value or before[-1].id in entry.over.split():
            found[key] = [entry]
        elif entry.value and entry.value not in [one.value for one in before]:
            found[key] = [*before, entry]
    values = {key: [one.value for one in each] for key, each in found.items()}
    return {key: each for key, each in values.items() if each[0]}


def test_tablets_that_come_and_go_lose_no_value() -> None:
    """Three tablets type, see what the server has only now and then, and send late and twice."""
    for seed in range(60):
        chance = random.Random(seed)
        server: list[Entry] = []
        seen: list[dict[int, str]] = [{}, {}, {}]
        waiting: list[list[Entry]] = [[], [], []]
        typed: dict[str, str] = {}
        for number in range(40):
            who, piece = chance.randrange(3), chance.randrange(1, 4)
            if chance.random() < 0.6:
                value = chance.choice(["", "86.01 mm", "86.02 mm", "86.03 mm", "86.04 mm"])
                saw = seen[who].get(piece, "")
                entry = bore(piece, value, f"tablet-{who}-{number}", saw)
                waiting[who].append(entry)
                seen[who][piece] = entry.id
                typed[entry.id] = entry.value
            else:
                known = {entry.id for entry in server}
                server += [entry for entry in waiting[who] if entry.id not in known]
                if chance.random() < 0.7:  # else the answer never came
                    waiting[who] = []
                    seen[who] = {key.piece: one.latest for key, one in standing(server).items()}
        held = standing(server)
        now = {
            (key.piece, key.place): [entry.value for entry in (one.entry, *one.beside)]
            for key, one in held.items()
        }
        assert now == slow(server)
        # what stands is either the last word of whoever saw all, or told beside
        for one in held.values():
            assert len({one.entry.value, *(entry.value for entry in one.beside)}) == 1 + len(one.beside)


def test_an_empty_value_takes_back_what_was_told() -> None:
    first, empty = bore(1, "86.01 mm", "tablet-a-1"), bore(1, "", "tablet-a-2", over="tablet-a-1")
    assert standing([first, empty]) == {}
    unseen = replace(empty, over="")
    assert standing([first, unseen])[first.key] == Standing(first)  # who had not seen it takes nothing back
    late = bore(1, "86.02 mm", "tablet-b-1")
    assert standing([first, empty, late])[first.key] == Standing(late)


def test_on_another_part_it_is_another_matter(ready: ReadyBuild) -> None:
    skirt = Entry(
        "tablet-a-1", "reading", "piston.skirt_diameter", "85.95 mm", ready.part_in("piston"), 1, "", "0.003 mm"
    )
    held = standing([skirt])
    assert as_measured(ready, held)["piston.skirt_diameter"]["pieces"] == {1: "85.95 mm"}
    other = next(
        part.part
        for part in ready.shop.parts.values()
        if "piston" in part.fills and part.part != ready.part_in("piston")
    )
    assert as_measured(ready.fitting(piston=other), held) == {}


def test_the_file_holds_nothing_of_a_part_that_was_swapped(tmp_path: Path, ready: ReadyBuild) -> None:
    kept = Kept(tmp_path, BUILD)
    skirt = Entry(
        "tablet-a-1", "reading", "piston.skirt_diameter", "85.95 mm", ready.part_in("piston"), 1, "", "0.003 mm"
    )
    kept.add(ready, [skirt, bore(1, "86.01 mm")])
    other = next(
        part.part
        for part in ready.shop.parts.values()
        if "piston" in part.fills and part.part != ready.part_in("piston")
    )
    for one in (kept, Kept(tmp_path, BUILD)):
        one.look(ready.fitting(piston=other))
        assert set(said(kept.path)) == {"block.bore_diameter"}
        one.look(ready)
        assert set(said(kept.path)) == {"block.bore_diameter", "piston.skirt_diameter"}


def test_a_hand_in_a_file_of_before_a_swap_takes_nothing_over_to_the_other_part(
    tmp_path: Path, ready: ReadyBuild
) -> None:
    kept = Kept(tmp_path, BUILD)
    skirt = Entry(
        "tablet-a-1", "reading", "piston.skirt_diameter", "85.95 mm", ready.part_in("piston"), 1, "", "0.003 mm"
    )
    kept.add(ready, [skirt, bore(1, "86.01 mm")])
    kept.path.write_text(
        kept.path.read_text(encoding="utf-8").replace("86.01 mm", "86.02 mm"), encoding="utf-8"
    )
    other = next(
        part.part
        for part in ready.shop.parts.values()
        if "piston" in part.fills and part.part != ready.part_in("piston")
    )
    assert kept.look(ready.fitting(piston=other))[1] == ()
    assert said(kept.path)["block.bore_diameter"]["pieces"] == {1: {"top": "86.02 mm"}}  # type: ignore[index]
    assert set(said(kept.path)) == {"block.bore_diameter"}


# the file


def test_the_file_is_what_the_command_reads(tmp_path: Path, ready: ReadyBuild) -> None:
    kept = Kept(tmp_path, BUILD)
    told = [bore(1, "86.012 mm"), bore(2, "3.3863 in"), bore(2, "86.014 mm", place="foot")]
    assert kept.add(ready, told) == ()
    by_file = ready.measuring(kept.path)
    by_word, wrong = measured_as_kept(ready, as_measured(ready, standing(kept.journal.entries())))
    assert wrong == {}
    key = ("block", "bore_diameter")
    assert by_file.measured[key].value == by_word.measured[key].value
    assert [piece and piece.readings for piece in by_file.measured[key].pieces] == [
        piece and piece.readings for piece in by_word.measured[key].pieces
    ]


def test_two_that_differ_both_count_until_one_is_chosen(tmp_path: Path, ready: ReadyBuild) -> None:
    kept = Kept(tmp_path, BUILD)
    kept.add(ready, [bore(1, "86.010 mm", "tablet-a-1")])
    kept.add(ready, [bore(1, "86.018 mm", "tablet-b-1")])
    measured = ready.measuring(kept.path).measured["block", "bore_diameter"]
    piece = measured.pieces[0]
    assert (piece.low, piece.high) == pytest.approx((0.08601, 0.086018))
    kept.add(ready, [bore(1, "86.018 mm", "tablet-a-2", over="tablet-b-1")])
    piece = ready.measuring(kept.path).measured["block", "bore_diameter"].pieces[0]
    assert (piece.low, piece.high) == pytest.approx((0.086018, 0.086018))


def test_the_worst_of_several_gauges_counts(ready: ReadyBuild) -> None:
    fine, coarse = bore(1, "86.010 mm"), replace(bore(2, "86.011 mm"), uncertainty="0.0003 in", gauge="caliper")
    group = as_measured(ready, standing([fine, coarse]))["block.bore_diameter"]
    assert group["uncertainty"] == "0.0003 in"  # 7.6 um, more than 4
    assert group["gauge"] == "bore gauge + caliper"


def test_what_a_hand_changes_is_taken_over(tmp_path: Path, ready: ReadyBuild) -> None:
    kept = Kept(tmp_path, BUILD)
    kept.add(ready, [bore(1, "86.010 mm"), bore(2, "86.011 mm"), bore(3, "86.012 mm")])
    text = kept.path.read_text(encoding="utf-8")
    text = text.replace("86.011 mm", "86.019 mm").replace("      3:\n        top: 86.012 mm\n", "")
    kept.path.write_text(text + "      4:\n        top: 86.013 mm\n", encoding="utf-8")
    assert kept.add(ready, [bore(1, "86.009 mm", "tablet-a-9", over=bore(1, "86.010 mm").id)]) == ()
    pieces = said(kept.path)["block.bore_diameter"]["pieces"]  # type: ignore[index]
    assert pieces == {1: {"top": "86.009 mm"}, 2: {"top": "86.019 mm"}, 4: {"top": "86.013 mm"}}
    before = kept.journal.entries()
    assert kept.look(ready) == (before, ())  # once


def test_what_bench_and_hand_both_change_stands_side_by_side(tmp_path: Path, ready: ReadyBuild) -> None:
    kept = Kept(tmp_path, BUILD)
    kept.add(ready, [bore(1, "86.010 mm", "tablet-a-1")])
    by_hand = kept.path.read_text(encoding="utf-8").replace("86.010 mm", "86.020 mm")
    kept.add(ready, [bore(1, "86.012 mm", "tablet-a-2", over="tablet-a-1")])
    kept.path.write_text(by_hand, encoding="utf-8")  # an editor that had the older file open
    kept.look(ready)
    held = standing(kept.journal.entries())[bore(1, "86.010 mm").key]
    assert {held.entry.value, *(one.value for one in held.beside)} == {"86.012 mm", "86.020 mm"}


@pytest.mark.parametrize(
    ("spoilt", "told"),
    [
        ("measured:\n  block.bore_diameter: {pieces: [\n", "is not valid YAML"),
        ("measured: nothing\n", "begins with `measured:`"),
        ("measured:\n  block.bore_diameter: 86.0 mm\n", "one value for all pieces"),
    ],
)
def test_a_file_that_a_hand_spoilt_stays_and_nothing_typed_is_lost(
    tmp_path: Path, ready: ReadyBuild, spoilt: str, told: str
) -> None:
    kept = Kept(tmp_path, BUILD)
    kept.add(ready, [bore(1, "86.010 mm")])
    kept.path.write_text(spoilt, encoding="utf-8")
    faults = kept.add(ready, [bore(2, "86.011 mm")])
    assert any(told in str(fault) for fault in faults), faults
    assert kept.path.read_text(encoding="utf-8") == spoilt
    assert len(kept.journal.entries()) == 2
    kept.path.unlink()
    assert kept.add(ready, [bore(3, "86.012 mm")]) == ()
    assert set(said(kept.path)["block.bore_diameter"]["pieces"]) == {1, 2, 3}  # type: ignore[index]


def test_who_is_stopped_between_line_and_file_leaves_no_old_value(tmp_path: Path, ready: ReadyBuild) -> None:
    kept = Kept(tmp_path, BUILD)
    kept.add(ready, [bore(1, "86.010 mm", "tablet-a-1")])
    kept.journal.add([bore(1, "86.015 mm", "tablet-a-2", over="tablet-a-1")])  # and here the power went
    again = Kept(tmp_path, BUILD)
    assert again.look(ready)[1] == ()
    assert said(kept.path)["block.bore_diameter"]["pieces"] == {1: {"top": "86.015 mm"}}  # type: ignore[index]
    assert [json.loads(line)["id"] for line in kept.journal.path.read_text().splitlines()] == [
        "tablet-a-1",
        "tablet-a-2",
    ]


def test_what_the_build_states_itself_holds_and_the_rest_counts(ready: ReadyBuild) -> None:
    own = ready.changed(measured={"block.bore_diameter": "86.02 mm"})
    found, wrong = measured_as_kept(own, as_measured(own, standing([bore(1, "86.010 mm"), DECK])))
    assert "states" in str(wrong["block.bore_diameter"][0]) or "stated" in str(wrong["block.bore_diameter"][0])
    assert ("block", "deck_height") in found.measured
    assert found.measured["block", "bore_diameter"] == own.measured["block", "bore_diameter"]


def test_what_the_shop_no_longer_takes_is_told_and_the_rest_counts(ready: ReadyBuild) -> None:
    odd = replace(bore(1, "8.6 mm"), what="block.bore_diameter")
    found, wrong = measured_as_kept(ready, as_measured(ready, standing([odd, DECK])))
    assert "outside anything possible" in str(wrong["block.bore_diameter"][0])
    assert ("block", "deck_height") in found.measured
    assert ("block", "bore_diameter") not in found.measured
