"""A suggestion that is cut in two: each half has what its own words say."""

import pytest

from devplans.catalogue.models import Skill
from devplans.core.errors import DomainError
from devplans.talkthrough.models import Suggestion
from devplans.talkthrough.services import cutting
from devplans.talkthrough.services.steps import undo
from devplans.talkthrough.services.suggestions import suggest
from devplans.talkthrough.understand.words import WORD
from tests import factories as make
from tests.talkthrough.talks import a_talk, say, suggestion
from tests.talkthrough.test_correcting import as_it_is

pytestmark = pytest.mark.django_db


@pytest.fixture
def talk(cast):
    for slug in ("closeout-technique", "help-position", "rebound-position"):
        Skill.objects.get_or_create(slug=slug, defaults={"name": slug})
    return a_talk(make.make_film(cast.squad, duration_ms=600_000), cast.coach)


def cut(cast, talk, said, before, **fields):
    """Cuts what is said before the word that `before` begins with."""
    say(talk, 20, 30, said)
    one = suggestion(
        talk, [cast.kid], start_ms=20_000, sound_end_ms=30_000, said=said, **fields
    )  # fmt: skip
    at = len(WORD.findall(said[: said.index(before)]))
    return cutting.split(actor=cast.coach, suggestion=one, at=at).rows


def slugs(one):
    return {one.skill.slug if one.skill else None, *one.maybe_skills}


def test_the_answer_goes_with_the_half_that_holds_its_words(cast, talk):
    first, second = cut(
        cast, talk, "Ines, you are standing up on the closeout. Next time stay low.", "Next",
        verdict="not_yet", do_instead="Stay low.", skill=None,
    )  # fmt: skip
    assert (first.verdict, first.do_instead) == ("not_yet", "")
    assert "standing up" in first.happened
    assert first.skill.slug == "closeout-technique"
    assert second.do_instead == "Stay low."
    assert second.happened == ""


def test_each_half_has_an_answer_of_its_own(cast, talk):
    first, second = cut(
        cast, talk,
        "Ines, you are standing up on the closeout. You need to chop your feet."
        " And you do not box out. Next time find a body first.", "And you",
    )  # fmt: skip
    assert first.do_instead == "You need to chop your feet."
    assert second.do_instead == "Find a body first."
    assert first.skill.slug == "closeout-technique"
    assert second.skill.slug == "rebound-position"


def test_a_half_that_names_nobody_stays_with_the_players(cast, talk):
    first, second = cut(
        cast, talk, "Ines, lovely closeout, short steps. You are late on the help.", "You are"
    )
    for half in (first, second):
        assert [player.pk for player in half.players.all()] == [cast.kid.pk]
        assert half.unsure == []
    assert (first.verdict, second.verdict) == ("did_it", "not_yet")


def test_a_skill_that_a_half_does_not_name_is_only_offered(cast, talk):
    whole = Skill.objects.get(slug="help-position")
    first, second = cut(
        cast, talk, "Ines, great closeout, short choppy steps. Uh, well.", "Uh", skill=whole
    )
    assert first.skill.slug == "closeout-technique"
    assert second.skill is None
    assert second.maybe_skills == ["help-position"]


def test_an_answer_that_was_written_is_not_lost(cast, talk):
    first, second = cut(
        cast, talk, "Ines, great closeout there. You are late on the help.", "You are",
        do_instead="In my own words.",
    )  # fmt: skip
    assert (first.do_instead, second.do_instead) == ("", "In my own words.")


def test_undo_makes_one_of_them_again(cast, talk):
    say(talk, 20, 30, "Ines, you are standing up on the closeout. Next time stay low.")
    suggest(talk=talk)
    [one] = Suggestion.objects.of_talk(talk)
    assert one.do_instead == "Stay low."
    before = as_it_is(talk)
    cutting.split(actor=cast.coach, suggestion=one, at=8)
    assert Suggestion.objects.of_talk(talk).count() == 2
    undo(actor=cast.coach, talk=talk)
    assert as_it_is(talk) == before
    with pytest.raises(DomainError):
        cutting.split(actor=cast.coach, suggestion=Suggestion.objects.of_talk(talk).get(), at=0)
