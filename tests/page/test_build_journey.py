"""From the first draft across the counter to a build that goes together, by remedies and nothing else."""

from __future__ import annotations

import html
import re

from tests.page.test_build_remedies import DRAFT, presses, rules_of
from tests.page.visiting import Visitor

MOST = 75
PASSED_OVER = ("(cylinder block)", "bm-bolt-head-m10")
"""What a person does not take: another block once the one with water is in, and bolts of the old size."""
OF_THE_GOAL = ("Ask for", "Look for", "Set the rev")


def offered(visitor: Visitor, path: str) -> list[tuple[str, str]]:
    found = presses(visitor.get(f"{DRAFT}/{path}").text)
    return [(says, act) for says, act in found if not any(word in says for word in PASSED_OVER)]


def weight(says: str) -> tuple[bool, int]:
    """What a person presses first: what asks no less of the engine, and brings up least."""
    _, _, comes_up = says.partition("then comes up: ")
    return says.startswith(OF_THE_GOAL), len(re.split(r", | and ", comes_up)) if comes_up else 0


def choice(visitor: Visitor, text: str, early: bool) -> tuple[str, str]:
    """What clears most of a cause; where no part does, what settles a finding."""
    for position in re.findall(rf'href="{DRAFT}/clears/(\w+)"', text):
        for says, act in offered(visitor, f"clears/{position}"):
            if early or not says.startswith(OF_THE_GOAL):
                return says, act
    found: list[tuple[tuple[bool, int], str, str]] = []
    for rule, verdict in rules_of(text).items():
        if verdict in ("conflict", "shortfall", "missing", "unknown"):
            found += [(weight(says), says, act) for says, act in offered(visitor, f"remedies/{rule}")]
            if found and min(one[0] for one in found) == (False, 0):
                break
    assert found, rules_of(text)
    return min(found, key=lambda one: one[0])[1:]


def test_from_the_first_draft_to_a_clean_build_by_remedies_alone(client: Visitor) -> None:
    says, act = presses(client.get(f"{DRAFT}/clears/crankshaft").text)[0]
    client.post(f"{DRAFT}/act", act=act)
    says, act = presses(client.get(f"{DRAFT}/remedies/need-turbo-water-port").text)[0]
    assert "cylinder block" in says
    text = client.send(f"{DRAFT}/act", act=act).text
    pressed: list[str] = [says]
    while "first-draft goes together" not in text and len(pressed) < MOST:
        says, act = choice(client, text, early=len(pressed) < 4)
        assert says not in pressed, f"goes round in a ring: {pressed}"
        pressed.append(says)
        text = client.send(f"{DRAFT}/act", act=act).text
        against = {"conflict", "shortfall"} & set(rules_of(text).values())
        if not against and "Put in all that nothing holds back" in text:
            text = client.send(f"{DRAFT}/complete").text
    assert "first-draft goes together: nothing conflicts, falls short or is missing." in html.unescape(text), (
        pressed
    )
    for _ in range(MOST + 10):
        client.post(f"{DRAFT}/undo")
    assert "32 conflicts, 39 shortfalls" in client.get(DRAFT).text
