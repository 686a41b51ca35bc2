"""A "next time" that opens what to do instead is not written twice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.talkthrough.understand.openers import without_opener

pytestmark = pytest.mark.once

OPENED = [
    ("next time, stay low.", "Stay low."),
    ("Next time stay low and chop your feet.", "Stay low and chop your feet."),
    ("Next time you close out, stay low.", "You close out, stay low."),
    ("and next time: start when the ball is in the air.", "Start when the ball is in the air."),
    ("And so, next time… hands up.", "Hands up."),
    ("So for the next time, if it is not there, pull it out.", "If it is not there, pull it out."),
    ("Next time, next time, go.", "Go."),
    ("NEXT TIME GO.", "GO."),
    ("Next time.", ""),
    ("next time, élan first.", "Élan first."),
]
AS_IT_WAS = [
    "Stay low next time.",
    "Sprint the first three steps next time, and talk.",
    "Next times are too late.",
    "Take the next timeout.",
    "next time's the charm",
    "So stay low.",
    "and go",
    "",
]


@pytest.mark.parametrize(("said", "kept"), OPENED)
def test_the_opener_goes_and_the_rest_begins_with_a_capital(said, kept):
    assert without_opener(said) == kept


@pytest.mark.parametrize("said", AS_IT_WAS)
def test_all_else_is_as_it_was(said):
    assert without_opener(said) == said


@given(st.text("nextim ,.aZé", max_size=40))
def test_nothing_else_is_lost_and_twice_is_once(words):
    once = without_opener(words)
    assert without_opener(once) == once
    assert without_opener(f"Next time, {words}")[1:].casefold() in words.casefold()
