"""Rounding as a spreadsheet's formula does it: to the very coin, whatever reckons it."""

from __future__ import annotations

from decimal import Decimal

__all__ = ["rounded_formula"]

FUNCTIONS = {"half-up": "ROUND", "up": "ROUNDUP", "down": "ROUNDDOWN"}


def rounded_formula(amount: str, whole: Decimal | None, rounding: str) -> str:
    """A formula that rounds an amount as the shop rounds.

    Parameters
    ----------
    amount : str
        The formula of the amount.
    whole : Decimal or None
        What a price to the coin is multiplied by; None where it is a share.
    rounding : str
        Step and mode, like ``0.05 half-up``.

    Returns
    -------
    str
        Of whole pieces and steps of a coin the plain function. Else the number of steps is first cleared of
        what binary fractions leave behind: 2.5 * 1.07 is a hair under 2.675 to a spreadsheet, and is 2.68 on
        paper.

    Examples
    --------
    >>> rounded_formula("q*u", Decimal(4), "0.01 half-up"), rounded_formula("q*u", Decimal("2.5"), "0.05 up")
    ('ROUND(q*u,2)', 'ROUNDUP(ROUND(q*u/0.05,6),0)*0.05')
    """
    step, _, mode = rounding.partition(" ")
    digits = -int(Decimal(step).as_tuple().exponent)
    pieces = whole is not None and whole == whole.to_integral_value()
    if mode == "half-up" and pieces and Decimal(step) == Decimal(1).scaleb(-digits):
        return f"ROUND({amount},{digits})"
    steps = f"ROUND({amount}/{step},6)" if Decimal(step) != 1 else f"ROUND({amount},6)"
    back = f"*{step}" if Decimal(step) != 1 else ""
    if mode == "half-even":
        # the half goes to the even neighbour: away from nought where that is even, else towards it
        return f"IF(MOD(ABS({steps}),2)=0.5,ROUNDDOWN({steps},0),ROUND({steps},0)){back}"
    return f"{FUNCTIONS[mode]}({steps},0){back}"
