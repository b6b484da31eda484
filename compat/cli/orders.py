"""The command `order`."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.cli.refusing import tell_findings
from compat.shop.source import Fault, Faults, nearest

if TYPE_CHECKING:
    from compat.checking.check import Checked
    from compat.library.library import Library
    from compat.paper.document import Document
    from compat.paper.out import Maker
    from compat.trade.ordered import Order
    from compat.trade.plans import Aim
    from compat.words.report import Report

__all__ = ["AskedOrder", "run_order"]

EACH = "{supplier}"
"""What stands in the name of a file of which each supplier gets its own."""
XML = ".xml"


@dataclass(frozen=True)
class AskedOrder:
    """What was typed."""

    names: Sequence[str]
    soonest: bool = False
    despite_findings: bool = False
    accept_unknown: bool = False
    old_prices: bool = False
    draft: bool = False
    measured: Sequence[Path] = ()
    supplier: str = ""
    on: date | None = None
    outs: Sequence[Path] = ()
    as_json: bool = False
    system: str = "metric"


def run_order(folder: Path, keep: bool, asked: AskedOrder) -> int:
    """Order what builds buy, or print a kept order again; gives the exit status."""
    from compat.trade.numbered import kept_orders, numbered_order
    from compat.trade.order import make_order

    _look_at(asked)
    library = open_chosen(folder, keep, asked.names)
    if asked.supplier and asked.supplier not in library.shop.suppliers:
        stop(f"--supplier: '{asked.supplier}' is not known{nearest(asked.supplier, library.shop.suppliers)}")
    where = kept_orders(library)
    if _is_number(library, where, asked.names):
        _again(library, asked)
        return 0
    builds = _checked(library, asked)
    if status := _refused(builds, asked):
        return status
    aim: Aim = "soonest" if asked.soonest else "cost"
    order = make_order(builds, aim, on=asked.on or date.today(), old_prices=asked.old_prices)
    list(_files(order, asked))  # what cannot go into such files takes no number
    if not asked.draft and order.suppliers:
        order = numbered_order(library, order)
        print(f"Kept as {order.number} in {where}.", file=sys.stderr)
    _hand_out(order, asked)
    return 0


def _is_number(library: Library, where: Path, names: Sequence[str]) -> bool:
    name = names[0]
    known = name in library.shop.builds or name in library.shop.variants
    return len(names) == 1 and not known and "/" not in name and (where / f"{name}.json").is_file()


def _again(library: Library, asked: AskedOrder) -> None:
    """Print a kept order again, as it was."""
    from compat.trade.numbered import kept_order

    said = {
        "--draft": asked.draft,
        "--date": asked.on,
        "--soonest": asked.soonest,
        "--despite-findings": asked.despite_findings,
        "--accept-unknown": asked.accept_unknown,
        "--old-prices": asked.old_prices,
        "--measured": asked.measured,
    }
    number = asked.names[0]
    if wrong := [option for option, given in said.items() if given]:
        stop(*(f"{option}: order {number} is given already and stays as it is" for option in wrong))
    _hand_out(kept_order(library, number), asked)


def _look_at(asked: AskedOrder) -> None:
    """Look at the files before anything is worked out for them."""
    from compat.paper.out import check_paths

    if asked.names.count("-") > 1:
        stop("-: standard input holds one build; it is named twice")
    if asked.measured and len(asked.names) > 1:
        stop("--measured: is of one build; order the others by themselves, or state it in their `measured`")
    check_paths([_named(path, "supplier") for path in asked.outs], [XML])


def _named(path: Path, supplier: str) -> Path:
    return path.with_name(path.name.replace(EACH, supplier))


def _checked(library: Library, asked: AskedOrder) -> list[tuple[Checked, Report]]:
    from compat.checking.answers import Answers
    from compat.checking.check import check
    from compat.words.reporting import report

    faults: list[Fault] = []
    ready = []
    for name in asked.names:
        try:
            ready.append(named_build(library, name))
        except Faults as told:
            faults += told.faults
    if faults:
        raise Faults(faults)
    named = [build.build.build for build in ready]
    if twice := dict.fromkeys(name for name in named if named.count(name) > 1):
        alike = "is named twice, and would be bought twice; for engines alike give each a build of its own id"
        stop(*(f"{name}: {alike}" for name in twice))
    if asked.measured:
        ready = [build.measuring(*asked.measured) for build in ready]
    answers = Answers(behind=library.answers)
    found = [check(library.shop, library.book, build, answers) for build in ready]
    return [(checked, report(checked, asked.system)) for checked in found]


def _refused(builds: Sequence[tuple[Checked, Report]], asked: AskedOrder) -> int:
    """Say why nothing is ordered: 1 where something stands against a build, 3 where one is not proven."""
    from compat.trade.refused import refused

    if asked.despite_findings:
        return 0
    found = refused(builds, accept_unknown=asked.accept_unknown)
    for one in found:
        tell_findings(
            f"{one.why}, so nothing is ordered.",
            one.build,
            [(finding.verdict, finding.title, finding.because) for finding in one.findings],
        )
    if not found:
        return 0
    if all(one.unproven for one in found):
        print("State or measure what is unknown, or order all the same by --accept-unknown.", file=sys.stderr)
        return 3
    print("--despite-findings orders all the same, but for what is held back.", file=sys.stderr)
    return 1


def _hand_out(order: Order, asked: AskedOrder) -> None:
    from compat.cli.outs import give
    from compat.paper.out import write_all

    try:
        files = list(_files(order, asked))
        write_all(files)
    except BaseException:
        if order.number:
            again = f"`compat order {order.number} --out FILE` writes it again"
            print(f"The order is kept as {order.number}: {again}.", file=sys.stderr)
        raise
    for _, path, _ in files:
        print(f"wrote {path}", file=sys.stderr if asked.as_json else sys.stdout)
    if asked.as_json or not files:
        give(_document(order, asked.supplier), (), asked.as_json)


def _document(order: Order, supplier: str) -> Document:
    from compat.paper.ordering import letter_document, order_document

    return letter_document(order, supplier) if supplier else order_document(order)


def _files(order: Order, asked: AskedOrder) -> Iterator[tuple[Document, Path, Mapping[str, Maker]]]:
    """Each file with the document that goes into it, and what makes XML of it."""
    names = [one.supplier for one in order.suppliers]
    if asked.supplier and asked.supplier not in names:
        listed = ", ".join(names) or "nobody"
        stop(f"--supplier: nothing is ordered from '{asked.supplier}'; the order is to {listed}")
    own = [asked.supplier] if asked.supplier else names
    for path in asked.outs:
        if EACH in path.name:
            for name in own:
                yield _document(order, name), _named(path, name), {XML: partial(_xml, order, name)}
        elif path.suffix.lower() != XML:
            yield _document(order, asked.supplier), path, {}
        elif len(own) == 1:
            yield _document(order, own[0]), path, {XML: partial(_xml, order, own[0])}
        else:
            each = path.with_name(f"{path.stem}-{EACH}{path.suffix}")
            many = f"one to {len(own)} ({', '.join(own)})" if own else "one to nobody"
            stop(
                f"{path}: an XML order goes to one supplier, and this is {many}: choose one by --supplier, "
                f"or give each a file of its own by --out '{each}'"
            )


def _xml(order: Order, supplier: str, document: Document) -> str:
    from compat.paper.order_x import order_xml

    return order_xml(order, supplier)
