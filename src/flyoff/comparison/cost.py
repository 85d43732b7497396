"""Money: the price as compared, and what each option costs in payload and money."""

from flyoff.comparison.case import Case, Method
from flyoff.comparison.results import OptionCost
from flyoff.core.figure import Basis, Figure, Input, slug
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.typing import Array
from flyoff.dossier.airplane import Option

_ADJUSTED = ("one ", "yearly increase")
_METHOD = Method(
    "base price and the options that equal terms demand, each brought to the study's year by its declared "
    "yearly increase and to its currency by its declared exchange"
)


def cost_figures(case: Case) -> tuple[list[Figure], list[OptionCost]]:
    """Return the price as compared, and what each option costs in payload, money and speed."""
    figures, options = [price_as_compared(case)], []
    for option in case.airplane.options:
        own = _option_figures(case, option)
        payload, price, *speed = (figure.key for figure in own)
        options.append(OptionCost(case.key, option.name, payload, price, speed[0] if speed else None))
        figures += own
    return figures, options


def price_as_compared(case: Case) -> Figure:
    """Return the price with the options that equal terms demand."""
    total, inputs, missing = price_sample(case)
    return case.figure(
        "price_as_compared", "Price as compared", (case.money.currency, "money"), total, _METHOD, inputs,
        basis=_basis(inputs), missing=missing, grain_si=_grain_si(inputs),
    )  # fmt: skip


def _grain_si(inputs: tuple[Input, ...]) -> float:
    """Return how finely the prices themselves were declared, whatever the exchange that brings them over."""
    prices = (given for given in inputs if not given.label.startswith(_ADJUSTED))
    return max((parse_quantity(given.text, "money").grain_si for given in prices), default=0.0)


def price_sample(case: Case) -> tuple[Array | None, tuple[Input, ...], str]:
    """Return the price as compared, a sample; what it rests on; or why there is none."""
    price = case.airplane.price
    if price is None:
        return None, (), "no price is published"
    total, inputs, missing = worth(case, "base price", price.amount, price.year)
    for option in case.fit.options:
        if option.price is None or option.price_year is None:
            missing = missing or f"no price is published for {option.name}"
            continue
        own, more, none = worth(case, f"option: {option.name}", option.price, option.price_year)
        inputs, missing = (*inputs, *more), missing or none
        total = None if total is None or own is None else total + own
    return None if missing else total, inputs, missing


def _basis(inputs: tuple[Input, ...]) -> Basis:
    """Return the basis of a price: as published, or resting on a declared exchange or increase."""
    return "declared" if any(given.label.startswith(_ADJUSTED) for given in inputs) else "handbook"


def worth(case: Case, label: str, amount: Quantity, year: int) -> tuple[Array | None, tuple[Input, ...], str]:
    """Return an amount in the study's currency and year, a sample; or why not."""
    money = case.money
    inputs = [Input(f"{label} ({year})", str(amount), amount.place, amount.source)]
    value = case.declared(amount)
    currency = amount.unit.label
    if currency != money.currency:
        rate = next((e for e in money.exchange if e.currency == currency), None)
        if rate is None:
            return None, tuple(inputs), f"no exchange is declared for {currency}"
        inputs.append(Input(f"one {currency}", str(rate.worth), rate.worth.place, rate.worth.source))
        value = value * case.declared(rate.worth)
    if year != money.year:
        index = money.yearly_increase
        if index is None:
            return None, tuple(inputs), f"no yearly increase is declared to bring {year} to {money.year}"
        inputs.append(Input("yearly increase", str(index), index.place, index.source))
        value = value * (1 + case.declared(index)) ** (money.year - year)
    return value, tuple(inputs), ""


def _option_figures(case: Case, option: Option) -> list[Figure]:
    """Return payload and price, and the effect on speed where one is published."""
    prefix = f"option.{slug(option.name)}"
    weight = Input(f"weight of {option.name}", str(option.weight), option.weight.place, option.weight.source)
    figures = [
        case.figure(
            f"{prefix}.payload", f"{option.name}: payload given up", ("lb", "mass"),
            case.sample(option.weight), Method("the option's weight, which payload loses"), (weight,),
        )
    ]  # fmt: skip
    unit = (case.money.currency, "money")
    sample: Array | None = None
    inputs: tuple[Input, ...] = ()
    missing = "no price is published"
    if option.price is not None and option.price_year is not None:
        sample, inputs, missing = worth(case, option.name, option.price, option.price_year)
    figures.append(
        case.figure(
            f"{prefix}.price",
            f"{option.name}: price",
            unit,
            sample,
            _METHOD,
            inputs,
            basis=_basis(inputs),
            missing=missing,
            grain_si=_grain_si(inputs),
        )
    )
    if option.speed is not None:
        speed = Input(
            f"speed effect of {option.name}", str(option.speed), option.speed.place, option.speed.source
        )
        figures.append(
            case.figure(
                f"{prefix}.speed",
                f"{option.name}: cruise speed",
                ("kt", "speed"),
                case.sample(option.speed),
                Method("the option's effect as published"),
                (speed,),
            )
        )
    return figures
