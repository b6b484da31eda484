"""How pictures are drawn: nothing cut off or on another, told apart in grey and by any eye, always the same."""

from __future__ import annotations

import hashlib
import itertools
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from compat.paper.document import Document
from compat.paper.formats.pdf import pdf
from compat.paper.pictures import PICTURES, drawn, picture
from compat.paper.pictures.chain import Chain, Step
from compat.paper.pictures.numbers import Source
from compat.paper.pictures.style import ENDINGS, HAIR, INK, MARKS, QUIET, WIDTH, house_style
from tests.look import checked_once

SVG = "{http://www.w3.org/2000/svg}"
LONG = "A very long name of a part by a maker in Łódź and Ωμέγα, seventy-nine letters…!"
SOLID = "Rod" * 26 + "ab"


@cache
def source(build: str, system: str) -> Source:
    return Source(checked_once(build).checked, system)


@cache
def data_of(name: str, build: str, system: str, rule: str = "") -> Any:
    kind = PICTURES[name]
    return kind.rooms.compute(source(build, system), *([rule] if kind.of_a_rule else []))


def with_long_names(name: str, data: Any) -> Any:
    """The same picture for a shop that gives long names to everything."""
    match name:
        case "headroom":
            bars = tuple(replace(bar, title=LONG, part=SOLID) for bar in data.bars[::2])
            return replace(
                data, subject=SOLID, bars=(*bars, *(replace(b, title=SOLID, part=LONG) for b in bars))
            )
        case "output":
            limits = (replace(data.limits[0], title=SOLID, value=LONG), replace(data.limits[1], title=LONG))
            return replace(data, subject=LONG, limits=limits)
        case "compressor":
            return replace(data, subject=LONG, turbocharger=SOLID)
        case "tolerance":
            shares = tuple(replace(share, name=SOLID, part=LONG) for share in data.shares)
            return replace(
                data, subject=SOLID, measured=LONG, shares=(*shares, *shares, *shares, *shares, *shares)
            )
        case "reasons":
            steps = (replace(step, title=LONG if number % 2 else SOLID, says=SOLID)
                     for number, step in enumerate(data.steps))  # fmt: skip
            return replace(data, subject=LONG, steps=tuple(steps))
    return replace(data, subject=SOLID)


CASES = [
    *((name, "street-turbo", "imperial") for name in PICTURES),
    *((name, "first-draft", "metric") for name in PICTURES),
    ("output", "fell-30-top-end", "imperial"),
    ("tolerance", "endurance-ethanol", "metric"),
    ("compressor", "endurance-ethanol", "metric"),
]


