"""The check of a draft: every quantity found, placed, understood, and judged by one of five words."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TypeAlias

from flyoff.draft.bound import bound_figures
from flyoff.draft.claims import Known, Match, Records, agrees, match
from flyoff.draft.findings import Checked, Finding, Verdict
from flyoff.draft.judging import Impossible, Silent, judge
from flyoff.draft.mention import Mention
from flyoff.draft.quantities import mentions_of
from flyoff.draft.roles import last_airplane, with_roles
from flyoff.draft.stated import judge_stated
from flyoff.draft.tabled import TableValues, judge_tables
from flyoff.draft.text import Block, Draft
from flyoff.draft.tokens import Tokens, tokens_of

_CLAIMS = frozenset(
    [
        "cruise_speed",
        "true_airspeed",
        "ground_speed",
        "indicated_airspeed",
        "stall_speed",
        "approach_speed",
        "climb_speed",
        "glide_speed",
        "vertical_speed",
        "rate_of_climb",
        "rate_of_descent",
        "range",
        "span",
        "runway",
        "distance",
        "density_altitude",
        "empty_weight",
        "takeoff_weight",
        "useful_load",
        "payload",
        "fuel_mass",
        "fuel_volume",
        "reserve_volume",
        "reserve_time",
        "endurance",
        "duration",
        "rated_power",
        "power",
        "total_price",
        "options_price",
        "base_price",
        "price",
        "hourly_cost",
        "yearly_cost",
        "cost_per_distance",
        "wing_loading",
        "power_loading",
        "wing_area",
        "fuel_flow",
        "specific_consumption",
        "specific_range",
        "glide_ratio",
        "difference",
        "percent_difference",
    ]
)
"""The roles that a figure should stand behind; an altitude or a temperature is a condition."""
_UNTOLD = frozenset(["speed", "mass", "power", "money"])
"""What claims something even where the text does not say what; a bare length is mostly a height."""
_CONDITIONS = {"altitude": "altitude", "percent_power": "power"}
_Stated: TypeAlias = Mapping[tuple[str, int], Sequence[Mention]]
_NO_FIGURES = "no figures were given to compare it with"


class _Reader:
    """Reads block by block; the airplane named last is carried on."""

    def __init__(self, draft: Draft, records: Records) -> None:
        self.draft, self.records = draft, records
        self.carried = ""
        self.names = dict(records.airplanes) or _row_names(draft)

    def blocks(self) -> Iterator[tuple[int, Block, Tokens, list[Mention], list[str]]]:
        for number, block in enumerate(self.draft.blocks):
            tokens = tokens_of(block.text)
            mentions = mentions_of(tokens)
            if mentions or self.names:
                if block.kind == "cell":
                    mentions = [_cell_mention(block, mention, self.names) for mention in mentions]
                else:
                    mentions = with_roles(tokens, mentions, self.names, self.carried)
                    self.carried = last_airplane(tokens, self.names, self.carried)
            bound = bound_figures(block, mentions, self.records.figures)
            yield number, block, tokens, bound, _sentences(tokens)


def check_draft(draft: Draft, records: Records | None = None) -> Checked:
    """Return every quantity of a draft with its verdict; without records only the impossible is accused."""
    records = records or Records()
    reader = _Reader(draft, records)
    findings: list[Finding] = []
    tables = TableValues()
    texts: list[tuple[int, list[Mention]]] = []
    for number, block, tokens, mentions, sentences in reader.blocks():
        if not mentions:
            continue
        if block.kind == "cell":
            tables.add(number, mentions)
        else:
            texts.append((number, mentions))
        stated = _stated(mentions)
        accused = _impossible(tokens, mentions, sentences) if block.kind != "cell" else {}
        for mention in mentions:
            finding = _finding(tokens, mention, accused.get(id(mention)), records, sentences, stated)
            findings.append(_placed(finding, mention, draft, number))
    if tables:
        findings = _with_tables(findings, judge_tables(texts, tables, draft))
    return Checked(draft, tuple(sorted(findings)), draft.notes)


def read_mentions(draft: Draft, records: Records) -> dict[tuple[int, int], Mention]:
    """Return every quantity of a draft as read, by its block's number and its first letter."""
    found = _Reader(draft, records).blocks()
    return {(number, m.start): m for number, _, _, mentions, _ in found for m in mentions}


