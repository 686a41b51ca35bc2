"""Moments out of whole talks, as written examples of what is said.

    python -m tests.talkthrough.told_moments

reads fixtures/talk/told and writes moments-5.csv into fixtures/talk: the words of each label, with
`_` for the player that is named first, `_2` for others, and braces round what to do instead. Train
cutter, verdict and answers afterwards.
"""

import csv
import io
import re

from devplans.talkthrough.understand import written
from devplans.talkthrough.understand.people import Finder
from devplans.talkthrough.understand.words import Word
from tests.talkthrough.labelled import Moment, scripts
from tests.talkthrough.scoring import roster_of

MOMENTS = written.FOLDER / "moments-5.csv"
TOKEN = re.compile(r"[\w']+")


def without_names(finder: Finder, words: list[Word]) -> str:
    said: list[str] = []
    numbers: dict[str, int] = {}
    at = 0
    for mention in sorted(finder.mentions(words), key=lambda one: one.first):
        if mention.first < at or not mention.keys:
            continue
        said += [word.text + word.after.rstrip() for word in words[at : mention.first]]
        number = numbers.setdefault(mention.keys[0], len(numbers) + 1)
        said.append(("_" if number == 1 else "_2") + words[mention.last - 1].after.strip())
        at = mention.last
    said += [word.text + word.after.rstrip() for word in words[at:]]
    return " ".join(said)


def in_braces(text: str, do_instead: str) -> str | None:
    """With braces round what to do instead, where names may stand; None where it is not found."""
    tokens = list(TOKEN.finditer(text))
    wanted = TOKEN.findall(do_instead.lower())
    for at in range(len(tokens) - len(wanted) + 1):
        part = tokens[at : at + len(wanted)]
        pairs = [(token.group().lower(), word) for token, word in zip(part, wanted, strict=True)]
        if all(said in (word, "_", "_2") for said, word in pairs):
            first, last = part[0].start(), part[-1].end()
            return f"{text[:first]}{{{text[first:last]}}}{text[last:]}"
    return None


def example(finder: Finder, moment: Moment) -> str | None:
    text = without_names(finder, written.read(moment.said))
    return in_braces(text, moment.do_instead) if moment.do_instead else text


def as_csv() -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["skills", "verdict", "text"])
    for script in scripts("told"):
        finder = Finder(roster_of(script))
        for moment in script.moments:
            if (text := example(finder, moment)) is not None:
                writer.writerow([" ".join(moment.skills), moment.verdict, text])
    return out.getvalue()


if __name__ == "__main__":
    MOMENTS.write_text(as_csv(), encoding="utf-8")
