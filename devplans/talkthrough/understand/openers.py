"""The spoken words that only open what to do instead. Pure."""

import re

_SIGNS = r"[\s,;:.!…–—-]*"
_OPENER = re.compile(
    rf"{_SIGNS}(?:(?:and|but|so|then|or|well|ok|okay|now|just|for|the)\b{_SIGNS})*"
    rf"\bnext\s+time\b(?!['’]){_SIGNS}",
    re.IGNORECASE,
)


def without_opener(words: str) -> str:
    """What to do instead without a "next time" that opens it: that is its label already. The rest
    is as it was, with a capital at first; "" where nothing else was said.

    "and next time, stay low" is "Stay low".
    """
    rest = words.strip()
    while match := _OPENER.match(rest):
        rest = rest[match.end() :]
    if rest == words.strip():
        return rest
    return rest[:1].upper() + rest[1:]
