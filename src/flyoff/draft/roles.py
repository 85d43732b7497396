"""What each quantity is, from the words around it: which speed, which weight, of which airplane."""

import re
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from flyoff.draft.companions import PART_OF
from flyoff.draft.mention import Mention
from flyoff.draft.quantities import ADJECTIVES
from flyoff.draft.tokens import Tokens

_PLACES = r"(?:strip|field|runway|airport|airfield|aerodrome)"
# By dimension: roles with the words that tell them, without apostrophes. The nearest word decides.
_CUES: dict[str, tuple[tuple[str, str], ...]] = {
    "speed": (
        ("indicated_airspeed", r"indicat\w+(?: (?:air)?speed)?|k?ias|calibrated|dial|needle"),
        ("true_airspeed", r"true(?: (?:air)?speed)?|trued|truing|tas|ktas"),
        ("ground_speed", r"ground ?speed|over the ground|gps"),
        ("wind_speed", r"(?:head|tail|cross)? ?winds?|gusts?|gusting|on the nose|on the tail"),
        ("approach_speed", r"approach(?: speed)?|over the fence|cross the fence|short final|vref|final"),
        ("stall_speed", r"stall\w*(?: speed)?|vso|vs0|vs1"),
        ("climb_speed", r"climb speed|vy|vx|best rate|best angle|rotat\w+|lift off|pattern|circuit"),
        ("speed_limit", r"vne|never exceed|red line|redline|va|vno|flaps? (?:down|speed)|limit"),
        ("glide_speed", r"best glide|glide speed|gliding"),
        ("cruise_speed", r"cruis\w+(?: speed)?|manages|economy|averag\w+"),
    ),
    "vertical_speed": (
        ("rate_of_descent", r"descent|descend\w*|sink\w*|down"),
        ("rate_of_climb", r"climb\w*|going up"),
    ),
    "length": (
        ("density_altitude", r"density altitude"),
        ("elevation", rf"elevation|above (?:the )?sea|above sea level|{_PLACES} (?:is|lies|sits) at"),
        ("runway", r"runway|strip|landing (?:needed|took)|take ?off run|roll|rolled|paved|grass"),
        ("span", r"spans?|wingspan|wide|tall|high|across|inches?"),
        ("range", r"range"),
        ("height_change", r"climb|climbed|gain\w*|come down|descen\w+|lost"),
        ("altitude", r"at|from|level|altitude|fl"),
        ("distance", r"trip|leg|distance|miles|glid\w+|reach\w*|covered|flew|away|covers?"),
    ),
    "mass": (
        ("empty_weight", r"empty(?: weight| mass)?|dry tanks"),
        ("takeoff_weight",
         r"take ?off (?:weight|mass)|(?:max\w*|at) take ?off|gross\w*(?: weight)?|all up|mtow"
         r"|against (?:an?|its) (?:\w+ )?maximum of"),
        ("useful_load", r"useful(?: load)?"),
        ("payload", r"payload"),
        ("fuel_mass", r"fuel|avgas|jet fuel|jet a|diesel|gasoline|full tanks"),
        ("people_mass", r"people|passengers?|pilot|bags?|baggage|luggage|in front|in back"),
    ),
    "volume": (
        ("reserve_volume", r"reserve|holding back|held back|set aside|keep"),
        ("fuel_volume", r"fuel|usable|tanks?|burn\w*|avgas|jet|hold|holds|carry|took|used|totali[sz]er"),
    ),
    "time": (
        ("reserve_time", r"reserve"),
        ("endurance", r"endurance|last|lasts"),
        ("part_time", r"taxi|wait\w*|stop|warm ?up|clear\w*"),
        ("duration", r"tak\w+|took|hours?|flew|flight|leg|trip|in|flying"),
    ),
    "power": (
        ("rated_power", r"rated(?: at)?|engine|maximum|rating|percent of|per cent of|% of"),
        ("power",
         r"mak(?:es?|ing)|delivers?|giv(?:es?|ing)|gave|(?:puts|turns?) out|produc\w+|develop\w*|power|set"),
    ),
    "money": (
        ("total_price",
         r"total|comes to|the (?:bill|invoice)(?: came)? to|in all|altogether"
         r"|as equipped|equipped|as compared"),
        ("options_price", r"(?:options?|extras?)(?: costs?)?"),
        ("base_price", r"base(?: price)?"),
        ("price", r"prices?|costs?|worth|list|dearer|cheaper"),
    ),
    "ratio": (
        ("percent_power", r"power|percent of|rated|horsepower|throttle"),
        ("percent", r"percent"),
    ),
    "temperature": (("temperature_deviation", r"isa|above standard|below standard"), ("temperature", r"\w+")),
    "surface_load": (("wing_loading", r"wing loading|\w+"),),
    "power_load": (("power_loading", r"power loading|\w+"),),
    "volume_flow": (("fuel_flow", r"\w+"),),
    "mass_flow": (("fuel_flow", r"\w+"),),
    "specific_consumption": (("specific_consumption", r"\w+"),),
    "distance_per_volume": (("specific_range", r"\w+"),),
    "area": (("wing_area", r"wing|area|\w+"),),
    "glide_ratio": (("glide_ratio", r"\w+"),),
    "factor": (("stall_factor", r"stall\w*"),),
    "density": (("fuel_density", r"\w+"),),
}  # fmt: skip
_COMPILED = {
    dimension: tuple((role, re.compile(rf"\b(?:{words})\b")) for role, words in cues)
    for dimension, cues in _CUES.items()
}
_ONLY = {dimension: cues[-1][0] for dimension, cues in _CUES.items() if cues[-1][1].split("|")[-1] == r"\w+"}
"""What a quantity of a dimension is where no word says more."""
_DIFFERENCE = re.compile(
    r"^ ?(?:lighter|heavier|faster|slower|more|less|fewer|longer|shorter|dearer|cheaper|sooner|later"
    r"|earlier|quicker|higher|lower|greater|smaller|larger|better|worse|ahead|to spare|apart|farther"
    r"|further|advantage)\b"
)
_DIFFERENCE_BEFORE = re.compile(
    r"\b(?:difference|gap|margin|advantage|edge|improvement|increase|gain|rise|drop|fall|reduction)"
    r" of (?:only |just |about |some )?$"
)
_ARRIVES = re.compile(r"\b(?:landed|arrived|touched down|parked|were there|were down) $")
_BY = re.compile(r"\bby (?:about |some |nearly |over )?$")
_LATER = re.compile(r"^ ?later\b")
"""'Landed two hours later' tells how long it took."""
_SAVES = re.compile(r"\b(?:sav(?:e|es|ed|ing)|beats?|differ\w*|difference|by|gap|margin)\b")
_TOTAL = re.compile(r"^ ?(?:in all|altogether|all told|in total|together)\b")
_TOTAL_BEFORE = re.compile(
    r"\b(?:total|totals|sum|altogether|(?<!of )together|in all|all told|adds? up to)"
    r" (?:of |is |comes to |came to |to |the (?:two|three|four) |they |all |make |weigh )*$"
)
_FILLING = re.compile(r"\bwith (?:full|max|maximum) (?:fuel|tanks)\b")
_RESTATED = re.compile(r"\b(?:that|which) (?:is|makes)\b|\bmakes\b")
_WEIGHS = re.compile(r"^[ ,]*(?:at|thats|that is|which is|makes|equals|=) (?:about |some |like )?$")
"""What makes a mass the weight of the volume right before it."""
_PRICES = ("base_price", "options_price", "total_price")
_OF_TWO = ("difference", "total")
"""What words say even of a quantity whose unit tells what it is."""
_STALLED = {"stall_speed", "approach_speed"}
"""'It stalls at 58 knots, and the 76 knots of our approach are 1.3 times that.'"""
_PRODUCT = re.compile(
    r" (?:that|this|it|(?:the )?stall(?:ing)?(?: speed)?|vs0?)\b,?"
    r"(?: is| was| or| makes)?(?: flown)?(?: at)?[,:]? ?(?:about )?"
)
_ABUTS = "\x00"
"""Ends a context behind which the next quantity stands at once."""
_NEXT = re.compile(r"\b(?:of|the|its|a|an) $")
_CUT_AFTER = re.compile(
    r"[;:()]|,|\b(?:and|so|but|which|while|that gives|thats|because|leaves)\b|[.!?](?:\s|$)"
)
_CUT_BEFORE = re.compile(r"[;(]|[.!?]\s|\bso\b")
_LINKING = frozenset(
    ["of", "is", "was", "are", "were", "a", "an", "the", "at", "to", "about", "some", "nearly", "over", ":"]
)
"""Words between a quantity and what it is that make no distance."""
_OF_IT = frozenset(["of", "the", "a", "an", "in", "it", "them", "these", "those"])
"""The same behind a quantity: '6 of them in reserve'."""
_EARLIER = 8
"""How many quantities back one without words of its own may be like; own limit."""
_WINDOW = 90
"""Letters of context on each side; own limit."""
_APOSTROPHES = str.maketrans("", "", "'’")
_OTHERS = {"rival": "rival", "rivals": "rival", "yours": "yours", "mine": "mine", "others": "other"}
_ORDINALS = {
    ("the", "first"): "first",
    ("the", "second"): "second",
    ("the", "other"): "other",
    ("that", "one"): "that one",
    ("this", "one"): "this one",
}


