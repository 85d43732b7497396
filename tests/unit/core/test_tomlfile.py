"""TOML keeps its lines, whatever the layout."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.problems import Problems
from flyoff.core.tomlfile import Written, parse_toml

LAYOUT = '''# a comment with [brackets] and "quotes"
title = "x # not a comment"

[a]
"quoted key" = 'single'
b.c = 3
long = """
several
lines""" # after
after = "here"

[[a.list]]
x = [
  "one",  # first
  "two",
]
[[a.list]]
y = { p = "q", r = { s = "t" } }
[a.list.sub]
deep = "z"
'''


def test_each_path_has_its_line():
    document = parse_toml(LAYOUT, "f.toml")
    expected = {
        ("title",): 2,
        ("a",): 4,
        ("a", "quoted key"): 5,
        ("a", "b", "c"): 6,
        ("a", "long"): 7,
        ("a", "after"): 10,
        ("a", "list", 0): 12,
        ("a", "list", 0, "x", 0): 14,
        ("a", "list", 0, "x", 1): 15,
        ("a", "list", 1, "y", "r", "s"): 18,
        ("a", "list", 1, "sub", "deep"): 20,
    }
    assert {path: document.lines[path] for path in expected} == expected


def test_strings_carry_their_place():
    value = parse_toml(LAYOUT, "f.toml").data["a"]["list"][1]["sub"]["deep"]
    assert isinstance(value, Written)
    assert str(value.place) == "f.toml:20"
    assert value.place.field == "a.list.1.sub.deep"


def test_a_missing_key_is_placed_at_its_table():
    assert parse_toml(LAYOUT, "f.toml").place("a", "nothing").line == 4


@pytest.mark.parametrize(
    ("text", "line"),
    [("a = 1\nb = \n", 2), ("a = 1\na = 2\n", 2), ("x = 'unclosed\n", 1), ("[t\n", 1), ("a = [1,\n2", 2)],
)
def test_a_syntax_fault_names_its_line(text, line):
    with pytest.raises(Problems) as caught:
        parse_toml(text, "f.toml")
    assert caught.value.problems[0].place.line == line


keys = st.text("abcdefg-_", min_size=1, max_size=5)
leaves = st.one_of(
    st.integers(-5, 5).map(str),
    st.sampled_from(['"s"', "'l#[]'", '"e\\"sc"', "true", "1979-05-27T07:32:00Z", '"""m\nn"""', "1.5"]),
)
values = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: "[\n" + ",\n# c\n".join(items) + "\n]"),
        st.lists(inner, max_size=3).map(lambda items: "[" + ", ".join(items) + "]"),
        st.dictionaries(keys, leaves.filter(lambda v: "\n" not in v), max_size=3).map(
            lambda d: "{" + ", ".join(f"{k} = {v}" for k, v in d.items()) + "}"
        ),
    ),
    max_leaves=6,
)


def paths(value, here=()):
    if isinstance(value, dict):
        for key, item in value.items():
            yield (*here, key)
            yield from paths(item, (*here, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield (*here, index)
            yield from paths(item, (*here, index))


@given(st.lists(st.tuples(st.booleans(), keys, st.dictionaries(keys, values, max_size=4)), max_size=4))
def test_every_path_of_any_document_has_a_line_inside_it(tables):
    text = ""
    for is_array, name, body in tables:
        text += f"[[{name}]]\n" if is_array else f"[{name}]\n"
        text += "".join(f"{key} = {value} # end\n" for key, value in body.items())
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    document = parse_toml(text, "f.toml")
    rows = text.split("\n")
    for path in paths(data):
        line = document.lines[path]
        assert 1 <= line <= len(rows)
        if isinstance(path[-1], str):
            assert path[-1] in rows[line - 1]
