"""Quantities as people write them: every notation read, written and read again; nonsense refused in words."""

from __future__ import annotations

import math
import runpy
import subprocess
import sys
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.shop.specs import declare, state
from compat.units import Band, UnitFault, describe, preferred, printed, read_band, show, table, unit
from compat.units import band as band_module
from compat.units.table import TABLE
from compat.units.unit import _ALIASES

ALIASES = (
    "cc",
    "°",
    "°C",
    "°F",
    "PS",
    "bhp",
    "Ω",
    "days",
    "litres",
    "N·m",
    "lbf-ft",
    "ft·lbf",
    "cm³",
    "mm²",
    "µm",
    "%",
)
UNITS = st.sampled_from(
    [*(name for name in TABLE if name != "1/K" and not name.startswith("1/")), *ALIASES, ""]
)
LENGTHS = st.sampled_from(["mm", "in", "thou", "um", "m", "cm"])


def digits(low: float, high: float) -> st.SearchStrategy[str]:
    """Numbers as a person writes them: a few decimals, now and then a power of ten."""
    plain = st.decimals(low, high, places=3, allow_nan=False).map(lambda d: f"{d}")
    return st.one_of(plain, st.integers(int(low), int(high)).map(str), plain.map(lambda text: f"{text}e-3"))


VALUES = digits(0, 9000)
WIDTHS = digits(0, 20)


def same(a: Band, b: Band) -> bool:
    size = max(map(abs, (a.nominal, a.low, a.high)))
    pairs = ((a.nominal, b.nominal), (a.low, b.low), (a.high, b.high))
    return a.dimension == b.dimension and all(
        math.isclose(x, y, rel_tol=0, abs_tol=2e-12 * size) for x, y in pairs
    )


def joined(number: str, name: str) -> str:
    return f"{number} {name}".strip()


@given(VALUES, UNITS)
def test_plain_quantity_comes_back(number: str, name: str) -> None:
    band = read_band(joined(number, name))
    assert band.nominal == band.low == band.high == unit(name).to_si(float(number))
    assert same(read_band(band.text()), band)


@given(
    st.one_of(
        VALUES,
        st.sampled_from([".5", "5.", "0", "007", ".", "", "1.2.3", "٣", "5e3", "-1", "9" * 60, "9" * 61]),
    ),
    st.sampled_from(["", " ", "  "]),
    st.sampled_from([*TABLE, *_ALIASES, "mm ±0.1", "1/s", "furlongs", "MM", "mm\u00b2", "nan", "percentage"]),
)
def test_the_short_way_reads_what_the_long_way_reads(number: str, gap: str, name: str) -> None:
    whole = f"{number}{gap}{name}".strip()
    short = band_module._plainly(whole)
    if short is not None:
        assert short == band_module._read(whole)


def test_most_quantities_are_read_the_short_way() -> None:
    written = ("190 kW", "245 N*m", "60 kPa", "7200 rpm", "86.5 mm", "98 number", "20 %", "15", "25 degC")
    assert all(map(band_module._plainly, written))


@given(VALUES, UNITS, WIDTHS, st.sampled_from(["±", "± ", "+/-", " ±"]))
def test_symmetrical_tolerance_comes_back(number: str, name: str, width: str, sign: str) -> None:
    band = read_band(f"{joined(number, name)} {sign}{width}")
    half = float(width) * unit(name).factor
    assert band.high - band.low == pytest.approx(2 * half, rel=1e-6, abs=1e-12 * abs(band.nominal))
    assert same(read_band(band.text()), band)


@given(VALUES, UNITS, WIDTHS, WIDTHS, st.sampled_from([("+", "-"), ("+", "+"), ("-", "-")]))
def test_one_sided_tolerance_comes_back(
    number: str, name: str, plus: str, minus: str, signs: tuple[str, str]
) -> None:
    band = read_band(f"{joined(number, name)} {signs[0]}{plus}/{signs[1]}{minus}")
    ends = sorted(float(f"{sign}{x}") * unit(name).factor for sign, x in zip(signs, (plus, minus), strict=True))
    assert band.low == pytest.approx(band.nominal + ends[0], rel=1e-12)
    assert band.high == pytest.approx(band.nominal + ends[1], rel=1e-12)
    assert same(read_band(band.text()), band)


