"""The form of the sheet, filled in with openpyxl, read back and checked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

import compat
from compat.bench.sheet import bench_sheet
from compat.paper.out import write_out
from compat.paper.sheet_form import measured_form
from compat.shop.pieces import Measured
from compat.units import Band, unit

BUILDS = [
    "endurance-ethanol",
    "fell-30-top-end",
    "first-draft",
    "long-stroke-20",
    "phase-upgrade",
    "street-turbo",
]


def filled(build: compat.Build, shop: compat.OpenShop, path: Path, system: str = "metric") -> dict[str, Any]:
    """Fill the form with the middle of what the cards say; gives what was filled in."""
    checked = shop.check(build).checked
    write_out(measured_form(bench_sheet(checked, system, whole=True), shop.things.info, system), path)
    workbook = openpyxl.load_workbook(path)
    sheet = workbook["Measured"]
    rows = iter(sheet.iter_rows())
    head = next(
        {c.value: c.column - 1 for c in row if c.value} for row in rows if "what" in {c.value for c in row}
    )
    found: dict[str, Any] = {}
    for row in rows:
        what = row[head["what"]].value
        spec = checked.world.settled.specs.at(*what.split(".")) if what else None
        if spec is None or not isinstance(spec.value, Band):
            continue
        own = unit(row[head["unit"]].value if row[head["unit"]].value != "number" else "")
        value = round(own.from_si(spec.value.middle), 7)
        row[head["value"]].value = value
        row[head["uncertainty"]].value = max(abs(value) * 1e-5, 1e-6)
        found.setdefault(what, []).append(value)
    workbook.save(path)
    return found


@pytest.mark.parametrize("name", BUILDS)
def test_a_filled_form_is_read_back_whole(name: str, shop: compat.OpenShop, tmp_path: Path) -> None:
    """Every row is taken, and pieces as their cards say come out as the cards do, or surer."""
    build, path = shop.build(name), tmp_path / "form.xlsx"
    said = filled(build, shop, path)
    measured = build.measuring(path)
    assert {".".join(key) for key in measured.measured} == set(said)
    for (position, spec), value in measured.measured.items():
        assert isinstance(value, Measured)
        assert value.whole
        readings = [reading for piece in value.pieces if piece for _, reading in piece.readings]
        own = unit(shop.things.kinds[position][spec].unit)
        assert [own.from_si(each) for each in readings] == pytest.approx(said[f"{position}.{spec}"], rel=1e-9)
    before = {outcome.rule: outcome.verdict for outcome in shop.check(build).outcomes}
    moved = {
        (outcome.rule, before.get(outcome.rule), outcome.verdict)
        for outcome in shop.check(measured).outcomes
        if before.get(outcome.rule) != outcome.verdict
    }
    assert all((was, now) in {("measure", "ok"), ("caution", "ok"), (None, "ok")} for _, was, now in moved), (
        moved
    )


def test_inches_come_back_as_the_same_sizes(
    shop: compat.OpenShop, street: compat.Build, tmp_path: Path
) -> None:
    filled(street, shop, tmp_path / "metric.xlsx")
    filled(street, shop, tmp_path / "inch.xlsx", "imperial")
    metric, inch = (street.measuring(tmp_path / f"{name}.xlsx").measured for name in ("metric", "inch"))
    assert metric.keys() == inch.keys()
    for key, spec in metric.items():
        other = inch[key].value
        assert isinstance(spec.value, Band)
        assert isinstance(other, Band)
        assert other.middle == pytest.approx(spec.value.middle, rel=1e-5, abs=1e-8)


def test_an_empty_form_measures_nothing(shop: compat.OpenShop, street: compat.Build, tmp_path: Path) -> None:
    for name in ("form.xlsx", "form.csv"):
        write_out(measured_form(bench_sheet(shop.check(street).checked), shop.things.info), tmp_path / name)
        assert street.measuring(tmp_path / name).measured == street.measured