def _sentences(tokens: Tokens) -> list[str]:
    """Return each sentence in small letters, for its words to be searched."""
    count = tokens.sentences[-1] + 1 if len(tokens) else 0
    ends = [0] * count
    starts = [0] * count
    for i in range(len(tokens) - 1, -1, -1):
        starts[tokens.sentences[i]] = tokens.starts[i]
    for i, sentence in enumerate(tokens.sentences):
        ends[sentence] = tokens.ends[i]
    return [tokens.text[a:b].lower().replace("’", "'") for a, b in zip(starts, ends, strict=True)]


def _clause(tokens: Tokens, mention: Mention) -> str:
    """Return the words around a quantity between the nearest semicolons of its sentence, in small letters."""
    first, last = mention.first, mention.last
    while first and tokens.words[first - 1] != ";" and tokens.sentences[first - 1] == mention.sentence:
        first -= 1
    while last < len(tokens) and tokens.words[last] != ";" and tokens.sentences[last] == mention.sentence:
        last += 1
    return tokens.text[tokens.starts[first] : tokens.ends[last - 1]].lower()


def _impossible(
    tokens: Tokens, mentions: Sequence[Mention], sentences: Sequence[str]
) -> dict[int, Impossible | Silent]:
    """Return the first thing said against each quantity; what is impossible goes before what is not told.

    Where the same quantity stands twice beside those that contradict it, the nearer is accused.
    """
    found: dict[int, Impossible | Silent] = {}
    nearest: dict[object, tuple[int, int]] = {}
    for verdict in (*judge_stated(tokens, mentions), *judge(mentions, sentences)):
        mention = verdict.mention
        known = found.get(id(mention))
        if known is not None and not (isinstance(known, Silent) and isinstance(verdict, Impossible)):
            continue
        if isinstance(verdict, Impossible):
            same = (verdict.relation, mention.text, tuple(other.start for other in verdict.others))
            distance = min((abs(other.first - mention.first) for other in verdict.others), default=0)
            if same in nearest and nearest[same][0] <= distance:
                continue
            if same in nearest:
                found.pop(nearest[same][1])
            nearest[same] = (distance, id(mention))
        found[id(mention)] = verdict
    return found


def _finding(
    tokens: Tokens,
    mention: Mention,
    accused: Impossible | Silent | None,
    records: Records,
    sentences: Sequence[str],
    stated: _Stated,
) -> Finding:
    if mention.dimension == "count":
        return _said(mention, "not a figure", "a number without a unit")
    if mention.figure:
        return _bound(mention, records, accused)
    if isinstance(accused, Impossible):
        return _said(mention, "impossible", accused.why, accused.expected, relation=accused.relation)
    found = records.figures and match(
        mention,
        records,
        sentences[mention.sentence],
        _clause(tokens, mention),
        _conditions(mention, stated),
    )
    if found:
        return _against(mention, found)
    if isinstance(accused, Silent):
        return _said(mention, "unsupported", accused.why, relation=accused.relation)
    if not mention.role and mention.dimension in _UNTOLD:
        return _said(mention, "unsupported", f"no word near it says which {mention.dimension} it is")
    if mention.role not in _CLAIMS:
        return _said(mention, "not a figure", f"a {mention.dimension.replace('_', ' ')} that claims nothing")
    why = "no figure of the study says this" if records.figures else _NO_FIGURES
    if records.figures and not mention.airplane:
        why = "no airplane is named that it could be a figure of"
    return _said(mention, "unsupported", f"{why} ({mention.role.replace('_', ' ')})")


def _said(
    mention: Mention, verdict: Verdict, why: str, expected: str = "", figure: str = "", relation: str = ""
) -> Finding:
    return Finding("", 0, 0, mention.text, verdict, why, expected, figure, relation)


def _against(mention: Mention, found: Match) -> Finding:
    known = found.known
    quantity = known.quantity.rpartition(".")[2]
    if found.agrees:
        return _said(
            mention, "supported", f"{known.key} is {known.printed or _value(known)}", figure=known.key,
            relation=quantity,
        )  # fmt: skip
    return _contradicted(mention, known, quantity)