def with_roles(
    tokens: Tokens, mentions: Sequence[Mention], airplanes: Mapping[str, str], carried: str = ""
) -> list[Mention]:
    """Return the quantities with what each is and of which airplane; `airplanes` are names by key."""
    owners = _owners(tokens, airplanes)
    named = _numbers_of_names(mentions, tokens, airplanes)
    found: list[Mention] = []
    contexts: list[str] = []
    taken, whole = "", -1
    for i, mention in enumerate(mentions):
        others = mentions[: i - 1] if i and mentions[i - 1].start in named else mentions[:i]
        before = _context(tokens, others[-1].end if others else 0, mention.start, back=True)
        if i and mentions[i - 1].dimension == "ratio":
            before = f"percent{before}"
        if i and mentions[i - 1].dimension == "factor" and _PRODUCT.fullmatch(before):
            before = f"{contexts[i - 1]} "  # 'we approach at 1.3 times that, 65 knots'
        if taken and mentions[i - 1].dimension == mention.dimension:
            before = _without(before, mention.dimension, taken)
        contexts.append(before)
        between = [word for word in tokens.words[mention.first + 1 : mention.last] if word in ADJECTIVES]
        before = " ".join((before, *between))
        following = mentions[i + 1].start if i + 1 < len(mentions) else len(tokens.text)
        after = _context(tokens, mention.end, following, back=False)
        if i + 1 < len(mentions) and mentions[i + 1].dimension == mention.dimension and _is_part(after):
            beyond = mentions[i + 2].start if i + 2 < len(mentions) else len(tokens.text)
            after = _context(tokens, mentions[i + 1].end, beyond, back=False)
            whole = i + 1
        elif i == whole:
            after = ""
        role, taken = mention.role, ""
        likes = () if i == whole else found[-_EARLIER:]
        told, behind = _role(mention, before, after, likes, followed=i + 1 < len(mentions))
        if role in ("", "vertical_speed"):
            role, taken = told or role, told if behind else ""
        elif told in _OF_TWO and mention.measure.dimension.startswith("money"):
            role = told
        found.append(replace(mention, role=role, airplane=_owner(owners, mention, tokens) or carried))
    return found


