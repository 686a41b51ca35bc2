"""Finding players' names and labelled numbers in words, and writing "a team-mate" for them. Pure.

Letters are compared without case and accents, and without signs that cannot be seen, so "INÈS"
and a name with a zero-width space in it are found as well. A number counts with a label only
("number 12", "#12", "no. 12").
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

# Letters that Unicode does not take apart into a letter and an accent.
_PLAIN = "øo łl đd ðd æae œoe þth ıi ħh"
LETTERS = {pair[0]: pair[1:] for pair in _PLAIN.split()}
SIGNS = {"’": "'", "‘": "'", "ʼ": "'", "`": "'", "´": "'", "‐": "-", "‑": "-", "–": "-", "—": "-"}
_PARTICLES = "da de del della den der di dos du el la le los mac mc san st ten ter van von y"
PARTICLES = frozenset(_PARTICLES.split())
# Names that are words as well: only their capital letter tells that a player may be meant.
_EVERYDAY = (
    "ace angel april art august autumn baker ball banks bay best bill black blue bob brook brooks "
    "brown carter case chance chase clay cliff colt cook court cross daisy dash dawn day dean dee "
    "drew driver earl eve faith field fields fisher foot forest frank gene glen good grace grant "
    "gray green guy hand harry heath hill hope hunter ivy jack jay jet joy june key king lance "
    "lane lily little long major mark may max miles nick page park pat pearl pierce pitt point "
    "post power price quick ray reed reef rich ring river rivers rob robin rock rocky rose ruby "
    "rush ryder sandy scout short shot sky small star stone storm strong sue summer sunny swift "
    "turner van wade walker ward west white will wing winter wolf wood woods young"
)
EVERYDAY = frozenset(_EVERYDAY.split())
_UNITS = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
)
UNITS = _UNITS.split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
TENS = _TENS.split()
ONE_LABEL = r"(?:\b(?:number|num|no|nr|jersey|shirt|player)\b[.:]?\s*\#?|\#|№)\s*"
MANY_LABEL = r"\b(?:numbers|nos|nrs|jerseys|shirts|players)\b[.:]?\s*"
SEPARATOR = r"\s*(?:,\s*and\b|,|/|&|\+|\band\b|\bor\b)\s*"
BEFORE, AFTER = r"(?<![^\W\d_])", r"(?![^\W\d_])"
TAIL = r"(?:'s|(?<=s)')?"
TAIL_OR_PLURAL = r"(?:'s|s'|s|(?<=s)')?"
GLUE = re.compile(r"[\s,(/&+\[\"-]*(?:\b(?:and|or)\b)?[\s(\[\"]*")
DETERMINER = re.compile(
    r"\b(?:a|an|the|our|my|your|his|her|their|this|that|another|other|any|every|each|one)\s+$", re.I
)
ALREADY = re.compile(r"\bteam-?mates?,?\s+$", re.I)
SENTENCE_START = re.compile(r"(?:^|[.!?:]\s+|\n)[\s\"'“‘(]*$")


@dataclass(frozen=True)
class Named:
    """Whom words may name: `numbers` are texts, all those that he wore or wears."""

    first_name: str
    last_name: str
    numbers: tuple[str, ...] = ()


@dataclass(frozen=True)
class Found:
    """One mention: the characters from `start` to `end` of the text, with its possessive."""

    start: int
    end: int
    words: str
    person: Named
    tail: str = ""


def fold(text: str) -> tuple[str, list[int]]:
    """`text` without case, accents and invisible signs, and for each letter its place in `text`."""
    letters: list[str] = []
    places: list[int] = []
    for place, sign in enumerate(text):
        sign = SIGNS.get(sign, sign)
        for letter in unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", sign).casefold()):
            if unicodedata.combining(letter) or unicodedata.category(letter) == "Cf":
                continue
            for plain in LETTERS.get(letter, letter):
                letters.append(plain)
                places.append(place)
    return "".join(letters), places


def folded(text: str) -> str:
    """Only the letters of `fold`, without spaces around."""
    return fold(text)[0].strip()


@lru_cache(maxsize=512)
def number_words(number: str) -> tuple[str, ...]:
    """How a number is written, as patterns: "31" as "31", "thirty-one" and "thirty one"."""
    if not number.isdecimal() or str(int(number)) != number or int(number) > 99:
        return (re.escape(folded(number)),)
    value = int(number)
    if value < len(UNITS):
        return (number, UNITS[value])
    tens, unit = TENS[value // 10 - 2], value % 10
    alone = rf"{tens}(?![\s-](?:{'|'.join(UNITS[1:10])})\b)"
    return (number, rf"{tens}[\s-]{UNITS[unit]}" if unit else alone)


def _spaced(name: str) -> str:
    return r"[\s-]+".join(re.escape(part) for part in re.split(r"[\s-]+", name) if part)


def _numbers(person: Named) -> str:
    return "|".join(word for number in person.numbers for word in number_words(number))


def _tail_of(name: str) -> str:
    """A plural counts as the name too ("the Okafors"), save where it would be an everyday word."""
    return TAIL if len(name) < 4 or name in EVERYDAY else TAIL_OR_PLURAL


def single_names(person: Named) -> list[str]:
    """What `person` may be called, folded: first name, last name, parts of double ones."""
    found: list[str] = []
    for name in (folded(person.first_name), folded(person.last_name)):
        parts = [part for part in re.split(r"[\s-]+", name) if len(part) > 2]
        found += [name, *(part for part in parts if part not in PARTICLES)]
    return list(dict.fromkeys(name for name in found if len(name) > 1))


def _patterns(person: Named) -> list[tuple[int, str]]:
    """(rank, pattern) for one person; the lowest rank is tried first."""
    first, last = folded(person.first_name), folded(person.last_name)
    numbers = _numbers(person)
    ahead = rf"(?:{ONE_LABEL})?(?:{numbers})\s+" if numbers else ""
    behind = rf"(?:\s*\((?:{ONE_LABEL})?(?:{numbers})\))?" if numbers else ""
    names: list[tuple[int, str]] = []
    if first and last:
        names.append((0, rf"{_spaced(first)}[\s._-]*{_spaced(last)}"))
        names.append((1, rf"{_spaced(first)}\s+{re.escape(last[0])}\b\.?"))
        names.append((1, rf"{re.escape(first[0])}(?:\.\s*|\s+){_spaced(last)}"))
    names = [(rank, name + TAIL) for rank, name in names]
    names += [(2, _spaced(name) + _tail_of(name)) for name in single_names(person)]
    found = [(rank + 3, rf"{BEFORE}{name}{AFTER}{behind}") for rank, name in names]
    if numbers:
        found += [(rank, rf"(?<!\w){ahead}{name}{AFTER}{behind}") for rank, name in names]
        found.append((6, rf"{ONE_LABEL}(?:{numbers})(?:'s)?(?![\d]|[^\W\d_])"))
    return found


@lru_cache(maxsize=256)
def _compiled(people: tuple[Named, ...]) -> tuple[re.Pattern[str], tuple[Named, ...]]:
    ranked = sorted(
        (rank, -len(words), index, words)
        for index, one in enumerate(people)
        for rank, words in _patterns(one)
    )
    pattern = "|".join(f"({words})" for *_ranks, words in ranked)
    return re.compile(pattern or r"(?!)"), tuple(people[index] for *_, index, _words in ranked)


def _unfold_lists(text: str, people: tuple[Named, ...]) -> str:
    """ "numbers 7 and 12" as "number 7 and number 12", so that one of them can be masked."""
    worn = "|".join(filter(None, (_numbers(person) for person in people)))
    if not worn:
        return text
    plain, places = fold(text)
    any_number = rf"(?:\d{{1,3}}|{worn})"
    items = rf"({any_number}(?:{SEPARATOR}\#?{any_number})*)"
    lists = re.compile(rf"{MANY_LABEL}{items}(?![\d]|[^\W\d_])")
    for match in reversed(list(lists.finditer(plain))):
        if not re.search(rf"(?<!\w)(?:{worn})(?!\w)", match[1]):
            continue
        told = re.sub(rf"({any_number})", r"number \1", match[1].replace("#", ""))
        text = text[: places[match.start()]] + told + text[places[match.end() - 1] + 1 :]
    return text


def _tail(words: str, person: Named) -> str:
    plain = re.sub(r"\s*\([^)]*\)$", "", folded(words))
    if plain.endswith(("'s", "'")):
        return "'s"
    is_name = any(plain.endswith(name) for name in single_names(person))
    return "s" if plain.endswith("s") and not is_name and not re.search(r"\d|#", plain) else ""


def find(text: str, people: Iterable[Named], *, careful: bool = False) -> list[Found]:
    """Every mention of `people` in `text`, in order.

    careful: leave out names that are everyday words too, unless they begin with a capital letter.
    """
    everyone = tuple(people)
    pattern, owners = _compiled(everyone)
    plain, places = fold(text)
    found = []
    for match in pattern.finditer(plain):
        if match.end() == match.start() or match.lastindex is None:
            continue
        start, end = places[match.start()], places[match.end() - 1] + 1
        while end < len(text) and unicodedata.combining(text[end]):
            end += 1
        words = text[start:end]
        if careful and folded(words).removesuffix("'s") in EVERYDAY and not words[0].isupper():
            continue
        person = owners[match.lastindex - 1]
        found.append(Found(start, end, words, person, _tail(words, person)))
    return found


def _wording(people: Sequence[Named]) -> tuple[str, str]:
    """The word for a team-mate and for several, free of the names themselves."""
    taken = {name for person in people for name in single_names(person)}
    for one, many in (("team-mate", "team-mates"), ("fellow player", "fellow players")):
        if not taken & set(re.split(r"[\s-]", f"{one} {many}")):
            return one, many
    return "other", "others"


def _runs(text: str, found: list[Found]) -> list[list[Found]]:
    """Mentions that follow each other in one list or apposition, taken together."""
    runs: list[list[Found]] = []
    for mention in found:
        if runs and GLUE.fullmatch(text[runs[-1][-1].end : mention.start]):
            runs[-1].append(mention)
        else:
            runs.append([mention])
    return runs


def _replacement(before: str, run: list[Found], words: tuple[str, str]) -> str:
    one, many = words
    several = len({mention.person for mention in run}) > 1 or run[-1].tail == "s"
    tail = run[-1].tail.removeprefix("s")
    if ALREADY.search(before):
        return "\b" + tail
    if several:
        masked = many + ("'" if tail else "")
    else:
        masked = ("" if DETERMINER.search(before) else "a ") + one + tail
    return masked[0].upper() + masked[1:] if SENTENCE_START.search(before) else masked


def mask(
    text: str, people: Iterable[Named], *, keep: Named | None = None, careful: bool = False
) -> str:
    """`text` with every mention of `people` written as "a team-mate".

    keep: the reader; his own full name stays, even where he shares a part of it with `people`.
    careful: as in `find`; never for those whom the words must not name.
    """
    masked = tuple(people)
    text = _unfold_lists(text, masked)
    own = [] if keep is None else _own_full_names(text, keep)
    found = [
        mention
        for mention in find(text, masked, careful=careful)
        if not any(start <= mention.start and mention.end <= end for start, end in own)
    ]
    words = _wording(masked)
    out, done = "", 0
    for run in _runs(text, found):
        out += text[done : run[0].start]
        done = run[-1].end
        put = _replacement(out, run, words)
        out = out.rstrip(" ,") + put[1:] if put.startswith("\b") else out + put
        opened = sum(text[a.end : b.start].count("(") for a, b in pairwise(run))
        if opened and text[done : done + 1] == ")":
            done += 1
    return out + text[done:]


def _own_full_names(text: str, keep: Named) -> list[tuple[int, int]]:
    first, last = folded(keep.first_name), folded(keep.last_name)
    if not first or not last:
        return []
    plain, places = fold(text)
    full = re.compile(rf"{BEFORE}{_spaced(first)}\s+{_spaced(last)}(?:'s|')?{AFTER}")
    return [(places[match.start()], places[match.end() - 1] + 1) for match in full.finditer(plain)]
