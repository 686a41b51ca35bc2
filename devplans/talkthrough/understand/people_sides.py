"""Whether a number or a name belongs to the other side. Pure."""

import re
from collections.abc import Sequence

from devplans.talkthrough.understand.people_figures import MARKS, Around
from devplans.talkthrough.understand.people_parts import words_in
from devplans.talkthrough.understand.people_traps import COLOURS, GUARDED
from devplans.talkthrough.understand.words import Word

_THEIRS = words_in("their theirs opposing opponent opponents opponent's opposition's")
_SIDES = words_in("team's teams teams' side's guys' lot's whites blues reds") | {
    f"{colour}'s" for colour in COLOURS
}
_ROLES = words_in(
    """
big little tall other guard point center centre captain kid number left right
"""
)
_BEHIND = re.compile(
    r"(for|of|from|on) (them|theirs|their|the other (team|side|lot|end))\b|on their|(is|was) their"
    r"|(beats|burns|kills|hurts|scores on|killed|burned|hurt|beat|scored on) (us|you|me)\b"
)


def their_name(words: Sequence[Word], first: int) -> bool:
    """Whether the words before make an opponent of a name that begins at `first`."""
    if first <= 0 or any(sign in words[first - 1].after for sign in ".;!?"):
        return False
    last = words[first - 1].folded
    over = words[first - 2].folded if first >= 2 else ""
    return last in _THEIRS or last in _SIDES or (over in _THEIRS and last in _ROLES)


def their_number(around: Around, own_colours: frozenset[str]) -> bool:
    """Whether the words around make an opponent of a number."""
    mark = 1 if around.before() in MARKS else 0
    first = around.figure.first
    if mark == 0 and first and "," in around.words[first - 1].after:
        return _told_behind(around, own_colours)
    near, over = around.before(mark + 1), around.before(mark + 2)
    if "our" in (near, over):
        return False
    if near in _THEIRS or near in _SIDES or near in COLOURS - own_colours:
        return True
    if over in _THEIRS and near in _ROLES:
        return True
    if near in GUARDED and not (near == "guard" and over in ("point", "shooting", "off", "two")):
        come_on = near == "on" and over == "come"
        return not come_on and (bool(mark) or around.marked or around.figure.size >= 6)
    return _told_behind(around, own_colours)


def _told_behind(around: Around, own_colours: frozenset[str]) -> bool:
    ahead = [around.after(step) for step in (0, 1, 2, 3)]
    if ahead[0] == "in":
        colour = ahead[2] if ahead[1] == "the" else ahead[1]
        if colour in COLOURS:
            return colour not in own_colours
    return bool(_BEHIND.match(" ".join(word for word in ahead if word)))


def own_colours(words: Sequence[Word]) -> frozenset[str]:
    """Colours that the speaker's own side wears: "we're in white"."""
    found: set[str] = set()
    for spot, word in enumerate(words):
        if word.folded in COLOURS and spot >= 2:
            near = [one.folded for one in words[max(0, spot - 4) : spot]]
            ours = {"we're", "we", "us", "our", "ours"} & set(near)
            theirs = {"they", "they're", "them", "their"} & set(near)
            if "in" in near[-2:] and ours and not theirs:
                found.add(word.folded)
    return frozenset(found)
