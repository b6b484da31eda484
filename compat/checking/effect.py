"""What changes bring beside what they are meant for."""

from __future__ import annotations

from compat.record import record

__all__ = ["Effect"]


@record(slots=True)
class Effect:
    """What changes bring beside what they are meant for."""

    clears: tuple[str, ...]
    """Rules that spoke against the build, or were not known, and no longer are."""
    raises: tuple[str, ...]
    """Rules that speak against it, or are not known, and did not before."""
    asks: tuple[str, ...] = ()
    """Needs that come up beside, for which the check itself finds what meets them."""
    met: int = 0
    """How many of those that it clears the check itself had met by what it adds."""
    mild: tuple[str, ...] = ()
    """Rules that come to a caution, or a fit to measure, and did not before."""
    eased: int = 0
    """How many did before and do no more."""

    @property
    def weight(self) -> tuple[int, int, int]:
        """How much comes up, the least first; where that is as much, what clears most."""
        return len(self.raises), len(self.asks), -len(self.clears)

    @property
    def betters(self) -> bool:
        """Whether less speaks against the build than before, what is only to be added counting last.

        What is told of as a remedy lessens a number that only the build decides, so a row of remedies comes to
        an end, and never back to where it began.
        """
        return (len(self.raises), len(self.asks)) < (len(self.clears) - self.met, self.met)
