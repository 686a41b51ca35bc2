"""From lines to suggestions: times of takes and transcripts, and reading again."""

import pytest
from django.core.exceptions import PermissionDenied

from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.services import suggestions, understanding
from tests import factories as make
from tests.talkthrough.talks import a_take, a_talk, say

pytestmark = pytest.mark.django_db


@pytest.fixture
def film(cast):
    for slug, name in (("closeout-technique", "Closeout technique"),
                       ("help-position", "Help-side position")):  # fmt: skip
        make.make_skill(slug=slug, name=name)
    return make.make_film(cast.squad, duration_ms=600_000)


def told(talk):
    return [
        (one.start_ms, one.end_ms, [player.first_name for player in one.players.all()])
        for one in Suggestion.objects.of_talk(talk)
    ]


def test_a_transcript_is_put_on_the_film_by_its_offset(cast, film):
    talk = a_talk(film, cast.coach, offset_ms=60_000)
    say(talk, 2, 7, "Ines, good closeout, short steps and a high hand.")
    say(talk, 20, 26, "Runa, you are late on the help, start earlier.")
    assert understanding.suggest(talk=talk) == 2
    first, second = told(talk)
    assert first == (62_000, pytest.approx(67_000, abs=200), ["Ines"])
    assert second[0] == 80_000
    assert second[2] == ["Runa"]
    talk = TalkThrough.objects.get(pk=talk.pk)
    assert talk.understood_at


def test_what_lies_outside_of_the_film_is_left_out_and_says_so(cast, film):
    talk = a_talk(film, cast.coach, offset_ms=-10_000)
    say(talk, 0, 5, "Ines, good closeout, short steps and a high hand.")
    say(talk, 8, 13, "Runa, good closeout, short steps and a high hand.")
    say(talk, 700, 705, "Tove, good closeout, short steps and a high hand.")
    understanding.suggest(talk=talk)
    # the second one began before the film, and the film was on when it ended
    assert told(talk) == [(0, pytest.approx(3_000, abs=200), ["Runa"])]
    left = TalkThrough.objects.get(pk=talk.pk).left_out
    assert [(one["why"], one["said"][:4]) for one in left] == [
        ("outside", "Ines"),
        ("outside", "Tove"),
    ]


def test_takes_follow_each_other_and_each_has_its_own_film_times(cast, film):
    talk = a_talk(film, cast.coach, kind="whole")
    still = a_take(talk, 0, length_ms=9_000, log=[{"at": 0, "film_ms": 40_000, "rate": 0}])
    moved = a_take(
        talk, 1, length_ms=30_000, log=[
            {"at": 0, "film_ms": 100_000, "rate": 1}, {"at": 5_000, "film_ms": 50_000, "rate": 0.5},
        ],
    )  # fmt: skip
    say(talk, 1, 6, "Ines, good closeout, short steps and a high hand.", take=still)
    say(talk, 10, 16, "Runa, good closeout, short steps and a high hand.", take=moved)
    understanding.suggest(talk=talk)
    first, second = Suggestion.objects.of_talk(talk)
    end = pytest.approx(55_500, abs=200)
    assert told(talk) == [(40_000, None, ["Ines"]), (52_500, end, ["Runa"])]
    assert (first.take, first.sound_start_ms) == (still, 1_000)
    assert (second.take, second.sound_start_ms, second.sound_end_ms) == (
        moved, 10_000, pytest.approx(16_000, abs=200),
    )  # fmt: skip
    assert second.place > first.place


def test_pronouns_do_not_carry_over_from_one_take_to_the_next(cast, film):
    talk = a_talk(film, cast.coach, kind="whole")
    first = a_take(talk, 0, length_ms=6_000)
    second = a_take(talk, 1, length_ms=6_000)
    say(talk, 0, 5, "Ines, good closeout, short steps and a high hand.", take=first)
    say(talk, 0, 5, "She is late on the help there, she has to start earlier.", take=second)
    understanding.suggest(talk=talk)
    assert [names for *_, names in told(talk) if names] == [["Ines"]]


def test_twice_is_once(cast, film):
    talk = a_talk(film, cast.coach)
    say(talk, 2, 7, "Ines, good closeout, short steps and a high hand.")
    say(talk, 30, 33, "Right, where are we.")
    assert understanding.suggest(talk=talk) == 1
    before = told(talk), [one["said"] for one in TalkThrough.objects.get(pk=talk.pk).left_out]
    assert understanding.suggest(talk=talk) == 1
    after = told(talk), [one["said"] for one in TalkThrough.objects.get(pk=talk.pk).left_out]
    assert after == before


def test_read_again_leaves_alone_what_a_coach_had_in_hand(cast, film):
    talk = a_talk(film, cast.coach)
    names = ["Ines", "Runa", "Tove", "Ines", "Wibbly"]
    for at, name in enumerate(names):
        say(talk, at * 20, at * 20 + 5, f"{name}, good closeout, short steps and a high hand.")
    understanding.suggest(talk=talk)
    rows = list(Suggestion.objects.of_talk(talk).open())[:4]
    suggestions.accept(actor=cast.coach, suggestion=rows[0])
    suggestions.drop(actor=cast.coach, suggestion=rows[1])
    suggestions.judge(actor=cast.coach, suggestion=rows[2], verdict="note")
    cast.squad.aliases.create(player=cast.kid, heard="wibbly", coach=cast.coach)
    understanding.read_again(actor=cast.coach, talk=talk)
    found = list(Suggestion.objects.of_talk(talk))
    assert [one.pk for one in found][:3] == [one.pk for one in rows[:3]]
    assert [one.state for one in found] == ["accepted", "dropped", "open", "open", "open"]
    assert found[2].verdict == "note"
    assert rows[3].pk not in {one.pk for one in found}
    assert [p.first_name for one in found[3:] for p in one.players.all()] == ["Ines", "Ines"]
    assert found[0].comment.sent_at is None
    with pytest.raises(PermissionDenied):
        understanding.read_again(actor=cast.director, talk=talk)
