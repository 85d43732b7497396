"""What the text says against what its own tables say of the same airplane and the same quantity."""

from collections.abc import Sequence

from flyoff.draft.mention import Mention
from flyoff.draft.text import Draft

_SAME = {"true_airspeed": "cruise_speed", "total_price": "price"}


class TableValues:
    """The values of a draft's tables by airplane, quantity and dimension."""

    def __init__(self) -> None:
        self.values: dict[tuple[str, str, str], list[tuple[int, Mention]]] = {}

    def __bool__(self) -> bool:
        return bool(self.values)

    def add(self, block: int, mentions: Sequence[Mention]) -> None:
        """Take the values of one cell."""
        for mention in mentions:
            if key := _key(mention):
                self.values.setdefault(key, []).append((block, mention))

    def of(self, mention: Mention) -> list[tuple[int, Mention]]:
        """Return the values of tables for what a quantity of the text is."""
        key = _key(mention)
        return self.values.get(key, []) if key else []


def judge_tables(
    texts: Sequence[tuple[int, Sequence[Mention]]], tables: TableValues, draft: Draft
) -> dict[tuple[int, int], tuple[str, str]]:
    """Return what tables contradict: block and first letter, with why and what was expected.

    A quantity at a stated altitude is another one than the table's; where tables
    give several values, one that agrees is enough.
    """
    found = {}
    for number, mentions in texts:
        high = {mention.sentence for mention in mentions if mention.role == "altitude"}
        for mention in mentions:
            values = tables.of(mention)
            if not values or any(_agree(mention, value) for _, value in values):
                continue
            if mention.sentence in high:
                continue
            block, value = values[0]
            line = draft.blocks[block].spot(value.start).line
            expected = mention.written(value.readings[0].si)
            why = f"the table at line {line} has '{value.text}' for this, not '{mention.text}'"
            found[number, mention.start] = (why, expected)
    return found


def _key(mention: Mention) -> tuple[str, str, str] | None:
    if not mention.airplane or not mention.role or mention.role in ("difference", "total", "altitude"):
        return None
    return mention.airplane, _SAME.get(mention.role, mention.role), mention.dimension


def _agree(a: Mention, b: Mention) -> bool:
    return any(x.low <= y.high and y.low <= x.high for x in a.readings for y in b.readings)
