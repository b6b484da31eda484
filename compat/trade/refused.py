"""Builds for which nothing is bought yet: something stands against them, or they are not proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from compat.checking.check import Checked
from compat.rulebook.models import AGAINST
from compat.words.report import Finding, Report

__all__ = ["Refused", "refused"]


@dataclass(frozen=True, slots=True)
class Refused:
    """A build that nothing is ordered for."""

    build: str
    findings: tuple[Finding, ...]
    """What stands against it, the worst first."""
    unproven: bool
    """Whether nothing but unknowns is left, which can be accepted."""

    @property
    def why(self) -> str:
        """What is the matter with it, as a sentence without its end."""
        how = "is not proven" if self.unproven else "does not go together"
        count = len(self.findings)
        return f"{self.build} {how}: {count} finding{'s' * (count != 1)} against it"


def refused(builds: Sequence[tuple[Checked, Report]], *, accept_unknown: bool = False) -> list[Refused]:
    """Tell for which builds nothing is ordered.

    Parameters
    ----------
    builds : sequence of tuple of Checked and Report
        What checking each found, and the report of it.
    accept_unknown : bool
        Whether a build that only is not proven is ordered for all the same.

    Returns
    -------
    list of Refused
        Empty where all may be ordered.
    """
    found = []
    for checked, said in builds:
        unknown = not checked.proven and not accept_unknown
        if checked.clean and not unknown:
            continue
        against = (*AGAINST, "unknown") if unknown else AGAINST
        findings = tuple(finding for finding in said.findings if finding.verdict in against)
        found.append(Refused(said.build, findings, checked.clean))
    return found
