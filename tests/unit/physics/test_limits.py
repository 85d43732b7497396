import numpy as np
import pytest

from flyoff.physics.limits import floats, require, require_positive


def test_a_number_stays_a_number():
    assert isinstance(floats(np.array(3)), float)
    assert floats([1, 2]).dtype == np.float64


@pytest.mark.parametrize(
    ("limits", "value", "message"),
    [
        ({"at_most": 11000.0}, 12000.0, "altitude_m must not exceed 11000 m; got 12000 m"),
        ({"at_least": 0.0}, -1.0, "altitude_m must not be below 0 m; got -1 m"),
        ({"above": 0.0}, 0.0, "altitude_m must be above 0 m; got 0 m"),
        ({"below": 1.0}, np.array([0.5, 1.0]), "altitude_m must be below 1 m; got 1 m"),
    ],
)
def test_message_names_argument_limit_and_value(limits, value, message):
    with pytest.raises(ValueError) as caught:
        require("altitude_m", value, "m", **limits)
    assert str(caught.value) == message


def test_missing_values_pass():
    require("altitude_m", np.array([np.nan, 1.0]), "m", at_least=0.0, at_most=2.0, above=0.5, below=3.0)
    require_positive(mass_kg=np.nan, span_m=1.0)


def test_each_argument_is_named():
    with pytest.raises(ValueError, match=r"^span_m must be above 0; got -1$"):
        require_positive(mass_kg=1.0, span_m=-1.0)