def texts(drawing: Any) -> list[Any]:
    """Every text that shows, with the room it takes [pixel]."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.text import Text

    canvas = FigureCanvasAgg(drawing)
    canvas.draw()
    renderer = canvas.get_renderer()
    beyond = {label for axes in drawing.axes for label in not_drawn(axes)}
    found = [
        text
        for text in drawing.findobj(Text)
        if text.get_visible() and text.get_text().strip() and text not in beyond
    ]
    return [(text.get_text(), text.get_window_extent(renderer)) for text in found]


def not_drawn(axes: Any) -> Iterator[Any]:
    """Labels of ticks beyond the ends of an axis, which are there and do not show."""
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        room = 1e-6 * (high - low)
        for tick, place in zip(axis.get_major_ticks(), axis.get_majorticklocs(), strict=False):
            if not low - room <= place <= high + room or not axes.axison:
                yield from (tick.label1, tick.label2)


def faults(drawing: Any) -> list[str]:
    """Texts beyond the edge of a drawing, and texts that lie on one another."""
    shown = texts(drawing)
    width, height = drawing.bbox.width, drawing.bbox.height
    found = [
        f"cut off: {text!r}"
        for text, box in shown
        if box.x0 < -1 or box.y0 < -1 or box.x1 > width + 1 or box.y1 > height + 1
    ]
    for (text, box), (other, beside) in itertools.combinations(shown, 2):
        across = min(box.x1, beside.x1) - max(box.x0, beside.x0)
        upward = min(box.y1, beside.y1) - max(box.y0, beside.y0)
        # boxes have room for tails that a text may not have
        if across > 2 and upward > 0.3 * min(box.height, beside.height):
            found.append(f"{text!r} on {other!r}")
    return found


def test_tiny_tolerances_are_written_out_on_their_scale() -> None:
    data = data_of("tolerance", "first-draft", "imperial", "cylinder-wall-left")
    with house_style():
        assert faults(PICTURES["tolerance"].rooms.draw(data)) == []


@pytest.mark.parametrize(("name", "build", "system"), CASES)
def test_nothing_is_cut_off_and_no_text_lies_on_another(name: str, build: str, system: str) -> None:
    with house_style():
        drawing = PICTURES[name].rooms.draw(data_of(name, build, system))
        assert faults(drawing) == []
        assert drawing.get_figwidth() <= WIDTH + 0.1
        assert drawing.get_figheight() < 10.0  # what A4 paper has


@pytest.mark.parametrize("name", PICTURES)
def test_names_of_eighty_letters_are_folded_or_cut_where_their_room_ends(name: str) -> None:
    rule = {"reasons": "rod-fatigue", "tolerance": "deck-clearance"}.get(name, "")
    data = with_long_names(name, data_of(name, "street-turbo", "metric", rule))
    with house_style():
        drawing = PICTURES[name].rooms.draw(data)
        assert faults(drawing) == []


def lines(axes: Any) -> list[list[tuple[float, float]]]:
    """Points of every line of some axes."""
    return [list(zip(*line.get_data(), strict=True)) for line in axes.get_lines()]


def test_what_is_drawn_is_the_record() -> None:
    """Ends of bars, places of marks and curves, read back from the drawing."""
    with house_style():
        bars = data_of("headroom", "street-turbo", "imperial").bars
        (axes,) = PICTURES["headroom"].rooms.draw(data_of("headroom", "street-turbo", "imperial")).axes
        shown = [patch.get_width() for patch in axes.patches]
        assert len(shown) == 26
        assert shown == pytest.approx([max(min(bar.headroom, 1.5), -0.6) for bar in bars[:26]])
        assert [(bar.low, row) for row, bar in enumerate(bars[:26]) if bar.low < bar.headroom - 1e-9] == [
            (pytest.approx(line[0][0]), pytest.approx(line[0][1]))
            for line in lines(axes) if len(line) == 2 and line[0][1] == line[1][1]
        ]  # fmt: skip

        data = data_of("output", "street-turbo", "metric")
        power, torque, _ = PICTURES["output"].rooms.draw(data).axes
        for panel, quantity in ((power, "power"), (torque, "torque")):
            for point in data.points:
                assert [(point.speed.value, getattr(point, quantity).value)] in lines(panel)
            assert [(step.speed, getattr(step, quantity)) for step in data.steps] in lines(panel)

        data = data_of("compressor", "street-turbo", "metric")
        (axes,) = PICTURES["compressor"].rooms.draw(data).axes
        for place in data.places:
            assert [(place.flow.value, place.ratio.value)] in lines(axes)
        for line in data.lines:
            assert list(zip(line.flow, line.ratio, strict=True)) in lines(axes)
        assert [(line.flow[0], line.ratio[0]) for line in data.lines] in lines(axes)
        assert [(point.flow, point.ratio) for point in data.along] in lines(axes)

        data = data_of("cycle", "street-turbo", "imperial")
        upper, lower = PICTURES["cycle"].rooms.draw(data).axes
        for trace in data.traces:
            assert list(zip(data.angles, trace.pressure, strict=True)) in lines(upper)
            assert list(zip(data.angles, trace.force, strict=True)) in lines(lower)

        data = data_of("tolerance", "street-turbo", "imperial", "deck-clearance")
        scale, shares = PICTURES["tolerance"].rooms.draw(data).axes
        assert [patch.get_width() for patch in shares.patches] == pytest.approx([s.brings for s in data.shares])
        widths = [patch.get_width() for patch in scale.patches]
        assert widths[-2:] == pytest.approx([2 * data.worst, 2 * data.likely])

        data = data_of("reasons", "street-turbo", "metric", "rod-fatigue")
        (axes,) = PICTURES["reasons"].rooms.draw(data).axes
        assert len(axes.patches) == len(data.steps) + sum(len(step.rests_on) for step in data.steps)


def test_a_text_out_of_place_is_noticed() -> None:
    """The check above can fail: a name that is not fitted, and two texts in one place."""
    with house_style():
        drawing = PICTURES["cycle"].rooms.draw(data_of("cycle", "street-turbo", "metric"))
        drawing.text(0.9, 0.5, LONG)
        drawing.text(0.012, 0.985, "beside the title", va="top")
        assert len(faults(drawing)) >= 2


def test_no_print_is_small() -> None:
    from matplotlib.text import Text

    for name in PICTURES:
        with house_style():
            drawing = PICTURES[name].rooms.draw(data_of(name, "street-turbo", "metric"))
            sizes = [text.get_fontsize() for text in drawing.findobj(Text) if text.get_text().strip()]
            assert min(sizes) >= 5.8, name
            assert max(sizes) <= 11, name


# --- eyes and printers ---


def linear(colour: str) -> tuple[float, ...]:
    """sRGB to linear light (IEC 61966-2-1)."""
    parts = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    return tuple(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)


def lab(light: tuple[float, ...]) -> tuple[float, float, float]:
    """Linear sRGB to CIE 1976 L*a*b* under D65 (CIE 15:2004, from memory)."""
    r, g, b = (min(max(part, 0.0), 1.0) for part in light)
    xyz = (
        (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
        0.2126 * r + 0.7152 * g + 0.0722 * b,
        (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089,
    )
    x, y, z = (part ** (1 / 3) if part > 216 / 24389 else (24389 / 27 * part + 16) / 116 for part in xyz)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


EYES = {
    # G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A Physiologically-based Model for Simulation of Color
    # Vision Deficiency, IEEE TVCG 15, 2009: severity 1.0, on linear light (from memory)
    "no red cones": (
        (0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998),
    ),
    "no green cones": (
        (0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881),
    ),
    "no blue cones": (
        (1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900),
    ),
    "all": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
}  # fmt: skip


@pytest.mark.parametrize("eyes", EYES)
def test_colours_stay_apart_for_every_eye(eyes: str) -> None:
    """A distance of 2.3 in L*a*b* is just noticed (common practice); these are six times as far apart."""
    seen = [
        lab(tuple(sum(a * b for a, b in zip(row, linear(mark.colour), strict=True)) for row in EYES[eyes]))
        for mark in MARKS.values()
    ]
    for one, other in itertools.combinations(seen, 2):
        assert sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5 > 14


def test_colours_stay_apart_in_grey() -> None:
    lightness = sorted(lab(linear(mark.colour))[0] for mark in MARKS.values())
    assert all(b - a > 15 for a, b in itertools.pairwise(lightness))
    # black is drawn as lines and marks, never as a bar; text reads on white: WCAG 2.1 asks 4.5 to 1
    for colour in (INK, QUIET):
        bright = sum(w * part for w, part in zip((0.2126, 0.7152, 0.0722), linear(colour), strict=True))
        assert 1.05 / (bright + 0.05) > 4.5
    assert lab(linear(HAIR))[0] > 80


def test_marks_differ_in_more_than_colour() -> None:
    for sign in ("hatch", "marker", "line"):
        assert len({str(getattr(mark, sign)) for mark in MARKS.values()}) == len(MARKS)


# --- files ---


@pytest.mark.parametrize("name", PICTURES)
def test_svg_is_whole_told_in_words_and_needs_nothing_from_outside(name: str) -> None:
    data = data_of(name, "street-turbo", "metric")
    made = drawn(name, data)
    root = ElementTree.fromstring(made)  # our own bytes
    assert root.attrib["role"] == "img"
    assert root[0].tag == f"{SVG}title"
    assert root[1].tag == f"{SVG}desc"
    assert root[1].text == data.shows
    assert root.find(f".//{SVG}text") is None  # letters are outlines: they print alike wherever no such font is
    assert root.find(f".//{SVG}image") is None
    assert b"<dc:date" not in made
    links = {value for each in root.iter() for key, value in each.attrib.items() if key.endswith("href")}
    assert all(link.startswith("#") for link in links)
    assert len(made) < 300_000


def test_names_cannot_break_out_of_the_file() -> None:
    data = replace(
        data_of("cycle", "street-turbo", "metric"), subject='</desc><script>x</script>"&\x1b[31m $a_b$'
    )
    root = ElementTree.fromstring(drawn("cycle", data))
    assert root.find(f".//{SVG}script") is None
    assert "<script>" in (root[1].text or "")


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_same_picture_is_the_same_file(ending: str) -> None:
    data = data_of("cycle", "fell-30-top-end", "metric")
    first = drawn("cycle", data, ending)
    assert drawn("cycle", data, ending) == first
    assert first.startswith({".svg": b"<?xml", ".png": b"\x89PNG", ".pdf": b"%PDF"}[ending])


def test_a_readers_own_settings_change_nothing() -> None:
    import matplotlib

    data = data_of("cycle", "street-turbo", "metric")
    first = drawn("cycle", data)
    with matplotlib.rc_context({"font.size": 30, "axes.grid": True, "svg.fonttype": "none"}):
        assert drawn("cycle", data) == first
        assert matplotlib.rcParams["font.size"] == 30  # and are left as they were


SEEN = """
import hashlib, sys
from compat.paper.pictures import PICTURES, drawn
for kind in PICTURES.values():
    kind.rooms