@given(VALUES, WIDTHS, UNITS)
def test_range_comes_back(low: str, width: str, name: str) -> None:
    high = f"{float(low) + float(width):.6f}"
    band = read_band(joined(f"{low}..{high}", name))
    assert band.low == unit(name).to_si(float(low))
    assert band.high == unit(name).to_si(float(high))
    assert same(read_band(band.text()), band)


@given(VALUES, UNITS, digits(0, 50))
def test_tolerance_in_per_cent_is_of_the_number_written(number: str, name: str, share: str) -> None:
    band = read_band(f"{joined(number, name)} ±{share} %")
    percent = 0.01 if name in ("%", "percent") else abs(float(number)) / 100 * unit(name).factor
    assert band.half_width == pytest.approx(float(share) * percent, rel=1e-6, abs=1e-12 * abs(band.nominal))
    assert same(read_band(band.text()), band)


@given(VALUES, LENGTHS, WIDTHS, LENGTHS)
def test_tolerance_in_a_unit_of_its_own(number: str, name: str, width: str, other: str) -> None:
    band = read_band(f"{number} {name} ±{width} {other}")
    assert band.half_width == pytest.approx(
        float(width) * unit(other).factor, rel=1e-6, abs=1e-12 * band.nominal
    )
    assert same(read_band(band.text()), band)


@given(digits(1, 30), st.integers(1, 9))
def test_ratio_comes_back(top: str, bottom: int) -> None:
    band = read_band(f"{top}:{bottom}")
    assert band.nominal == float(top) / bottom
    assert band.dimension == unit("").dimension
    assert same(read_band(band.text()), band)


