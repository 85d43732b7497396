"""A balance envelope in moment form, where loading is linear: convex pieces, and a way through it.

Not for flight planning or operational use: the approved flight manual governs.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from flyoff.core.typing import Array, Floats
from flyoff.physics.balance import inside_envelope

ARM_ACCURACY_M = 2e-5
"""How far inside a slanted edge its straight pieces may lie. [m]"""


@dataclass(frozen=True)
class Side:
    """One side of a piece: moment = `slope_m` times mass + `offset_kg_m`."""

    slope_m: float
    offset_kg_m: float


@dataclass(frozen=True)
class Piece:
    """A convex part of an envelope over moment and mass, bounded by straight sides.

    Within `low_kg` to `high_kg`, the moment is no less than every `forward`
    and no more than every `aft` side.
    """

    low_kg: float
    high_kg: float
    forward: tuple[Side, ...]
    aft: tuple[Side, ...]


def convex_pieces(envelope_arm_m: Array, envelope_mass_kg: Array) -> tuple[Piece, ...]:
    r"""Return an envelope over moment and mass as convex pieces that lie inside it.

    .. math:: M = W \left(x_1 + \frac{x_2 - x_1}{W_2 - W_1} (W - W_1)\right)

    Parameters
    ----------
    envelope_arm_m
        Arms of the corners, in order around. [m] Shape (k,), k at least 3.
    envelope_mass_kg
        Masses of the corners. [kg] Shape (k,).

    Returns
    -------
    tuple[Piece, ...]
        The pieces, from the lowest mass up.

    Raises
    ------
    ValueError
        If an envelope has fewer than three corners or unequal lists.

    Notes
    -----
    A slanted edge is straight over arm and mass but a parabola over moment and mass. It is replaced
    from inside by chords or tangents, nowhere further off than `ARM_ACCURACY_M`; upright edges are
    exact. A concave envelope, or an edge that bends inward, gives several pieces.

    References
    ----------
    .. [1] The equation is linear interpolation along an edge, times the mass.

    Examples
    --------
    >>> import numpy as np
    >>> len(convex_pieces(np.array([1.9, 2.2, 2.2, 1.9]), np.array([500.0, 500.0, 1000.0, 1000.0])))
    1
    """
    inside_envelope(0.0, 0.0, envelope_arm_m, envelope_mass_kg)  # raises where it is no envelope
    done: list[Piece] = []
    growing: list[Piece] = []
    for strip in _strips(np.asarray(envelope_arm_m, float), np.asarray(envelope_mass_kg, float)):
        grown = []
        for part in strip:
            below = next((piece for piece in growing if _continues(piece, part)), None)
            if below is not None:
                growing.remove(below)
                part = Piece(
                    below.low_kg,
                    part.high_kg,
                    tuple(dict.fromkeys((*below.forward, *part.forward))),
                    tuple(dict.fromkeys((*below.aft, *part.aft))),
                )
            grown.append(part)
        done += growing
        growing = grown
    return (*done, *growing)


def _strips(arm_m: Array, mass_kg: Array) -> Iterator[list[Piece]]:
    """Yield, from the lowest mass up, the pieces side by side within each thin range of mass."""
    edges = list(zip(arm_m, mass_kg, np.roll(arm_m, -1), np.roll(mass_kg, -1), strict=True))
    for low, high in pairwise(np.unique(mass_kg)):
        middle = (low + high) / 2
        crossing = []
        for x1, y1, x2, y2 in edges:
            if min(y1, y2) < middle < max(y1, y2):
                slope = (x2 - x1) / (y2 - y1)
                crossing.append((x1 + slope * (middle - y1), slope, x1 - slope * y1))
        crossing.sort()
        steepest = max(abs(slope) for _, slope, _ in crossing)
        # A chord of slope * W**2 over a width h is off by at most slope * h**2 / 4.
        width = np.sqrt(4 * ARM_ACCURACY_M * max(low, 1.0) / steepest) if steepest else high - low
        cuts = np.linspace(low, high, int(np.ceil((high - low) / width - 1e-9)) + 1)
        for bottom, top in pairwise(cuts):
            yield [
                Piece(
                    float(bottom),
                    float(top),
                    (_inner_side(forward[1:], bottom, top, bends_in=forward[1] < 0),),
                    (_inner_side(aft[1:], bottom, top, bends_in=aft[1] > 0),),
                )
                for forward, aft in zip(crossing[::2], crossing[1::2], strict=True)
            ]


def _inner_side(line: tuple[float, float], bottom: float, top: float, *, bends_in: bool) -> Side:
    """Return the straight side within a parabola: its chord, or its tangent where it bends inward."""
    slope, offset = line
    if bends_in:
        middle = (bottom + top) / 2
        return Side(float(offset + 2 * slope * middle), float(-slope * middle**2))
    return Side(float(offset + slope * (bottom + top)), float(-slope * bottom * top))


def _moment(side: Side, mass_kg: float) -> float:
    return side.slope_m * mass_kg + side.offset_kg_m


def _continues(below: Piece, above: Piece) -> bool:
    """Tell whether two pieces, one above the other, make one that is convex."""
    mass = above.low_kg
    forward, aft = below.forward[-1], below.aft[-1]
    near = 1e-9 * max(abs(_moment(forward, mass)), abs(_moment(aft, mass)), 1.0)
    return (
        below.high_kg == mass
        and abs(_moment(forward, mass) - _moment(above.forward[0], mass)) <= near
        and abs(_moment(aft, mass) - _moment(above.aft[0], mass)) <= near
        and above.forward[0].slope_m >= forward.slope_m - 1e-12
        and above.aft[0].slope_m <= aft.slope_m + 1e-12
    )


def share_inside(
    mass_kg: Floats,
    moment_kg_m: Floats,
    added_mass_kg: Floats,
    added_moment_kg_m: Floats,
    envelope_arm_m: Array,
    envelope_mass_kg: Array,
) -> Floats:
    r"""Return how much of what is added, little by little, stays inside an envelope.

    .. math:: (x_2 - x_1)(W - W_1) W = (W_2 - W_1)(M - x_1 W)

    Parameters
    ----------
    mass_kg
        Mass before. [kg] Any shape.
    moment_kg_m
        Moment before. [kg m] Broadcasts.
    added_mass_kg
        Mass added in all. [kg] Broadcasts.
    added_moment_kg_m
        Its moment. [kg m] Broadcasts.
    envelope_arm_m
        Arms of the corners, in order around. [m] Shape (k,), k at least 3.
    envelope_mass_kg
        Masses of the corners. [kg] Shape (k,).

    Returns
    -------
    Floats
        Share that can be added before the first way out of the envelope, 1 being all of it; NaN
        where it is outside from the start. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If an envelope has fewer than three corners or unequal lists.

    Notes
    -----
    Exact: where a straight line over moment and mass meets an edge is a quadratic equation. The
    border counts as inside.

    References
    ----------
    .. [1] The equation says that a point lies on the line through two corners.

    Examples
    --------
    >>> import numpy as np
    >>> box = np.array([1.9, 2.2, 2.2, 1.9]), np.array([500.0, 500.0, 1000.0, 1000.0])
    >>> f"{share_inside(900.0, 1800.0, 200.0, 400.0, *box):.2f}"
    '0.50'
    """
    w0, m0, dw, dm = np.broadcast_arrays(
        *(
            np.asarray(v, dtype=np.float64)[..., None]
            for v in (mass_kg, moment_kg_m, added_mass_kg, added_moment_kg_m)
        )
    )
    arm, mass = np.asarray(envelope_arm_m, float), np.asarray(envelope_mass_kg, float)
    x1, y1 = arm, mass
    dx, dy = np.roll(arm, -1) - arm, np.roll(mass, -1) - mass
    a = dx * dw**2
    b = dx * (2 * w0 - y1) * dw - dy * (dm - x1 * dw)
    c = dx * (w0 - y1) * w0 - dy * (m0 - x1 * w0)
    shares = np.sort(np.concatenate([_roots(a, b, c), np.zeros_like(w0), np.ones_like(w0)], axis=-1), axis=-1)
    between = (shares[..., 1:] + shares[..., :-1]) / 2
    probes = np.concatenate([np.zeros_like(w0), between], axis=-1)
    masses = w0 + probes * dw
    inside = np.asarray(inside_envelope((m0 + probes * dm) / masses, masses, arm, mass))
    inside[..., 1:] |= np.diff(shares, axis=-1) < 1e-12  # nothing lies between
    outside = ~inside[..., 1:]
    first = np.where(
        outside.any(-1), np.take_along_axis(shares, outside.argmax(-1)[..., None], -1)[..., 0], 1.0
    )
    result = np.where(inside[..., 0], first, np.nan)
    return result if result.ndim else float(result)


def _roots(a: Array, b: Array, c: Array) -> Array:
    """Return both roots within 0 to 1 of a t² + b t + c; 0 stands for one that is not."""
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(b * b - 4 * a * c)
        far = -(b + np.where(b < 0, -root, root)) / 2
        roots = np.concatenate([far / a, c / far, -c / b], axis=-1)
    return np.where((roots > 0) & (roots < 1), roots, 0.0)
