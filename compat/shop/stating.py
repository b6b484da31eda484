"""Reading what parts, variants and builds state against what the positions declare."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from types import MappingProxyType
from typing import Any, Protocol

from compat.shop.entry import NOTHING
from compat.shop.source import Fault, Spot, nearest
from compat.shop.specs import Spec, SpecKind, state
from compat.shop.thread_names import thread_slips

__all__ = ["Declared", "typed_setup", "typed_specs", "word_faults"]


class Declared(Protocol):
    """What has declarations of specs: a shop, or one being read."""

    @property
    def kinds(self) -> Mapping[str, Mapping[str, SpecKind]]:
        """Declared specs by position and name."""

    @property
    def faulty(self) -> Set[tuple[str, str]]:
        """What has a fault of its own already told."""


def typed_setup(
    shop: Declared, raw: Mapping[str, Any], where: Callable[[Sequence[str | int]], Spot], faults: list[Fault]
) -> Mapping[str, Spec]:
    """Read what a variant or a build says of its setup."""
    if raw and "setup" not in shop.kinds:
        faults.append(Fault(where(["setup"]), "no position 'setup' declares what can be set up"))
    return typed_specs(shop, ("setup",), raw, where, ["setup"], "shop", faults)


def typed_specs(
    shop: Declared,
    positions: Sequence[str],
    raw: Mapping[str, Any],
    where: Callable[[Sequence[str | int]], Spot],
    path: list[str],
    basis: str,
    faults: list[Fault],
) -> Mapping[str, Spec]:
    """Read stated values against the declarations of the positions, each fault at its own spot."""
    typed: dict[str, Spec] = {}
    if not all(position in shop.kinds for position in positions):
        return NOTHING  # that the position is not known is told where it is named
    kinds: dict[str, SpecKind] = {}
    for position in reversed(positions):
        kinds |= shop.kinds[position]
    for name, value in raw.items():
        spot = where([*path, name])
        if name not in kinds:
            if not any(("spec", f"{position}.{name}") in shop.faulty for position in positions):
                hint = nearest(name, kinds)
                message = f"spec '{name}' is not declared for position '{positions[0]}'{hint}"
                faults.append(Fault(spot, message))
            continue
        try:
            typed[name] = state(kinds[name], value, basis, spot)
        except ValueError as error:
            faults.append(Fault(spot, str(error)))
    faults += (Fault(where([*path, name]), slip) for name, slip in thread_slips(typed))
    return MappingProxyType(typed)


def word_faults(kinds: Mapping[str, SpecKind], said: str) -> Iterator[str]:
    """What is wrong with a word of the setup and its value, as a remedy has them: ``ignition=wasted_spark``."""
    word, _, value = said.partition("=")
    if word not in kinds:
        yield f"'{word}' is no word of the setup{nearest(word, kinds)}"
        return
    try:
        state(kinds[word], value, "shop")
    except ValueError as error:
        yield str(error)
