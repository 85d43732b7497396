import pytest

from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.sources import Place, Source


def test_all_at_once_sorted_and_once():
    collector = Collector()
    collector.raise_any()
    collector.add(Place("b.toml", 2, "wing.span"), "'10' has no unit", "expected a length")
    collector.add(Place("a.toml", 9), "two", "expected one")
    collector.extend([Problem(Place("a.toml", 9), "two", "expected one")])
    with pytest.raises(Problems) as caught:
        collector.raise_any()
    assert str(caught.value).splitlines() == [
        "a.toml:9: two; expected one",
        "b.toml:2: wing.span: '10' has no unit; expected a length",
    ]


def test_near_miss():
    assert near_miss("wieght", ["weight", "arm"]) == " (did you mean 'weight'?)"
    assert near_miss("zzz", ["weight"]) == ""


def test_source_in_one_line():
    assert str(Source("k", "Handbook", 1976, "maker")) == "Handbook, maker, 1976"
    assert str(Place("a.toml")) == "a.toml"
