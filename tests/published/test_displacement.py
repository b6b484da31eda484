"""Swept volume and mean pressure against an open data set of 205 cars of 1985, faults in it and all.

Source: J. C. Schlimmer, "Automobile" data set, 1987, UCI Machine Learning Repository (CC BY 4.0,
licence from memory).
The set is known to hold wrong rows; a formula that is right finds them, and finds what they ought to say.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from compat.engineering.cycle.performance import bmep_from_power
from compat.engineering.cylinder.geometry import engine_displacement

INCH = 0.0254
HORSEPOWER = 745.6999

Row = dict[str, float]


def _read() -> dict[int, Row]:
    path = Path(__file__).parent / "data" / "automobiles_1985.csv"
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    table: dict[int, Row] = {}
    for record in csv.DictReader(lines):
        number = int(record.pop("row"))
        table[number] = {key: float(text) for key, text in record.items() if text}
    return table


ROWS = _read()
WITH_BORE = {number: row for number, row in ROWS.items() if "bore_in" in row}


def _cubic_inches(bore: float, stroke: float, cylinders: float) -> float:
    return engine_displacement(bore * INCH, stroke * INCH, cylinders) / INCH**3


def _error(row: Row) -> float:
    return _cubic_inches(row["bore_in"], row["stroke_in"], row["cylinders"]) / row["engine_size_in3"] - 1


def test_the_set_is_whole() -> None:
    assert len(ROWS) == 205
    # Four rotary engines state no bore: no piston sweeps their volume.
    assert sorted(set(ROWS) - set(WITH_BORE)) == [56, 57, 58, 59]


def test_most_rows_agree_with_the_computed_volume() -> None:
    errors = sorted(abs(_error(row)) for row in WITH_BORE.values())
    assert errors[len(errors) // 2] < 0.006  # two-digit inches allow about 0.5 %
    assert sum(error < 0.03 for error in errors) >= 0.82 * len(errors)
    assert sum(error < 0.06 for error in errors) >= 0.95 * len(errors)


def test_grossly_wrong_rows_are_found() -> None:
    wrong = [number for number, row in WITH_BORE.items() if abs(_error(row)) > 0.08]
    assert wrong == [1, 2, 3, 112, 114, 123, 130, 131, 132, 135]


@pytest.mark.parametrize(
    ("row", "correction"),
    [
        # Bore and stroke changed places.
        (3, {"bore_in": 3.47, "stroke_in": 2.68}),
        # One digit of the stroke.
        (112, {"stroke_in": 3.19}),
        (114, {"stroke_in": 3.19}),
        (131, {"stroke_in": 3.50}),
        (132, {"stroke_in": 3.50}),
        # One digit of the engine size.
        (130, {"engine_size_in3": 303}),
        # Size belongs to another engine: eight rows state the same bore and stroke with 90.
        (123, {"engine_size_in3": 90}),
        # A whole inch short on both.
        (135, {"bore_in": 3.54, "stroke_in": 3.07}),
    ],
)
def test_a_wrong_row_agrees_once_its_slip_is_undone(row: int, correction: Row) -> None:
    assert abs(_error(ROWS[row])) > 0.08
    assert abs(_error({**ROWS[row], **correction})) < 0.008


def test_rows_that_share_bore_and_stroke_tell_which_size_is_odd() -> None:
    twins = [
        row["engine_size_in3"]
        for number, row in WITH_BORE.items()
        if (row["bore_in"], row["stroke_in"]) == (2.97, 3.23) and number != 123
    ]
    computed = _cubic_inches(2.97, 3.23, 4)
    assert ROWS[123]["engine_size_in3"] == 98
    assert all(abs(size / computed - 1) < 0.03 for size in twins)
    assert len(twins) >= 8


def _bmep(row: Row) -> float:
    volume = row["engine_size_in3"] * INCH**3
    return bmep_from_power(row["power_hp"] * HORSEPOWER, row["power_rpm"] * math.pi / 30, volume)


def test_mean_pressure_at_rated_power_lies_where_the_books_say() -> None:
    """Heywood ch. 2 (from memory): 850 to 1050 kPa naturally aspirated, 1250 to 1700 kPa boosted.

    Those are for peak torque; at rated power the mean pressure is 10 to 15 % lower, and carburetted engines
    of 1985 lie lower still.
    """
    petrol = {
        number: row
        for number, row in WITH_BORE.items()
        if not row["diesel"] and "power_hp" in row and number != 130  # 130 states 203 for 303 cubic inches
    }
    above = [number for number, row in petrol.items() if not row["boosted"] and _bmep(row) > 1050e3]
    assert above == [3]  # a row already found out by its bore and stroke
    natural = sorted(_bmep(row) / 1e3 for number, row in petrol.items() if not row["boosted"] and number != 3)
    boosted = sorted(_bmep(row) / 1e3 for row in petrol.values() if row["boosted"])
    assert 600 < natural[0] < natural[-1] < 1050
    assert 700 < natural[len(natural) // 2] < 900
    assert 1000 < boosted[len(boosted) // 2] < 1300
    assert boosted[-1] < 1700
    # With its stated size the odd row would be the best naturally aspirated engine of its year by far.
    assert _bmep(ROWS[130]) / 1e3 > 1.1 * natural[-1]
    assert _bmep({**ROWS[130], "engine_size_in3": 303}) / 1e3 < natural[-1]


def test_diesels_are_told_by_their_compression_ratio() -> None:
    for row in ROWS.values():
        if row["diesel"]:
            assert 21 <= row["compression_ratio"] <= 23
        else:
            assert 7 <= row["compression_ratio"] <= 11.5
