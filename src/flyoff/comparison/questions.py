"""What a reader may ask of a comparison: a figure, which way wins, how sure to be; and their own weights."""

from typing import Annotated, Literal

from pydantic import Field

from flyoff.core.quantity import Quantity
from flyoff.core.record import Located, Of, OfAny, Record
from flyoff.core.tomlfile import Written
from flyoff.dossier.airplane import Name

BAR = 0.95
"""As sure as every interval here is: 95 %."""


class Question(Record):
    """One question: the airplanes are ranked by a figure, or asked whether it reaches a threshold."""

    name: Name
    figure: Annotated[Written, Located()] = Field(
        description="What is asked: a figure's key without its airplane: cost_per_mile, trip.NAME.time"
    )
    better: Literal["more", "less"] | None = Field(
        None, description="Which wins; as in the comparison's table where it says so"
    )
    threshold: Annotated[Quantity, OfAny()] | None = Field(
        None, description="What each must reach, or stay below where less is better"
    )
    sure: Annotated[Quantity, Of("ratio", at_least=0.5, at_most=0.9999)] | None = Field(
        None,
        description="Probability below which it is too close to call; 95 % if absent, as of every interval",
    )


class Weight(Record):
    """How much one question counts in the reader's own score. There is no other weight than these."""

    question: Annotated[Written, Located()] = Field(description="Name of a question")
    weight: float = Field(gt=0, le=1000, description="Counts against the other weights")
