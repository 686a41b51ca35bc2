"""Words with times, out of cues. Pure."""

import re
import unicodedata
from collections.abc import Sequence
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
    plain = text.replace("’", "'").replace("ø", "o").replace("Ø", "O").replace("ł", "l")
    decomposed = unicodedata.normalize("NFKD", plain)
    bare = "".join(sign for sign in decomposed if not unicodedata.combining(sign))
    return " ".join(bare.casefold().split())


def words_of(cues: Sequence[Cue]) -> list[Word]:
    """The words of all cues in order. Inside a cue the time is shared out by letters."""
    found: list[Word] = []
    last_end = cues[0].start_ms if cues else 0
    for cue in cues:
        length = max(1, len(cue.text))
        span = cue.end_ms - cue.start_ms
        matches = list(WORD.finditer(cue.text))
        for index, match in enumerate(matches):
            start = cue.start_ms + span * match.start() // length
            end = cue.start_ms + span * match.end() // length
            following = matches[index + 1].start() if index + 1 < len(matches) else length
            after = cue.text[match.end() : following].strip()
            gap = max(0, start - last_end)
            found.append(Word(match[0], folded(match[0]), start, end, after, gap))
            last_end = end
    return found
