"""Where formulas live and how they are found: the rooms' own lists, lazy imports, plain data and back."""

from __future__ import annotations

import json
import pkgutil
import subprocess
import sys
from collections import Counter
from dataclasses import MISSING, FrozenInstanceError, fields
from importlib import import_module
from typing import Any

import pytest

import compat.engineering
from compat.engineering import ROOMS, find, load_all, names
from compat.engineering.air.breather import Breather
from compat.engineering.arguments import ByKeyword, arguments_of
from compat.engineering.cycle.cycle_input import ChargedCylinder, CycleInput
from compat.engineering.cycle.engine import Engine
from compat.engineering.formula import REGISTER, Formula, formula
from compat.engineering.lubrication.oil_consumers import OilConsumers
from compat.engineering.running_gear.ways_of_running import CrankTrain
from compat.paper.formulas import meanings

HOUSE = "compat.engineering"
RECORDS = {
    "closed_cycle": CycleInput,
    "crank_train_loads": CrankTrain,
    "engine_bearing_film": CrankTrain,
    "design_point": Engine,
    "knock_limited_ca50": ChargedCylinder,
    "operating_point": Engine,
    "output_at_manifold_pressure": Engine,
    "gallery_pressure": OilConsumers,
    "oil_demand": OilConsumers,
    "volumetric_efficiency": Breather,
}


def _in_a_fresh_program(code: str) -> Any:
    """What the code leaves in `said`, and nothing that this program has imported before."""
    run = subprocess.run(
        [sys.executable, "-c", f"import json, sys\n{code}\nprint(json.dumps(said))"],
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(run.stdout)


_MODULES = f"""
said = sorted(m for m in sys.modules if m.startswith('{HOUSE}.') and not hasattr(sys.modules[m], '__path__'))"""


def test_every_formula_is_listed_at_its_place_and_nothing_else() -> None:
    for module in pkgutil.walk_packages(compat.engineering.__path__, f"{HOUSE}."):
        import_module(module.name)
    listed = Counter(
        (name, f"{HOUSE}.{room}.{module}")
        for room in ROOMS
        for module, given in import_module(f"{HOUSE}.{room}").FORMULAS.items()
        for name in given
    )
    assert max(listed.values()) == 1
    assert set(listed) == {(name, each.module) for name, each in REGISTER.items()}


def test_every_package_is_a_room_but_the_one_without_formulas() -> None:
    packages = {module.name for module in pkgutil.iter_modules(compat.engineering.__path__) if module.ispkg}
    assert packages == {*ROOMS, "numerics"}
    assert not hasattr(import_module(f"{HOUSE}.numerics"), "FORMULAS")


def test_names_and_load_all_agree_and_an_unknown_name_is_none() -> None:
    assert set(names()) == set(load_all())
    assert list(names()) == sorted(names())
    assert find("no_such_formula") is None


def test_importing_the_house_imports_no_room_and_nothing_heavy() -> None:
    loaded = _in_a_fresh_program(f"import {HOUSE}\nsaid = sorted(sys.modules)")
    assert not {"numpy", "scipy", "pydantic", "pint", "networkx"} & set(loaded)
    assert {name for name in loaded if name.startswith(f"{HOUSE}.")} == {
        f"{HOUSE}.arguments",
        f"{HOUSE}.formula",
    }


def test_find_imports_the_module_of_that_formula_and_what_it_needs() -> None:
    loaded = _in_a_fresh_program(f"from {HOUSE} import find\nassert find('swept_volume')\n{_MODULES}")
    assert loaded == [
        f"{HOUSE}.{module}" for module in ("arguments", "cylinder.geometry", "formula", "numerics.ranges")
    ]


def test_names_import_no_module_of_formulas() -> None:
    loaded = _in_a_fresh_program(f"from {HOUSE} import names\nassert names()\n{_MODULES}")
    assert loaded == [f"{HOUSE}.arguments", f"{HOUSE}.formula"]


@pytest.mark.parametrize("name", names())
def test_a_card_gives_the_formula_back(name: str) -> None:
    one = load_all()[name]
    again = Formula.of_card(json.loads(json.dumps(one.card())))
    assert again == one
    assert again is not one
    assert list(again.takes) == list(one.takes)
    assert again.function is one.function
    assert again.summary == one.summary


def test_a_card_imports_its_module_only_when_the_function_is_asked_for() -> None:
    card = json.dumps(find("swept_volume").card())
    made = f"from {HOUSE} import Formula\none = Formula.of_card(json.loads('''{card}'''))\n"
    assert _in_a_fresh_program(made + _MODULES) == [f"{HOUSE}.arguments", f"{HOUSE}.formula"]
    assert _in_a_fresh_program(made + "said = one.function(bore=0.1, stroke=0.1)") == pytest.approx(
        7.854e-4, rel=1e-4
    )


@pytest.mark.parametrize("module", ["os", "compat.engineeringx.geometry", "compat.shop.source", ""])
def test_a_card_cannot_name_a_module_outside_the_house(module: str) -> None:
    with pytest.raises(ValueError, match="no module of formulas"):
        Formula.of_card(find("swept_volume").card() | {"module": module})


@pytest.mark.parametrize("key", [entry.name for entry in fields(Formula)])
def test_a_card_that_lacks_something_is_refused_by_name(key: str) -> None:
    card = find("swept_volume").card()
    del card[key]
    with pytest.raises(ValueError, match=key):
        Formula.of_card(card)


def test_a_card_that_says_more_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="colour"):
        Formula.of_card(find("swept_volume").card() | {"colour": "red"})


