"""The command `quote`."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.cli.outs import check_outs, give
from compat.cli.refusing import tell_findings

if TYPE_CHECKING:
    from compat.library.library import Library
    from compat.trade.quote import Quoted
    from compat.trade.quoted import Quote

__all__ = ["Asked", "run_quote"]


@dataclass(frozen=True)
class Asked:
    """What was typed."""

    name: str
    own: bool = False
    despite_findings: bool = False
    draft: bool = False
    against: str = ""
    on: date | None = None
    outs: Sequence[Path] = ()
    as_json: bool = False


def run_quote(folder: Path, keep: bool, asked: Asked) -> int:
    """Quote a build, or print a kept quote again; gives the exit status."""
    check_outs(asked.outs)
    from compat.trade.numbered import kept_quotes, numbered_quote, quote_record

    library = open_chosen(folder, keep, [asked.name])
    where = kept_quotes(library)
    if _is_number(library, asked.name):
        return _again(where, asked)
    quoted = _made(library, asked)
    if asked.against:
        from compat.trade.frozen import kept

        return _compare(kept(where, asked.against), quote_record(quoted), asked)
    if quoted.quote.against and not asked.despite_findings:
        return _refused(quoted.quote)
    quote = quoted.quote if asked.draft else numbered_quote(library, quoted)
    _hand_out(quote, asked)
    if quote.number:
        print(f"Kept as {quote.number} in {where}.", file=sys.stderr)
    return 0


def _is_number(library: Library, name: str) -> bool:
    from compat.trade.numbered import looks_like_quote

    return "/" not in name and not Path(name).is_file() and looks_like_quote(library, name)


def _made(library: Library, asked: Asked) -> Quoted:
    from compat.checking.session import Session
    from compat.trade.quote import make_quote

    session = Session(library.shop, library.book, behind=library.answers)
    return make_quote(session, named_build(library, asked.name), asked.on or date.today())


def _refused(quote: Quote) -> int:
    count = len(quote.against)
    found = f"{count} finding{'s' * (count != 1)} against it"
    tell_findings(
        f"{quote.build} does not go together: {found}, so no quote is given.",
        quote.build,
        [(one.verdict, one.title, one.because) for one in quote.against],
        "--despite-findings quotes it all the same, and they stand on its face.",
    )
    return 1


def _hand_out(quote: Quote, asked: Asked) -> None:
    from compat.paper.quoting import quote_document

    try:
        give(quote_document(quote, own=asked.own), asked.outs, asked.as_json)
    except BaseException:
        if quote.number:
            again = f"`compat quote {quote.number} --out FILE` writes it again"
            print(f"The quote is kept as {quote.number}: {again}.", file=sys.stderr)
        raise


def _again(where: Path, asked: Asked) -> int:
    """Print a kept quote again, or compare it with another."""
    from compat.trade.frozen import kept
    from compat.trade.snapshot import quote_of

    said = (("--draft", asked.draft), ("--date", asked.on), ("--despite-findings", asked.despite_findings))
    if wrong := [option for option, given in said if given]:
        stop(*(f"{option}: quote {asked.name} is given already and stays as it is" for option in wrong))
    record = kept(where, asked.name)
    if asked.against:
        return _compare(kept(where, asked.against), record, asked)
    _hand_out(quote_of(record["quote"]), asked)
    return 0


def _compare(before: Mapping[str, Any], now: Mapping[str, Any], asked: Asked) -> int:
    from compat.paper.changed import changes_document
    from compat.trade.against import changes

    document = changes_document(changes(before, now), now["quote"], before["quote"])
    give(document, asked.outs, asked.as_json)
    return 0
