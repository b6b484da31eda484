"""The command `plot`: a picture of a checked build, or the numbers that it is drawn of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from compat.checking.answers import Answers
from compat.checking.check import check
from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.paper.out import check_files, write_files
from compat.paper.pictures.kinds import PICTURES, Data, computed, drawn
from compat.paper.pictures.numbers import Nothing
from compat.shop.source import Faults, nearest

__all__ = ["run_plot"]

ENDINGS = (".svg", ".png", ".pdf")


def run_plot(
    folder: Path, keep: bool, build: str, name: str, rule: str, system: str, outs: Sequence[Path], as_json: bool
) -> None:
    """Write a picture of a build into files, or print the numbers that it is drawn of."""
    if name not in PICTURES:
        known = (f"  {each:<{max(map(len, PICTURES))}}  {kind.shows}" for each, kind in PICTURES.items())
        stop(f"there is no picture '{name}'{nearest(name, PICTURES)}; there are", *known)
    if rule and not PICTURES[name].of_a_rule:
        of_rules = " and ".join(each for each, kind in PICTURES.items() if kind.of_a_rule)
        stop(f"--rule: the picture {name} is of the whole build; {of_rules} are of a rule")
    with _told():
        check_files(outs, ENDINGS)
    data = _computed(folder, keep, build, name, rule, system)
    made = [(path, drawn(name, data, path.suffix.lower())) for path in outs]
    with _told():
        write_files(made)
    if as_json:
        from compat.paper.pictures.published import picture_json

        print(picture_json(name, data))
    elif not outs:
        _print(data)
    else:
        for path in outs:
            print(f"wrote {path}")


@contextmanager
def _told() -> Iterator[None]:
    """Stop with a message for each file that cannot be written."""
    try:
        yield
    except Faults as found:
        stop(*map(str, found.faults))


def _computed(folder: Path, keep: bool, build: str, name: str, rule: str, system: str) -> Data:
    library = open_chosen(folder, keep, [build])
    if rule and rule not in library.book.rules:
        stop(f"rule '{rule}' is not known{nearest(rule, library.book.rules)}")
    checked = check(library.shop, library.book, named_build(library, build), Answers(behind=library.answers))
    try:
        return computed(name, checked, system, rule)
    except Nothing as why:
        stop(f"{checked.world.settled.build.build}: nothing to draw: {why}")


def _print(data: Data) -> None:
    from compat.cli.console import console
    from compat.paper.lines import print_heading, print_indented, print_numbers

    screen = console()
    print_indented(screen, data.title, 0, "bold")
    print_indented(screen, data.shows, 0)
    for listing in data.listings():
        if listing.rows:
            print_heading(screen, listing.heading)
            print_numbers(screen, listing.titles, list(listing.rows))