assert "matplotlib" not in sys.modules, "numbers alone must not load it"
from tests.paper.test_pictures_drawn import by_hand
print(hashlib.sha256(drawn("reasons", by_hand())).hexdigest())
assert "matplotlib.pyplot" not in sys.modules
assert "tkinter" not in sys.modules
"""


def by_hand() -> Chain:
    """A small chain that needs no shop."""
    goal = Step("goal.speed", "The goal's speed", "5800 rpm", "goal", "", False, ())
    bore = Step("block.bore", "Bore", "86 mm", "part", "a-block, maker", True, ())
    load = Step("load", "Load", "12 kN", "figure", "", False, ("goal.speed", "block.bore"))
    top = Step("", "Rod", "ok", "finding", "", False, ("load", "block.bore"))
    return Chain("mule", "Mule", "rod", "ok", "it holds", (top, load, goal, bore), 0)


def test_another_process_draws_the_same_and_never_loads_pyplot() -> None:
    seen = subprocess.run(
        [sys.executable, "-c", SEEN], capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONHASHSEED": "31"}, cwd=Path(__file__).parents[2],
    ).stdout  # fmt: skip
    assert seen.split() == [hashlib.sha256(drawn("reasons", by_hand())).hexdigest()]


def test_a_document_carries_a_picture() -> None:
    checked = source("street-turbo", "imperial").checked
    block = picture("tolerance", checked, "imperial", "deck-clearance", 0.8)
    assert block.shows.startswith("Tolerance stack of Piston height")
    assert block.share == 0.8
    made = pdf(Document("Sheet", [block]))
    assert made.startswith(b"%PDF")
