"""The handling qualities rating scale, and the decisions that lead to a rating.

Words and decisions after G. E. Cooper and R. P. Harper, The Use of Pilot Rating in the Evaluation of
Aircraft Handling Qualities, NASA TN D-5153, 1969, figure 7 (1 and 2 and the captions from memory).
"""

from collections.abc import Iterator

SOURCE = "NASA TN D-5153, 1969, The Use of Pilot Rating in the Evaluation of Aircraft Handling Qualities"

_DESIRED = "pilot compensation not a factor for desired performance"
SCALE = {
    1: ("excellent, highly desirable", _DESIRED),
    2: ("good, negligible deficiencies", _DESIRED),
    3: (
        "fair, some mildly unpleasant deficiencies",
        "minimal pilot compensation required for desired performance",
    ),
    4: ("minor but annoying deficiencies", "desired performance requires moderate pilot compensation"),
    5: (
        "moderately objectionable deficiencies",
        "adequate performance requires considerable pilot compensation",
    ),
    6: (
        "very objectionable but tolerable deficiencies",
        "adequate performance requires extensive pilot compensation",
    ),
    7: (
        "major deficiencies",
        "adequate performance not attainable with maximum tolerable pilot compensation; controllability not"
        " in question",
    ),
    8: ("major deficiencies", "considerable pilot compensation required for control"),
    9: ("major deficiencies", "intense pilot compensation required to retain control"),
    10: ("major deficiencies", "control will be lost during some portion of required operation"),
}
"""Rating: the airplane's characteristics, and the demands on the pilot."""

DECISIONS = (
    ("controllable", 9, "controllable"),
    ("adequate", 6, "adequate performance attainable with a tolerable pilot workload"),
    ("satisfactory", 3, "satisfactory without improvement"),
)
"""Each decision, the highest rating that answers it with yes, and the question in words."""


def meaning(rating: int) -> str:
    """Return a rating's meaning in the words of the scale."""
    return ": ".join(SCALE[rating])


def improvement(rating: int) -> str:
    """Return what the scale asks for after a rating."""
    if rating <= 3:
        return "satisfactory without improvement"
    if rating <= 6:
        return "deficiencies warrant improvement"
    return "deficiencies require improvement" if rating <= 9 else "improvement is mandatory"


def contradictions(rating: int, **decisions: bool | None) -> Iterator[tuple[str, str]]:
    """Yield each decision that a rating does not agree with, and what to expect instead."""
    for name, highest, question in DECISIONS:
        answer = decisions.get(name)
        if answer is not None and answer != (rating <= highest):
            low, high = (1, highest) if answer else (highest + 1, 10)
            span = str(low) if low == high else f"{low} to {high}"
            yield name, f"expected a rating of {span} where it is {'' if answer else 'not '}{question}"
