import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.talkthrough import roster
from devplans.talkthrough.everyday import is_everyday
from devplans.talkthrough.lessons import Ask, lessons, sounds_like
from devplans.talkthrough.models import Alias, SkillPhrase, Suggestion
from devplans.talkthrough.services import aliases, phrases, suggestions, understanding
from devplans.talkthrough.services.steps import undo
from devplans.talkthrough.understand.parts import RosterPlayer
from tests import factories as make
from tests.talkthrough.talks import a_talk, heard, say, suggestion

SIOBHAN = RosterPlayer("s", "5", "Siobhan", "Keane")
CHASE = RosterPlayer("c", "9", "Chase", "Morrow")
MAYA = RosterPlayer("m", "8", "Maya", "Haddad")
SQUAD = [SIOBHAN, CHASE, MAYA]


@pytest.mark.django_db
def test_nicknames_are_read_as_in_a_roster_file(cast):
    film = make.make_film(cast.squad)
    make.make_player(
        squad=cast.squad, number="41", first_name="Maeve “Mo; Moss”", last_name="Okonjo [Doc]"
    )
    [maeve] = [player for player in roster.of_film(film) if player.number == "41"]
    assert (maeve.first, maeve.last) == ("Maeve", "Okonjo")
    assert maeve.nicknames == ("Mo", "Moss", "Doc")


def entry(text, *keys, sure=False):
    return {"text": text, "players": list(keys), "sure": sure}


@pytest.mark.once
@pytest.mark.parametrize(
    ("words", "added", "removed", "teach", "asks", "forget"),
    [
        # picked of those who were offered
        ([entry("shivon", "s", "m")], {"s"}, set(), [("shivon", "s")], [], []),
        # a wrong one replaced
        ([entry("Shivon", "m", sure=True)], {"s"}, {"m"}, [("shivon", "s")], [], [("shivon", "m")]),
        # added where an unknown word was heard that sounds like it; where it does not, asked
        ([entry("chivonne")], {"s"}, set(), [("chivonne", "s")], [], []),
        ([entry("Martinez")], {"s"}, set(), [], [("martinez", "s")], []),
        # several unknown words: the one that sounds like it, else each is asked
        ([entry("shivonne"), entry("Martinez")], {"s"}, set(), [("shivonne", "s")], [], []),
        ([entry("Dubois"), entry("Rutter")], {"s"}, set(), [],
         [("dubois", "s"), ("rutter", "s")], []),
        # words that everybody says, other players' names, and numbers are not learned
        ([entry("corner", "c", "m")], {"c"}, set(), [], [("corner", "c")], []),
        ([entry("Maya", "m", "s")], {"s"}, set(), [], [], []),
        ([entry("number nine", "m", sure=True)], {"c"}, {"m"}, [], [], [("number nine", "m")]),
        ([entry("Siobhan", "s", "m")], {"s"}, set(), [], [], []),
        # a wrong one taken out, nobody put in: forgotten
        ([entry("chase", "c", sure=True)], set(), {"c"}, [], [], [("chase", "c")]),
        # two put in for one wrong word: nobody knows whose it is
        ([entry("zzyzx", "c", sure=True)], {"s", "m"}, {"c"}, [],
         [("zzyzx", "s"), ("zzyzx", "m")], [("zzyzx", "c")]),
        ([], {"s"}, {"m"}, [], [], []),
    ],
)  # fmt: skip
def test_what_a_correction_teaches(words, added, removed, teach, asks, forget):
    found = lessons(words, added=added, removed=removed, roster=SQUAD)
    told = [Ask(*one) for one in teach], {Ask(*one) for one in asks}
    assert (found.teach, set(found.asks)) == told
    gone = {one for one in found.forget if one.heard not in {t.heard for t in found.teach}}
    assert gone == {Ask(*one) for one in forget if one[0] not in {t[0] for t in teach}}


@pytest.mark.once
def test_what_sounds_alike():
    assert sounds_like("shivon", SIOBHAN)
    assert sounds_like("my uh", MAYA)
    assert sounds_like("chess", CHASE)
    for other in ("martinez", "basket", "gonzo"):
        assert not sounds_like(other, SIOBHAN)


