"""How well talk-throughs are understood, against their labels.

    python -m tests.talkthrough.scoring tuning [--wrong]
    python -m tests.talkthrough.scoring untouched    (or blind: totals only, never the words)
    python -m tests.talkthrough.scoring told [--wrong]

A suggestion belongs to the label that it shares most with (time, players); each to one at most.

- links: (moment, player) pairs that are filled in. Right: the label has the player. A suggestion
  that belongs to no label has only wrong ones, save those of a label whose words it shares (a
  moment cut in two). Recall counts against all labels' pairs.
- skills: micro-F1 of those filled in, over all labels; first three: is the label's main skill among
  the filled-in ones and the offered ones, first three of them?
- verdict: share of all labels whose suggestion has theirs.
- do instead: found where the suggestion holds at least half of the label's words and they are at
  least half of what it holds; F1 over labels that have one and suggestions that have one.
- starts: share of labels whose suggestion begins within three seconds.

Behind each measure stands its 95 % interval: for shares of labels Wilson's (1927, J. Am. Stat.
Assoc. 22:209-212), else the percentiles of a bootstrap of rows (Efron 1979, Ann. Stat. 7:1-26).
Rows of one talk resemble each other, so these are narrower than they would be for other speakers.
"""

import random
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial

from devplans.stats.proportions import wilson_interval
from devplans.talkthrough.understand import understand
from devplans.talkthrough.understand.parts import RosterPlayer, Suggested, Understood
from devplans.talkthrough.understand.words import folded
from tests.talkthrough.labelled import Moment, Script, scripts

NEAR_MS = 6_000
RESAMPLES = 1_000


@dataclass
class Row:
    """One label, or a suggestion without one, with what counts."""

    script: str
    moment: Moment | None
    suggestion: Suggested | None
    links: tuple[int, int, int] = (0, 0, 0)  # right, wrong, in the label
    skills: tuple[int, int, int] = (0, 0, 0)
    answers: tuple[int, int, int] = (0, 0, 0)
    in_three: bool = False
    verdict: bool = False
    start: bool = False


@dataclass
class Score:
    rows: list[Row] = field(default_factory=list)

    @property
    def labels(self) -> list[Row]:
        return [row for row in self.rows if row.moment]

    def share(self, name: str) -> tuple[int, int]:
        return sum(getattr(row, name) for row in self.labels), len(self.labels)


def score(pairs: Iterable[tuple[Script, Understood]]) -> Score:
    result = Score()
    for script, understood in pairs:
        result.rows += _rows(script, understood)
    return result


def _rows(script: Script, understood: Understood) -> list[Row]:
    moments, suggestions = script.moments, list(understood.suggestions)
    shared = sorted(
        ((_likeness(m, s), i, j) for i, m in enumerate(moments) for j, s in enumerate(suggestions)),
        reverse=True,
    )
    of_moment: dict[int, int] = {}
    taken: set[int] = set()
    for likeness, i, j in shared:
        if likeness > 0 and i not in of_moment and j not in taken:
            of_moment[i] = j
            taken.add(j)
    rows = []
    for i, moment in enumerate(moments):
        rows.append(_row(script, moment, suggestions[of_moment[i]] if i in of_moment else None))
    for j, suggestion in enumerate(suggestions):
        if j not in taken:
            rows.append(_extra(script, suggestion))
    return rows


def _overlap_ms(moment: Moment, suggestion: Suggested) -> int:
    return min(moment.end_ms, suggestion.end_ms) - max(moment.start_ms, suggestion.start_ms)


def _likeness(moment: Moment, suggestion: Suggested) -> float:
    apart = abs(moment.start_ms - suggestion.start_ms)
    overlap = _overlap_ms(moment, suggestion)
    if overlap <= 0 and apart > NEAR_MS:
        return 0
    named = set(suggestion.players) | set(suggestion.unsure)
    both = len(named & moment.players) / max(1, len(named | moment.players))
    whole = max(moment.end_ms, suggestion.end_ms) - min(moment.start_ms, suggestion.start_ms)
    return 2 * both + max(0, overlap) / max(1, whole) + 1 / (1 + apart / 1000)


def _row(script: Script, moment: Moment, suggestion: Suggested | None) -> Row:
    row = Row(script.name, moment, suggestion)
    players = set(suggestion.players) if suggestion else set()
    skills = set(suggestion.skills) if suggestion else set()
    row.links = _counts(players, set(moment.players))
    row.skills = _counts(skills, set(moment.skills))
    row.answers = _answer_counts(moment.do_instead, suggestion.do_instead if suggestion else "")
    if suggestion:
        offered = [*suggestion.skills, *suggestion.maybe_skills][:3]
        row.in_three = moment.skills[0] in offered
        row.verdict = suggestion.verdict == moment.verdict
        row.start = abs(suggestion.start_ms - moment.start_ms) <= 3_000
    return row


def _extra(script: Script, suggestion: Suggested) -> Row:
    row = Row(script.name, None, suggestion)
    touched = [m for m in script.moments if _overlap_ms(m, suggestion) > 0]
    known = {key for moment in touched for key in moment.players}
    row.links = (0, len(set(suggestion.players) - known), 0)
    row.answers = (0, 0 if any(m.do_instead for m in touched) else bool(suggestion.do_instead), 0)
    return row


