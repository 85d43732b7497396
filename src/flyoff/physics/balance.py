"""Weight and balance: moments, centre of gravity, envelopes.

Not for flight planning or operational use: the approved flight manual governs.
"""

from collections.abc import Iterator

import numpy as np

from flyoff.core.typing import Array, Floats, Mask
from flyoff.physics.limits import floats, require, require_positive


def moment(mass_kg: Floats, arm_m: Floats) -> Floats:
    """Return a moment about the datum.

    Parameters
    ----------
    mass_kg
        Mass. [kg] Any shape.
    arm_m
        Arm, positive aft of the datum. [m] Broadcasts.

    Returns
    -------
    Floats
        Moment. [kg m] The broadcast shape.

    Notes
    -----
    Mass moment, as the trade writes it; not a torque.

    References
    ----------
    .. [1] FAA-H-8083-1, Aircraft Weight and Balance Handbook (example pages opened second-hand).

    Examples
    --------
    >>> f"{moment(100.0, 2.0):.0f}"
    '200'
    """
    return floats(mass_kg * np.asarray(arm_m))


def centre_of_gravity(mass_kg: Array, arm_m: Array) -> Floats:
    r"""Return the centre of gravity of several items.

    .. math:: \frac{\sum m_i x_i}{\sum m_i}

    Parameters
    ----------
    mass_kg
        Masses of the items, on axis 0; negative for what is taken out. [kg] Shape (n, ...).
    arm_m
        Their arms. [m] Shape (n,) or (n, ...).

    Returns
    -------
    Floats
        Arm of the centre of gravity. [m] Shape (...).

    Raises
    ------
    ValueError
        If the total mass is not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] FAA-H-8083-1, Aircraft Weight and Balance Handbook (example pages opened second-hand).

    Examples
    --------
    >>> import numpy as np
    >>> f"{centre_of_gravity(np.array([100.0, 100.0, 200.0]), np.array([50.0, 90.0, 150.0])):.0f}"
    '110'
    """
    mass = np.asarray(mass_kg, dtype=np.float64)
    arm = np.asarray(arm_m, dtype=np.float64)
    arm = arm.reshape(arm.shape + (1,) * (mass.ndim - arm.ndim))
    total_kg = floats(np.sum(mass, axis=0))
    require("total mass_kg", total_kg, "kg", above=0.0)
    return floats(np.sum(mass * arm, axis=0) / total_kg)


def arm_after_change(
    total_mass_kg: Floats, arm_m: Floats, changed_mass_kg: Floats, changed_arm_m: Floats
) -> Floats:
    """Return the centre of gravity after mass is added or taken out.

    Parameters
    ----------
    total_mass_kg
        Mass before. [kg] Any shape.
    arm_m
        Centre of gravity before. [m] Broadcasts.
    changed_mass_kg
        Mass added, negative taken out. [kg] Broadcasts.
    changed_arm_m
        Its arm. [m] Broadcasts.

    Returns
    -------
    Floats
        Centre of gravity. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a mass before or after is not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge, ch. 9 (2008 edition).

    Examples
    --------
    >>> f"{arm_after_change(6860.0, 80.0, 140.0, 150.0):.1f}"
    '81.4'
    """
    after_kg = floats(total_mass_kg + np.asarray(changed_mass_kg))
    require("total_mass_kg", total_mass_kg, "kg", above=0.0)
    require("total_mass_kg + changed_mass_kg", after_kg, "kg", above=0.0)
    return floats((moment(total_mass_kg, arm_m) + moment(changed_mass_kg, changed_arm_m)) / after_kg)


def arm_after_shift(
    total_mass_kg: Floats, arm_m: Floats, moved_mass_kg: Floats, from_arm_m: Floats, to_arm_m: Floats
) -> Floats:
    """Return the centre of gravity after mass is moved.

    Parameters
    ----------
    total_mass_kg
        Total mass. [kg] Any shape.
    arm_m
        Centre of gravity before. [m] Broadcasts.
    moved_mass_kg
        Mass moved. [kg] Broadcasts.
    from_arm_m
        Arm it leaves. [m] Broadcasts.
    to_arm_m
        Arm it comes to. [m] Broadcasts.

    Returns
    -------
    Floats
        Centre of gravity. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a total mass is not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge, ch. 9 (2008 edition).

    Examples
    --------
    >>> f"{arm_after_shift(8000.0, 77.0, 100.0, 30.0, 150.0):.1f}"
    '78.5'
    """
    require("total_mass_kg", total_mass_kg, "kg", above=0.0)
    return floats(arm_m + moved_mass_kg * (np.asarray(to_arm_m) - from_arm_m) / total_mass_kg)


