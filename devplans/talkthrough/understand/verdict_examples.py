"""Written examples of what says did it, not yet, or only a note. Pure but for the files."""

import random
import re

from devplans.talkthrough.understand import written

VERDICTS = DID_IT, NOT_YET, NOTE = ("did_it", "not_yet", "note")
# What to do instead, alone.
ORDER = "order"
NOT_SAID = re.compile(r"(?:number )?_\w*|[{}]")


def examples() -> list[tuple[str, str]]:
    """(verdict, words) as written in verdicts.csv, and put together as coaches put them together:
    two of a kind, a fault with what to do instead, praise with a "but" before what to do instead;
    and whole moments, twice, without their players."""
    told = [(row["verdict"], row["words"]) for row in written.rows("verdicts.csv")]
    whole = [(row["verdict"], NOT_SAID.sub("", row["text"])) for row in written.moments()]
    return [(kind, text) for kind, text in told if kind != ORDER] + mixed(told) + 2 * whole


def mixed(told: list[tuple[str, str]]) -> list[tuple[str, str]]:
    chance = random.Random(11)  # noqa: S311 - only mixes examples
    kinds = {kind: [text for one, text in told if one == kind] for kind in (*VERDICTS, ORDER)}
    orders = kinds[ORDER] or [""]
    made = [(NOT_YET, text) for text in kinds[ORDER]]
    for kind in VERDICTS:
        texts = kinds[kind]
        step = 2 if kind == NOT_YET else 1
        made += [(kind, f"{one} {chance.choice(texts)}") for one in texts[::step]]
    made += [(NOT_YET, f"{text} {chance.choice(orders)}") for text in kinds[NOT_YET][1::2]]
    for text in kinds[DID_IT][::5]:
        order = chance.choice(orders)
        made.append((NOT_YET, f"{text.rstrip('.')}, but {order[:1].lower()}{order[1:]}"))
    return made
