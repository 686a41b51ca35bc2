# ruff: noqa: E501 - lists of words and patterns
"""Where talk may be cut: sentences, clauses, breaks. Works with and without punctuation. Pure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand.words import Word

PAUSE_MS = 800
SILENCE_MS = 2_000
# In captions without signs, words run on; a gap of this length is the end of a sentence.
BARE_GAP_MS = 200
# Fewer signs than one in so many words: captions without punctuation.
BARE_WORDS = 30

# The talk turns to something new.
BREAKS = re.compile(
    r"(?:(?:ok|okay|right|alright|all right|and|so|now|yeah|yes|good|then) )*"
    r"(?:next (?:one|clip|up|play|possession|thing|bit|trip|part|part|sequence|action|example)"
    r"|moving on|move on|let's move on|let's go on|carry on|carrying on|let's keep going"
    r"|(?:second|third|fourth|first|last|another|new) (?:one|clip|play|possession|example)"
    r"|different (?:one|clip)|other end|same (?:again|thing|clip|play|possession)"
    r"|(?:a )?(?:bit|little) later|few (?:plays|possessions|trips) later|later on"
    r"|skip (?:on|ahead|forward)|let me (?:skip|wind|rewind|go back|stop|pause)"
    r"|pause(?: it| that| here| there)|stop (?:it )?(?:here|there)|rewind|back up a bit"
    r"|so this (?:one|clip)|this next one|following (?:one|clip)|after (?:that|this))\b"
)
# A new sentence likely begins here.
OPENERS = re.compile(
    r"(?:okay|ok|alright|all right|right so|right now then|right then|so here|so now|so this"
    r"|so watch|so look|so we|so that's|so then|now (?:watch|look|here|we|this|you|i|the|see)"
    r"|watch|look (?:at|here|how|where|what)|look|again (?:you|he|she|here|we|this)|here (?:we|you|is|comes|it|he|she|they)"
    r"|here's|and here|and now|and then|and again|and look|and watch|see (?:how|here|that|the)"
    r"|see|anyway|anyhow|well|oh|ah|listen"
    r"|vale|bueno|entonces|alors|voila|also gut|na gut|dobro|dobre|allora|ecco|tak|hajde"
    r"|first of all|finally|meanwhile|on the other (?:side|hand|end)|at the other end)\b"
)
# Behind these "see", "look", "watch" go on with the sentence.
WITHIN = frozenset(
    [
        "you",
        "i",
        "we",
        "they",
        "he",
        "she",
        "to",
        "can",
        "can't",
        "could",
        "don't",
        "didn't",
        "not",
        "never",
        "must",
        "should",
        "will",
        "would",
        "you'll",
        "we'll",
        "i'll",
        "let's",
        "just",
        "ye",
        "who",
    ]
)
# "On the next one", "at the other end": no new beginning in the middle of a sentence.
GOING_ON = frozenset(
    [
        "the",
        "this",
        "that",
        "on",
        "at",
        "in",
        "to",
        "for",
        "a",
        "an",
        "of",
        "from",
        "his",
        "her",
        "your",
        "our",
        "you're",
        "he's",
    ]
)
# A clause likely begins here.
CLAUSES = re.compile(
    r"(?:but|because|cause|cuz|so|and (?:you|she|he|they|we|i|it|then|that|that's|it's|there|now"
    r"|don't|just|if|when|your|her|his|the|instead|get|go|stay|keep|make|put|come|be|please)"
    r"|or|then|if|when|instead|next time|unless|otherwise|except|whereas|while"
    r"|i (?:want|need|would|like|love|think|don't|just|know|mean|see|said|told)|i'd|i'll|i'm"
    r"|you (?:have|need|must|should|can|could|gotta|got|want|are|were|did|do|don't|didn't|just)"
    r"|you've|you're|you'd|you'll|we (?:need|have|must|want|can't|should|got)|we've"
    r"|she (?:has|needs|must|should|is|was|does|did|just)|she's|he (?:has|needs|must|should|is"
    r"|was|does|did|just)|he's|they're|don't|do not|let's|let us|try|just|why|where|where's|what"
    r"|how (?:many|about|come|do|is|are)|that's|that is|that was|this is|it's|there's"
    r"|what if|what about|gotta|make sure|see if|good|great|nice|lovely|love|well done|better"
    r"|never|please|come on|the answer|my advice|rather)\b"
)


@dataclass(frozen=True)
class Cut:
    """A place before word `at` where the talk may be cut. level 1: a clause, 2: a sentence or a
    pause, 3: a silence or words that turn to something new."""

    at: int
    level: int


def is_bare(words: Sequence[Word]) -> bool:
    return sum(word.ends_sentence for word in words) * BARE_WORDS < len(words)


def cuts(words: Sequence[Word]) -> list[Cut]:
    """All of them in order; the first is before the first word."""
    bare = is_bare(words)
    found = [Cut(0, 3)] if words else []
    for at in range(1, len(words)):
        if level := _level(words, at, bare=bare):
            found.append(Cut(at, level))
    return found


def _level(words: Sequence[Word], at: int, *, bare: bool) -> int:
    before = words[at - 1]
    ahead = " ".join(word.folded for word in words[at : at + 5])
    begins = before.ends_sentence or words[at].gap_ms > (BARE_GAP_MS if bare else PAUSE_MS)
    breaks = BREAKS.match(ahead) is not None and (begins or before.folded not in GOING_ON)
    if words[at].gap_ms > SILENCE_MS or (breaks and (begins or bare)):
        return 3
    opens = OPENERS.match(ahead) is not None and before.folded not in WITHIN
    if begins or (bare and opens):
        return 2
    signs = any(sign in before.after for sign in ",;:–—-")
    return int(signs or CLAUSES.match(ahead) is not None)
