"""Which options there are: what may stand in each position, what may be done, what the setup may say."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.session import Session
from compat.planning.space import Decision, Option, Space
from compat.planning.terms import Terms
from compat.shop.builds import ReadyBuild
from compat.shop.models import WorkDone

__all__ = ["space_of"]

CHARGERS = ("turbocharger", "supercharger")
BOOSTS = range(20, 161, 20)
"""Boosts that are tried where a goal states none, over the air outside [kPa]."""


def space_of(session: Session, ready: ReadyBuild, terms: Terms) -> Space:
    """Everything that may be decided otherwise in a build.

    Parameters
    ----------
    session : Session
        Where builds are checked.
    ready : ReadyBuild
        The build as it stands.
    terms : Terms
        What is kept and what is avoided.

    Returns
    -------
    Space
        Its decisions, each with the options that the terms allow. Work that takes a size and has no default has
        none but those that the build states, until `compat.planning.values` finds more.
    """
    decisions = [*_positions(session, ready, terms), *_works(session, ready, terms)]
    return Space(session, ready, [*decisions, *_setup(session, ready, terms), *_boost(session, ready, terms)])


def _positions(session: Session, ready: ReadyBuild, terms: Terms) -> Iterator[Decision]:
    shop, build, variant = session.shop, ready.build, ready.variant
    sisters = {place: taken.variant for taken in build.take_from for place in taken.positions}
    for position, place in shop.positions.items():
        if position in ("fuel", "setup"):
            continue
        own = variant.parts.get(position)
        said = own_said = Option("own", own or "", said=True)
        if position in build.fit:
            said = Option("fit", build.fit[position], said=True)
        elif position in sisters:
            part = shop.variants[sisters[position]].parts[position]
            said = Option("sister", part, sisters[position], said=True)
        elif position in build.leave_out and own is not None:
            said = Option("nothing", said=True)
        wish = said is not own_said
        if position in terms.keep:
            yield Decision("position", position, (said,), wish)
            continue
        options = [said]
        if wish and (own is not None or not place.required):
            options.append(Option("own", own or ""))
        others = (name for name in shop.fillers[position] if said.how != "fit" or name != said.part)
        options += [Option("fit", name) for name in others if to_be_had(session, ready, terms, position, name)]
        if own is not None and said.how != "nothing" and not (place.required or place.indispensable):
            options.append(Option("nothing"))
        if said.part in terms.avoid and len(options) > 1:
            options.remove(said)
        yield Decision("position", position, tuple(options), wish)


def to_be_had(session: Session, ready: ReadyBuild, terms: Terms, position: str, name: str) -> bool:
    """Whether a part suits the family, is not avoided and can be bought or lies on the shelf."""
    shop = session.shop
    part = shop.parts[name]
    if name in terms.avoid or (part.families and ready.variant.family not in part.families):
        return False
    kept = shop.stock.get(name)
    there = sum(entry.count for entry in kept.shelf if entry.condition != "used") if kept is not None else 0
    if there >= shop.count(ready.variant, position):
        return True
    offers = (offer for offer in part.sold_by if offer.supplier not in terms.avoid_suppliers)
    return not terms.stock_only and any(offers)


def _works(session: Session, ready: ReadyBuild, terms: Terms) -> Iterator[Decision]:
    shop = session.shop
    own: dict[str, list[WorkDone]] = {}
    for done in ready.build.work:
        own.setdefault(done.work, []).append(done)
    for name, work in shop.works.items():
        wish = name in own
        said = Option("done", works=tuple(own[name]), said=True) if wish else Option("undone", said=True)
        if name in ready.forced:  # dragged in, and named from now on
            said = Option("done", works=(WorkDone(work=name),), said=True)
        if name in terms.keep:
            yield Decision("work", name, (said,), wish)
            continue
        options = [said]
        if said.works:
            options.append(Option("undone"))
        else:
            if work.done_by in terms.avoid_suppliers:
                continue
            if all(parameter.default is not None for parameter in work.takes.values()):
                options.append(Option("done", works=(WorkDone(work=name),)))
        yield Decision("work", name, tuple(options), wish)


def _setup(session: Session, ready: ReadyBuild, terms: Terms) -> Iterator[Decision]:
    shop = session.shop
    for word, kind in shop.kinds.get("setup", {}).items():
        said_in = ready.build.setup
        wish = word in said_in
        said = Option("word", word=said_in[word], said=True) if wish else Option("own", said=True)
        options = [said]
        if kind.calibrated and word not in terms.keep and kind.sort in ("choice", "flag"):
            words = kind.words if kind.sort == "choice" else ("yes", "no")
            now = _value(shop.setups.get(ready.variant.variant, {}).get(word), ready.setup.get(word))
            options += [Option("word", word=other) for other in words if _plain(other) != now]
        yield Decision("setup", word, tuple(options), wish)


def _boost(session: Session, ready: ReadyBuild, terms: Terms) -> Iterator[Decision]:
    """The boost, where the goal leaves it open and the shop has something that makes it."""
    fillers = session.shop.fillers
    charged = any(
        to_be_had(session, ready, terms, position, name)
        for position in CHARGERS
        for name in fillers.get(position, ())
    )
    if ready.goal.boost is None and charged:
        boosts = (Option("word", word=f"{boost} kPa") for boost in BOOSTS)
        yield Decision("goal", "boost", (Option("own", said=True), *boosts))


def _value(*specs: object) -> object:
    """What the last of some statements says."""
    found = [getattr(spec, "value", None) for spec in specs if spec is not None]
    return found[-1] if found else None


def _plain(word: str) -> object:
    return {"yes": True, "no": False}.get(word, word)
