"""Measured pieces: what a gauge gave, piece by piece, with its uncertainty, as a spec of a build."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from compat.record import record
from compat.shop.specs import Spec, SpecKind
from compat.units import Band

__all__ = ["Measured", "Piece", "measured_spec", "with_spreads"]


@record(slots=True)
class Piece:
    """One piece, measured: every reading by its place, and what the gauge may be off. SI."""

    number: int
    readings: tuple[tuple[str, float], ...]
    """Place and value of each reading; a place may be an empty word."""
    uncertainty: float
    """Expanded, k = 2."""
    gauge: str = ""
    by: str = ""
    date: str = ""

    @property
    def low(self) -> float:
        """The least reading."""
        return min(value for _, value in self.readings)

    @property
    def high(self) -> float:
        """The greatest reading."""
        return max(value for _, value in self.readings)


@record(slots=True)
class Measured(Spec):
    """A spec that was measured piece by piece.

    Its value is the band of all pieces: from the least reading to the greatest, each with its uncertainty. A
    piece that nobody measured is as its card says.
    """

    pieces: tuple[Piece | None, ...] = ()
    """By seat where they are seated, else by number; None where a piece was not measured."""
    axis: str = ""
    """What the pieces count by: a number of the engine, or the position itself."""
    seated: bool = False
    """Whether each stands where it stands, as bores do, rather than may go to any place, as pistons may."""
    card: Band | None = None
    """What pieces are taken as that nobody measured."""
    worked_out: bool = False
    """Whether it follows from the readings of another spec rather than being read itself."""

    @property
    def whole(self) -> bool:
        """Whether every piece was measured."""
        return None not in self.pieces

    def on(self, before: Spec | None) -> Measured | None:
        """With the pieces that nobody measured as they were; None when that is not known."""
        if self.whole:
            return self
        if before is None or not isinstance(before.value, Band):
            return None
        assert isinstance(self.value, Band)
        low, high = min(self.value.low, before.value.low), max(self.value.high, before.value.high)
        band = Band(0.5 * (low + high), low, high, self.value.dimension, self.value.unit)
        return replace(self, value=band, card=before.value)

    def in_seats(self, order: Sequence[int]) -> Measured:
        """With the pieces put into seats: the number of the piece in each."""
        return replace(self, pieces=tuple(self.pieces[number - 1] for number in order), seated=True)


def measured_spec(
    kind: SpecKind, pieces: Mapping[int, Piece], of: int, axis: str, seated: bool, spot: object = None
) -> Measured:
    """A spec of its measured pieces.

    Parameters
    ----------
    kind : SpecKind
        Its declaration.
    pieces : mapping
        Pieces by number, from 1.
    of : int
        How many there are in the engine.
    axis, seated
        What they count by, and whether each stands where it stands.
    spot : Spot, optional
        Where it was written.

    Returns
    -------
    Measured
        The spec, with the band of all pieces that were measured.

    Examples
    --------
    >>> from compat.shop.specs import declare
    >>> bores = {1: Piece(1, (("top", 0.08600), ("foot", 0.08602)), 2e-6), 2: Piece(2, (("", 0.08601),), 2e-6)}
    >>> found = measured_spec(declare("bore_diameter", "mm"), bores, 4, "cylinders", True)
    >>> round(found.value.low * 1e3, 6), round(found.value.high * 1e3, 6), found.whole
    (85.998, 86.022, False)
    """
    low = min(piece.low - piece.uncertainty for piece in pieces.values())
    high = max(piece.high + piece.uncertainty for piece in pieces.values())
    band = Band(0.5 * (low + high), low, high, kind.dimension, kind.unit)
    every = tuple(pieces.get(number) for number in range(1, of + 1))
    return Measured(band, "measured", "", spot, every, axis, seated)


def with_spreads(
    kinds: Mapping[str, Mapping[str, SpecKind]], measured: Mapping[tuple[str, str], Spec]
) -> dict[tuple[str, str], Spec]:
    """What was measured, with what follows from the places: the taper and roundness of bores that were gauged.

    Parameters
    ----------
    kinds : mapping
        Declared specs by position and name; `spread_of` says what follows from what.
    measured : mapping
        What was measured. Where what follows is stated there itself, the worse of both counts for each
        piece: what was typed does not talk away what the readings show.

    Returns
    -------
    dict
        All of it. The difference of two readings of one gauge is off by no more than root two of its
        uncertainty: what it errs the same way on both cancels (JCGM 100:2008, 5.2).
    """
    found = dict(measured)
    for (position, of), spec in measured.items():
        if not isinstance(spec, Measured):
            continue
        for name, kind in kinds[position].items():
            if kind.spread_of[0] != of:
                continue
            pieces = {
                piece.number: Piece(
                    piece.number,
                    ((f"over {kind.spread_of[1]}", spread),),
                    math.sqrt(2) * piece.uncertainty,
                    piece.gauge,
                    piece.by,
                    piece.date,
                )
                for piece in spec.pieces
                if piece is not None and (spread := _spread(piece, kind.spread_of[1])) is not None
            }
            said = measured.get((position, name))
            if isinstance(said, Measured):
                pieces = _worse(said, pieces)
            elif said is not None and not _beyond(said, pieces.values()):
                continue
            if pieces:
                every = measured_spec(kind, pieces, len(spec.pieces), spec.axis, spec.seated, spec.spot)
                read = isinstance(said, Measured) and not said.worked_out
                found[position, name] = replace(every, worked_out=not read)
    return found


def _worse(said: Measured, follows: Mapping[int, Piece]) -> dict[int, Piece]:
    """Of each piece what was said of it or what follows from its readings, whichever is more."""
    found = dict(follows)
    for piece in said.pieces:
        if piece is not None and (piece.number not in found or piece.high >= found[piece.number].high):
            found[piece.number] = piece
    return found


def _beyond(said: Spec, follows: Iterable[Piece]) -> bool:
    """Whether what follows of any piece is more than the one value that was said of all."""
    return isinstance(said.value, Band) and any(piece.high > said.value.high for piece in follows)


def _spread(piece: Piece, over: str) -> float | None:
    """By how much the readings of a piece differ over heights or directions at the most; None without two.

    >>> bore = Piece(1, (("top along", 86.002), ("top across", 86.005), ("foot along", 86.000)), 0.002)
    >>> round(_spread(bore, "heights"), 6), round(_spread(bore, "directions"), 6)
    (0.002, 0.003)
    """
    alike: dict[str, list[float]] = {}
    for place, value in piece.readings:
        height, _, direction = place.partition(" ")
        alike.setdefault(direction if over == "heights" else height, []).append(value)
    return max((max(values) - min(values) for values in alike.values() if len(values) > 1), default=None)