@pytest.mark.once
def test_everyday_words():
    for words in ("corner", "the corner", "Twelve", "reed", "12", "chase's"):
        assert is_everyday(words), words
    for words in ("shivon", "she bonn", "okafour"):
        assert not is_everyday(words), words


@pytest.fixture
def talk(cast):
    film = make.make_film(cast.squad, duration_ms=600_000)
    return a_talk(film, cast.coach)


def known(squad):
    return {alias.heard: alias.player for alias in Alias.objects.of_squad(squad)}


def asked(talk, *players, text="rooner", **fields):
    return suggestion(
        talk, unsure=[str(p.pk) for p in players], heard=[heard(text, *players)], **fields
    )


@pytest.mark.django_db
def test_picking_teaches_and_fills_in_the_same_words_elsewhere(cast, talk):
    one = asked(talk, cast.kid, cast.mate)
    again = asked(talk, cast.kid, cast.mate, start_ms=30_000)
    other = asked(talk, cast.kid, cast.mate, text="eyeness", start_ms=60_000)
    done = suggestions.pick_player(actor=cast.coach, suggestion=one, player=cast.mate)
    assert known(cast.squad) == {"rooner": cast.mate}
    assert {row.pk for row in done.rows} == {one.pk, again.pk}
    for row in (one, again):
        found = Suggestion.objects.get(pk=row.pk)
        assert list(found.players.all()) == [cast.mate]
        assert found.unsure == []
    assert not Suggestion.objects.get(pk=other.pk).players.exists()
    undo(actor=cast.coach, talk=talk)
    assert known(cast.squad) == {}
    assert Suggestion.objects.get(pk=again.pk).unsure == [str(cast.kid.pk), str(cast.mate.pk)]


def edit(cast, one, *players):
    return suggestions.edit(
        actor=cast.coach, suggestion=Suggestion.objects.get(pk=one.pk), players=players,
        skill=one.skill, verdict="note", happened="x", do_instead="", start_ms=0, end_ms=None,
    )  # fmt: skip


@pytest.mark.django_db
def test_the_newest_correction_wins_and_a_wrong_one_is_forgotten(cast, talk):
    one = suggestion(talk, [cast.kid], heard=[heard("rooner", cast.kid, sure=True)])
    cast.squad.aliases.create(player=cast.kid, heard="rooner", coach=cast.coach)
    edit(cast, one, cast.mate)
    assert known(cast.squad) == {"rooner": cast.mate}
    # the same words, once more wrong: nobody is put in their place
    other = suggestion(talk, [cast.mate], heard=[heard("rooner", cast.mate, sure=True)])
    edit(cast, other)
    assert known(cast.squad) == {}
    undo(actor=cast.coach, talk=talk)
    assert known(cast.squad) == {"rooner": cast.mate}
    undo(actor=cast.coach, talk=talk)
    assert known(cast.squad) == {"rooner": cast.kid}


@pytest.mark.django_db
def test_an_everyday_word_needs_a_yes_and_is_unlearned_when_it_was_wrong(cast, talk):
    one = asked(talk, cast.kid, cast.mate, text="corner")
    done = suggestions.pick_player(actor=cast.coach, suggestion=one, player=cast.mate)
    assert known(cast.squad) == {}
    [ask] = done.asks
    suggestions.answer(actor=cast.coach, suggestion=one, player=cast.mate, heard=ask.heard)
    assert known(cast.squad) == {"corner": cast.mate}
    other = suggestion(talk, [cast.mate], heard=[heard("corner", cast.mate, sure=True)])
    edit(cast, other)
    assert known(cast.squad) == {}


