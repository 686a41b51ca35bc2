"""The sentences that open a summary, from where the goals stand."""

from datetime import date

import pytest

from devplans.goals.status import ReviewFacts, Standing
from devplans.progress.opening import Stand, sentences

pytestmark = pytest.mark.once


def a_review(word):
    day = date(2026, 11, 7)
    return ReviewFacts(
        number=1, of=3, reviewed_on=day, window_from=day, window_until=day, word=word, label=word,
        sentence="", low=0.02, high=0.27, made=112, tried=160, start_made=88, start_tried=160,
        reps=None, start_reps=None, confidence=0.98, more_needed=None,
    )  # fmt: skip


def a_stand(skill, measure="film_rate", word="not enough evidence yet", review="", **figures):
    figures.setdefault("made", 9)
    figures.setdefault("tried", 16)
    standing = Standing(
        word=word, label=word, sentence="", settles="", measure=measure, source="",
        last_review=a_review(review) if review else None, **figures,
    )  # fmt: skip
    return Stand(skill, standing)


FEET = a_stand("Finishing off two feet", "drill_share", "on the way", "up")
HELP = a_stand("Help position")
TALK = a_stand("Screen communication", made=0, tried=0)


def told(*stands, own=False):
    return sentences(stands, name="Ines", own=own)


def test_what_changed_comes_first_then_what_cannot_be_said_then_what_is_not_counted():
    assert told(TALK, HELP, FEET) == [
        "At the review of 7 November Ines’s finishing off two feet had improved.",
        "Whether help position has changed, the film cannot say yet.",
        "Screen communication has not been counted on film since the goal began.",
    ]


def test_the_player_is_spoken_to():
    assert told(FEET, own=True)[0].startswith("At the review of 7 November your finishing")
    met = a_stand("Free throws", "drill_share", "met")
    assert told(met, own=True) == ["You have reached the target for free throws."]
    assert told(met) == ["Ines has reached the target for free throws."]


@pytest.mark.parametrize(
    ("stand", "sentence"),
    [
        (
            a_stand("Close-outs", review="down"),
            "At the review of 7 November Ines’s close-outs had gone down.",
        ),
        (
            a_stand("Close-outs", review="same"),
            "At the review of 7 November Ines’s close-outs was about as at the start.",
        ),
        (
            a_stand("Close-outs", review="not enough evidence yet"),
            "Whether close-outs has changed, the film cannot say yet.",
        ),
        (
            a_stand("Jab step", "drill_share", made=0, tried=0),
            "Nothing has been logged for jab step since the goal began.",
        ),
        (
            a_stand("Jab step", "zone_share"),
            "Whether jab step has changed, what was logged cannot say yet.",
        ),
        (
            a_stand("Jab step", "reps_per_week", made=0, tried=0),
            "No complete week of jab step has been counted yet.",
        ),
        (
            a_stand("Jab step", "reps_per_week", made=0, tried=0, reps=80, target_reps=100),
            "Reps for jab step are counted week by week; no review has compared them yet.",
        ),
        (
            a_stand("Jab step", "reps_per_week", reps=80, review="up"),
            "At the review of 7 November the reps a week for jab step had gone up.",
        ),
        (
            a_stand("VCP", "drill_share", "missed"),
            "The target for VCP was not reached by the due date.",
        ),
    ],
)
def test_each_sentence(stand, sentence):
    assert told(stand) == [sentence]


def test_no_change_is_claimed_without_a_review():
    for word in ("on the way", "could go either way", "behind"):
        said = " ".join(told(a_stand("Help position", word=word)))
        assert said == "Whether help position has changed, the film cannot say yet."


def test_the_first_review_is_announced_where_there_is_enough_to_go_by():
    day = date(2026, 11, 30)
    shooting = a_stand("Jab step", "drill_share", "behind", next_review=day)
    pace = a_stand("Close-outs", "reps_per_week", made=0, tried=0, reps=80, next_review=day)
    assert told(shooting) == ["Whether jab step has changed is first looked at on 30 November."]
    assert told(shooting, pace) == [
        "Whether jab step and close-outs have changed is first looked at on 30 November."
    ]
    assert told(a_stand("Help position", next_review=day)) == [
        "Whether help position has changed, the film cannot say yet."
    ]


def test_goals_of_one_kind_share_a_sentence_and_none_says_nothing():
    assert told(HELP, a_stand("Close-outs")) == [
        "Whether help position and close-outs have changed, the film cannot say yet."
    ]
    assert told() == []
