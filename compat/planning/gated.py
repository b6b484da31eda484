"""The solver's model of a space in which every rule, and whatever else is asked, may be left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from compat.planning.costs import Costs
from compat.planning.cuts import Guess
from compat.planning.master import NOTHING, Found, Master
from compat.planning.space import Choice, Space

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

__all__ = ["NEEDS", "Gated"]

NEEDS = "needs"
"""Under this all that parts and work ask of others is ruled out: what they use up they share."""


class Gated(Master):
    """A model in which each rule, and each thing held, holds only where that is asked."""

    def __init__(self, space: Space, costs: Costs) -> None:
        self.gates: dict[object, IntVar] = {}
        self.book = space.book
        self.asked: list[object] | None = None
        """What holds; None: all rules, and what always does."""
        self.always: list[object] = []
        super().__init__(space, costs)

    def gate(self, of: object) -> IntVar:
        """A literal under which something holds."""
        if of not in self.gates:
            self.gates[of] = self.model.new_bool_var("")
        return self.gates[of]

    def _under(self, constraint: Any, rule: str) -> None:
        known = rule in self.book.rules or rule in self.book.of_work
        asked = not known and rule.startswith(("need-", "work-"))
        constraint.only_enforce_if(self.gate(NEEDS if asked else rule))

    def rules(self) -> list[object]:
        """All rules that rule something out."""
        return [of for of in self.gates if isinstance(of, str)]

    def solve(
        self,
        seconds: float,
        work: float,
        guesses: Mapping[Guess, int] = NOTHING,
        apart: tuple[int, int] | None = None,
        good_enough: float = 0.0,
        near: tuple[Choice, int] | None = None,
        much: bool = False,
    ) -> Found:
        """The choice that costs least where what is asked holds."""
        self.model.clear_assumptions()
        asked = [*self.always, *self.rules()] if self.asked is None else self.asked
        self.model.add_assumptions([self.gate(of) for of in asked])
        return super().solve(seconds, work, guesses, apart, good_enough, near, much)

    def core(self, asked: Iterable[object], seconds: float) -> frozenset[object] | None:
        """Few of what is asked that leave no choice together; None where they leave one, or time is out."""
        from ortools.sat.python import cp_model

        asked = list(asked)
        model = self.model
        model.clear_objective()  # type: ignore[no-untyped-call]
        model.clear_hints()  # type: ignore[no-untyped-call]
        model.clear_assumptions()
        model.add_assumptions([self.gate(of) for of in asked])
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_time_in_seconds = max(0.01, seconds)
        if solver.solve(model) != cp_model.INFEASIBLE:
            return None
        known = {self.gate(of).index: of for of in asked}
        return frozenset(known[index] for index in solver.sufficient_assumptions_for_infeasibility())