def _contradicted(mention: Mention, known: Known, quantity: str) -> Finding:
    fitting = (r.measure for r in mention.readings if r.measure.dimension == known.dimension)
    measure = next(fitting, mention.measure)
    value = abs(known.si) if mention.role == "difference" else known.si
    expected = mention.written(value, measure, known.step_si)
    difference = mention.readings[0].si - value
    gap = mention.written(abs(difference) + measure.offset, measure, known.step_si)
    within = " (inside its ±)" if abs(difference) <= known.u95_si else ""
    side = "more" if difference > 0 else "less"
    why = f"{known.key} is {known.printed or _value(known)}; this is {gap} {side}{within}: write {expected}"
    return _said(mention, "contradicted", why, expected, known.key, quantity)


def _value(known: Known) -> str:
    return f"{known.si:g} (SI)"


def _bound(mention: Mention, records: Records, accused: Impossible | Silent | None) -> Finding:
    """Judge words that a link binds to a figure: against exactly that one."""
    known = records.figures.get(mention.figure)
    if isinstance(accused, Impossible) and known is None:
        return _said(mention, "impossible", accused.why, accused.expected, mention.figure, accused.relation)
    if known is None:
        reason = records.refused.get(mention.figure, _NO_FIGURES)
        why = f"it is bound to {mention.figure}; {reason}"
        return _said(mention, "unsupported", why, figure=mention.figure)
    quantity = known.quantity.rpartition(".")[2]
    if known.dimension not in {r.measure.dimension for r in mention.readings}:
        why = f"it is bound to {known.key}, which is a {known.dimension.replace('_', ' ')}"
        return _said(mention, "contradicted", why, known.printed, known.key, quantity)
    if agrees(mention, known, magnitude=mention.role == "difference"):
        return _against(mention, Match(True, known))
    return _contradicted(mention, known, quantity)


def _stated(mentions: Sequence[Mention]) -> _Stated:
    """Return the altitudes and the powers that a text names, by the number of the sentence."""
    found: dict[tuple[str, int], list[Mention]] = {}
    for mention in mentions:
        if name := _CONDITIONS.get(mention.role):
            found.setdefault((name, mention.sentence), []).append(mention)
    return found


def _conditions(mention: Mention, stated: _Stated) -> dict[str, Mention]:
    """Return the altitude and power a quantity is said to be at: the last before it, or the first behind."""
    if mention.role not in ("cruise_speed", "true_airspeed", "fuel_flow", "specific_range"):
        return {}
    found = {}
    for name in _CONDITIONS.values():
        here = stated.get((name, mention.sentence), ())
        before = [m for m in here if m.first < mention.first]
        if here:
            found[name] = before[-1] if before else here[0]
    return found


def _placed(finding: Finding, mention: Mention, draft: Draft, number: int) -> Finding:
    spot = draft.blocks[number].spot(mention.start)
    return replace(
        finding, file=draft.file, line=spot.line, column=spot.column, time=spot.time, block=number,
        start=mention.start, end=mention.end,
    )  # fmt: skip


def _row_names(draft: Draft) -> dict[str, str]:
    """Return the names that a draft's tables have for their rows; they name airplanes where no study does."""
    rows = {block.cell.row for block in draft.blocks if block.cell and block.cell.row and block.cell.column}
    return {row.split()[0].lower(): row for row in rows if row[:1].isalpha()}


def _cell_mention(block: Block, mention: Mention, names: Mapping[str, str]) -> Mention:
    """Return a cell's quantity with what the headings of its row and column say of it."""
    heading = f"{block.cell.row} {block.cell.column}".strip() if block.cell else ""
    words = heading.lower().split()
    owner = next((key for key, name in names.items() if {key, name.lower().split()[0]} & set(words)), "")
    tokens = tokens_of(f"{heading} is {mention.text}")
    read = with_roles(tokens, mentions_of(tokens), {})
    return replace(mention, role=read[-1].role if read else "", airplane=owner)


def _with_tables(findings: list[Finding], said: Mapping[tuple[int, int], tuple[str, str]]) -> list[Finding]:
    """Accuse what a table contradicts, unless it was accused of the impossible before."""
    found = []
    for finding in findings:
        place = (finding.block, finding.start)
        if place in said and finding.verdict != "impossible":
            why, expected = said[place]
            finding = replace(finding, verdict="impossible", why=why, expected=expected, relation="table")
        found.append(finding)
    return found
