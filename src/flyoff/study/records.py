"""What a study file may say."""

from pydantic import Field

from flyoff.comparison.places import Airfield
from flyoff.comparison.questions import Question, Weight
from flyoff.comparison.runway_terms import Runway, RunwayMargin
from flyoff.comparison.terms import MoneyTerms, Ownership, Terms, Trip
from flyoff.core.record import Record, Text
from flyoff.dossier.airplane import Name


class StudyRecord(Record):
    """The study file: what is compared, on which terms, over which trips."""

    title: Name
    author: Text = ""
    summary: Text = ""
    source: Name = Field(description="Default source of every value here: a key of sources.toml")
    aircraft: tuple[Name, ...] = Field(min_length=1, description="Aircraft files, without .toml")
    flights: tuple[Name, ...] = Field((), description="Flight files, without .toml")
    terms: Terms
    trips: tuple[Trip, ...] = ()
    runways: tuple[Runway, ...] = ()
    runway_margin: RunwayMargin = Field(default_factory=RunwayMargin)
    airfields: dict[str, Airfield] = Field(default_factory=dict)
    money: MoneyTerms
    questions: tuple[Question, ...] = Field((), description="What the comparison is to answer")
    weights: tuple[Weight, ...] = Field((), description="The reader's own weights on the questions")
    ownership: Ownership | None = Field(
        None, description="What owning and flying costs, for every airplane alike"
    )