def mean_chord_fraction(arm_m: Floats, leading_edge_arm_m: Floats, mean_chord_m: Floats) -> Floats:
    """Return a centre of gravity as a share of the mean aerodynamic chord.

    Parameters
    ----------
    arm_m
        Centre of gravity. [m] Any shape.
    leading_edge_arm_m
        Arm of the chord's leading edge. [m] Broadcasts.
    mean_chord_m
        Mean aerodynamic chord. [m] Broadcasts.

    Returns
    -------
    Floats
        Share of the chord, 1 being 100 %. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a chord is not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] AC 43.13-1B, ch. 10.

    Examples
    --------
    >>> f"{mean_chord_fraction(2.2, 1.9, 1.5):.2f}"
    '0.20'
    """
    require_positive(mean_chord_m=mean_chord_m)
    return floats((arm_m - np.asarray(leading_edge_arm_m)) / mean_chord_m)


def inside_envelope(arm_m: Floats, mass_kg: Floats, envelope_arm_m: Array, envelope_mass_kg: Array) -> Mask:
    """Return whether points lie inside a balance envelope; its border counts as inside.

    Parameters
    ----------
    arm_m
        Centre of gravity. [m] Any shape.
    mass_kg
        Mass. [kg] Broadcasts.
    envelope_arm_m
        Arms of the corners, in order around. [m] Shape (k,), k at least 3.
    envelope_mass_kg
        Masses of the corners. [kg] Shape (k,).

    Returns
    -------
    Mask
        True inside or on the border; False for NaN. The broadcast shape.

    Raises
    ------
    ValueError
        If an envelope has fewer than three corners or unequal lists.

    Notes
    -----
    Even-odd rule; an envelope may be concave but not cross itself.

    References
    ----------
    .. [1] K. Hormann and A. Agathos, Computational Geometry 20 (2001), 131-144 (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> bool(
    ...     inside_envelope(
    ...         2.0, 900.0, np.array([1.9, 2.2, 2.2, 1.9]), np.array([500.0, 500.0, 1000.0, 1000.0])
    ...     )
    ... )
    True
    """
    return np.asarray(envelope_margin(arm_m, mass_kg, envelope_arm_m, envelope_mass_kg)) >= 0


def envelope_margin(arm_m: Floats, mass_kg: Floats, envelope_arm_m: Array, envelope_mass_kg: Array) -> Floats:
    """Return the distance to the border of a balance envelope.

    Parameters
    ----------
    arm_m
        Centre of gravity. [m] Any shape.
    mass_kg
        Mass. [kg] Broadcasts.
    envelope_arm_m
        Arms of the corners, in order around. [m] Shape (k,), k at least 3.
    envelope_mass_kg
        Masses of the corners. [kg] Shape (k,).

    Returns
    -------
    Floats
        Distance, negative outside, as a share of the envelope's extent in arm and in mass; within
        1e-9 of the border 0. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If an envelope has fewer than three corners or unequal lists.

    Notes
    -----
    Arm and mass have no common unit, so each is divided by the extent of the envelope: 0.1 is a
    tenth of its width, or of its height.

    References
    ----------
    .. [1] Distance from a point to a segment; any handbook of geometry.

    Examples
    --------
    >>> import numpy as np
    >>> box = np.array([1.9, 2.2, 2.2, 1.9]), np.array([500.0, 500.0, 1000.0, 1000.0])
    >>> f"{envelope_margin(2.17, 750.0, *box):.2f}"
    '0.10'
    """
    x, y = _corners(envelope_arm_m, envelope_mass_kg)
    width, height = np.ptp(x), np.ptp(y)
    px, py = np.broadcast_arrays(
        (np.asarray(arm_m, dtype=np.float64) - x[0]) / width, (np.asarray(mass_kg) - y[0]) / height
    )
    x, y = (x - x[0]) / width, (y - y[0]) / height
    distance = np.full(px.shape, np.inf)
    inside = np.zeros(px.shape, dtype=bool)
    for x1, y1, x2, y2 in _edges(x, y):
        dx, dy = x2 - x1, y2 - y1
        along = np.clip(((px - x1) * dx + (py - y1) * dy) / max(dx * dx + dy * dy, 1e-300), 0.0, 1.0)
        distance = np.minimum(distance, np.hypot(px - x1 - along * dx, py - y1 - along * dy))
        if y1 != y2:
            inside ^= ((y1 > py) != (y2 > py)) & (px < x1 + (py - y1) / dy * dx)
    distance = np.where(distance < 1e-9, 0.0, distance)
    return floats(np.where(inside, distance, -distance))


