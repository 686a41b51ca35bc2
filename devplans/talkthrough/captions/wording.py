"""The words of a cue: tags, signs, sounds and speakers' labels are no words. Pure."""

import html
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from devplans.talkthrough.captions.stamps import STAMP, ms_of

_INNER = re.compile(rf"<{STAMP}>")
# An inner time as one word that cleaning leaves alone.
_MARK = "\ue000{}\ue001"
_MARKED = re.compile("\ue000(\\d{1,12})\ue001")
_TAG = re.compile(r"</?[A-Za-z0-9][^<>]*>")
_EDITOR = re.compile(r"\{[\\/][^{}]{0,100}\}")
_SOUNDS = (
    "music|applause|applauding|laugh|laughs|laughter|laughing|chuckles|inaudible|unintelligible|"
    "indistinct|crosstalk|noise|silence|pause|blank_audio|cheering|cheers|crowd|whistle|whistles|"
    "buzzer|cough|coughs|sighs|foreign|speaker|background|sound|sounds|clears throat|beep"
)
_SOUND = re.compile(
    rf"[\[(](?:\s*_+\s*|[^\[\]()]{{0,30}}\b(?:{_SOUNDS})\b[^\[\]()]{{0,30}})[\])]", re.IGNORECASE
)
_NOTES = re.compile(r"[♪♫♬♩]+")
_CHANGE = re.compile(r"(?:^|(?<=\s))>{2,}\s*|^\s*[-–—]\s+")
_SHOUTED = re.compile(r"[A-Z][A-Z.'’\- ]{1,30}(?: [0-9]{1,2})?:(?=\s|$)")
_ROLE = re.compile(
    r"(?:(?:head|assistant|asst\.?) )?(?:coach|speaker|narrator|host|commentator|voice|trainer)"
    r"(?: [\w.'’\-]{1,20}){0,2}:(?=\s|$)",
    re.IGNORECASE,
)
_LABEL = re.compile(r"[A-Z][\w.'’\-]{0,20}(?: [A-Z][\w.'’\-]{0,20}){0,2}:(?=\s)")
_SPACE = re.compile(r"\s+")
_BARE = re.compile(r"[^\w']+")


@dataclass(frozen=True)
class Token:
    """A word as it is written, as it is compared, and its time where an inner tag says one."""

    text: str
    bare: str
    at_ms: int | None = None
    ends_line: bool = False


def cleaned(line: str) -> str:
    """A line without tags, sounds and signs; inner times stand in it as marks."""
    line = _INNER.sub(lambda match: _MARK.format(ms_of(match.groups())), line)
    line = html.unescape(_EDITOR.sub("", _TAG.sub("", line)))
    line = _CHANGE.sub("", _NOTES.sub(" ", _SOUND.sub(" ", line)))
    return _SPACE.sub(" ", line).strip()


def labels_of(lines: Iterable[str]) -> frozenset[str]:
    """Names that are a speaker's and not said: one stands before half of all lines. A coach who
    says "Name: …" to one player after the other says so to many."""
    counts: Counter[str] = Counter()
    total = 0
    for line in lines:
        total += bool(line)
        if match := _LABEL.match(line):
            counts[match[0]] += 1
    most = counts.most_common(1)
    if most and most[0][1] >= 3 and most[0][1] * 2 >= total:
        return frozenset(label for label, count in counts.most_common(3) if count >= 2)
    return frozenset()


def unlabelled(line: str, labels: frozenset[str]) -> str:
    match = _SHOUTED.match(line) or _ROLE.match(line)
    if match is None and (match := _LABEL.match(line)) and match[0] not in labels:
        return line
    return line[match.end() :].lstrip() if match else line


def tokens_of(lines: Sequence[str]) -> list[Token]:
    """The words of cleaned lines. Each line begins without a time of its own."""
    tokens: list[Token] = []
    for line in lines:
        words = list(_timed(line))
        last = len(words) - 1
        tokens += [
            Token(word, bare(word), at, index == last) for index, (at, word) in enumerate(words)
        ]
    return tokens


def _timed(line: str) -> Iterator[tuple[int | None, str]]:
    at: int | None = None
    # Odd parts are the marks' milliseconds.
    for index, part in enumerate(_MARKED.split(line)):
        if index % 2:
            at = int(part)
            continue
        for word in part.split():
            yield at, word
            at = None


def bare(word: str) -> str:
    return _BARE.sub("", word).casefold() or word
