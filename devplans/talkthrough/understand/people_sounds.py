"""How English spelling sounds, and how much alike two strings of sounds are. Pure.

A string of sounds has one sign per sound: consonants as one expects, S as in she, Z as in vision,
C as in chin, J as in jam, T as in thin, N as in sing; vowels i (see), I (sit), A (say), e (set),
a (ah), x (the neutral one), U (put), u (soon), o (so), O (law), Y (sigh), W (now).
"""

import re
from functools import lru_cache
from itertools import product

VOWELS = "iIAeaxUuoOYW"

# Place of the tongue: front to back, high to low. Two vowels are as far apart as their places.
_PLACES = {
    "i": (0.0, 0.0), "I": (0.15, 0.2), "A": (0.05, 0.4), "e": (0.15, 0.55), "a": (0.4, 0.9),
    "x": (0.5, 0.6), "U": (0.8, 0.25), "u": (1.0, 0.0), "o": (0.95, 0.4), "O": (0.8, 0.8),
    "Y": (0.35, 0.75), "W": (0.65, 0.8),
}  # fmt: skip

_NEAR = {
    "pb": 0.25, "td": 0.25, "kg": 0.25, "fv": 0.2, "sz": 0.1, "SZ": 0.2, "CJ": 0.25, "Tt": 0.25,
    "Tf": 0.3, "Td": 0.3, "Ts": 0.4, "SC": 0.3, "Ss": 0.35, "Sz": 0.45, "JZ": 0.2, "Ct": 0.5,
    "Cs": 0.5, "Jd": 0.5, "Jy": 0.45, "Jz": 0.5, "JS": 0.4, "Zz": 0.25, "Zs": 0.4, "nm": 0.4,
    "nN": 0.1, "Nm": 0.45, "vb": 0.4, "vw": 0.35, "fp": 0.5, "fb": 0.6, "kh": 0.5, "gh": 0.5,
    "lr": 0.5, "wr": 0.6, "rd": 0.65, "lw": 0.65, "yl": 0.6, "kC": 0.6, "gJ": 0.6, "gk": 0.25,
    "pt": 0.7, "kt": 0.7, "bd": 0.7, "gd": 0.7, "vm": 0.7, "ln": 0.7, "hf": 0.6, "gw": 0.6,
    "Tv": 0.5, "mb": 0.7,
}  # fmt: skip

_GAPS = {"h": 0.2, "w": 0.35, "y": 0.3, "r": 0.5, "l": 0.6, "n": 0.6, "N": 0.5, "t": 0.65,
    "d": 0.65,
         "g": 0.65, "s": 0.65, "z": 0.65, "x": 0.18, "I": 0.2, "U": 0.25}  # fmt: skip


def _gap(sound: str) -> float:
    return _GAPS.get(sound, 0.32 if sound in VOWELS else 0.75)


def _swap(one: str, other: str) -> float:
    if one in VOWELS and other in VOWELS:
        across = (_PLACES[one][0] - _PLACES[other][0]) ** 2
        along = (_PLACES[one][1] - _PLACES[other][1]) ** 2
        return 0.08 + 0.37 * float((across + along) ** 0.5)
    if one in VOWELS or other in VOWELS:
        return 0.7 if {one, other} & set("wyr") else 1.3
    return 1.1


_SOUNDS = VOWELS + "pbtdkgfvszSZCJTmnNlrwyh"
_SWAPS = {a: {b: 0.0 if a == b else _swap(a, b) for b in _SOUNDS} for a in _SOUNDS}
for _pair, _cost in _NEAR.items():
    _SWAPS[_pair[0]][_pair[1]] = _SWAPS[_pair[1]][_pair[0]] = _cost
_COST_OF_GAP = {sound: _gap(sound) for sound in _SOUNDS}
_WEIGHT = {s: 0.45 if s in VOWELS else {"h": 0.4, "w": 0.7, "y": 0.6}.get(s, 1.0) for s in _SOUNDS}


@lru_cache(maxsize=100_000)
def weight(sounds: str) -> float:
    """How much there is to hear: consonants count one, vowels less than half."""
    return sum(_WEIGHT[sound] for sound in sounds)


