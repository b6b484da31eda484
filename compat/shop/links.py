"""Every id that one thing says of another must exist; circles are refused where they make no sense."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from compat.shop.assembly import assembly_edges, circle, circle_told
from compat.shop.draft import Draft
from compat.shop.models import Feature, Joint, Need, Offer, Part, Position, Stock, Thing, Variant, Work
from compat.shop.source import Fault, nearest
from compat.shop.specs import gauges_of
from compat.shop.stating import word_faults
from compat.shop.term_links import check_labour, check_terms

__all__ = ["Linker", "check_links"]


def check_links(draft: Draft, faults: list[Fault]) -> None:
    """Check what every thing of the shop says of others; builds are `compat.shop.builds`' to check.

    Parameters
    ----------
    draft : Draft
        The shop as it was read.
    faults : list of Fault
        Gets what is wrong.
    """
    linker = Linker(draft, faults)
    linker.terms()
    for thing in draft.things():
        linker.check(thing)
    linker.all_circles(draft.includes())


class Linker:
    """Holds what a thing says of others against the things there are; what is wrong goes to the faults."""

    def __init__(self, draft: Draft, faults: list[Fault]) -> None:
        self.draft = draft
        self.faults = faults
        self._known: dict[str, tuple[str, ...]] = {}

    def known(self, kind: str) -> tuple[str, ...]:
        """Ids of a kind; listed once, since a file may name thousands that are not there."""
        if kind == "gauge":
            return gauges_of(self.draft.kinds)
        if kind not in self._known:
            self._known[kind] = tuple(self.draft.known(kind))
        return self._known[kind]

    def fault(self, thing: Thing, path: Iterable[str | int], message: str) -> None:
        self.faults.append(Fault(self.draft.spot(thing.kind, thing.id, *path), message))

    def link(self, thing: Thing, path: list[str | int], kind: str, name: str) -> bool:
        if (kind, name) in self.draft.nodes:
            return True
        self.fault(thing, path, f"{kind} '{name}' is not known{nearest(name, self.known(kind))}")
        return False

    def check(self, thing: Thing) -> None:
        """Check everything that a thing says."""
        match thing:
            case Variant():
                self.variant(thing)
            case Part():
                self.part(thing)
                self.other_parts(thing)
            case Work():
                self.work(thing)
            case Joint():
                self.joint(thing)
            case Feature():
                self.remedies(thing)
            case Position():
                self.position(thing)
            case Stock():
                self.link(thing, ["stock"], "part", thing.stock)

    def terms(self) -> None:
        """Check the shop's terms."""
        info = self.draft.info
        if info is not None:
            check_terms(info, self.known, lambda path, message: self.fault(info, path, message))

    def position(self, place: Position) -> None:
        if place.counted_by is not None:
            self.plain_number(place, ["counted_by"], place.counted_by)
        if place.each_serves is not None:
            self.plain_number(place, ["each_serves"], f"{place.position}.{place.each_serves}")
        for word in ("after", "before", "within"):
            for number, other in enumerate(getattr(place.fitting, word)):
                self.link(place, ["fitting", word, number], "position", other)
        if (tighten := place.fitting.tighten) is not None:
            if tighten.each is not None:
                self.link(place, ["fitting", "tighten", "each"], "position", tighten.each)
            if tighten.counted_by is not None:
                self.plain_number(place, ["fitting", "tighten", "counted_by"], tighten.counted_by)

    def plain_number(self, place: Position, path: list[str | int], name: str) -> None:
        owner, _, spec = name.partition(".")
        kind = self.draft.kinds.get(owner, {}).get(spec)
        if kind is None or kind.sort != "quantity" or kind.unit:
            self.fault(place, path, f"'{name}' is no spec that is a plain number")

    def remedies(self, feature: Feature) -> None:
        for number, remedy in enumerate(feature.remedies):
            for key, kind in (
                ("work", "work"),
                ("swap", "position"),
                ("leave_out", "position"),
                ("with", "position"),
                ("add", "part"),
            ):
                if key == "add" and ("position", remedy.get(key, "")) in self.draft.nodes:
                    continue
                if key in remedy:
                    self.link(feature, ["remedies", number, key], kind, remedy[key])
            if "set" in remedy:
                for message in word_faults(self.draft.kinds.get("setup", {}), remedy["set"]):
                    self.fault(feature, ["remedies", number, "set"], message)

    def fills(self, thing: Thing, path: list[str | int], position: str, part: str) -> None:
        if not self.link(thing, path, "position", position) or not self.link(thing, path, "part", part):
            return
        found = self.draft.parts.get(part)
        if found is not None and position not in found.fills:
            self.fault(thing, path, f"part '{part}' fills {', '.join(found.fills)}, not '{position}'")
        if found is not None and found.only_for is not None:
            self.fault(thing, path, f"part '{part}' is one of the build '{found.only_for}' alone")

    def variant(self, variant: Variant) -> None:
        self.link(variant, ["family"], "family", variant.family)
        for position, part in variant.parts.items():
            self.fills(variant, ["parts", position], position, part)
        for position in variant.counts:
            self.link(variant, ["counts", position], "position", position)
        if variant.rated.fuel:
            self.link(variant, ["rated", "fuel"], "part", variant.rated.fuel)

    def features(self, thing: Thing, offers: Iterable[Offer], needs: Iterable[Need]) -> None:
        for number, offer in enumerate(offers):
            self.link(thing, ["offers", number], "feature", offer.feature)
        for number, need in enumerate(needs):
            for feature in need.features:
                self.link(thing, ["needs", number], "feature", feature)

    def part(self, part: Part) -> None:
        """Check what a part says of everything but other parts."""
        for position in part.fills:
            self.link(part, ["fills"], "position", position)
        for family in part.families:
            self.link(part, ["families"], "family", family)
        for number, price in enumerate(part.sold_by):
            self.link(part, ["sold_by", number, "supplier"], "supplier", price.supplier)
            supplier = self.draft.of_kind("supplier").get(price.supplier)
            if price.list is not None and supplier is not None and price.list not in supplier.lists:
                message = f"'{price.list}' is none of the `lists` of '{price.supplier}'"
                self.fault(part, ["sold_by", number, "list"], f"{message}{nearest(price.list, supplier.lists)}")
        for number, price in enumerate(part.no_longer_sold_by):
            self.link(part, ["no_longer_sold_by", number, "supplier"], "supplier", price.supplier)
        for number, word in enumerate(part.leaves_out):
            specs = {spec for position in part.fills for spec in self.draft.kinds.get(position, ())}
            if word not in specs and ("feature", word) not in self.draft.nodes:
                message = f"'{word}' is no spec of {', '.join(part.fills)} and no feature{nearest(word, specs)}"
                self.fault(part, ["leaves_out", number], message)
        self.features(part, part.offers, part.needs)

    def other_parts(self, part: Part) -> None:
        """Check what a part says of other parts."""
        for number, other in enumerate(part.includes):
            self.link(part, ["includes", number], "part", other)
        for number, other in enumerate(part.never_with):
            self.link(part, ["never_with", number], "part", other)

    def work(self, work: Work) -> None:
        self.link(work, ["on"], "position", work.on)
        for number, position in enumerate(work.awaits):
            self.link(work, ["awaits", number], "position", position)
        for field in ("forces", "after"):
            for number, other in enumerate(getattr(work, field)):
                self.link(work, [field, number], "work", other)
        for field in ("fitted", "before"):
            for number, other in enumerate(getattr(work, field)):
                self.link(work, [field, number], "position", other)
        for number, name in enumerate(work.measures):
            position, _, spec = name.partition(".")
            kind = self.draft.kinds.get(position, {}).get(spec)
            if kind is None or not kind.gauge:
                self.fault(work, ["measures", number], f"'{name}' is no spec that says what it is gauged with")
        for joint in work.opens:
            self.link(work, ["opens"], "joint", joint)
        if work.done_by != "shop":
            self.link(work, ["done_by"], "supplier", work.done_by)
        if self.draft.info is not None:
            rates = self.draft.info.labour_rates
            check_labour(work, rates, lambda path, message: self.fault(work, path, message))
        self.features(work, work.offers, work.needs)

    def joint(self, joint: Joint) -> None:
        for number, position in enumerate(joint.behind):
            self.link(joint, ["behind", number], "position", position)
        for number, other in enumerate(joint.opens):
            self.link(joint, ["opens", number], "joint", other)
        for number, renewal in enumerate(joint.renews):
            self.link(joint, ["renews", number], "position", renewal.position)

    def all_circles(self, includes: Mapping[str, tuple[str, ...]]) -> None:
        """Refuse circles where they make no sense."""
        self.circles("part", includes, "includes")
        self.circles_of_work()

    def circles_of_work(self) -> None:
        """Refuse work that drags in or follows itself, and an order of assembly that nobody could follow."""
        works = self.draft.tables["work"].values()
        self.circles("work", {work.work: work.forces for work in works}, "forces")
        self.circles("work", {work.work: work.after for work in works}, "after")
        self.assembly()

    def assembly(self) -> None:
        """Refuse an order of assembly that goes in a circle in an engine as the factory made it."""
        tables = self.draft.tables
        for filled in dict.fromkeys(frozenset(variant.parts) for variant in tables["variant"].values()):
            edges = list(assembly_edges(tables["position"], tables["joint"], tables["work"], filled))
            if found := circle(edges):
                edge, message = circle_told(found)
                self.faults.append(Fault(self.draft.spot(*edge.said, *edge.path), message))
                return

    def circles(self, kind: str, edges: Mapping[str, tuple[str, ...]], word: str) -> None:
        state: dict[str, int] = {}
        for start in edges:
            stack = [(start, iter(edges[start]))]
            trail = [start]
            if state.get(start) == 2:
                continue
            state[start] = 1
            while stack:
                name, rest = stack[-1]
                nxt = next(rest, None)
                if nxt is None:
                    state[name] = 2
                    stack.pop()
                    trail.pop()
                elif state.get(nxt) == 1:
                    circle = [*trail[trail.index(nxt) :], nxt]
                    message = f"'{word}' goes in a circle: {' -> '.join(circle)}"
                    self.faults.append(Fault(self.draft.spot(kind, nxt, word), message))
                elif nxt in edges and state.get(nxt) is None:
                    state[nxt] = 1
                    stack.append((nxt, iter(edges[nxt])))
                    trail.append(nxt)