def _numbers_of_names(mentions: Sequence[Mention], tokens: Tokens, airplanes: Mapping[str, str]) -> set[int]:
    """Return where the numbers stand that belong to an airplane's name, and part no words."""
    names = tuple(name.lower() for name in airplanes.values())
    return {m.start for m in mentions if tokens.text[: m.end].lower().endswith(names)} if names else set()


def _is_part(after: str) -> bool:
    """Tell whether a quantity's whole is the next: what is said behind both is said of the part."""
    return PART_OF.fullmatch(after.strip()) is not None


def _without(before: str, dimension: str, role: str) -> str:
    """Leave out the words right behind the quantity before: they were said of that one."""
    words = next((pattern.pattern for name, pattern in _COMPILED.get(dimension, ()) if name == role), "")
    found = re.match(rf"\s*(?:of |in )?{words}", before) if words else None
    return before[found.end() :] if found else before


def last_airplane(tokens: Tokens, airplanes: Mapping[str, str], carried: str) -> str:
    """Return the airplane that was named last, for the paragraph that follows."""
    named = [owner for _, owner in _owners(tokens, airplanes) if owner in airplanes]
    return named[-1] if named else carried


def _context(tokens: Tokens, start: int, end: int, *, back: bool) -> str:
    start, end = (max(start, end - _WINDOW), end) if back else (start, min(end, start + _WINDOW))
    return tokens.said(start, end).translate(_APOSTROPHES).replace("-", " ")


