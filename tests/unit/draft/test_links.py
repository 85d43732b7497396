"""Links to figures in raw Markdown: found where they stand, put in, taken out, and nothing else touched."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from flyoff.core.problems import Problems
from flyoff.draft.links import Edit, Raw, figure_links, link_to, linked, unlinked
from flyoff.draft.markdown import markdown_blocks

TEXT = (
    "---\ntitle: [9 kt](figure:a.b)\n---\n# [1,090 nm](figure:tern.range?altitude=6000ft) of sea\r\n\r\n"
    'It is *[about 12\r\n kt](<figure:tern.cruise_speed> "so")* and [a page](https://example.org).\r\n\r\n'
    "| a | b |\n|---|---|\n| Tern | [9 gph](figure:tern.cruise_fuel_flow) |\n\n"
    "`[1 kt](figure:a.b)`\n\n```\n[5 ft](figure:a.b)\n```\n"
)


def seen(text):
    return [(block.kind, block.text) for block in markdown_blocks(text)]


def test_links_are_found_where_a_reader_sees_them():
    assert [(link.words, link.target, link.line) for link in figure_links(TEXT, "d.md")] == [
        ("1,090 nm", "figure:tern.range?altitude=6000ft", 4),
        ("about 12\r\n kt", "figure:tern.cruise_speed", 6),
        ("9 gph", "figure:tern.cruise_fuel_flow", 11),
    ]


def test_links_are_taken_out_and_every_other_letter_stays():
    bare = unlinked(TEXT, "d.md")
    assert bare == (
        TEXT.replace("[1,090 nm](figure:tern.range?altitude=6000ft)", "1,090 nm")
        .replace('[about 12\r\n kt](<figure:tern.cruise_speed> "so")', "about 12\r\n kt")
        .replace("[9 gph](figure:tern.cruise_fuel_flow)", "9 gph")
    )
    assert seen(bare) == seen(TEXT)
    assert unlinked(bare, "d.md") == bare


def test_a_link_by_reference_is_refused_with_its_line():
    with pytest.raises(Problems, match=r"d\.md:3: a link to a figure by reference; expected \[words\]"):
        unlinked("One.\n\n[12 kt][r]\n\n[r]: figure:tern.range\n", "d.md")


def test_what_cannot_hold_a_link_is_left_out():
    text = "At 12 kt, `13 kt`, and [all of 14 kt](https://example.org).\n"
    edits = [Edit(at, at + 5, link_to(text[at : at + 5], "t.cruise_speed"))
             for at in map(text.index, ("12 kt", "13 kt", "14 kt"))]  # fmt: skip
    whole, kept = linked(text, edits)
    assert kept == (edits[0],)
    assert whole == text.replace("12 kt", "[12 kt](figure:t.cruise_speed)")


def test_letters_after_a_backslash_or_an_entity_are_found():
    text = "\\12 kt\\* &amp; 12 kt\n"
    (block,) = markdown_blocks(text)
    at = block.text.rindex("12 kt")
    assert Raw(text).span(block, at, at + 5) == (text.rindex("12 kt"), text.rindex("12 kt") + 5)


@given(
    st.lists(
        st.sampled_from(
            ["words ", "12 kt", "*", "[", "]", "`", "|", "\n", "\n\n", "\\", "<b>", "(", ")", "é½ "]
        ),
        max_size=30,
    )
)
def test_binding_and_export_are_inverse(pieces):
    text = "".join(pieces) + " end\n"
    edits = [
        Edit(at, at + 5, link_to("12 kt", "a.b")) for at in range(len(text)) if text[at : at + 5] == "12 kt"
    ]
    whole, kept = linked(text, edits)
    assert seen(whole) == seen(text)
    assert len(figure_links(whole, "d.md")) == len(kept)
    assert unlinked(whole, "d.md") == text


@example("[\\", 2)
@given(st.text(st.sampled_from("a1 \r\n[]()`*|\\<>:_-~#\u2028\x0cé"), max_size=60), st.integers(0, 60))
def test_no_text_breaks_it(text, at):
    text = f"{text[:at]}[12 kt](figure:a.b){text[at:]}"
    try:
        bare = unlinked(text, "d.md")
    except Problems:
        return
    assert len(figure_links(bare, "d.md")) == 0
    ended = text.replace("](figure:a.b)", "")
    opened = [mark for mark, sign in enumerate(ended) if sign == "["]
    assert bare in (text, *(ended[:mark] + ended[mark + 1 :] for mark in opened))
