"""Findings of what stands where: empty positions, strangers, parts kept apart, counts, words without effect."""

from __future__ import annotations

from compat.checking.outcome import (
    Apart,
    Idle,
    LeftOut,
    Miscounted,
    Outcome,
    Standing,
    Stranger,
    Unlike,
    Vacant,
)
from compat.words.report import Finding
from compat.words.telling import Teller
from compat.words.wording import in_sentence, listed, spec_name

__all__ = ["StandingTeller"]

_IN_VAIN = {
    "counts": ("how many there are", "Fit a part for {position}, or strike it from `counts`."),
    "fits_because": ("why it fits", "Strike {position} from `fits_because`."),
    "take_from": (
        "where it comes from",
        "Strike {position} from `take_from`, or name it in `fit` to have it new.",
    ),
    "leave_out": ("that it is left out", "Strike {position} from `leave_out`."),
    "measured": ("what was measured", "Fit a part for {position}, or strike {word} from `measured`."),
    "selected": ("which piece goes where", "Measure the pieces of {position}, or strike it from `selected`."),
    "work": ("what is worked on it", "Fit a part for {position}, or strike {word} from `work`."),
    "brought": ("that the customer brings it", "Strike {position} from `brought`."),
    "renew": ("that it is renewed", "Strike {position} from `renew`, or name it in `fit` to have it new."),
}
"""By entry of the build: what it says of a position, and what to do where nothing comes of that."""


