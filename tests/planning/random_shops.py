"""Random small shops as a person would write them: what the search is held against brute force on.

Each has a few positions with parts, pair rules, needs with counts, used-up features, a joint that renews, work
with and without sizes, a box with another part in it, rules over four positions, one that is not linear, packs,
carriage, minimum orders and a shelf. A seed gives the same shop every time.
"""

from __future__ import annotations

from pathlib import Path
from random import Random
from typing import Any

import yaml

__all__ = ["small_shop", "write_shop"]

KINDS = ("plain", "fluted", "domed")


def small_shop(seed: int) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Entries of a catalogue and of a rulebook; the build to put right is `draft`."""
    return _Maker(Random(seed)).entries()


def write_shop(folder: Path, catalog: list[dict[str, Any]], rules: list[dict[str, Any]]) -> Path:
    """Write a shop's files, and give their folder."""
    for name, entries in (("catalog", catalog), ("rules", rules)):
        (folder / name).mkdir(parents=True, exist_ok=True)
        text = yaml.safe_dump(entries, sort_keys=False, width=200)
        (folder / name / "all.yaml").write_text(text, encoding="utf-8")
    return folder


class _Maker:
    def __init__(self, random: Random) -> None:
        self.random = random
        self.places = [f"place_{letter}" for letter in "abcde"[: random.choice((4, 4, 4, 5))]]
        self.extra = "sensor"
        self.parts: dict[str, list[str]] = {}

    def entries(self) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
        parts = [part for number, place in enumerate(self.places) for part in self._parts(number, place)]
        parts += self._sensors()
        catalog = [*self._terms(), *self._vocabulary(), *parts, *self._works(), *self._stock()]
        variant = {
            "variant": "works-1",
            "name": "Works 1",
            "family": "works",
            "rated": {"power": "50 kW", "at": "5000 rpm", "rev_limit": "6000 rpm", "fuel": "petrol"},
            "parts": {place: f"{place.replace('_', '-')}-0" for place in self.places},
        }
        return [*catalog, variant, self._draft()], self._rules()

    def _terms(self) -> list[dict[str, Any]]:
        random = self.random
        suppliers = []
        for name in ("north", "south"):
            one: dict[str, Any] = {"supplier": name, "name": name.title(), "currency": "GBP"}
            if random.random() < 0.6:
                below = random.choice((60, 120))
                one["carriage"] = [{"below": f"{below} GBP", "price": f"{random.choice((5, 9))} GBP"}]
            if random.random() < 0.25:
                one["minimum_order"] = f"{random.choice((20, 40))} GBP"
            suppliers.append(one)
        shop = {"shop": "corner", "name": "Corner", "currency": "GBP", "labour_rate": "40 GBP"}
        return [shop, *suppliers]

    def _vocabulary(self) -> list[dict[str, Any]]:
        specs = {"size": "mm", "kind": list(KINDS), "strength": "kN", "mass": "g"}
        found: list[dict[str, Any]] = [
            {"position": place, "name": place, "system": "short-block", "required": number != 3, "specs": specs}
            for number, place in enumerate(self.places)
        ]
        found[0]["count"] = 2
        found += [
            {"position": "sensor", "name": "Sensor", "system": "management", "specs": {"reach": "mm"}},
            {"position": "fuel", "name": "Fuel", "system": "consumable", "specs": {"octane": "number"}},
            {"position": "setup", "name": "Setup", "system": "setup", "specs": {"knock_control": "flag"}},
            {"feature": "boss", "name": "Boss"},
            {"feature": "input", "name": "Input", "used_up": True},
            {"part": "petrol", "name": "Petrol", "fills": "fuel", "specs": {"octane": 95}},
            {
                "family": "works",
                "name": "Works",
                "numbers": {
                    "cylinders": 4, "banks": 1, "main_journals": 5, "cams": 1,
                    "inlet_valves": 4, "exhaust_valves": 4, "valves": 8,
                },
                "firing_order": "1-3-4-2",
            },
            {
                "joint": "cover",
                "name": "Cover",
                "behind": self.random.sample(self.places[:-1], 2),
                "renews": [self.places[-1]],
            },
        ]  # fmt: skip
        return found

    def _parts(self, number: int, place: str) -> list[dict[str, Any]]:
        random = self.random
        found = []
        for index in range(random.choice((2, 2, 3)) if number < 4 else 2):
            part: dict[str, Any] = {
                "part": f"{place.replace('_', '-')}-{index}",
                "name": f"{place} {index}",
                "fills": place,
                "specs": {
                    "size": f"{random.choice((20, 20.5, 21, 22))} mm ±0.01",
                    "kind": random.choice(KINDS),
                    "strength": f"{random.randint(20, 60)} kN",
                    "mass": f"{random.randint(200, 500)} g",
                },
            }
            if random.random() < 0.15:
                del part["specs"][random.choice(list(part["specs"]))]
            if random.random() < 0.3:
                part["offers"] = [{"feature": "input", "count": random.choice((1, 2))}]
            elif random.random() < 0.3:
                part["offers"] = ["boss"]
            if random.random() < 0.25:
                part["needs"] = [random.choice(("input", "boss"))]
            if index or random.random() < 0.2:  # the variant's own can seldom be bought new
                part["sold_by"] = self._prices()
            found.append(part)
        if number == 1:
            found[-1]["includes"] = ["sensor-0"]
        return found

    def _prices(self) -> list[dict[str, Any]]:
        random = self.random
        return [
            {"supplier": name, "price": f"{random.randint(8, 90)} GBP", "pack": random.choice((1, 1, 2))}
            for name in random.sample(("north", "south"), random.choice((1, 1, 2)))
        ]

    def _sensors(self) -> list[dict[str, Any]]:
        return [
            {
                "part": f"sensor-{index}",
                "name": f"Sensor {index}",
                "fills": "sensor",
                "specs": {"reach": f"{self.random.choice((4, 6, 8))} mm"},
                "needs": ["input"] if index else ["boss"],
                "sold_by": self._prices(),
            }
            for index in range(2)
        ]

    def _works(self) -> list[dict[str, Any]]:
        random = self.random
        first = self.places[0]
        return [
            {
                "work": "hone",
                "name": "Hone",
                "on": first,
                "takes": {
                    "size": {
                        "unit": "mm",
                        "at_least": f"{first}.size",
                        "at_most": f"{first}.size + 1.2*mm",
                        "why": "A hone only takes metal off.",
                    }
                },
                "changes": [{"spec": f"{first}.size", "to": "size", "tolerance": "±0.01 mm"}],
                "forces": ["wash"] if random.random() < 0.5 else [],
                "hours": random.choice((0.5, 1, 2)),
            },
            {
                "work": "wash",
                "name": "Wash",
                "on": first,
                "after": ["hone"],
                "offers": ["boss"] if random.random() < 0.4 else [],
                "hours": random.choice((0.25, 0.5)),
            },
        ]

    def _stock(self) -> list[dict[str, Any]]:
        place = self.random.choice(self.places).replace("_", "-")
        return [{"stock": f"{place}-1", "shelf": [{"place": "bench", "count": self.random.choice((1, 2, 4))}]}]

    def _draft(self) -> dict[str, Any]:
        random = self.random
        fit = {
            place: f"{place.replace('_', '-')}-1"
            for place in random.sample(self.places, random.choice((1, 2, 3)))
        }
        draft: dict[str, Any] = {
            "build": "draft",
            "name": "Draft",
            "variant": "works-1",
            "fit": fit,
            "goal": {"power": "60 kW", "at": "5200 rpm"},
        }
        if random.random() < 0.4:
            draft["work"] = ["wash"]
        return draft

    def _rules(self) -> list[dict[str, Any]]:
        random = self.random
        a, b, c, d = self.places[:4]
        found = [
            self._rule("pair-kind", match=[[f"{a}.kind", f"{b}.kind"]]),
            self._rule(
                "pair-size",
                measure=f"{a}.size - {c}.size",
                at_least=f"{random.choice((-1, -0.5, 0))} mm",
                at_most=f"{random.choice((0.5, 1, 1.5))} mm",
            ),
            self._rule(
                "stack",
                measure=f"{a}.size + {b}.size - {c}.size - {d}.size",
                at_least=f"{random.choice((-1.5, -0.75))} mm",
                at_most=f"{random.choice((0.75, 1.5))} mm",
            ),
            self._rule(
                "carries",
                load=f"{b}.mass*{c}.size*{random.choice((8, 12, 16))}*m/s**2/{d}.size",
                capacity=f"min({a}.strength, {d}.strength)/{random.choice((4, 8))}/1000",
                headroom={"street": 0.1, "track": 0.2, "endurance": 0.3},
            ),
            self._rule(
                "boss-for-domed",
                where=f'{random.choice((b, c))}.kind == "domed"',
                need={"feature": "boss", "count": str(random.choice((1, 1, 2)))},
            ),
            self._rule(
                "sensor-for-change",
                where=f"changed({random.choice(self.places[1:])})",
                need={"position": "sensor"},
            ),
            self._rule("wash-after-hone", where='done("hone")', need={"work": "wash"}),
            self._rule(
                "sensor-reach",
                where="fitted(sensor)",
                measure="sensor.reach",
                at_most=f"{random.choice((6, 8))} mm",
            ),
            self._rule("renew-cover", renew="cover"),
        ]
        return [rule for rule in found if rule["rule"] == "renew-cover" or random.random() < 0.85]

    @staticmethod
    def _rule(name: str, **entries: Any) -> dict[str, Any]:
        why = {"why": "So that there is something to hold.", "source": "common practice"}
        return {"rule": name, "title": name.replace("-", " ").capitalize(), **entries, **why}