@given(st.integers(0, 40), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fraction_of_an_inch_comes_back(whole: int, top: int, bottom: int) -> None:
    band = read_band(f"{whole} {top}/{bottom} in")
    assert band.nominal == pytest.approx((whole + top / bottom) * 0.0254, rel=1e-14)
    assert same(read_band(band.text()), band)


@pytest.mark.parametrize(
    ("text", "si", "half", "measures"),
    [
        ("86.00 mm ±0.01", 0.086, 1e-5, "length"),
        ("51.000 mm +0.013/-0", 0.051, 6.5e-6, "length"),
        ("2.4..2.6 mm", 0.0025, 1e-4, "length"),
        ("3.386 in", 0.0860044, 0, "length"),
        ("2 thou", 5.08e-5, 0, "length"),
        ("7/16 in", 0.0111125, 0, "length"),
        ("-4.2 cc", -4.2e-6, 0, "volume"),
        ("122 cu_in", 122 * 1.6387064e-5, 0, "volume"),
        ("115 N*m", 115, 0, "torque or energy"),
        ("85 lbf*ft", 115.2445256, 0, "torque or energy"),
        ("85 lb-ft", 115.2445256, 0, "torque or energy"),
        ("14.5 psi", 99973.98074, 0, "pressure"),
        ("1.3 bar", 130000, 0, "pressure"),
        ("350 hp", 260994.955, 0, "power"),
        ("350 PS", 257424.5625, 0, "power"),
        ("6200 rpm", 649.2624817, 0, "rotation or frequency"),
        ("20 deg", 0.3490658504, 0, "plain number or angle"),
        ("20°", 0.3490658504, 0, "plain number or angle"),
        ("850 degC", 1123.15, 0, "temperature"),
        ("212 °F", 373.15, 0, "temperature"),
        ("20 degC ±5 K", 293.15, 5, "temperature"),
        ("10.5:1", 10.5, 0, "plain number or angle"),
        ("12 %", 0.12, 0, "plain number or angle"),
        ("0.5", 0.5, 0, "plain number or angle"),
        ("10 days", 864000, 0, "time"),
        ("550 cm^3/min", 9.1666666667e-6, 0, "volume flow"),
        ("350 cfm", 0.16518161, 0, "volume flow"),
    ],
)
def test_notations_of_the_bench(text: str, si: float, half: float, measures: str) -> None:
    band = read_band(text)
    assert band.middle == pytest.approx(si + (6.5e-6 if "+0.013" in text else 0), rel=1e-7)
    assert band.half_width == pytest.approx(half, rel=1e-9)
    assert describe(band.dimension) == measures


@pytest.mark.parametrize("text", ["M10x1.25", "M14x1.5 LH", "7/16-20 UNF", "10.9", "12.9", "8.8", "1-3-4-2"])
def test_thread_callouts_and_property_classes_stay_text(text: str) -> None:
    assert state(declare("thread", "text"), text).value == text


@pytest.mark.parametrize("text", ["M10x1.25", "7/16-20 UNF", "1-3-4-2"])
def test_a_thread_callout_is_no_quantity(text: str) -> None:
    with pytest.raises(UnitFault):
        read_band(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is no quantity"),
        ("mm", "is no quantity"),
        ("nan mm", "not a finite number"),
        ("-inf kPa", "not a finite number"),
        ("Infinity", "not a finite number"),
        ("1e400 mm", "too large"),
        ("1e308 km", "too large"),
        ("1" + "0" * 400 + " mm", "404 characters"),
        ("9" * 80, "80 characters"),
        ("1e308:1e-300", "too large"),
        ("86,00 mm", "comma"),
        ("1,000.5 mm", "comma"),
        ("2.6..2.4 mm", "from high to low"),
        ("1:0", "divides by zero"),
        ("3/0 in", "divides by zero"),
        ("86 mm ±0.01 kPa", "the tolerance is in kPa, the value in mm"),
        ("86 mm ±", "is no quantity"),
        ("86 mm ±0.01 ±0.02", "is no quantity"),
        ("--5 mm", "is no quantity"),
        ("86 milimetre", "unit 'milimetre' is not known"),
        ("86 MMM", "did you mean 'mm'?"),
        ("220 KW", "did you mean 'kW'?"),
        ("86 m^9^9^9", "is not known"),
        ("86 (m^9)^9^9", "is no quantity"),
        ("30 dBm", "logarithmic"),
        ("5 degC*m", "has an offset"),
        ("100 bar(g)", "is not known"),
        ("5 USD", "is not known"),
        ("5 pixel", "which no spec does"),
        ("0x10 mm", "is not known"),
    ],
)
def test_nonsense_is_refused_in_words(text: str, says: str) -> None:
    with pytest.raises(UnitFault, match=r".") as caught:
        read_band(text)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


@given(st.text("0123456789 .,+-±/:%°^*()eEmkNPaf\n", max_size=40))
def test_any_text_reads_or_is_refused(text: str) -> None:
    try:
        band = read_band(text)
    except UnitFault:
        return
    assert all(map(math.isfinite, (band.nominal, band.low, band.high)))
    assert band.low <= band.high


@pytest.mark.parametrize(
    ("value", "name", "metric", "imperial"),
    [
        (0.0855, "mm", "85.500 mm", "3.3661 in"),
        (115.0, "N*m", "115 N*m", "84.8 lbf*ft"),
        (130e3, "kPa", "130 kPa", "18.9 psi"),
        (220e3, "kW", "220 kW", "295 hp"),
        (363.15, "degC", "90.0 degC", "194 degF"),
        (9.0, "K", "9.0 K", "16.2 degF (difference)"),
        (550e-6 / 60, "cm^3/min", "550 cm^3/min", "550 cm^3/min"),
        (0.545, "g", "545 g", "19.22 oz"),
        (10.5, "", "10.50", "10.50"),
        (649.2624817, "rpm", "6200 rpm", "6200 rpm"),
        (-1e-9, "mm", "-1e-06 mm", "-3.937e-08 in"),
        (0.0, "mm", "0.000 mm", "0.0000 in"),
    ],
)
def test_output_in_the_unit_of_the_reader(value: float, name: str, metric: str, imperial: str) -> None:
    assert show(value, name) == metric
    assert show(value, name, "imperial") == imperial


