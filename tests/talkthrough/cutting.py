"""Trains what cuts a talk into moments and tells whom they are about, from talks with labels.

    python -m tests.talkthrough.cutting

reads fixtures/talk/told and labelled/tuning and writes cut_weights.csv and link_weights.csv into
fixtures/talk; the same talks always give the same weights. `--left-out` instead scores each
group of writers' talks with what was learned from the other writers'.
"""

import csv
import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from pathlib import Path

from devplans.talkthrough.captions import read as read_captions
from devplans.talkthrough.understand import moments_training, roles, understand
from devplans.talkthrough.understand.moments import (
    CUT_WEIGHTS,
    LINK_WEIGHTS,
    Learned,
    Talk,
    asked_about,
    read_talk,
)
from devplans.talkthrough.understand.moments_decode import best, runs_of, scored
from devplans.talkthrough.understand.moments_links import Before
from devplans.talkthrough.understand.people import Finder
from devplans.talkthrough.understand.words import WORD, Word, folded, words_of
from tests.talkthrough.labelled import Moment, Script, scripts
from tests.talkthrough.made_talks import made_talk
from tests.talkthrough.scoring import figures, roster_of, score

# Weights below this say nothing.
LEAST = 0.02
# A run shares at least so much of its words with the moment that it is taken for.
SHARED = 0.35
# Talks put together in the manner of each writer.
MADE = 2
# Writers are left out in so many groups.
GROUPS = 3


@dataclass
class Labelled:
    """A script, read, with the label that each word belongs to (-1: none)."""

    script: Script
    talk: Talk
    of_word: list[int]
    runs: list[tuple[int, int]]

    @property
    def writer(self) -> str:
        return self.script.name[0]

    def label(self, run: tuple[int, int]) -> Moment | None:
        units = self.talk.found.units[run[0] : run[1]]
        labels = self.of_word[units[0].first : units[-1].last]
        counts = Counter(one for one in labels if one >= 0).most_common(1)
        if not counts or counts[0][1] < SHARED * len(labels):
            return None
        return self.script.moments[counts[0][0]]


def labelled(script: Script) -> Labelled:
    words = words_of(read_captions(script.transcript).cues)
    talk = read_talk(words, *Finder(roster_of(script)).heard(words))
    of_word = labels_of(script, words)
    of_unit = [
        Counter(of_word[one.first : one.last]).most_common(1)[0][0] for one in talk.found.units
    ]
    return Labelled(script, talk, of_word, runs(of_unit))


def runs(of_unit: Sequence[int]) -> list[tuple[int, int]]:
    found, at = [], 0
    while at < len(of_unit):
        last = at + 1
        while last < len(of_unit) and of_unit[at] == of_unit[last] >= 0:
            last += 1
        if of_unit[at] >= 0:
            found.append((at, last))
        at = last
    return found


def labels_of(script: Script, words: Sequence[Word]) -> list[int]:
    """The label of each word of the transcript: those of the script, one beside the other."""
    spoken: list[str] = []
    labels: list[int] = []
    for one in script.words:
        middle = 500 * (one.start_s + one.end_s)
        inside = (at for at, m in enumerate(script.moments) if m.start_ms <= middle <= m.end_ms)
        label = next(inside, -1)
        for match in WORD.findall(one.text):
            spoken.append(folded(match))
            labels.append(label)
    found = [-2] * len(words)
    matcher = SequenceMatcher(None, spoken, [word.folded for word in words], autojunk=False)
    for mine, theirs, count in matcher.get_matching_blocks():
        found[theirs : theirs + count] = labels[mine : mine + count]
    last = -1
    for at, one in enumerate(found):
        last = found[at] = last if one == -2 else one
    return found


# A run of units and how far its being a moment is ahead of its being about nobody.
Span = tuple[tuple[int, int], float]


def cut(weights: dict[str, float], one: Labelled) -> tuple[list[Span], list[Span]]:
    """How it is cut into what is asked about, and how it is cut by the labels."""
    found = one.talk.found
    told = scored(weights, found, runs_of(found)).without(found)
    own = [
        ((first, last), told.ahead(first, last))
        for first, last, moment in best(told)
        if moment or (found.told[first] and found.ruled[first])
    ]
    labelled = [
        ((first, last), told.ahead(first, min(last, found.longest(first))))
        for first, last in one.runs
    ]
    return own, labelled