def arm_limits(mass_kg: Floats, envelope_arm_m: Array, envelope_mass_kg: Array) -> tuple[Floats, Floats]:
    """Return the foremost and rearmost arm of an envelope at a mass.

    Parameters
    ----------
    mass_kg
        Mass. [kg] Any shape.
    envelope_arm_m
        Arms of the corners, in order around. [m] Shape (k,), k at least 3.
    envelope_mass_kg
        Masses of the corners. [kg] Shape (k,).

    Returns
    -------
    tuple[Floats, Floats]
        Foremost and rearmost arm; NaN at masses that the envelope does not reach. [m] Each of the
        shape of the mass.

    Raises
    ------
    ValueError
        If an envelope has fewer than three corners or unequal lists.

    Notes
    -----
    For a concave envelope the outermost of its arms.

    References
    ----------
    .. [1] Interpolation along the border.

    Examples
    --------
    >>> import numpy as np
    >>> box = np.array([1.9, 2.2, 2.2, 2.0, 1.9]), np.array([500.0, 500.0, 1000.0, 1000.0, 800.0])
    >>> forward, aft = arm_limits(900.0, *box)
    >>> f"{forward:.2f} {aft:.2f}"
    '1.95 2.20'
    """
    x, y = _corners(envelope_arm_m, envelope_mass_kg)
    mass = np.asarray(mass_kg, dtype=np.float64)
    forward, aft = np.full(mass.shape, np.inf), np.full(mass.shape, -np.inf)
    for x1, y1, x2, y2 in _edges(x, y):
        on_edge = (mass >= min(y1, y2)) & (mass <= max(y1, y2))
        crossed = (x1, x2) if y1 == y2 else 2 * (x1 + (mass - y1) / (y2 - y1) * (x2 - x1),)
        forward = np.where(on_edge, np.minimum(forward, np.minimum(*crossed)), forward)
        aft = np.where(on_edge, np.maximum(aft, np.maximum(*crossed)), aft)
    reached = forward <= aft
    return floats(np.where(reached, forward, np.nan)), floats(np.where(reached, aft, np.nan))


def _edges(x: Array, y: Array) -> Iterator[tuple[float, float, float, float]]:
    """Yield the ends of each edge, in order around."""
    arms, masses = x.tolist(), y.tolist()
    return zip(arms, masses, [*arms[1:], arms[0]], [*masses[1:], masses[0]], strict=True)


def _corners(envelope_arm_m: Array, envelope_mass_kg: Array) -> tuple[Array, Array]:
    x = np.asarray(envelope_arm_m, dtype=np.float64)
    y = np.asarray(envelope_mass_kg, dtype=np.float64)
    if x.shape != y.shape or x.ndim != 1 or len(x) < 3:
        raise ValueError(
            "envelope_arm_m and envelope_mass_kg must be lists of at least 3 corners, equally long; "
            f"got {len(x)} and {len(y)}"
        )
    require("extent of envelope_arm_m", float(np.ptp(x)), "m", above=0.0)
    require("extent of envelope_mass_kg", float(np.ptp(y)), "kg", above=0.0)
    return x, y