@pytest.mark.django_db
def test_learned_spellings_are_sure_the_next_time(cast, talk):
    say(talk, 1, 6, "Rooner Lindkist, you are late on the help there, start earlier.")
    squad = roster.of_film(talk.film)
    assert {player.key for player in squad} == {
        str(p.pk) for p in (cast.kid, cast.mate, cast.adult)
    }
    aliases.learn(actor=cast.coach, squad=cast.squad, player=cast.mate, heard="Rooner Lindkist")
    found = {player.key: player.heard_as for player in roster.of_film(talk.film)}
    assert found[str(cast.mate.pk)] == ("rooner lindkist",)
    understanding.suggest(talk=talk)
    assert [player for one in talk.suggestions.all() for player in one.players.all()] == [cast.mate]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("words", "code"),
    [("", "alias.empty"), ("x" * 61, "alias.long"), ("12", "alias.number"), ("INES", "alias.name"),
     ("corner", "alias.everyday")],
)  # fmt: skip
def test_spellings_that_are_refused(cast, words, code):
    with pytest.raises(DomainError) as refusal:
        aliases.learn(actor=cast.coach, squad=cast.squad, player=cast.mate, heard=words)
    assert refusal.value.code == code
    assert known(cast.squad) == {}


@pytest.mark.django_db
def test_who_may_and_for_whom(cast):
    for somebody in (cast.director, cast.other_coach, cast.player, cast.outsider):
        with pytest.raises(PermissionDenied):
            aliases.learn(actor=somebody, squad=cast.squad, player=cast.mate, heard="rooner")
    with pytest.raises(DomainError) as refusal:
        aliases.learn(actor=cast.coach, squad=cast.squad, player=cast.sibling, heard="rooner")
    assert refusal.value.code == "alias.player"
    # the same words in another squad are another matter
    aliases.learn(actor=cast.coach, squad=cast.squad, player=cast.mate, heard="rooner")
    aliases.learn(
        actor=cast.other_coach, squad=cast.other_squad, player=cast.sibling, heard="rooner"
    )
    assert Alias.objects.count() == 2


@pytest.mark.django_db
def test_the_page_adds_asks_and_deletes(cast, client):
    client.force_login(cast.coach)
    page = reverse("talkthrough:names", args=[cast.squad.pk])
    assert "Nothing learned yet" in client.get(page).content.decode()
    told = {"heard": "Corner", "player": str(cast.mate.pk)}
    answer = client.post(page, told)
    assert answer.status_code == 422
    assert "everybody says" in answer.content.decode()
    assert client.post(page, told | {"sure": "on"}).status_code == 302
    [alias] = Alias.objects.all()
    assert (alias.heard, alias.player, alias.coach) == ("corner", cast.mate, cast.coach)
    client.post(reverse("talkthrough:alias-delete", args=[cast.squad.pk, alias.pk]))
    assert not Alias.objects.exists()


@pytest.mark.django_db
def test_a_clubs_phrases_are_understood(cast, talk):
    skill = make.make_skill(club=cast.club, slug="paint-touch", name="Lighthouse turn")
    say(talk, 1, 5, "Ines, that is the old barn door, lovely work.")
    say(talk, 20, 25, "Ines, what a lighthouse turn, well done.")
    phrases.add_phrase(actor=cast.coach, club=cast.club, skill=skill, text="the old Barn door")
    understanding.suggest(talk=talk)
    assert {one.skill for one in talk.suggestions.all()} == {skill}
    with pytest.raises(DomainError):
        phrases.add_phrase(
            actor=cast.director, club=cast.club, skill=skill, text="The old barn door"
        )
    with pytest.raises(PermissionDenied):
        phrases.add_phrase(actor=cast.guardian, club=cast.club, skill=skill, text="something else")
    phrases.delete_phrase(actor=cast.coach, phrase=SkillPhrase.objects.get())
    assert not SkillPhrase.objects.exists()


@pytest.mark.django_db
def test_retired_skills_are_neither_offered_nor_filled_in(cast, talk):
    from django.utils import timezone

    skill = make.make_skill(
        slug="closeout-technique", name="Closeout technique", retired_at=timezone.now()
    )
    say(talk, 1, 5, "Ines, good closeout, short steps and a high hand.")
    understanding.suggest(talk=talk)
    one = talk.suggestions.get()
    assert one.skill is None
    assert skill.slug not in one.maybe_skills