def test_a_formula_that_has_left_its_module_is_missed_by_name() -> None:
    with pytest.raises(LookupError, match=r"cylinder\.geometry holds no formula swept_area"):
        _ = Formula.of_card(find("swept_volume").card() | {"name": "swept_area"}).function


def test_a_formula_cannot_be_changed() -> None:
    one = find("swept_volume")
    for entry in ("name", "module", "takes", "function"):
        with pytest.raises(FrozenInstanceError):
            setattr(one, entry, None)


@pytest.mark.parametrize("name", sorted(RECORDS))
def test_a_record_is_laid_open(name: str) -> None:
    """Each field is an argument of the formula: unit, default and meaning as the record has them."""
    one, record = load_all()[name], RECORDS[name]
    lacking = {field.name for field in fields(record)} - set(one.takes)
    assert not lacking
    for field, (key, argument) in zip(fields(record), arguments_of(record).items(), strict=True):
        assert one.takes[key] == argument.takes
        assert (key in one.optional) == (field.default is not MISSING)
        assert argument.meaning.split(" [")[0] in meanings(one)[key]


def test_no_other_formula_takes_a_record() -> None:
    assert {name for name, each in load_all().items() if isinstance(each.function, ByKeyword)} == set(RECORDS)


def test_what_a_record_does_not_know_or_lacks_is_refused() -> None:
    cycle = find("closed_cycle").function
    whole = {field.name: 1.0 for field in fields(CycleInput)}
    with pytest.raises(TypeError, match="colour"):
        cycle(**whole, colour=1.0)
    with pytest.raises(TypeError, match="bore"):
        cycle(stroke=0.08)


def test_two_arguments_of_one_name_are_refused() -> None:
    def over_bore(given: CycleInput, bore: float) -> float:
        return given.bore / bore

    with pytest.raises(ValueError, match="bore"):
        ByKeyword(over_bore, {"given": CycleInput})


def test_takes_and_signature_must_agree() -> None:
    with pytest.raises(TypeError, match=r"names \['length'\], the function takes \['width'\]"):

        @formula(takes={"length": "mm"}, gives="mm", source="none")
        def some_width(width: float) -> float:
            return width


def test_a_name_is_given_once() -> None:
    with pytest.raises(TypeError, match="swept_volume is registered twice"):

        @formula(takes={"bore": "mm"}, gives="mm", source="none")
        def swept_volume(bore: float) -> float:
            return bore

    assert find("swept_volume").module == f"{HOUSE}.cylinder.geometry"
