"""Which words say what to do instead."""

import pytest

from devplans.talkthrough.understand import answers, answers_learned, answers_training
from devplans.talkthrough.understand.written import read

pytestmark = pytest.mark.once

# What is said, what of it says what to do; with signs and without.
SAID = [
    ("You fly past her there. I want you to stay low.", "I want you to stay low"),
    ("He's walked it up. Just throw it ahead.", "Just throw it ahead"),
    ("Too tight on a quick one, so give yourself a yard.", "give yourself a yard"),
    (
        "You caught it stiff. Next time be ready before the catch.",
        "Next time be ready before the catch",
    ),
    ("That's a foul all day. Don't reach.", "Don't reach"),
    ("You drove into three. What if you swung it across?", "What if you swung it across"),
    ("It is late. You must to go in the middle.", "You must to go in the middle"),
    ("Sailed past. Brakes on two metres out, hips down.", "Brakes on two metres out hips down"),
    ("he waves at him no no no put a chest on him first", "put a chest on him first"),
    ("you went off too soon you got to hold still for me", "you got to hold still for me"),
    ("She's gone round you. When she turns, you go.", "When she turns you go"),
]
NOTHING = [
    "Look at that, she pops up in the middle. Lovely.",
    "Why are we standing?",
    "She sets a screen, rolls and finishes.",
    "they both put their heads down and sprint",
    "Let's just watch, shall we.",
    "",
]


@pytest.mark.parametrize(("words", "wanted"), SAID)
def test_what_to_do_instead(words, wanted):
    said = read(words)
    found = " ".join(
        said[at].text for first, last in answers.find(said) for at in range(first, last)
    )
    assert found == wanted


@pytest.mark.parametrize("words", NOTHING)
def test_what_was_done_is_no_answer(words):
    assert answers.find(read(words)) == []


# Said in no example; with signs and without, with and without a verb in them.
LEARNED = [
    (
        "You drifted under the rim again. Stay wide until she passes it.",
        "Stay wide until she passes it",
    ),
    ("he went by you like a bus just keep your hands up", "just keep your hands up"),
    ("She's past you already. Lower hips, shorter steps.", "Lower hips shorter steps"),
]


@pytest.mark.parametrize(("words", "wanted"), LEARNED)
def test_what_to_do_instead_as_learned(words, wanted):
    said = read(words)
    (found,) = answers_learned.told(said, "not_yet")
    assert " ".join(word.text for word in said[found.first : found.last]) == wanted


@pytest.mark.parametrize("words", ["", "Great hustle, he was back before anybody."])
def test_praise_holds_nothing_to_do_instead(words):
    assert answers_learned.told(read(words), "did_it") == []


def test_an_example_in_braces():
    one = answers_training.example("You reach, _. {Feet first}, then hands.")
    assert [word.text for word in one.words[one.first : one.last]] == ["Feet", "first"]


@pytest.mark.soak
def test_the_weights_are_what_the_examples_teach(tmp_path, monkeypatch):
    kept = answers_training.WEIGHTS.read_text(encoding="utf-8")
    monkeypatch.setattr(answers_training, "WEIGHTS", tmp_path / "weights.csv")
    answers_training.main()
    assert (tmp_path / "weights.csv").read_text(encoding="utf-8") == kept
