"""Level speed and power freed of weight and density: the PIW-VIW form."""

import numpy as np

from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require_positive


def generalised_speed(
    true_airspeed_m_s: Floats, mass_kg: Floats, standard_mass_kg: Floats, density_ratio: Floats
) -> Floats:
    r"""Return the speed at standard mass and sea level for the same lift coefficient (VIW).

    .. math:: V_{iw} = V \sqrt{\sigma W_s / W}

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    mass_kg
        Mass W as flown. [kg] Broadcasts.
    standard_mass_kg
        Standard mass Ws. [kg] Broadcasts.
    density_ratio
        Air density over that of standard sea level σ. [-] Broadcasts.

    Returns
    -------
    Floats
        Speed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Parabolic polar, equal propeller efficiency; the reference does not carry data over more than
    5,000 ft or 10 % of mass.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.1, V_iw.

    Examples
    --------
    >>> f"{generalised_speed(118.0, 2200.0, 2400.0, 0.835860):.2f}"
    '112.68'
    """
    require_positive(mass_kg=mass_kg, standard_mass_kg=standard_mass_kg, density_ratio=density_ratio)
    return floats(true_airspeed_m_s * np.sqrt(standard_mass_kg / mass_kg * density_ratio))


def generalised_power(
    power_w: Floats, mass_kg: Floats, standard_mass_kg: Floats, density_ratio: Floats
) -> Floats:
    r"""Return the power at standard mass and sea level for the same lift coefficient (PIW).

    .. math:: P_{iw} = P (W_s / W)^{1.5} \sqrt{\sigma}

    Parameters
    ----------
    power_w
        Power P. [W] Any shape.
    mass_kg
        Mass W as flown. [kg] Broadcasts.
    standard_mass_kg
        Standard mass Ws. [kg] Broadcasts.
    density_ratio
        Air density over that of standard sea level σ. [-] Broadcasts.

    Returns
    -------
    Floats
        Power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Parabolic polar, equal propeller efficiency; the reference does not carry data over more than
    5,000 ft or 10 % of mass.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.1, P_iw.

    Examples
    --------
    >>> f"{generalised_power(97.5, 2200.0, 2400.0, 0.835860):.2f}"
    '101.57'
    """
    require_positive(mass_kg=mass_kg, standard_mass_kg=standard_mass_kg, density_ratio=density_ratio)
    return floats(power_w * np.power(standard_mass_kg / mass_kg, 1.5) * np.sqrt(density_ratio))


def speed_at_condition(
    generalised_speed_m_s: Floats, mass_kg: Floats, standard_mass_kg: Floats, density_ratio: Floats
) -> Floats:
    r"""Return the true airspeed at a mass and density from the generalised one.

    .. math:: V = V_{iw} \sqrt{W / (W_s \sigma)}

    Parameters
    ----------
    generalised_speed_m_s
        Generalised speed V_iw. [m/s] Any shape.
    mass_kg
        Mass W as flown. [kg] Broadcasts.
    standard_mass_kg
        Standard mass Ws. [kg] Broadcasts.
    density_ratio
        Air density over that of standard sea level σ. [-] Broadcasts.

    Returns
    -------
    Floats
        Speed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Parabolic polar, equal propeller efficiency; the reference does not carry data over more than
    5,000 ft or 10 % of mass.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.1, mission
       speed, printed there with the standard for the mission weight.

    Examples
    --------
    >>> f"{speed_at_condition(112.683, 2200.0, 2400.0, 0.835860):.2f}"
    '118.00'
    """
    require_positive(mass_kg=mass_kg, standard_mass_kg=standard_mass_kg, density_ratio=density_ratio)
    return floats(generalised_speed_m_s / np.sqrt(standard_mass_kg / mass_kg * density_ratio))


def power_at_condition(
    generalised_power_w: Floats, mass_kg: Floats, standard_mass_kg: Floats, density_ratio: Floats
) -> Floats:
    r"""Return the power at a mass and density from the generalised one.

    .. math:: P = P_{iw} (W / W_s)^{1.5} / \sqrt{\sigma}

    Parameters
    ----------
    generalised_power_w
        Generalised power P_iw. [W] Any shape.
    mass_kg
        Mass W as flown. [kg] Broadcasts.
    standard_mass_kg
        Standard mass Ws. [kg] Broadcasts.
    density_ratio
        Air density over that of standard sea level σ. [-] Broadcasts.

    Returns
    -------
    Floats
        Power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Parabolic polar, equal propeller efficiency; the reference does not carry data over more than
    5,000 ft or 10 % of mass.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.1, mission
       power.

    Examples
    --------
    >>> f"{power_at_condition(101.57, 2200.0, 2400.0, 0.835860):.2f}"
    '97.50'
    """
    require_positive(mass_kg=mass_kg, standard_mass_kg=standard_mass_kg, density_ratio=density_ratio)
    return floats(generalised_power_w / (np.power(standard_mass_kg / mass_kg, 1.5) * np.sqrt(density_ratio)))
