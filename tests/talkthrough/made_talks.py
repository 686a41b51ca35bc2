"""Talks put together from single written moments: short ones, often without a pause between them.

Coaches who are brief are rare among the talks with labels; these keep what is learned from long
moments from running brief ones together.
"""

import random
import re
from collections.abc import Sequence

from devplans.talkthrough.understand import written
from tests.talkthrough.labelled import Script, say_all

MOMENTS = 45
SHORT_WORDS, LONG_WORDS = 13, 26
STYLES = ("auto", "sentences", "srt", "auto", "plain")


def made_talk(name: str, like: Sequence[Script], seed: int) -> Script:
    """A talk about one of the squads of `like`, with some of what they say about nobody."""
    chance = random.Random(seed)
    script = Script(name, style=chance.choice(STYLES), pace=chance.choice((2.4, 2.7, 3.0)))
    script.roster = chance.choice(like).roster
    asides = [text for one in like for text in one.asides]
    rows = [row for row in written.moments() if _fits(row["text"], chance)]
    lines = [f"- {chance.choice(asides)}"]
    for row in chance.sample(rows, MOMENTS):
        player = chance.choice(script.roster)
        if chance.random() < 0.5:
            lines.append(f"~ {chance.choice((2, 3, 6, 9))}")
        if chance.random() < 0.15:
            lines.append(f"- {chance.choice(asides)}")
        lines.append(f"@ {player['number']} | {row['skills']} | {row['verdict']}")
        lines.append(_about(row["text"], player, chance))
    say_all(script, "\n".join(lines))
    return script


def _fits(text: str, chance: random.Random) -> bool:
    most = SHORT_WORDS if chance.random() < 0.6 else LONG_WORDS
    return text.count("_") == 1 and len(text.split()) <= most


def _about(text: str, player: dict[str, str], chance: random.Random) -> str:
    """The moment's words with a name, or with a number where one is said."""
    text = re.sub(r"_\d?", "_", re.sub(r"[{}]", "", text)).replace(" ,", ",")
    lowered = text.lower()
    if any(f"{word} _" in lowered for word in ("number", "our", "no.")):
        return text.replace("_", player["number"]).strip()
    names = player["name"].replace('"', "").split()
    return text.replace("_", names[0] if chance.random() < 0.8 else names[-1]).strip()