def _role(
    mention: Mention, before: str, after: str, earlier: Sequence[Mention], *, followed: bool
) -> tuple[str, bool]:
    """Return what a quantity is, and whether the words right behind it say so."""
    dimension = mention.dimension
    close_after = _CUT_AFTER.split(after, maxsplit=1)[0]
    if followed and len(close_after) == len(after):
        close_after += _ABUTS
    cuts = list(_CUT_BEFORE.finditer(before))
    close_before = before[cuts[-1].end() :] if cuts else before
    if _DIFFERENCE_BEFORE.search(close_before):
        return "percent_difference" if dimension == "ratio" else "difference", False
    if _is_total(before=close_before, after=after, followed=followed):
        parts = [m for m in earlier if m.dimension == dimension and m.sentence == mention.sentence]
        of_price = dimension == "money" and (len(parts) < 2 or any(m.role in _PRICES for m in parts))
        return "total_price" if of_price else "total", False
    if dimension == "ratio" and _BY.search(close_before) and _are_two(mention, earlier):
        return "percent_difference", False
    arrives = not before.strip() or _ARRIVES.search(close_before)
    if dimension == "time" and arrives and _LATER.match(close_after):
        return "duration", False
    measured = _DIFFERENCE.search(close_after)
    if measured and close_after[measured.end() :].strip() != _ABUTS:  # 'the useful load less 60 gallons'
        return "percent_difference" if dimension == "ratio" else "difference", False
    if dimension == "mass" and (filled := _FILLING.sub(" ", close_before)).strip(" ,"):
        close_before, close_after = filled, _FILLING.sub(" ", close_after)
    if dimension in ("time", "volume", "volume_flow") and (_before(_SAVES, close_before) or 99.0) <= 3:
        return "difference", False
    speeds = [m.role for m in earlier if m.dimension == "speed"]
    if (
        dimension == "factor"
        and (speeds[-1:] == ["stall_speed"] or set(speeds[-2:]) == _STALLED)
        and _PRODUCT.match(after)
    ):
        return "stall_factor", False
    best, role, behind = 99.0, "", False
    for name, pattern in _cues(mention):
        ahead, back = _before(pattern, close_before), _after(pattern, close_after)
        for distance, from_behind in ((ahead, False), (back, True)):
            if distance is not None and distance < best:
                best, role, behind = distance, name, from_behind
    if not role and dimension == "mass" and _WEIGHS.search(close_before):
        role = "fuel_mass" if earlier and earlier[-1].role == "fuel_volume" else ""
    if (
        not role
        and mention.measure.label == "m/s"
        and any(m.role == "height_change" and m.sentence == mention.sentence for m in earlier)
    ):
        role = "vertical_speed"  # 'it climbed 1,500 m in 5 minutes, at 3.5 m/s'
    role = role or _ONLY.get(dimension, "")
    if not role and _RESTATED.search(close_before):
        earlier = ()
    return _by_kind(mention, role, best, earlier), behind and best < 1


def _are_two(mention: Mention, earlier: Sequence[Mention]) -> bool:
    """Tell whether the two quantities before, of one kind, may be what a percentage sets apart."""
    last = [m.dimension for m in earlier[-2:] if m.sentence == mention.sentence]
    return len(last) == 2 and last[0] == last[1] != "ratio"


def _is_total(*, before: str, after: str, followed: bool) -> bool:
    """Tell whether words call a quantity a total; 'together' right before the next is said of that one."""
    behind = after.strip(" ,")
    found = _TOTAL.search(behind)
    said_of_next = followed and found is not None and found.end() == len(behind)
    return (found is not None and not said_of_next) or _TOTAL_BEFORE.search(before) is not None


