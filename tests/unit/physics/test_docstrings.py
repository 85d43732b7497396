"""Each example in a docstring is true."""

import doctest
import importlib
import pkgutil

import pytest

import flyoff.physics

MODULES = [f"flyoff.physics.{module.name}" for module in pkgutil.iter_modules(flyoff.physics.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name):
    failed, tried = doctest.testmod(importlib.import_module(name))
    assert failed == 0
    assert tried > 0 or name.endswith("limits")