def _counts(found: set[str], wanted: set[str]) -> tuple[int, int, int]:
    return len(found & wanted), len(found - wanted), len(wanted)


def _answer_counts(wanted: str, found: str) -> tuple[int, int, int]:
    words, others = set(_words(wanted)), set(_words(found))
    both = len(words & others)
    right = bool(words and others and both >= len(words) / 2 and both >= len(others) / 2)
    return int(right), int(bool(others) and not right), int(bool(words))


def _words(text: str) -> list[str]:
    return [word.strip(".,!?;:\"'") for word in folded(text).split()]


def precision(counts: list[tuple[int, int, int]]) -> float:
    right, wrong = sum(c[0] for c in counts), sum(c[1] for c in counts)
    return right / max(1, right + wrong)


def recall(counts: list[tuple[int, int, int]]) -> float:
    return sum(c[0] for c in counts) / max(1, sum(c[2] for c in counts))


def f1(counts: list[tuple[int, int, int]]) -> float:
    right, wrong = sum(c[0] for c in counts), sum(c[1] for c in counts)
    return 2 * right / max(1, right + wrong + sum(c[2] for c in counts))


def bootstrap(
    counts: list[tuple[int, int, int]], measure: Callable[[list[tuple[int, int, int]]], float]
) -> tuple[float, float]:
    """The middle 95 % of the measure over resampled rows; the seed is fixed."""
    chance = random.Random(5)
    found = sorted(measure(chance.choices(counts, k=len(counts))) for _ in range(RESAMPLES))
    return found[int(0.025 * RESAMPLES)], found[int(0.975 * RESAMPLES)]


def measures(result: Score) -> dict[str, float]:
    """Each measure, 0..1."""
    return {name: value for name, (value, _interval) in _measured(result).items()}


def figures(result: Score) -> dict[str, tuple[float, float, float]]:
    """Each measure with its 95 % interval: Wilson's for shares, else a bootstrap of rows."""
    return {name: (value, *interval()) for name, (value, interval) in _measured(result).items()}


def _measured(result: Score) -> dict[str, tuple[float, Callable[[], tuple[float, float]]]]:
    links = [row.links for row in result.rows]
    skills = [row.skills for row in result.labels]
    answers = [row.answers for row in result.rows]
    told: dict[str, tuple[float, Callable[[], tuple[float, float]]]] = {
        "player precision": (precision(links), lambda: bootstrap(links, precision)),
        "player recall": (recall(links), lambda: bootstrap(links, recall)),
        "skills micro-F1": (f1(skills), lambda: bootstrap(skills, f1)),
        "do instead F1": (f1(answers), lambda: bootstrap(answers, f1)),
    }
    named = {"skill in first three": "in_three", "verdict": "verdict", "start within 3 s": "start"}
    for title, name in named.items():
        right, all_of = result.share(name)
        told[title] = (right / max(1, all_of), partial(wilson_interval, right, all_of))
    return told


def roster_of(script: Script) -> list[RosterPlayer]:
    from devplans.talkthrough.rosters import read_roster

    return list(read_roster(script.roster_csv))


def read(script: Script) -> Understood:
    from devplans.talkthrough.captions import read as read_captions

    return understand(read_captions(script.transcript).cues, roster_of(script))


def exact_recall(chosen: list[Script]) -> tuple[int, int]:
    """Links that the written names alone would find: a first, last or whole name as in the roster,
    in the label's own words."""
    found = wanted = 0
    for script in chosen:
        names = {one["number"]: folded(one["name"]).replace('"', "") for one in script.roster}
        for moment in script.moments:
            words = set(_words(moment.said))
            wanted += len(moment.players)
            for number in moment.players:
                parts = names[number].split()
                found += bool({parts[0], parts[-1]} & words)
    return found, wanted


def main(arguments: list[str]) -> int:
    chosen = scripts(arguments[0])
    pairs = [(script, read(script)) for script in chosen]
    for script, understood in pairs:
        told = figures(score([(script, understood)]))
        line = "  ".join(f"{value[0]:.2f}" for value in told.values())
        print(f"{script.name:32} {len(script.moments):3} labels  {line}")
    result = score(pairs)
    found, wanted = exact_recall(chosen)
    print(f"{len(chosen)} talk-throughs, {len(result.labels)} labels, {len(result.rows)} rows")
    print(f"written names alone: recall {found / max(1, wanted):.3f}")
    for name, (value, low, high) in figures(result).items():
        print(f"{name:22} {value:.3f}  [{low:.3f}, {high:.3f}]")
    if "--wrong" in arguments and arguments[0] not in ("untouched", "blind"):
        tell_wrong(result)
    return 0


def tell_wrong(result: Score) -> None:
    for row in result.rows:
        moment, found = row.moment, row.suggestion
        if moment and row.links[:1] == row.links[2:] and row.verdict and row.in_three and row.start:
            continue
        print("---", row.script)
        if moment:
            print("  label", moment.start_ms, sorted(moment.players), moment.skills, moment.verdict)
            print("       ", moment.said, "|", moment.do_instead)
        if found:
            print("  found", found.start_ms, found.players, found.unsure, found.verdict)
            print("       ", found.skills, found.maybe_skills)
            print("       ", found.said, "|", found.do_instead)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
