"""The command `fix`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING

from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.cli.outs import give
from compat.paper.out import check_paths

if TYPE_CHECKING:
    from compat.checking.session import Session
    from compat.library.library import Library
    from compat.planning.fixed import Remade
    from compat.planning.searched import Progress
    from compat.planning.terms import Terms
    from compat.planning.together import WhyNot
    from compat.shop.builds import ReadyBuild

__all__ = ["AskedFix", "run_fix"]

WHY = 120.0
"""Seconds that it takes at the least to say why nothing works: each thing given up is a search of its own."""


@dataclass(frozen=True)
class AskedFix:
    """What was typed."""

    name: str
    keep: Sequence[str] = ()
    avoid: Sequence[str] = ()
    avoid_suppliers: Sequence[str] = ()
    wishes: Sequence[str] = ()
    stock_only: bool = False
    budget: str = ""
    aim: str = "money"
    seconds: float = 30.0
    gap: str = ""
    others: int = 2
    write: Path | None = None
    on: date | None = None
    outs: Sequence[Path] = field(default_factory=tuple)
    as_json: bool = False
    why_not: bool = False


def run_fix(folder: Path, keep: bool, asked: AskedFix) -> int:
    """Put a build right, or complete it; gives the exit status."""
    from compat.checking.session import Session
    from compat.paper.fixing import fixed_document
    from compat.planning.fixing import fix

    library = open_chosen(folder, keep, [asked.name])
    ready, terms = _hold(library, asked)
    session = Session(library.shop, library.book, behind=library.answers)
    found = fix(session, ready, terms, _tell if sys.stderr.isatty() else None)
    if sys.stderr.isatty():
        print("\r" + " " * 78 + "\r", end="", file=sys.stderr)
    why = _why_not(session, ready, asked, terms) if asked.why_not and found.best is None else None
    give(fixed_document(found, _said(library, ready, asked), why), asked.outs, asked.as_json)
    first = f", the first build after {found.first:.1f} s" if found.first is not None else ""
    print(f"Searched {found.seconds:.1f} s{first}; {found.checks} whole checks.", file=sys.stderr)
    if found.best is None:
        if why is None and not asked.as_json:
            _tell_how()
        return 1
    if asked.write is not None:
        _write(library, asked, ready, found.best)
    return 0


def _why_not(session: Session, ready: ReadyBuild, asked: AskedFix, terms: Terms) -> WhyNot:
    """What cannot stand together."""
    from compat.planning.why_not import why_not

    tell = _tell if sys.stderr.isatty() else None
    return why_not(session, ready, replace(terms, seconds=max(terms.seconds, WHY)), tell)


def _tell_how() -> None:
    """Say how to ask what cannot stand together."""
    from compat.cli.console import console
    from compat.paper.lines import print_indented

    said = "--why-not says what cannot stand together, and what giving it up would allow."
    print_indented(console(), said, 0)


def _hold(library: Library, asked: AskedFix) -> tuple[ReadyBuild, Terms]:
    """The build, and the terms as they were typed.

    Raises
    ------
    Faults
        With everything that is wrong with either, and with the files that are to be written.
    """
    from compat.planning.terms import faults_of
    from compat.shop.source import Fault, Faults, Spot

    faults: list[Fault] = []

    def fault(option: str, message: str) -> None:
        faults.append(Fault(Spot(option, 0), message))

    if asked.write is not None:
        if asked.write.exists():
            fault("--write", f"'{asked.write}' is there already, and stays as it is")
        elif not asked.write.parent.is_dir():
            fault("--write", f"there is no folder '{asked.write.parent}'")
    ready: ReadyBuild | None = None
    try:
        check_paths(asked.outs)
    except Faults as found:
        faults += found.faults
    try:
        ready = named_build(library, asked.name)
    except Faults as found:
        faults += found.faults
    terms = _terms(library, asked, fault)
    faults += [Fault(Spot("asked", 0), message) for message in faults_of(library.shop, ready, terms)]
    if faults or ready is None:
        raise Faults(faults)
    return ready, terms


def _terms(library: Library, asked: AskedFix, fault: Callable[[str, str], None]) -> Terms:
    from compat.planning.terms import Terms

    own = library.shop.info.currency if library.shop.info is not None else ""

    def money(option: str, text: str) -> Decimal | None:
        amount, message = _money(own, text)
        if message:
            fault(option, message)
        return amount

    prices: dict[str, Decimal] = {}
    for text in asked.wishes:
        name, mark, amount = text.partition("=")
        if not mark:
            fault("--wish", f"'{text}' says nothing of its price; write {text}=200")
        elif (price := money("--wish", amount)) is not None:
            prices[name.strip()] = price
    budget = money("--budget", asked.budget) if asked.budget else None
    gap, message = _share(asked.gap) if asked.gap else (0.0, "")
    if message:
        fault("--gap", message)
    # a budget that cannot be read is told as such; none is missed besides
    return Terms(
        keep=frozenset(asked.keep),
        avoid=frozenset(asked.avoid),
        avoid_suppliers=frozenset(asked.avoid_suppliers),
        stock_only=asked.stock_only,
        budget=Decimal(0) if asked.budget and budget is None else budget,
        aim=asked.aim,  # type: ignore[arg-type]  # held with the other terms
        seconds=asked.seconds,
        gap=gap,
        on=asked.on,
        others=asked.others,
        prices=prices,
    )


def _share(text: str) -> tuple[float, str]:
    """A share of a hundred as a part of one; nought with what is wrong with it."""
    from compat.shop.money import Percent

    try:
        share = float(Percent.read(text).share)
    except ValueError as wrong:
        return 0.0, str(wrong)
    return (share, "") if share < 1 else (0.0, f"'{text}' leaves nothing to reach; write less than 100 %")


def _money(own: str, text: str) -> tuple[Decimal | None, str]:
    """An amount in the shop's currency; None with what is wrong with it."""
    number, _, currency = text.strip().partition(" ")
    if number.isalpha() and currency:
        number, currency = currency, number
    if currency and currency != own:
        return None, f"'{text}' is not in {own}, which the shop counts in"
    try:
        amount = Decimal(number.replace(",", ""))
    except InvalidOperation:
        return None, f"'{text}' is no amount of money; write 2500, or 2500 {own}"
    return (amount, "") if amount.is_finite() else (None, f"'{text}' is no amount of money")


