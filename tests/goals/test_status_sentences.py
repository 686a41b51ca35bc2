"""The sentence of each edge case, as a table: `pytest tests/goals/test_status_sentences.py -s`."""

from datetime import timedelta

import pytest

from devplans.goals.status import reps, shares, words
from devplans.goals.status.parts import Evidence
from tests.goals.standing import TODAY, evidence, facts

pytestmark = pytest.mark.once
STEADY = [(23, 14, 20), (16, 15, 20), (9, 14, 20), (2, 15, 20)]
WEEKS = {TODAY - timedelta(days=2, weeks=n): 50 for n in range(1, 8)}
PAST = {"due_on": TODAY - timedelta(days=1)}
REPS = {"measure": "reps_per_week", "target": None, "target_reps": 60}
# What it is called, the goal, the sessions (days ago, made, tried) or the evidence.
CASES = [
    ("0 attempts", {}, []),
    ("0 attempts on film", {"measure": "film_rate"}, []),
    ("1 session", {}, evidence((2, 20, 30), icc=None)),
    ("1 session, the squad tells how alike", {"chances_needed": 90}, 
     evidence((2, 20, 30), icc=0.02)),
    ("fewer than 20 tries", {}, [(2, 8, 12)]),
    ("all makes", {}, [(16, 20, 20), (9, 20, 20), (2, 20, 20)]),
    ("all makes, the asked tries are there", {"chances_needed": 60},
     [(16, 20, 20), (9, 20, 20), (2, 20, 20)]),
    ("no make", {}, [(16, 0, 20), (9, 0, 20), (2, 0, 20)]),
    ("F's example, 17 of 26 needed",
     {"chances_needed": 50, "started_on": TODAY - timedelta(days=7)},
     [(20, 16, 25), (14, 14, 25), (5, 9, 12), (2, 9, 12)]),
    ("due today", {"due_on": TODAY}, [(16, 12, 20), (9, 12, 20), (2, 12, 20)]),
    ("due today, met", {"due_on": TODAY}, STEADY),
    ("due yesterday, met", PAST, STEADY),
    ("due yesterday, missed", PAST, [(16, 12, 20), (9, 12, 20)]),
    ("due yesterday, too few", {**PAST, "chances_needed": 50}, [(9, 12, 20)]),
    ("cannot be reached", {"chances_needed": 50}, [(16, 8, 20), (9, 6, 20)]),
    ("changed half-way", {"target_since": TODAY - timedelta(weeks=3), "target_was": 0.6}, STEADY),
    ("player left", {"left_on": TODAY - timedelta(days=4)}, STEADY),
    ("paused", {"life": "paused", "pauses": ((TODAY - timedelta(days=9), None),)}, STEADY),
    ("closed before it was due", {"life": "closed", "closed_on": TODAY}, STEADY),
    ("draft", {"life": "draft", "started_on": None}, []),
    ("sets that reach a mark", {"measure": "drill_mark"}, STEADY),
    ("reps, one week", {**REPS, "started_on": TODAY - timedelta(days=9)}, Evidence(reps=WEEKS)),
    ("reps, seven weeks", REPS, Evidence(reps=WEEKS)),
    ("reps, changed half-way",
     {**REPS, "target_since": TODAY - timedelta(weeks=3), "target_was": 40},
     Evidence(reps=WEEKS)),
]  # fmt: skip


def rows() -> list[tuple[str, str, str, str]]:
    """(case, word, sentence, what would settle it)."""
    found = []
    for name, fields, proof in CASES:
        goal = facts(**fields)
        proof = evidence(*proof) if isinstance(proof, list) else proof
        rule = reps.rule if goal.measure == "reps_per_week" else shares.rule
        ruling = rule(goal, proof, TODAY)
        sentence = words.sentence(goal, ruling, TODAY)
        found.append((name, ruling.word, sentence, words.settles(goal, ruling, TODAY)))
    return found


def test_each_edge_case_has_its_plain_sentence():
    found = rows()
    print()
    for row in found:
        print("| " + " | ".join(row) + " |")
    unsure, way, either = "not enough evidence yet", "on the way", "could go either way"
    assert [word for _case, word, _sentence, _settles in found] == [
        unsure, unsure, unsure, either, unsure, way, "met", "behind", either, "behind", "met",
        "met", "missed", unsure, "behind", either, unsure, unsure, unsure, unsure, either, unsure,
        "behind", "behind",
    ]  # fmt: skip
    told = {case: f"{sentence} {settles}" for case, _word, sentence, settles in found}
    for case, words_there in {
        "0 attempts": "20 more tries",
        "1 session": "on another day",
        "all makes": "All 60 made",
        "due today": "Due today. 36 of 60 made",
        "changed half-way": "stands since 18 November; before, it was 60 %",
        "player left": "Ines has left the squad",
    }.items():
        assert words_there in told[case]
    assert len({sentence for _case, _word, sentence, _settles in found}) == len(CASES)
