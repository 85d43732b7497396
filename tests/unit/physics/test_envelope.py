"""A balance envelope in moment form, against the envelope itself."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flyoff.physics.balance import inside_envelope
from flyoff.physics.envelope import ARM_ACCURACY_M, convex_pieces, share_inside

ENVELOPES = {
    "slanted forward": ((2.26, 2.26, 2.34, 2.58, 2.58), (850, 1100, 1310, 1310, 850)),
    "aft edge bends in": ((2.26, 2.26, 2.34, 2.58, 2.48), (850, 1100, 1310, 1310, 850)),
    "notched": ((2.26, 2.26, 2.34, 2.58, 2.58, 2.40, 2.58), (850, 1100, 1310, 1310, 1150, 1000, 850)),
    "stepped": ((2.26, 2.26, 2.32, 2.32, 2.58, 2.58), (850, 1000, 1000, 1310, 1310, 850)),
    "behind the datum": ((-0.30, -0.30, 0.10, 0.10), (400, 700, 750, 400)),
}
envelopes = pytest.mark.parametrize("corners", ENVELOPES.values(), ids=ENVELOPES.keys())


def _inside_pieces(arm, mass, pieces):
    held = np.zeros(mass.shape, dtype=bool)
    for piece in pieces:
        own = (mass >= piece.low_kg) & (mass <= piece.high_kg)
        for side in piece.forward:
            own &= arm * mass >= side.slope_m * mass + side.offset_kg_m - 1e-9
        for side in piece.aft:
            own &= arm * mass <= side.slope_m * mass + side.offset_kg_m + 1e-9
        held |= own
    return held


@envelopes
def test_pieces_are_the_envelope_but_for_the_accuracy(corners):
    arms, masses = (np.array(c, dtype=float) for c in corners)
    random = np.random.default_rng(7)
    mass = random.uniform(masses.min() - 20, masses.max() + 20, 20_000)
    arm = random.uniform(arms.min() - 0.05, arms.max() + 0.05, 20_000)
    held = _inside_pieces(arm, mass, convex_pieces(arms, masses))
    inside = np.asarray(inside_envelope(arm, mass, arms, masses))
    assert not np.any(held & ~inside)
    lost = inside & ~held
    near = ~np.all(
        [inside_envelope(arm + d, mass, arms, masses) for d in (2 * ARM_ACCURACY_M, -2 * ARM_ACCURACY_M)], 0
    )
    assert not np.any(lost & ~near)


def test_a_usual_envelope_is_one_piece():
    assert [len(convex_pieces(*map(np.array, ENVELOPES["slanted forward"])))] == [1]
    assert len(convex_pieces(*map(np.array, ENVELOPES["stepped"]))) == 2


@envelopes
@settings(max_examples=60, deadline=None)
@given(st.floats(0, 1), st.floats(0, 1), st.floats(1, 250), st.floats(-3, 4))
def test_share_inside_is_where_small_steps_leave(corners, up, across, added, at):
    arms, masses = (np.array(c, dtype=float) for c in corners)
    mass = masses.min() + up * np.ptp(masses)
    moment = mass * (arms.min() + across * np.ptp(arms))
    share = float(share_inside(mass, moment, added, added * at, arms, masses))
    steps = np.linspace(0, 1, 2001)
    way = mass + steps * added
    inside = np.asarray(inside_envelope((moment + steps * added * at) / way, way, arms, masses))
    if not inside[0]:
        assert np.isnan(share)
        return
    # Between steps a corner may be cut off; a step before the way out is inside at any rate.
    left = 1.0 if inside.all() else steps[np.argmin(inside)]
    assert share <= left + 1e-6
    here = mass + share * added
    assert inside_envelope((moment + share * added * at) / here, here, arms, masses)


def test_shares_broadcast():
    box = np.array([1.9, 2.2, 2.2, 1.9]), np.array([500.0, 500.0, 1000.0, 1000.0])
    shares = share_inside(
        np.array([900.0, 1100.0, 600.0]), np.array([1800.0, 2200.0, 1200.0]), 200.0, 400.0, *box
    )
    np.testing.assert_allclose(shares, [0.5, np.nan, 1.0])
