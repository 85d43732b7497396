"""Payload over range, and balance, of the invented comparison."""

import numpy as np

from flyoff.comparison.results import BalanceTrack, PayloadRange
from flyoff.core.units import inch, lb, nmi


def payload_ranges() -> tuple[PayloadRange, ...]:
    """Return the corners of payload over range."""
    corners = ("most payload", "full payload, fuel to takeoff weight", "full tanks", "no payload")
    table = (
        ("lomvi", (0, 420, 872, 905), (1000, 1000, 902, 0)),
        ("tjaldur", (0, 310, 798, 851), (1100, 1100, 764, 0)),
        ("rita", (0, 255, 742, 775), (840, 840, 622, 0)),
        ("lundi", (0, 300, 905, 981), (980, 980, 592, 0)),
    )
    return tuple(
        PayloadRange(key, np.array(distance) * nmi, np.array(payload) * lb, corners)
        for key, distance, payload in table
    )


def balances() -> tuple[BalanceTrack, ...]:
    """Return each loading in its envelope."""
    tracks = []
    for key, forward, aft, empty, most, arm, inside in (
        ("lomvi", 38.0, 47.0, 1800, 2950, 42.3, True),
        ("tjaldur", 82.0, 94.0, 2200, 3600, 90.1, True),
        ("rita", 101.0, 110.2, 1700, 2750, 109.8, False),
        ("lundi", 76.0, 86.5, 2300, 3600, 81.0, True),
    ):
        mid = empty + 0.6 * (most - empty)
        edge_arm = np.array([forward, forward, forward + 3.2, aft, aft]) * inch
        edge_mass = np.array([empty, mid, most, most, empty]) * lb
        mass = np.linspace(most - 320, most - 20.0, 13) * lb
        track = np.linspace(arm + 0.9, arm, 13) * inch
        remark = (
            "inside, with 1.9 in to spare at the aft limit"
            if inside
            else "outside by 0.5 in at the aft limit, zero fuel"
        )
        tracks.append(
            BalanceTrack(
                key,
                "normal",
                edge_arm,
                edge_mass,
                track,
                mass,
                ("zero fuel", *[""] * 11, "takeoff"),
                inside,
                remark,
            )
        )
    return tuple(tracks)
