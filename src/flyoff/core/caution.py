"""The caution that stands wherever loading, runway, fuel or test-flying results appear."""

CAUTION = (
    "Not for flight planning or operational use. The approved flight manual, local rules "
    "and licensed pilots and engineers govern."
)
SHORT_CAUTION = "Not for flight planning or operational use; the approved flight manual governs"
"""For where one line must do: the foot of a chart."""