def _said(library: Library, ready: ReadyBuild, asked: AskedFix) -> str:
    aims = {
        "money": "least cost",
        "time": "the earliest day",
        "changes": "the fewest changes",
        "headroom": "the greatest least headroom",
    }
    parts = [f"Sought: {aims.get(asked.aim, asked.aim)}"]
    if asked.keep:
        kept = [f"{word} ({_has(library, ready, word)})" for word in dict.fromkeys(asked.keep)]
        parts.append(f"kept: {', '.join(kept)}")
    if asked.avoid or asked.avoid_suppliers:
        parts.append(f"avoided: {', '.join([*asked.avoid, *asked.avoid_suppliers])}")
    if asked.stock_only:
        parts.append("from the shelf alone")
    if asked.budget:
        parts.append(f"within {asked.budget}")
    return "; ".join(parts) + "."


def _has(library: Library, ready: ReadyBuild, word: str) -> str:
    """What the build has of something that is kept."""
    if word in library.shop.positions:
        return ready.part_in(word) or "none"
    if word in library.shop.works:
        return "done" if any(done.work == word for done in ready.build.work) else "not done"
    said = ready.build.setup.get(word)
    return "as the variant has it" if said is None else {True: "yes", False: "no"}.get(said, str(said))


def _tell(progress: Progress) -> None:
    best = "" if progress.best is None else ", a build found"
    line = f"{progress.seconds:5.1f} s  {progress.doing}{best}"
    print(f"\r{line:<78}", end="", file=sys.stderr, flush=True)


def _write(library: Library, asked: AskedFix, ready: ReadyBuild, best: Remade) -> None:
    """A new build file, in the words of the old one where there is one."""
    from compat.shop.rewriting import rewritten
    from compat.shop.writing import as_said, write_build, write_whole

    assert asked.write is not None
    name = asked.write.stem
    build = replace(best.ready.build, build=name) if _is_id(name) else best.ready.build
    text = _text_of(library, asked.name, ready)
    try:
        if text is None:
            write_build(build, asked.write)
        else:
            write_whole(asked.write, rewritten(text, as_said(ready.build), as_said(build)), over=False)
    except OSError as error:
        stop(f"--write: '{asked.write}' cannot be written: {error.strerror or error}")
    print(f"wrote {asked.write}", file=sys.stderr)


def _is_id(name: str) -> bool:
    return name.replace("-", "").isalnum() and name.islower() and name[0].isalpha()


def _text_of(library: Library, name: str, ready: ReadyBuild) -> str | None:
    """The file that a build was read from; None for a variant, and for what came through a pipe."""
    path = Path(name)
    if name != "-" and path.is_file():
        return path.read_text(encoding="utf-8")
    if ready.build.build in library.shop.builds:
        spot = library.shop.spot("build", ready.build.build, "build")
        own = library.folder / spot.file
        if own.is_file():
            return own.read_text(encoding="utf-8")
    return None