class StandingTeller:
    """Says what stands where in a build."""

    def __init__(self, tell: Teller) -> None:
        self.tell = tell
        self.shop = tell.shop
        self.settled = tell.world.settled

    def place(self, position: str) -> str:
        """A position by its name, inside a sentence."""
        return in_sentence(self.shop.positions[position].name)

    def finding(self, outcome: Outcome, seen: Standing) -> Finding:
        """What was seen, as a finding."""
        match seen:
            case Vacant():
                return self.vacant(outcome, seen.position)
            case LeftOut():
                return self.left_out(outcome, seen)
            case Stranger():
                return self.stranger(outcome, seen)
            case Apart():
                return self.apart(outcome, seen)
            case Miscounted():
                return self.miscounted(outcome, seen)
            case Idle():
                return self.idle(outcome, seen)
            case Unlike():
                return self.unlike(outcome, seen)
        raise TypeError(f"{type(seen).__name__} is nothing of what stands where")

    def vacant(self, outcome: Outcome, position: str) -> Finding:
        name = self.shop.positions[position].name
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{name} in place",
            positions=(position,),
            because=f"no {in_sentence(name)} is fitted, and the engine cannot run without it",
            remedies=(f"Choose a part for {position} in the build's `fit`.",),
            source="common practice",
            why=f"An engine needs its {name.lower()}.",
        )

    def left_out(self, outcome: Outcome, seen: LeftOut) -> Finding:
        place, position = self.shop.positions[seen.position], seen.position
        name, held = place.name, place.indispensable
        why = "the build says why" if seen.why else "the build gives no reason"
        if held:
            why = f"an engine made with it cannot do without, and {why}"
        fit = f"Fit {seen.part}, or another part for {position}."
        spare = f"Where it can go, say why: `leave_out: {{{position}: the reason}}`."
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{name} left out",
            positions=(position,),
            because=f"the factory fitted {seen.part}, the build has none; {self.said(why, seen.why)}",
            reason=seen.why,
            remedies=(fit,) if held else () if seen.why else (fit, spare),
            source="common practice",
            why="What the factory fitted and nobody speaks of is forgotten more often than spared.",
        )

    def said(self, text: str, why: str) -> str:
        return f"{text}: {why.rstrip('.')}" if why else text

    def stranger(self, outcome: Outcome, seen: Stranger) -> Finding:
        part, families = self.shop.parts[seen.part], self.shop.families
        made = listed(families[family].name for family in part.families)
        own = families[self.settled.variant.family].name
        why = "the build says why it fits" if seen.why else "nothing says that it fits"
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{self.shop.positions[seen.position].name} of another family",
            positions=(seen.position,),
            parts=(seen.part,),
            because=f"made for {made} ({seen.part}), and the engine is a {own}; {self.said(why, seen.why)}",
            reason=seen.why,
            remedies=()
            if seen.why
            else (
                self.tell.remedy("swap", seen.position),
                f"Where it was held against the engine and fits, say why: "
                f"`fits_because: {{{seen.position}: the reason}}`.",
            ),
            source="common practice",
            why="A part made for another engine differs in more than its card states.",
        )

    def apart(self, outcome: Outcome, seen: Apart) -> Finding:
        part = self.shop.parts[seen.part]
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{self.shop.positions[seen.position].name} never with the {self.place(seen.place)}",
            positions=(seen.position, seen.place),
            parts=(seen.part, seen.other),
            because=f"the card of {seen.part} says: never with {seen.other}, and both are in the build",
            remedies=tuple(self.tell.remedy("swap", place) for place in (seen.position, seen.place)),
            source=f"the card of {seen.part}",
            why=part.note or "Whoever wrote the card knows of an engine in which the two met.",
        )

    def miscounted(self, outcome: Outcome, seen: Miscounted) -> Finding:
        name, position = self.shop.positions[seen.position].name, seen.position
        usual = self.shop.positions[position].fewer_too
        verb = "usual are" if usual and seen.takes != 1 else "usual is" if usual else "the engine takes"
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{name}: number of pieces",
            positions=(position,),
            parts=(self.settled.fitted[position].part.part,),
            because=f"the build counts {seen.stands}, {verb} {seen.takes}",
            value=seen.stands,
            limit=seen.takes,
            at_least=seen.takes if seen.stands < seen.takes else None,
            at_most=seen.takes if seen.stands > seen.takes else None,
            unit="number",
            remedies=(f"Write `counts: {{{position}: {seen.takes}}}`, or strike it from `counts`.",),
            source="common practice",
            why="A place without its piece is an engine that does not run, or not for long.",
        )

    def unlike(self, outcome: Outcome, seen: Unlike) -> Finding:
        kind = self.shop.kinds[seen.position][seen.spec]
        what = spec_name(self.shop, seen.position, seen.spec)
        low, high = (self.tell.number(end, kind.unit) for end in (seen.left.low, seen.left.high))
        pieces = listed([str(number) for number in seen.pieces])
        said = f"piece{'s' * (len(seen.pieces) > 1)} {pieces} measured" if seen.pieces else "it was measured"
        size = "as it was before" if seen.before else "outside that"
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{what[:1].upper()}{what[1:]} measured after the work",
            positions=(seen.position,),
            because=f"work {seen.work} is to leave the {what} at {low} to {high}, and {said} {size}",
            remedies=("Measure again after the work, or write the size that it was worked to.",),
            source="common practice",
            why="A size that was measured before metal came off is no size of the part that goes in.",
        )

    def idle(self, outcome: Outcome, seen: Idle) -> Finding:
        says, remedy = _IN_VAIN[seen.entry]
        name = self.place(seen.position)
        match seen.entry:
            case "selected" if seen.position in self.settled.fitted:
                because = f"`selected` names pieces of the {name}, and none was measured by itself"
            case "renew":
                because = f"`renew` names the {name}, and no joint that the build opens consumes it"
            case "brought":
                because = f"`brought` names the {name}, and the build buys nothing for it"
            case "leave_out":
                because = f"`leave_out` names the {name}, and nothing would stand there"
            case "take_from":
                because = f"`take_from` names the {name}, and the variant has that same part itself"
            case "fits_because" if seen.position in self.settled.fitted:
                because = f"`fits_because` speaks of the {name}, and its part is of no other family"
            case entry:
                because = f"`{entry}` says {says} of the {name}, and nothing stands there"
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"A word without effect: {seen.word} in `{seen.entry}`",
            positions=(seen.position,),
            because=because,
            remedies=(remedy.format(position=seen.position, word=seen.word),),
            source="common practice",
            why="What is written and does nothing was meant to do something.",
        )
