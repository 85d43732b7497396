"""The house style file: what it changes, and what is refused."""

from pathlib import Path

import pytest

from flyoff.charts.house import PLAIN, read_house
from flyoff.charts.style import LIGHT
from flyoff.core.problems import Problems


def problems(folder: Path, text: str) -> str:
    (folder / "house.toml").write_text(text)
    with pytest.raises(Problems) as caught:
        read_house(folder)
    return str(caught.value)


def test_without_a_file_it_is_plain(tmp_path: Path) -> None:
    assert read_house(tmp_path) is PLAIN


def test_the_starter_s_file_says_the_defaults(tmp_path: Path) -> None:
    starter = Path(__file__).parents[3] / "src/flyoff/demo/starter/house.toml"
    (tmp_path / "house.toml").write_bytes(starter.read_bytes())
    house = read_house(tmp_path)
    without = {"paper"}  # whose widths know where they were written
    assert house.record.model_dump(exclude=without) == PLAIN.record.model_dump(exclude=without)
    assert house.columns == PLAIN.columns


def test_what_it_says_is_what_is_drawn_by(tmp_path: Path) -> None:
    (tmp_path / "house.toml").write_text(
        '[numbers]\ndecimal = ","\nthousands = " "\n[units]\nsystem = "metric"\nkeep = ["ft"]\n'
        '[colours]\nlight = ["#8a1010", "#103a8a"]\ndark = ["#ff9090", "#90b0ff"]\n'
        'film = ["#ffc0c0", "#c0d0ff"]\n'
        '[paper]\nsingle = "90 mm"\ntext_pt = 7.5\n'
    )
    house = read_house(tmp_path)
    assert house.wording.text("1,234.5 lb at 6,000 ft") == "559,96 kg at 6\u202f000 ft"
    assert house.light.series == ("#8a1010", "#103a8a")
    assert house.light.ink == LIGHT.ink
    single, double = house.columns
    assert (single.width, double.width) == pytest.approx((90 * 96 / 25.4, 178 * 96 / 25.4))
    assert single.text == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('font = "Gothick Nowhere"', "house.toml:1: font: no typeface 'Gothick Nowhere'"),
        ('[units]\nkeep = ["furlong"]', "house.toml:2: units.keep.0: 'furlong'; expected a unit that"),
        ('[units]\nsystem = "imperial"', "house.toml:2: units.system"),
        ('[numbers]\ndecimal = ","', "',' twice; expected another mark for thousands"),
        ('[colours]\nlight = ["#0b64a0"]', "expected the same number of colours"),
        (
            '[colours]\nlight = ["#dddddd"]\ndark = ["#ff9090"]\nfilm = ["#ffc0c0"]',
            "house.toml:2: colours.light.0: #dddddd has a contrast of 1.4",
        ),
        (
            '[colours]\nlight = ["blue"]\ndark = ["#ff9090"]\nfilm = ["#ffc0c0"]',
            "'blue'; expected a colour such as",
        ),
        (
            '[colours]\nlight = ["#b8480a", "#806000"]\ndark = ["#ff9090", "#90b0ff"]\n'
            'film = ["#ffc0c0", "#c0d0ff"]',
            "#b8480a and #806000 differ by 2.4 for protan eyes",
        ),
        ('[paper]\nsingle = "2 mm"', "house.toml:2: paper.single"),
        ("[paper]\ntext_pt = 3.0", "house.toml:2: paper.text_pt"),
    ],
)
def test_what_cannot_be_is_refused_with_its_line(tmp_path: Path, text: str, words: str) -> None:
    assert words in problems(tmp_path, text)
