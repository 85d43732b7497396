"""Money over the years, against closed forms and published worked examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.comparison import annuity

RATES = st.floats(0.0, 0.3)
YEARS = st.integers(1, 40)


def test_the_payment_of_a_published_loan():
    """Documentation of numpy-financial, pmt: 200,000 at 7.5 % over 15 years of months costs 1,854.02."""
    assert 200_000 * annuity.capital_recovery(0.075 / 12, 180) == pytest.approx(1854.0247200054619)


@pytest.mark.parametrize(
    ("rate", "years", "printed"),
    [(0.10, 5, 0.2638), (0.06, 10, 0.1359), (0.08, 20, 0.1019), (0.03, 10, 0.1172)],
)
def test_the_capital_recovery_factors_of_interest_tables(rate, years, printed):
    """A/P as the compound interest tables of engineering economy print it (from memory)."""
    assert annuity.capital_recovery(rate, years) == pytest.approx(printed, abs=5e-5)


@given(RATES, YEARS)
def test_the_payments_are_worth_the_loan(rate, years):
    payment = annuity.capital_recovery(rate, years)
    worth = sum(payment / (1 + rate) ** year for year in range(1, years + 1))
    assert worth == pytest.approx(1.0, rel=1e-9)


@given(RATES, YEARS)
def test_interest_is_what_an_amortisation_adds_up_to(rate, years):
    left, paid = 1000.0, 0.0
    payment = 1000.0 * float(annuity.capital_recovery(rate, years))
    for _ in range(years):
        paid += left * rate
        left -= payment - left * rate
    assert left == pytest.approx(0.0, abs=1e-6)
    assert annuity.interest_per_year(1000.0, rate, years) * years == pytest.approx(paid, abs=1e-6)


@given(st.floats(0.0, 0.6), YEARS)
def test_value_and_its_mean_are_a_geometric_series(rate, years):
    begins = [100.0 * (1 - rate) ** year for year in range(years + 1)]
    assert annuity.value_left(100.0, rate, years) == pytest.approx(begins[-1])
    assert annuity.mean_value(100.0, rate, years) == pytest.approx(np.mean(begins[:-1]), rel=1e-9)


def test_rates_may_be_draws():
    rates = np.array([0.0, 0.05, 0.1])
    assert annuity.capital_recovery(rates, 10).shape == (3,)
    assert annuity.capital_recovery(rates, 10)[0] == pytest.approx(0.1)