def trained_cut(talks: Sequence[Labelled]) -> dict[str, float]:
    return moments_training.trained(
        [moments_training.Talk(one.talk.found, one.runs) for one in talks]
    )


def link_rows(one: Labelled, spans: Sequence[Span]) -> list[tuple[list[str], bool]]:
    """Traits of each player who may be meant, and whether the label has the player; whom the moment
    before was about is taken from the labels."""
    rows, before, end = [], Before(), 0
    for span, ahead in spans:
        label = one.label(span)
        players = label.players if label else frozenset()
        before = replace(before, pieces=span[0] - end)
        for key, _, traits in asked_about(one.talk, span, before, ahead):
            rows.append((traits, key in players))
        if players:
            units = one.talk.found.units[span[0] : span[1]]
            said = one.talk.words[units[0].first : units[-1].last]
            before = Before(
                tuple(sorted(players)), units[-1].last, 0, roles.speaks_to(said), said[-1].end_ms
            )
            end = span[1]
    return rows


def trained_link(
    talks: Sequence[Labelled], spans: dict[str, tuple[list[Span], list[Span]]]
) -> dict[str, float]:
    """spans: of each script, how it is cut by what was learned from other writers."""
    rows = []
    for one in talks:
        for cuts in spans[one.script.name]:
            rows += link_rows(one, cuts)
    return moments_training.linked(rows)


TALKS: list[Labelled] = []


def all_talks() -> list[Labelled]:
    if not TALKS:
        told = [script for half in ("told", "tuning") for script in scripts(half)]
        for writer in sorted({script.name[0] for script in told}):
            like = [script for script in told if script.name[0] == writer]
            told += [
                made_talk(f"{writer}-made-{turn}", like, 100 * ord(writer) + turn)
                for turn in range(MADE)
            ]
        TALKS.extend(map(labelled, told))
    return TALKS


def groups() -> list[str]:
    """The writers, by their letters, shared out."""
    writers = sorted({one.writer for one in all_talks()})
    return ["".join(writers[at::GROUPS]) for at in range(GROUPS)]


def group_of(one: Labelled) -> str:
    return next(group for group in groups() if one.writer in group)


def cut_without(group: str) -> dict[str, float]:
    return trained_cut([one for one in all_talks() if one.writer not in group])


def link_without(group: str) -> dict[str, float]:
    return trained_link([one for one in all_talks() if one.writer not in group], SPANS)


SPANS: dict[str, tuple[list[Span], list[Span]]] = {}


def by_others() -> dict[str, dict[str, float]]:
    """What cuts, learned without each group of writers; fills SPANS."""
    names = ["", *groups()]
    with ProcessPoolExecutor(2) as pool:
        weights = dict(zip(names, pool.map(cut_without, names), strict=True))
    for one in all_talks():
        SPANS[one.script.name] = cut(weights[group_of(one)], one)
    return weights


def left_out(weights: dict[str, Learned]) -> None:
    results = []
    for one in all_talks():
        if "-made-" not in one.script.name:
            cues = read_captions(one.script.transcript).cues
            told = understand(cues, roster_of(one.script), weights=weights[group_of(one)])
            results.append((one.script, told))
    tuning = {script.name for script in scripts("tuning")}
    for title, is_tuning in (("tuning", True), ("told", False)):
        chosen = [pair for pair in results if (pair[0].name in tuning) is is_tuning]
        print(title, {k: round(v[0], 3) for k, v in figures(score(chosen)).items()}, flush=True)


def write(path: Path, weights: dict[str, float]) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["trait", "weight"])
        for name in sorted(weights):
            if abs(weights[name]) >= LEAST:
                writer.writerow([name, f"{weights[name]:.3f}"])


def main(arguments: list[str]) -> int:
    all_talks()
    cuts = by_others()
    names = ["", *groups()] if "--left-out" in arguments else [""]
    with ProcessPoolExecutor(2) as pool:
        links = pool.map(link_without, names)
        weights = {name: Learned(cuts[name], link) for name, link in zip(names, links, strict=True)}
    if "--left-out" in arguments:
        left_out(weights)
    else:
        write(CUT_WEIGHTS, dict(weights[""].cut))
        write(LINK_WEIGHTS, dict(weights[""].link))
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