@lru_cache(maxsize=200_000)
def alike(one: str, other: str) -> float:
    """1 for the same sounds, about 0.8 for a slip of the ear, below 0.6 for another word."""
    if one == other:
        return 1.0
    gaps = [_COST_OF_GAP[sound] for sound in other]
    row = [0.0]
    for gap in gaps:
        row.append(row[-1] + gap)
    for a in one:
        gap_a, swaps = _COST_OF_GAP[a], _SWAPS[a]
        diagonal, left = row[0], row[0] + gap_a
        out = [left]
        for index, b in enumerate(other):
            above = row[index + 1]
            best = diagonal + swaps[b]
            if above + gap_a < best:
                best = above + gap_a
            if left + gaps[index] < best:
                best = left + gaps[index]
            diagonal, left = above, best
            out.append(best)
        row = out
    cost = row[-1] + _start_cost(one, other)
    return max(0.0, 1 - cost / max(0.9, (weight(one) + weight(other)) / 2))


def _start_cost(one: str, other: str) -> float:
    """Speech recognisers seldom get the first consonant wrong."""
    a, b = one[:1], other[:1]
    if a == b or not a or not b or (a in VOWELS and b in VOWELS):
        return 0.0
    if a in VOWELS or b in VOWELS:
        return 0.05 if {a, b} & set("hwy") else 0.2
    return 0.4 * min(1.0, _SWAPS[a][b])


_CLASSES = {"p": "P", "b": "P", "f": "F", "v": "F", "t": "T", "d": "T", "T": "T", "k": "K",
    "g": "K",
            "s": "S", "z": "S", "S": "S", "Z": "S", "C": "S", "J": "S", "m": "N", "n": "N",
    "N": "N",
            "l": "L", "r": "R"}  # fmt: skip


def skeleton(sounds: str) -> str:
    """The consonants by the place where they are made; h, w and y come and go."""
    out = ""
    for sound in sounds:
        group = _CLASSES.get(sound, "")
        if group and not out.endswith(group):
            out += group
    return out


_COARSE = str.maketrans({**_CLASSES, **dict.fromkeys(VOWELS, "a"), "h": "", "w": "", "y": ""})


@lru_cache(maxsize=100_000)
def coarse(sounds: str) -> str:
    """Only groups of consonants and where vowels are: quick to compare."""
    return sounds.translate(_COARSE)


