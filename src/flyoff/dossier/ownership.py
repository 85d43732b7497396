"""What it costs to own and fly an airplane: each assumption of it, declared once."""

from typing import Annotated

from pydantic import Field

from flyoff.core.quantity import Quantity
from flyoff.core.record import Money, Of, Record

Share = Annotated[Quantity, Of("ratio", at_least=0.0, at_most=1.0)]
Rate = Annotated[Quantity, Of("ratio", at_least=0.0, at_most=0.5)]
FlyingTime = Annotated[Quantity, Of("time", above=0.0)]


class OwnershipCosts(Record):
    """Assumptions of cost. The study's hold for every airplane; an aircraft file's own for that one."""

    year: int | None = Field(
        None, ge=1900, le=2200, description="Year of the prices here; the study's if absent"
    )
    oil_per_hour: Money | None = Field(None, description="Oil for each flying hour")
    maintenance_per_hour: Money | None = Field(None, description="Maintenance that grows with the hours")
    maintenance_per_year: Money | None = Field(
        None, description="Maintenance that each year brings: inspections"
    )
    overhaul: Money | None = Field(None, description="Overhaul of one engine, or its exchange")
    propeller_overhaul: Money | None = Field(None, description="Overhaul of one propeller")
    propeller_hours: FlyingTime | None = Field(
        None, description="Flying hours between a propeller's overhauls"
    )
    insurance_rate: Share | None = Field(None, description="Yearly hull premium, of the hull's mean value")
    insurance_fixed: Money | None = Field(None, description="Yearly liability and other fixed premiums")
    hangar_per_year: Money | None = Field(None, description="Hangar or parking")
    finance_rate: Rate | None = Field(None, description="Yearly interest on what is borrowed")
    finance_share: Share | None = Field(None, description="Share of the price that is borrowed")
    depreciation_rate: Rate | None = Field(None, description="Share of its value lost each year")
