"""Viscosity and density of engine oil by temperature."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["dynamic_viscosity", "oil_density", "oil_viscosity"]

COLD, HOT = 273.15 + 40, 273.15 + 100


@formula(
    takes={"temperature": "degC", "viscosity_40": "mm^2/s", "viscosity_100": "mm^2/s"},
    gives="mm^2/s",
    source="ASTM D341, viscosity-temperature chart (Walther equation)",
    scatter=0.05,
    scatter_source="estimate: fit between 40 and 100 degC, extrapolated beyond; oils of one grade differ more",
)
def oil_viscosity(temperature: float, viscosity_40: float, viscosity_100: float) -> float:
    """Kinematic viscosity of an oil at a temperature, from its stated values at 40 and 100 degC.

    Parameters
    ----------
    temperature : float
        Of the oil, [K]
    viscosity_40, viscosity_100 : float
        Kinematic viscosity stated at 40 and 100 degC, [m^2/s]

    Returns
    -------
    float
        Kinematic viscosity, [m^2/s]

    Raises
    ------
    OutOfRange
        When the temperature lies outside -30 to 200 degC, a viscosity lies outside 2 to 2000 mm^2/s, or the
        oil is not thinner when hot.

    Notes
    -----
    log log (v + 0.7) falls straight with log T; v in mm^2/s, T in kelvin. The standard's small correction
    below 2 mm^2/s is left out: no engine oil is that thin within the range.

    References
    ----------
    .. [1] ASTM D341.

    Examples
    --------
    >>> round(oil_viscosity(273.15 + 120, 75e-6, 11.5e-6) * 1e6, 2)
    7.67
    """
    within("temperature", temperature, 243.15, 473.15, "K")
    within("viscosity_40", viscosity_40, 2e-6, 2000e-6, "mm^2/s", 1e-6)
    within("viscosity_100", viscosity_100, 2e-6, 2000e-6, "mm^2/s", 1e-6)
    if viscosity_100 >= viscosity_40:
        raise OutOfRange(
            f"viscosity_100 ({viscosity_100 * 1e6:g} mm^2/s) must be less than viscosity_40 "
            f"({viscosity_40 * 1e6:g} mm^2/s): are they swapped?"
        )
    cold = math.log10(math.log10(viscosity_40 * 1e6 + 0.7))
    hot = math.log10(math.log10(viscosity_100 * 1e6 + 0.7))
    slope = (cold - hot) / math.log10(HOT / COLD)
    height = cold - slope * math.log10(temperature / COLD)
    return (10 ** (10**height) - 0.7) * 1e-6


@formula(
    takes={"temperature": "degC", "density_15": "kg/m^3"},
    gives="kg/m^3",
    source="ASTM D1250 / API petroleum tables, near-linear in the engine's range (from memory)",
    scatter=0.01,
    scatter_source="estimate: one expansion coefficient for all lubricating oils",
)
def oil_density(temperature: float, density_15: float = 870.0) -> float:
    """Density of an oil at a temperature: it falls by 0.64 kg/m^3 for each kelvin.

    Parameters
    ----------
    temperature : float
        Of the oil, [K]
    density_15 : float, optional
        At 15 degC, [kg/m^3]

    Returns
    -------
    float
        Density, [kg/m^3]

    Raises
    ------
    OutOfRange
        When the temperature lies outside -30 to 200 degC or the density outside 750 to 1050 kg/m^3.

    References
    ----------
    .. [1] ASTM D1250 (from memory).

    Examples
    --------
    >>> round(oil_density(273.15 + 100, 870.0), 1)
    815.6
    """
    within("temperature", temperature, 243.15, 473.15, "K")
    within("density_15", density_15, 750.0, 1050.0, "kg/m^3")
    return density_15 - 0.64 * (temperature - 288.15)


@formula(
    takes={
        "temperature": "degC",
        "viscosity_40": "mm^2/s",
        "viscosity_100": "mm^2/s",
        "density_15": "kg/m^3",
        "shear_loss": "%",
    },
    gives="mPa*s",
    source="ASTM D341 (Walther equation) times density",
    scatter=0.06,
    scatter_source="estimate: fit, density and extrapolation together",
)
def dynamic_viscosity(
    temperature: float,
    viscosity_40: float,
    viscosity_100: float,
    density_15: float = 870.0,
    shear_loss: float = 0.0,
) -> float:
    """Dynamic viscosity of an oil at a temperature.

    Parameters
    ----------
    temperature : float
        Of the oil, [K]
    viscosity_40, viscosity_100 : float
        Kinematic viscosity stated at 40 and 100 degC, [m^2/s]
    density_15 : float, optional
        At 15 degC, [kg/m^3]
    shear_loss : float, optional
        Share lost at the shear rates of a bearing; multigrades 0.15 to 0.35, single grades 0, [-]

    Returns
    -------
    float
        Dynamic viscosity, [Pa*s]

    Raises
    ------
    OutOfRange
        As for `oil_viscosity`, or when the shear loss lies outside 0 to 0.6.

    Notes
    -----
    The rise of viscosity with pressure is left out, on the safe side.

    References
    ----------
    .. [1] ASTM D341.

    Examples
    --------
    >>> round(dynamic_viscosity(273.15 + 120, 75e-6, 11.5e-6) * 1e3, 2)
    6.16
    """
    within("shear_loss", shear_loss, 0.0, 0.6)
    kinematic = oil_viscosity(temperature, viscosity_40, viscosity_100)
    positive(kinematic_viscosity=kinematic)
    return kinematic * oil_density(temperature, density_15) * (1 - shear_loss)