# Spelling to sounds, tried in this order at each place; several sounds: any of them.
_RULES: list[tuple[str, tuple[str, ...]]] = [
    (r"(?<=[aeiou])ugh(?=t)", ("",)), (r"eigh", ("A",)), (r"igh", ("Y",)), (r"aigh", ("A",)),
    (r"ough", ("o",)), (r"augh", ("O",)), (r"eau[xs]?", ("o",)), (r"^kn", ("n",)),
    (r"^gn", ("n",)), (r"^wr", ("r",)), (r"^ps", ("s",)), (r"^wh", ("w",)), (r"^x", ("z",)),
    (r"^rh", ("r",)), (r"^mc(?=[a-z])", ("mxk",)), (r"tch", ("C",)), (r"dge?(?=[eiy]|$)", ("J",)),
    (r"tion", ("Sxn",)), (r"[ts]sion", ("Sxn",)), (r"sion", ("Zxn",)), (r"sch", ("S", "sk")),
    (r"cqu", ("kw",)), (r"qu", ("kw",)), (r"ck", ("k",)), (r"ch", ("C", "k", "S")),
    (r"sh", ("S",)), (r"th", ("T",)), (r"ph", ("f",)), (r"^gh", ("g",)), (r"gh", ("",)),
    (r"ng(?=[aeiouy])", ("Ng", "nJ")), (r"ng", ("N",)), (r"nk", ("Nk",)), (r"mb$", ("m",)),
    (r"mn$", ("m",)), (r"x", ("ks",)), (r"cc(?=[eiy])", ("ks",)), (r"sc(?=[eiy])", ("s",)),
    (r"c(?=[eiy])", ("s",)), (r"cs?", ("k",)), (r"gu(?=[eiy])", ("g",)), (r"gg", ("g",)),
    (r"g(?=[eiy])", ("J", "g")), (r"j", ("J",)), (r"z+h", ("Z",)), (r"zz", ("z",)),
    (r"bb", ("b",)), (r"dd", ("d",)), (r"ff", ("f",)), (r"ll", ("l",)), (r"mm", ("m",)),
    (r"nn", ("n",)), (r"pp", ("p",)), (r"rr", ("r",)), (r"ss", ("s",)), (r"tt", ("t",)),
    (r"kk", ("k",)), (r"vv", ("v",)),
    (r"(?<=[aeiou])s(?=[aeiouy])", ("z",)), (r"(?<=[aeiou])h(?![aeiouy])", ("",)),
    (r"^y(?=[aeiou])", ("y",)), (r"(?<=[aeiou])y(?=[aeiou])", ("y",)),
    (r"air(?=e?$)|are$", ("er",)), (r"ear", ("ir", "xr")), (r"eer|ier(?=[se]|$)", ("ir",)),
    (r"oor|our$", ("Or",)), (r"[eiu]r(?![aeiouyr])", ("xr",)), (r"ar", ("ar",)),
    (r"or(?![aeiouy])", ("Or",)), (r"ire$", ("Yr",)),
    (r"aye?", ("A",)), (r"ai", ("A",)), (r"ae", ("A",)), (r"au|aw", ("O",)), (r"ah", ("a",)),
    (r"aa", ("a",)), (r"ea(?=$)", ("ix",)), (r"ea", ("i", "e")), (r"ee", ("i",)),
    (r"ei", ("A", "i")), (r"ey$", ("i", "A")), (r"ey", ("A",)), (r"eu|ew", ("u",)),
    (r"eo", ("io",)), (r"ie$", ("i",)), (r"ie", ("i",)), (r"ia", ("ix",)), (r"io", ("io",)),
    (r"iu", ("iu",)), (r"i(?=[bcdfgklmnprstvz]es?$)", ("Y",)), (r"i$", ("i",)),
    (r"i", ("I",)), (r"oa", ("o",)), (r"oe$", ("o",)), (r"oi|oy", ("OY",)), (r"oo", ("u",)),
    (r"ou", ("W", "u")), (r"ow$", ("o", "W")), (r"ow", ("W", "o")), (r"oh", ("o",)),
    (r"o(?=[bcdfgklmnprstvz]es?$)", ("o",)), (r"o$", ("o",)), (r"o", ("O",)),
    (r"ue$", ("u",)), (r"ui", ("u",)), (r"u(?=[bcdfgklmnprstvz]es?$)", ("u",)), (r"u$", ("u",)),
    (r"u", ("x",)), (r"a(?=[bcdfgklmnprstvz]es?$)", ("A",)), (r"a$", ("x",)), (r"a", ("a",)),
    (r"(?<=[aeiouy][bcdfgklmnprstvz])e(?=s?$)", ("",)), (r"(?<=[a-z]{2})e$", ("",)),
    (r"e(?=[bcdfgklmnprstvz]es?$)", ("i",)),
    (r"e$", ("i",)), (r"e", ("e",)), (r"y(?=[bcdfgklmnprstvz]es?$)", ("Y",)),
    (r"(?<=[a-z])y$", ("i",)), (r"^y$", ("Y",)), (r"y", ("I",)),
    (r"v", ("v",)), (r"w(?=[aeiouy])", ("w",)), (r"w", ("",)), (r"h", ("h",)),
    (r"[bdfklmnprstz]", ("",)),
]  # fmt: skip
_COMPILED = [(re.compile(pattern), sounds) for pattern, sounds in _RULES]
_PLAIN = set("bdfklmnprstz")

