"""Names that the speaker takes back: "twenty two, no, I lied, it's twenty three". Pure."""

import re
from collections.abc import Sequence

from devplans.talkthrough.understand.people_parts import Mention
from devplans.talkthrough.understand.words import Word

BETWEEN_WORDS = 9
TAKES_BACK = re.compile(
    r"^(?:\w+ ){0,2}?(?:no|nope|sorry|i mean|i lied|correction|wait|rather|scratch that|excuse me"
    r"|my (?:bad|mistake)|no no|not \w+|beg your pardon|pardon|wrong one|or is it|no it's)\b"
)
NOT_BEFORE = frozenset(["not", "isn't", "wasn't", "nicht", "pas"])


def taken_back(words: Sequence[Word], mentions: Sequence[Mention]) -> set[int]:
    """Which of the mentions (by place in the list) another one behind them puts right."""
    found: set[int] = set()
    for at, mention in enumerate(mentions):
        before = words[mention.first - 1].folded if mention.first else ""
        if before in NOT_BEFORE:
            found.add(at)
        if at + 1 == len(mentions):
            break
        after = mentions[at + 1]
        between = words[mention.last : after.first]
        if len(between) > BETWEEN_WORDS or any(word.gap_ms > 2_000 for word in between):
            continue
        if TAKES_BACK.match(" ".join(word.folded for word in between)):
            found.add(at)
    return found