def _cues(mention: Mention) -> Iterator[tuple[str, re.Pattern[str]]]:
    """Yield the roles that a quantity can have with their words: metres per second may be a climb's."""
    vertical = mention.role == "vertical_speed"
    if vertical or mention.measure.label == "m/s":
        yield from _COMPILED["vertical_speed"]
    if not vertical:
        yield from _COMPILED.get(mention.dimension, ())


def _by_kind(mention: Mention, role: str, distance: float, earlier: Sequence[Mention]) -> str:
    """Settle what the words alone leave open."""
    if mention.elliptic and not role and earlier and earlier[-1].dimension == mention.dimension:
        return "" if earlier[-1].role in _OF_TWO else earlier[-1].role
    if mention.dimension == "length" and role not in ("range", "density_altitude", "elevation"):
        feet = mention.measure.label in ("ft", "m")
        if not feet and mention.measure.label not in ("in", "cm"):
            return "distance" if role in ("altitude", "height_change", "", "span", "distance") else role
        if feet and role == "distance":
            return "altitude" if mention.readings[0].si > 300 else ""
    if not role or distance > 8:
        same = [m for m in earlier if m.dimension == mention.dimension and m.sentence == mention.sentence]
        alike = same[-1].role if same and mention.dimension != "power" else ""
        if alike not in ("difference", "total", "") and not role:
            return alike
    if not role and mention.dimension == "volume":
        return "fuel_volume"
    if not role and mention.dimension == "time":
        return "duration"
    return role


def _before(pattern: re.Pattern[str], text: str) -> float | None:
    """Return how many words (a comma counts three) lie between the last cue and the end of the text."""
    ends = [found.end() for found in pattern.finditer(text)]
    if not ends:
        return None
    gap = text[ends[-1] :]
    return len([word for word in gap.split() if word not in _LINKING]) + 3.0 * gap.count(",") + 0.1


def _after(pattern: re.Pattern[str], text: str) -> float | None:
    found = pattern.search(text)
    if found is None:
        return None
    # 'of the rated' right before another quantity says what that one is.
    nexts = (
        4.0
        if text.endswith(_ABUTS)
        and not text[found.end() : -1].strip()
        and _NEXT.search(text[: found.start()])
        else 0.0
    )
    gap = text[: found.start()].split()
    return nexts + len([word for word in gap if word not in _OF_IT]) + 0.3


def _owners(tokens: Tokens, airplanes: Mapping[str, str]) -> list[tuple[int, str]]:
    """Return who is spoken of from which token on."""
    names = _names(airplanes)
    telling = {*names, *(f"{name}s" for name in names), *_OTHERS, *(first for first, _ in _ORDINALS), "both"}
    found = []
    for i, word in enumerate(tokens.words):
        if word not in telling or "than" in (tokens.word(i - 1), tokens.word(i - 2)):
            continue  # what another is measured against is not what the text goes on about
        word = word[:-1] if word not in names and word.endswith("s") and word[:-1] in names else word
        if word in names:
            found.append((i, names[word]))
        elif word in _OTHERS:
            found.append((i, _OTHERS[word]))
        elif owner := _ORDINALS.get((word, tokens.word(i + 1))):
            found.append((i, owner))
        elif word == "both":
            found.append((i, ""))
    return found


def _names(airplanes: Mapping[str, str]) -> dict[str, str]:
    """Return the words that name an airplane: its key, and its name's first word, if no other has them."""
    words: dict[str, str] = {}
    for key, name in airplanes.items():
        for word in {key.lower(), *(name.lower().split()[:1])}:
            words[word] = "" if word in words and words[word] != key else key
    return {word: key for word, key in words.items() if key}


def _owner(owners: Sequence[tuple[int, str]], mention: Mention, tokens: Tokens) -> str:
    """Return who was named last before a quantity, or else first behind it in its sentence."""
    at = bisect_left(owners, mention.first, key=lambda owner: owner[0])
    if at:
        return owners[at - 1][1]
    return owners[0][1] if owners and tokens.sentences[owners[0][0]] == mention.sentence else ""
