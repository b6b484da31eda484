"""Which octane number counts in an engine: research, motor, or what lies between."""

from __future__ import annotations

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["motor_octane_weight"]

_RESEARCH_TEST, _MOTOR_TEST = 325.15, 422.15
"""Temperature of the charge in the two tests [K]: air of 52 degC, mixture of 149 degC."""

_TEST_PRESSURE = 101325.0
_COMPRESSION = 0.25  # exponent of temperature by pressure, charge with fuel


@formula(
    takes={"charge_temperature": "degC", "manifold_pressure": "kPa", "least": "number"},
    gives="number",
    source="Kalghatgi, SAE 2001-01-3584 (form, from memory); test states of ASTM D2699 and D2700 (from memory)",
    scatter=0.3,
    scatter_source="own judgement: engines of one kind differ by a few tenths",
    rises_with=("charge_temperature", "least"),
    falls_with=("manifold_pressure",),
)
def motor_octane_weight(charge_temperature: float, manifold_pressure: float, least: float = 0.25) -> float:
    """Weight of the motor octane number in the octane index of a charge, K in (1 - K) RON + K MON.

    Parameters
    ----------
    charge_temperature : float
        Of the air in the manifold, [K]
    manifold_pressure : float
        Absolute, [Pa]
    least : float, optional
        Weight that is kept however cool the charge, [-]

    Returns
    -------
    float
        K, from `least` to 1, [-]

    Raises
    ------
    OutOfRange
        When an argument lies outside what engines have.

    Notes
    -----
    The research test burns a cool charge, the motor test one heated to 149 degC, both without boost. An engine
    lies where its charge would lie between them once compressed to the same pressure: boost that was cooled
    comes to a pressure at a lower temperature than the tests do, and the research number counts. Fuels of
    great sensitivity, alcohol above all, gain by that. Kalghatgi finds K below zero in such engines; here it
    never falls below a quarter, for deposits and hot days (own choice).

    References
    ----------
    .. [1] G. T. Kalghatgi, Fuel Anti-Knock Quality, SAE 2001-01-3584 and SAE 2005-01-0239.

    Examples
    --------
    >>> motor_octane_weight(315.0, 200e3), round(motor_octane_weight(370.0, 101325.0), 2)
    (0.25, 0.46)
    """
    positive(charge_temperature=charge_temperature, manifold_pressure=manifold_pressure)
    within("charge_temperature", charge_temperature, 230.0, 460.0, "K")
    within("manifold_pressure", manifold_pressure, 5e3, 1e6, "kPa absolute", 1e3)
    within("least", least, 0.0, 1.0)
    alike = charge_temperature * (_TEST_PRESSURE / manifold_pressure) ** _COMPRESSION
    weight = (alike - _RESEARCH_TEST) / (_MOTOR_TEST - _RESEARCH_TEST)
    return float(min(max(weight, least), 1.0))