@given(
    st.floats(-1e6, 1e6),
    st.sampled_from(["mm", "N*m", "kPa", "kW", "kg", "L", "degC", "m/s", "N/mm", "g/(kW*h)"]),
)
def test_the_imperial_unit_measures_the_same(value: float, name: str) -> None:
    other = preferred(name, "imperial")
    assert other != name
    assert unit(other).dimension == unit(name).dimension
    assert unit(other).to_si(unit(other).from_si(value)) == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_unit_table_is_what_pint_gives() -> None:
    written = runpy.run_path(str(Path(__file__).parent / "write_unit_table.py"))["written"]
    assert written() == Path(table.__file__).read_text(encoding="utf-8")


def test_the_demo_shop_asks_pint_for_no_unit() -> None:
    """Or every first reading, and every reading of its rules, would load pint for one unit."""
    script = """
import sys
sys.modules["pint"] = None  # whoever imports it fails
from compat.library.library import load
from compat.library.sources import demo_folder
load(demo_folder())
"""
    ran = subprocess.run([sys.executable, "-c", script], cwd=Path(__file__).parents[1], check=False, timeout=60)
    assert ran.returncode == 0


@pytest.mark.parametrize("name", sorted(TABLE))
def test_unit_table_against_pint(name: str) -> None:
    registry = _registry()
    factor, offset, powers = TABLE[name]
    for number in (0.0, 1.0, 250.0):
        plain = registry.Quantity(number, registry.parse_units(name)).to_base_units()
        assert number * factor + offset == pytest.approx(float(plain.magnitude), rel=1e-12, abs=1e-15)
    bases = ("[length]", "[mass]", "[time]", "[current]", "[temperature]", "[substance]", "[luminosity]")
    assert dict(zip(bases, powers, strict=True)) == {base: plain.dimensionality.get(base, 0) for base in bases}


_REGISTRIES: list[pint.UnitRegistry] = []


def _registry() -> pint.UnitRegistry:
    if not _REGISTRIES:
        _REGISTRIES.append(pint.UnitRegistry())
        _REGISTRIES[0].define("@alias revolution = rev")
    return _REGISTRIES[0]


@pytest.mark.parametrize(
    ("written", "on_paper"),
    [
        ("330 N*m", "330 N·m"),
        ("45.70 cm^3 and 2.79 in^3", "45.70 cm³ and 2.79 in³"),
        ("900 degC, by 1652 degF", "900 °C, by 1652 °F"),
        ("5.4 degF (difference)", "5.4 °F (difference)"),
        ("7.00 um (275.6 uin)", "7.00 µm (275.6 µin)"),
        ("then 90 deg, 0.3 mm/deg", "then 90°, 0.3 mm/deg"),
        ("(18.4..20.1) lbf*ft", "(18.4..20.1) lbf·ft"),
        ("62 kW/L, 250 g/(kW*h), 2.2 kohm", "62 kW/L, 250 g/(kW·h), 2.2 kΩ"),
    ],
)
def test_printed(written: str, on_paper: str) -> None:
    # The SI Brochure, 9th edition (2019), 5.4.1 and 5.4.7: a half-high dot for products; the sign of degrees
    # follows the number without a space, °C with one.
    assert printed(written) == on_paper
    assert printed(on_paper) == on_paper


@pytest.mark.parametrize(
    "words",
    [
        "M10*1", "M10*1.25 x 40", "10*1 mm", "sf-rod-1480-h-21", "um die Ecke", "5 units", "5 degrees",
        "3 um_x", "part N*m", "T20-1121 deg_C", "86.00 mm ±0.01", "4*3 um*2", "ohm's law", "2^3",
    ],
)  # fmt: skip
def test_printed_leaves_what_is_no_quantity(words: str) -> None:
    assert printed(words) == words


@pytest.mark.parametrize("name", [name for name in TABLE if printed(f"1 {name}") != f"1 {name}"])
def test_printed_units_are_read_again(name: str) -> None:
    again = unit(printed(f"1 {name}").removeprefix("1").strip())
    assert (again.factor, again.offset, again.dimension) == (
        unit(name).factor,
        unit(name).offset,
        unit(name).dimension,
    )
