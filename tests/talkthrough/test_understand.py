"""The whole way from cues to suggestions."""

import gc
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from devplans.talkthrough.understand import understand
from devplans.talkthrough.understand.parts import Cue, RosterPlayer
from devplans.talkthrough.understand.words import words_of
from tests.talkthrough.long_talk import ROSTER, talk

pytestmark = pytest.mark.once

MAEVE = RosterPlayer("12", "12", "Maeve", "Okonjo", ("Mo",))
REED = RosterPlayer("4", "4", "Tamsin", "Reed")

WORDS = st.sampled_from(
    [
        "Maeve",
        "Tamsin",
        "Reed",
        "Mo",
        "number",
        "twelve",
        "four",
        "you",
        "she",
        "he",
        "her",
        "and",
        "but",
        "while",
        "okay",
        "next",
        "clip",
        "so",
        "here",
        "great",
        "late",
        "again",
        "stand",
        "don't",
        "reach",
        "get",
        "back",
        "I",
        "want",
        "you",
        "lower",
        "their",
        "twenty",
        "one",
        "in",
        "white",
        "we",
        "team",
        "Delgado",
        "zone",
        "two",
        "three",
        ".",
        ",",
        "?",
        "!",
        "…",
        "—",
        "\n",
        "é",
        "0.8",
        "#12",
        "''",
    ]
)
CUES = st.lists(
    st.tuples(
        st.lists(WORDS, max_size=12).map(" ".join) | st.text(max_size=30),
        st.integers(0, 9_000),
        st.integers(0, 8_000),
    ),
    max_size=12,
)


def cued(parts):
    cues, clock = [], 0
    for text, silence, length in parts:
        cues.append(Cue(clock + silence, clock + silence + length, text))
        clock += silence + length
    return cues


@settings(max_examples=60, deadline=None)
@given(CUES)
def test_nothing_said_is_lost_and_times_stay_within_the_cues(parts):
    cues = cued(parts)
    understood = understand(cues, [MAEVE, REED])
    starts = [one.start_ms for one in understood.suggestions]
    assert starts == sorted(starts)
    for one in understood.suggestions:
        assert cues[0].start_ms <= one.start_ms <= one.end_ms <= cues[-1].end_ms
        assert set(one.players) | set(one.unsure) <= {"12", "4"}
        assert not set(one.players) & set(one.unsure)
        assert one.verdict in ("did_it", "not_yet", "note")
        assert len(one.unsure) <= 3
        assert len(one.maybe_skills) <= 3
    kept = [one.said for one in (*understood.suggestions, *understood.left_out)]
    said = [word.text for word in words_of([Cue(0, 1, text) for text in kept])]
    assert sorted(said) == sorted(word.text for word in words_of(cues))


def test_one_moment_in_full():
    cues = [
        Cue(1_000, 3_000, "Maeve, you fly past her there."),
        Cue(3_000, 5_000, "I want you to stay low on two feet"),
    ]
    (one,) = understand(cues, [MAEVE, REED]).suggestions
    assert (one.start_ms, one.end_ms, one.players, one.unsure) == (1_000, 5_000, ("12",), ())
    assert one.verdict == "not_yet"
    assert one.happened == "Maeve, you fly past her there."
    assert one.do_instead == "I want you to stay low on two feet."
    assert one.said == "Maeve, you fly past her there. I want you to stay low on two feet"
    assert one.heard[0].keys == ("12",)
    assert "closeout-technique" in (*one.skills, *one.maybe_skills)


def test_no_roster_and_no_words():
    assert understand([], [MAEVE]).suggestions == ()
    understood = understand([Cue(0, 2_000, "Maeve, lovely closeout.")], [])
    assert all(one.players == () for one in understood.suggestions)


@pytest.mark.soak
def test_an_hour_of_talk_is_understood_within_ten_seconds_and_time_grows_with_it():
    """Seconds of the processor, the least of several turns, so that what else the machine does is
    left out; what the tests before hold in memory is not looked through again and again."""
    talks = {minutes: talk(minutes) for minutes in (15, 60)}
    took = dict.fromkeys(talks, float("inf"))
    understand(talk(1), ROSTER)
    gc.collect()
    gc.freeze()
    try:
        for minutes in (15, 60) * 12:
            begun = time.process_time()
            understood = understand(talks[minutes], ROSTER)
            took[minutes] = min(took[minutes], time.process_time() - begun)
            assert len(understood.suggestions) > minutes
    finally:
        gc.unfreeze()
    print(
        f"15 and 60 minutes: {took[15]:.2f} and {took[60]:.2f} s, {took[60] / took[15]:.2f} times"
    )
    assert took[60] < 10
    assert took[60] / took[15] <= 4.5


def test_a_long_talk_is_as_long_as_it_says():
    assert 59 * 60_000 < talk(60)[-1].end_ms <= 60 * 60_000
