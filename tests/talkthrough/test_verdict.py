"""Did it, not yet, or a note: told from words alone."""

import pytest

from devplans.talkthrough.understand import verdict, verdict_training, written
from devplans.talkthrough.understand.written import read

pytestmark = pytest.mark.once

SAID = [
    ("That's the pass. Keep doing that.", "did_it"),
    ("Missed it, but that's exactly the shot we want.", "did_it"),
    ("You didn't bite on the fake and she had nowhere to go. Well done.", "did_it"),
    ("Bravo, always between ball and basket.", "did_it"),
    ("why are we standing", "not_yet"),
    ("Where's your hand?", "not_yet"),
    ("Oh lovely, let's just watch.", "not_yet"),
    ("Great defence, if you like layups.", "not_yet"),
    ("Beautiful, straight to the other team.", "not_yet"),
    ("Good idea, wrong time.", "not_yet"),
    ("It's a strong drive, but land on two feet.", "not_yet"),
    ("I want you lower.", "not_yet"),
    ("You must to be first there, please.", "not_yet"),
    ("he's late again and they get an easy one", "not_yet"),
    ("Have a think about where you'd like to be. No right answer.", "note"),
    ("Just a reminder of the rule we made: whoever sees it names it.", "note"),
    ("I'm not mad either way, tell me what was there.", "note"),
]


@pytest.mark.parametrize(("words", "wanted"), SAID)
def test_what_is_said(words, wanted):
    found, sureness = verdict.judge(read(words))
    assert found == wanted
    assert 1 / 3 <= sureness <= 1


def test_no_words_are_a_note_of_no_sureness():
    assert verdict.judge([]) == ("note", 0.0)


def test_there_are_examples_of_each_kind():
    kinds = [row["verdict"] for row in written.rows("verdicts.csv")]
    assert min(kinds.count(kind) for kind in verdict.VERDICTS) >= 100
    assert len(kinds) >= 250


@pytest.mark.soak
def test_the_weights_are_what_the_examples_teach(tmp_path, monkeypatch):
    kept = verdict_training.WEIGHTS.read_text(encoding="utf-8")
    monkeypatch.setattr(verdict_training, "WEIGHTS", tmp_path / "weights.csv")
    verdict_training.main()
    assert (tmp_path / "weights.csv").read_text(encoding="utf-8") == kept
