"""Each example in a docstring is true, and each public function has all that it owes its reader."""

import doctest
import importlib
import inspect
import pkgutil

import pytest

import flyoff.physics

MODULES = [f"flyoff.physics.{module.name}" for module in pkgutil.iter_modules(flyoff.physics.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name):
    failed, tried = doctest.testmod(importlib.import_module(name))
    assert failed == 0
    assert tried > 0 or name.endswith("limits")


@pytest.mark.parametrize("name", [name for name in MODULES if not name.endswith("limits")])
def test_every_function_states_units_limits_and_source(name):
    module = importlib.import_module(name)
    for function in vars(module).values():
        if inspect.isfunction(function) and function.__module__ == name and function.__name__[0] != "_":
            if function.__name__ == "require_temperature":
                continue
            text = inspect.getdoc(function) or ""
            for section in ("Parameters", "Returns", "Raises", "Notes", "References", "Examples"):
                assert f"{section}\n{'-' * len(section)}" in text, f"{function.__name__} lacks {section}"
