"""Words with times, out of cues. Pure."""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand.parts import Cue

# A word keeps its inner apostrophes and hyphens; "#12", "3-2" and "0.8" are words too.
WORD = re.compile(r"#?[^\W_]+(?:['’\-][^\W_]+|(?<=\d)[.:]\d+)*", re.UNICODE)


@dataclass(frozen=True)
class Word:
    """One word: as it was written, folded (lower case, no accents, plain apostrophes), its times in
    ms, the signs that follow it up to the next word (". ", ", ", ""), and the silence before it."""

    text: str
    folded: str
    start_ms: int
    end_ms: int
    after: str
    gap_ms: int

    @property
    def ends_sentence(self) -> bool:
        return any(sign in self.after for sign in ".!?…")


def folded(text: str) -> str:
    """Lower case, accents and apostrophes made plain, single spaces."""
    if text.isascii():
        return " ".join(text.casefold().split())
    plain = text.replace("’", "'").replace("ø", "o").replace("Ø", "O").replace("ł", "l")
    decomposed = unicodedata.normalize("NFKD", plain)
    bare = "".join(sign for sign in decomposed if not unicodedata.combining(sign))
    return " ".join(bare.casefold().split())


def timed(text: str, start_ms: int, end_ms: int) -> Iterator[tuple[re.Match[str], int, int]]:
    """The words of a text said between two times, each with its own: shared out by letters."""
    length, span = max(1, len(text)), end_ms - start_ms
    for match in WORD.finditer(text):
        first, last = (start_ms + span * at // length for at in match.span())
        yield match, first, last


def words_of(cues: Sequence[Cue]) -> list[Word]:
    """The words of all cues in order. Inside a cue the time is shared out by letters."""
    found: list[Word] = []
    last_end = cues[0].start_ms if cues else 0
    for cue in cues:
        matches = list(timed(cue.text, cue.start_ms, cue.end_ms))
        for index, (match, start, end) in enumerate(matches):
            following = matches[index + 1][0].start() if index + 1 < len(matches) else None
            after = cue.text[match.end() : following].strip()
            gap = max(0, start - last_end)
            found.append(Word(match[0], folded(match[0]), start, end, after, gap))
            last_end = end
    return found