_ODD = {
    "the": "Tx", "of": "xv", "a": "x", "one": "wxn", "once": "wxns", "two": "tu", "to": "tu",
    "do": "du", "who": "hu", "you": "yu", "your": "yOr", "their": "Ter", "there": "Ter",
    "where": "wer", "were": "wxr", "are": "ar", "was": "wxz", "what": "wxt", "have": "hav",
    "some": "sxm", "come": "kxm", "done": "dxn", "none": "nxn", "gone": "gOn", "give": "gIv",
    "live": "lIv", "love": "lxv", "eye": "Y", "eyes": "Yz", "know": "no", "now": "nW", "how": "hW",
    "cow": "kW", "show": "So", "low": "lo", "go": "go", "she": "Si", "he": "hi", "we": "wi",
    "me": "mi", "be": "bi", "see": "si", "i": "Y", "oh": "o", "ah": "a", "eh": "A", "joe": "Jo",
    "shoe": "Su", "would": "wUd", "could": "kUd", "should": "SUd", "walk": "wOk", "talk": "tOk",
    "said": "sed", "says": "sez", "been": "bIn", "my": "mY", "by": "bY", "why": "wY", "eight": "At",
    "four": "fOr", "put": "pUt", "good": "gUd", "foot": "fUt", "look": "lUk", "watch": "wOC",
    "want": "wOnt", "people": "pipxl", "sure": "SUr", "sugar": "SUgxr", "key": "ki", "keys": "kiz",
    "quay": "ki", "hey": "hA", "they": "TA", "great": "grAt", "break": "brAk", "head": "hed",
    "ready": "redi", "through": "Tru", "though": "To", "tough": "txf", "enough": "Inxf",
    "rough": "rxf", "off": "Of", "is": "Iz", "his": "hIz", "as": "az", "has": "haz", "us": "xs",
    "this": "TIs", "ma": "ma", "pa": "pa", "la": "la", "ha": "ha", "da": "da", "shah": "Sa",
    "own": "on", "bow": "bo", "woman": "wUmxn", "son": "sxn", "won": "wxn", "wan": "wOn",
    "swan": "swOn", "juan": "wOn", "sean": "SOn", "shaun": "SOn", "shawn": "SOn", "leo": "lio",
    "zoe": "zoi", "chloe": "kloi", "kai": "kY", "thai": "tY", "mai": "mY", "lei": "lA",
    "michael": "mYkxl", "thomas": "tOmxs", "geo": "Jio", "leon": "liOn", "maria": "mxrix",
    "tyler": "tYlxr", "ryan": "rYxn", "brian": "brYxn", "dylan": "dIlxn", "isaac": "Yzxk",
    "isla": "Ylx", "phoebe": "fibi", "jose": "hosA", "jesus": "hAsus", "wei": "wA", "xi": "Si",
    "mia": "mix", "eva": "ivx", "ian": "ixn", "noah": "nox", "sarah": "serx", "hannah": "hanx",
    "naomi": "nAomi", "anais": "anYis", "eli": "ilY", "levi": "lIvY", "malachi": "malxkY",
    "siri": "siri", "giant": "JYxnt", "iowa": "Yowx", "ivy": "Yvi", "ivan": "Yvxn", "iris": "YrIs",
    "ira": "Yrx", "ice": "Ys", "ida": "Ydx", "tamia": "tamix", "maya": "mYx", "kaya": "kYx",
    "aya": "Yx", "freya": "frAx", "kiara": "kiarx", "ciara": "kirx", "kia": "kix", "lia": "lix",
    "nia": "nix", "tia": "tix", "pia": "pix", "ria": "rix", "mya": "mYx", "nya": "nYx",
    "ear": "ir", "car": "kar", "bear": "ber", "wear": "wer", "pear": "per", "her": "hxr",
}  # fmt: skip


@lru_cache(maxsize=60_000)
def ear(word: str) -> tuple[str, ...]:
    """The likely sounds of a folded word in English spelling, the likeliest first, four at most."""
    word = re.sub(r"[^a-z]", "", word)
    if word in _ODD:
        return (_ODD[word],)
    parts: list[tuple[str, ...]] = []
    place = 0
    while place < len(word):
        for pattern, sounds in _COMPILED:
            match = pattern.match(word, place)
            if match and match.end() > place:
                parts.append(sounds if sounds != ("",) or match[0] not in _PLAIN else (match[0],))
                place = match.end()
                break
        else:
            parts.append((word[place],) if word[place] in _SOUNDS else ("",))
            place += 1
    found: list[str] = []
    for choice in product(*parts):
        sounds_of = squeezed("".join(choice))
        if sounds_of not in found:
            found.append(sounds_of)
        if len(found) == 4:
            break
    return tuple(found)


def squeezed(sounds: str) -> str:
    """Doubled sounds are heard once."""
    out = ""
    for sound in sounds:
        if not out.endswith(sound):
            out += sound
    return out
