"""By which rules a build was judged: those of the sets that a shop takes, within the scope of the build."""

from __future__ import annotations

from compat.checking.judging import beyond_scope
from compat.checking.world import BuildWorld
from compat.rulebook.models import Figure, Rule
from compat.rulebook.rulebook import Rulebook
from compat.shop.models import Work
from compat.shop.shop import Shop
from compat.words.report import HouseRules, Report, Scoped
from compat.words.wording import listed

__all__ = ["house_lines", "house_rules", "judged_by", "scoped", "scoped_lines"]


def house_rules(shop: Shop, book: Rulebook) -> HouseRules | None:
    """What a shop takes of the program, and what it has made of it.

    Parameters
    ----------
    shop : Shop
        The shop.
    book : Rulebook
        Its rulebook.

    Returns
    -------
    HouseRules or None
        None for a shop that keeps all words and rules itself.
    """
    if shop.info is None or not shop.info.uses:
        return None
    things: list[tuple[str, Rule | Figure | Work]] = [
        *((f"rule {name}", bound.rule) for name, bound in book.rules.items()),
        *((f"figure {name}", bound.figure) for name, bound in book.figures.items()),
        *((f"work {name}", work) for name, work in shop.works.items()),
    ]
    instead = {
        name if name.endswith(f" {thing.instead_of}") else f"{name} instead of {thing.instead_of}": thing.reason
        for name, thing in things
        if thing.instead_of is not None
    }
    return HouseRules(shop.info.uses, instead, shop.info.leave_out, len(shop.beyond))


def scoped(world: BuildWorld) -> Scoped | None:
    """What was not asked of a build that is less than a whole vehicle; None for one that is."""
    outside = world.settled.outside
    if outside is None:
        return None
    return Scoped(world.settled.build.scope, len(outside.rules), tuple(beyond_scope(world)))


def judged_by(report: Report) -> tuple[str, ...]:
    """Scope and rules that a build was judged by, in sentences; none for a whole vehicle by own rules."""
    lines = scoped_lines(report.scoped) if report.scoped is not None else []
    return (*lines, *(house_lines(report.house) if report.house is not None else ()))


def scoped_lines(scoped: Scoped) -> list[str]:
    """Say it in sentences.

    >>> print(*scoped_lines(Scoped("short_block", 1, ("quench-gap-least",))), sep="\\n")
    Scope: short block. 1 rule of what lies outside was not asked.
    Not decided without what lies outside: quench-gap-least.
    """
    many = scoped.not_asked != 1
    asked = f"{scoped.not_asked} rule{'s' * many} of what lies outside {'were' if many else 'was'} not asked."
    lines = [f"Scope: {scoped.scope.replace('_', ' ')}. {asked}"]
    if scoped.undecided:
        lines.append(f"Not decided without what lies outside: {', '.join(scoped.undecided)}.")
    return lines


def house_lines(house: HouseRules) -> list[str]:
    """Say it in sentences.

    >>> house = HouseRules(("sealing",), {}, {"deck-flatness": "our plate grinds them flat"}, 2)
    >>> for line in house_lines(house):
    ...     print(line)
    Judged by the program's set sealing. 2 rules of it look into others and are held by nobody: compat lint.
    Left out by the shop: deck-flatness: our plate grinds them flat.
    """
    many = len(house.uses) != 1
    head = f"Judged by the program's set{'s' * many} {listed(house.uses)}."
    if house.beyond:
        head += (
            f" {house.beyond} rule{'s' * (house.beyond != 1)} of {'them' if many else 'it'} "
            f"look{'s' * (house.beyond == 1)} into others and {'are' if house.beyond != 1 else 'is'} "
            "held by nobody: compat lint."
        )
    lines = [head]
    by_reason: dict[str, list[str]] = {}
    for what, why in house.instead.items():
        by_reason.setdefault(why.rstrip("."), []).append(what)
    lines += [f"The shop's own {listed(what)}: {why}." for why, what in by_reason.items()]
    lines += [f"Left out by the shop: {rule}: {why.rstrip('.')}." for rule, why in house.left_out.items()]
    return lines
