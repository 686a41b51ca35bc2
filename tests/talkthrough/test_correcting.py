import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.feedback import services as feedback
from devplans.feedback.models import Comment
from devplans.talkthrough import voicing
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.services import cutting, suggestions
from devplans.talkthrough.services.steps import undo
from tests import factories as make
from tests.talkthrough.talks import a_take, a_talk, say, suggestion

pytestmark = pytest.mark.django_db


@pytest.fixture
def talk(cast):
    film = make.make_film(cast.squad, duration_ms=600_000)
    return a_talk(film, cast.coach)


def fresh(one):
    return Suggestion.objects.get(pk=one.pk)


def as_it_is(talk):
    """All that a coach sees of the talk's suggestions."""
    fields = [f.name for f in Suggestion._meta.fields if f.name not in {"updated_at", "comment"}]
    rows = Suggestion.objects.of_talk(talk).order_by("pk")
    return [
        ([getattr(row, name) for name in fields], sorted(str(p.pk) for p in row.players.all()))
        for row in rows
    ]


def test_accepting_makes_a_draft_that_joins_check_and_send(cast, talk, client):
    one = suggestion(talk, [cast.kid], verdict="not_yet", do_instead="Hands up.")
    suggestions.accept(actor=cast.coach, suggestion=one)
    comment = fresh(one).comment
    assert comment.author == cast.coach
    assert comment.sent_at is None
    assert list(comment.players.all()) == [cast.kid]
    assert (comment.skill, comment.verdict) == (one.skill, "not_yet")
    assert (comment.start_ms, comment.end_ms) == (one.start_ms, one.end_ms)
    assert (comment.happened, comment.do_instead) == (one.happened, "Hands up.")
    client.force_login(cast.coach)
    page = client.get(reverse("feedback:check", args=[talk.film_id])).content.decode()
    assert "Hands up." in page
    assert "Send to 1 player" in page


def test_a_not_yet_without_next_time_is_accepted_but_not_sent(cast, talk):
    one = suggestion(talk, [cast.kid], verdict="not_yet", do_instead="")
    suggestions.accept(actor=cast.coach, suggestion=one)
    with pytest.raises(feedback.NotSendable):
        feedback.send_comments(actor=cast.coach, comments=[fresh(one).comment])


def test_what_an_accepted_one_lacks_is_told_with_where_to_write_it(cast, talk, client):
    client.force_login(cast.coach)
    rows = [
        suggestion(talk, [cast.kid], verdict="not_yet", do_instead=words, start_ms=start)
        for start, words in ((1_000, ""), (30_000, "Hands up."))
    ]
    told = []
    for one in rows:
        answer = client.post(
            reverse("talkthrough:do", args=[talk.pk]),
            {"do": f"accept:{one.pk}"},
            headers={"accept": "application/json"},
        ).json()
        address = reverse("feedback:comment", args=[fresh(one).comment_id])
        told.append((answer["said"], f"{address}?next=check" in answer["rows"][0]["html"]))
    (lacks, is_linked), (whole, is_whole_linked) = told
    assert "cannot be sent before it has a “Next time”" in lacks
    assert "Check and send" in lacks
    assert is_linked
    assert (whole, is_whole_linked) == ("Accepted: a draft now.", False)


def test_without_skill_or_player_it_is_refused(cast, talk):
    for one, code in (
        (suggestion(talk, [cast.kid], skill=None), "skill.missing"),
        (suggestion(talk), "players.none"),
    ):
        with pytest.raises(DomainError) as refusal:
            suggestions.accept(actor=cast.coach, suggestion=one)
        assert refusal.value.code == code
        assert fresh(one).state == "open"
    assert not Comment.objects.exists()
    assert not talk.steps.exists()


def test_a_done_one_is_not_done_twice(cast, talk):
    one = suggestion(talk, [cast.kid])
    suggestions.accept(actor=cast.coach, suggestion=one)
    for act in (suggestions.accept, suggestions.drop, cutting.merge_next):
        with pytest.raises(DomainError):
            act(actor=cast.coach, suggestion=fresh(one))
    assert Comment.objects.count() == 1


def test_only_its_coach_corrects_it(cast, talk):
    one = suggestion(talk, [cast.kid])
    second = make.make_user("Sigrun")
    make.make_member(second, "coach", club=cast.club, squad=cast.squad)
    for somebody in (second, cast.director, cast.player, cast.other_coach):
        with pytest.raises(PermissionDenied):
            suggestions.accept(actor=somebody, suggestion=one)
        with pytest.raises(PermissionDenied):
            undo(actor=somebody, talk=talk)
        assert not TalkThrough.objects.visible_to(somebody).exists()


def all_steps(cast, talk):
    """Every step, each on suggestions of its own, as (name, what to do)."""
    say(talk, 0, 4, "Ines, good closeout there. Runa, you are late on the help.")
    rows = [suggestion(talk, [cast.kid], start_ms=n * 20_000) for n in range(8)]
    asked = suggestion(
        talk, start_ms=200_000, unsure=[str(cast.kid.pk), str(cast.mate.pk)],
        heard=[{"text": "shivon", "players": [str(cast.kid.pk), str(cast.mate.pk)], "sure": False}],
    )  # fmt: skip
    skill = make.make_skill()
    talk.left_out = [
        {"id": "ab", "start_ms": 9_000, "spoken_ms": 9_000, "said": "Runa walks.", "why": "aside"}
    ]
    talk.save()
    coach = cast.coach
    edited = {
        "players": [cast.mate], "skill": skill, "verdict": "note", "happened": "Else.",
        "do_instead": "", "start_ms": 5_000, "end_ms": None,
    }  # fmt: skip
    return [
        ("accept", lambda: suggestions.accept(actor=coach, suggestion=fresh(rows[0]))),
        ("drop", lambda: suggestions.drop(actor=coach, suggestion=fresh(rows[1]))),
        ("reopen", lambda: suggestions.reopen(actor=coach, suggestion=fresh(rows[1]))),
        ("judge", lambda: suggestions.judge(
            actor=coach, suggestion=fresh(rows[2]), verdict="note")),
        ("pick_skill", lambda: suggestions.pick_skill(
            actor=coach, suggestion=fresh(rows[2]), slug=skill.slug)),
        ("pick_player", lambda: suggestions.pick_player(
            actor=coach, suggestion=fresh(asked), player=cast.mate)),
        ("edit", lambda: suggestions.edit(actor=coach, suggestion=fresh(rows[3]), **edited)),
        ("split", lambda: cutting.split(actor=coach, suggestion=fresh(rows[4]), at=2)),
        ("merge", lambda: cutting.merge_next(actor=coach, suggestion=fresh(rows[5]))),
        ("take_left_out", lambda: cutting.take_left_out(actor=coach, talk=talk, key="ab")),
        ("accept_certain", lambda: suggestions.accept_certain(actor=coach, talk=talk)),
    ]  # fmt: skip


def test_every_step_can_be_undone_the_last_first(cast, talk):
    before = []
    for name, act in all_steps(cast, talk):
        before.append((name, as_it_is(talk), TalkThrough.objects.get(pk=talk.pk).left_out))
        act()
        assert as_it_is(talk) != before[-1][1], name
    assert cast.squad.aliases.get().heard == "shivon"
    for name, rows, left_out in reversed(before):
        assert undo(actor=cast.coach, talk=talk).what == name
        assert as_it_is(talk) == rows, name
        assert TalkThrough.objects.get(pk=talk.pk).left_out == left_out
    assert not Comment.objects.exists()
    assert not cast.squad.aliases.exists()
    with pytest.raises(DomainError):
        undo(actor=cast.coach, talk=talk)


def test_undo_throws_away_no_draft_that_went_its_own_way(cast, talk):
    make.give_consent(cast.adult)
    changed, sent = suggestion(talk, [cast.kid]), suggestion(talk, [cast.adult], start_ms=30_000)
    suggestions.accept(actor=cast.coach, suggestion=changed)
    feedback.edit_comment(
        actor=cast.coach, comment=fresh(changed).comment, happened="In other words."
    )
    with pytest.raises(DomainError) as refusal:
        undo(actor=cast.coach, talk=talk)
    assert refusal.value.code == "undo.changed"
    suggestions.accept(actor=cast.coach, suggestion=sent)
    feedback.send_comments(actor=cast.coach, comments=[fresh(sent).comment])
    with pytest.raises(DomainError) as refusal:
        undo(actor=cast.coach, talk=talk)
    assert refusal.value.code == "undo.sent"
    assert Comment.objects.count() == 2


def test_certain_ones_are_accepted_together_and_the_rest_is_left(cast, talk):
    certain = [suggestion(talk, [cast.kid], start_ms=n * 9_000) for n in range(3)]
    asked = [
        suggestion(talk, [cast.kid], unsure=[str(cast.mate.pk)]),
        suggestion(talk),
        suggestion(talk, [cast.kid], skill=None),
        suggestion(talk, [cast.kid], verdict="not_yet"),
    ]
    done = suggestions.accept_certain(actor=cast.coach, talk=talk)
    assert {one.pk for one in done.rows} == {one.pk for one in certain}
    assert all(fresh(one).state == "open" for one in asked)
    undo(actor=cast.coach, talk=talk)
    assert not Comment.objects.exists()


def test_edits_of_one_opening_are_one_step(cast, talk):
    one = suggestion(talk, [cast.kid], happened="First.")
    fields = {
        "players": [cast.kid], "skill": one.skill, "verdict": "did_it", "do_instead": "",
        "start_ms": 0, "end_ms": None,
    }  # fmt: skip
    for words in ("Sec", "Second", "Second."):
        suggestions.edit(
            actor=cast.coach, suggestion=fresh(one), session="a", happened=words, **fields
        )
    suggestions.edit(
        actor=cast.coach, suggestion=fresh(one), session="b", happened="Third.", **fields
    )
    undo(actor=cast.coach, talk=talk)
    assert fresh(one).happened == "Second."
    undo(actor=cast.coach, talk=talk)
    assert fresh(one).happened == "First."


def test_merging_takes_players_words_and_the_longer_span(cast, talk):
    first = suggestion(
        talk, [cast.kid], start_ms=10_000, said="Ines is late", happened="Ines is late",
        verdict="note",
    )  # fmt: skip
    suggestions.drop(actor=cast.coach, suggestion=suggestion(talk, start_ms=12_000))
    second = suggestion(
        talk, [cast.mate], start_ms=15_000, said="and so is Runa.", happened="and so is Runa.",
        verdict="not_yet", do_instead="Start earlier.",
    )  # fmt: skip
    done = cutting.merge_next(actor=cast.coach, suggestion=first)
    assert done.gone == [second.pk]
    one = fresh(first)
    assert {player.pk for player in one.players.all()} == {cast.kid.pk, cast.mate.pk}
    assert one.happened == "Ines is late. and so is Runa."
    assert (one.verdict, one.do_instead) == ("not_yet", "Start earlier.")
    assert (one.start_ms, one.end_ms) == (10_000, 19_000)
    assert one.maybe_skills == [second.skill.slug]
    assert fresh(second).state == "merged"
    with pytest.raises(DomainError):
        cutting.merge_next(actor=cast.coach, suggestion=one)


def test_each_half_of_a_split_is_understood_for_itself(cast, talk):
    said = "Ines, that is a good closeout. Runa, you are late, start earlier."
    say(talk, 20, 26, said)
    one = suggestion(talk, [cast.kid, cast.mate], start_ms=20_000, said=said, happened=said)
    one.sound_end_ms = 26_000
    one.save()
    done = cutting.split(actor=cast.coach, suggestion=one, at=6)
    first, second = done.rows
    assert (first.said, second.said) == (said[:30], said[31:])
    assert [player.pk for player in first.players.all()] == [cast.kid.pk]
    assert [player.pk for player in second.players.all()] == [cast.mate.pk]
    assert first.sound_end_ms == second.sound_start_ms
    assert 22_000 < second.start_ms < 24_000
    assert second.place > first.place
    for at in (0, 6, -1):
        with pytest.raises(DomainError):
            cutting.split(actor=cast.coach, suggestion=fresh(first), at=at)


def test_words_left_out_become_a_suggestion_at_their_time(cast, talk):
    say(talk, 40, 44, "Everybody has to run back here.")
    talk.left_out = [
        {"id": "x1", "start_ms": 40_000, "spoken_ms": 40_000, "why": "team",
         "said": "Everybody has to run back here."},
    ]  # fmt: skip
    talk.save()
    made = cutting.take_left_out(actor=cast.coach, talk=talk, key="x1").rows[0]
    assert (made.start_ms, made.said) == (40_000, "Everybody has to run back here.")
    assert made.happened
    assert made.end_ms == pytest.approx(44_000, abs=1_000)
    with pytest.raises(DomainError):
        cutting.take_left_out(actor=cast.coach, talk=talk, key="x1")


def test_a_talk_is_finished_when_nothing_is_open(cast, talk):
    one, other = suggestion(talk, [cast.kid]), suggestion(talk, [cast.kid], start_ms=60_000)
    suggestions.accept(actor=cast.coach, suggestion=one)
    assert TalkThrough.objects.get(pk=talk.pk).finished_at is None
    suggestions.drop(actor=cast.coach, suggestion=other)
    assert TalkThrough.objects.get(pk=talk.pk).finished_at
    undo(actor=cast.coach, talk=talk)
    assert TalkThrough.objects.get(pk=talk.pk).finished_at is None


def test_a_long_talk_asks_the_database_no_more(cast, talk, client, django_assert_max_num_queries):
    client.force_login(cast.coach)
    page = reverse("talkthrough:correct", args=[talk.pk])
    for at in range(60):
        say(talk, at * 9, at * 9 + 4, "Ines, good closeout there.")
        suggestion(talk, [cast.kid], start_ms=at * 9_000, unsure=[str(cast.mate.pk)])
    with django_assert_max_num_queries(35):
        answer = client.get(page)
    assert answer.content.decode().count('class="timed marked talk-row') == 60


def test_voice_stays_where_another_child_is_named(cast):
    film = make.make_film(cast.squad, duration_ms=600_000)
    talk = a_talk(film, cast.coach, kind="whole")
    take = a_take(talk)
    cast.squad.aliases.create(player=cast.mate, heard="rooner", coach=cast.coach)
    for at, text in enumerate(
        ["Ines, good closeout there.", "Ines went, and Runa watched.", "Ines again, before seven.",
         "Ines, rooner, look.", "Ines, look at number seven."]
    ):  # fmt: skip
        say(talk, at * 20, at * 20 + 4, text, take=take)
    rows = [suggestion(talk, [cast.kid], start_ms=at * 20_000, take=take) for at in range(5)]
    refused = []
    for one in rows:
        try:
            suggestions.set_voice(actor=cast.coach, suggestion=one, on=True, agreed=True)
        except DomainError as error:
            refused.append(error.code)
        else:
            refused.append("")
    assert refused[0] == ""
    assert refused[1] == refused[3] == refused[4] == "voice.names"
    with pytest.raises(DomainError) as refusal:
        suggestions.set_voice(actor=cast.coach, suggestion=fresh(rows[0]), on=True)
    assert refusal.value.code == "voice.agree"
    silent = suggestion(talk, [cast.kid], start_ms=5_000)
    with pytest.raises(DomainError) as refusal:
        suggestions.set_voice(actor=cast.coach, suggestion=silent, on=True, agreed=True)
    assert refusal.value.code == "voice.none"


def test_an_accepted_one_hands_its_stretch_of_sound_over(cast, monkeypatch):
    film = make.make_film(cast.squad, duration_ms=600_000)
    talk = a_talk(film, cast.coach, kind="whole")
    take = a_take(talk, length_ms=60_000)
    say(talk, 20, 24, "Ines, good closeout there.", take=take)
    one = suggestion(talk, [cast.kid], start_ms=20_000, take=take)
    suggestions.set_voice(actor=cast.coach, suggestion=one, on=True, agreed=True)
    handed = []
    monkeypatch.setattr(voicing, "cut_sound", lambda **given: handed.append(given) or "cut")
    monkeypatch.setattr(suggestions, "keep_sound", lambda **given: handed.append(given))
    suggestions.accept(actor=cast.coach, suggestion=fresh(one))
    given, kept = handed
    assert (kept["comment"], kept["sound"]) == (fresh(one).comment, "cut")
    assert given["players"] == [cast.kid]
    assert (given["source_key"], given["log"]) == (take.sound_key, take.log)
    assert (given["start_ms"], given["end_ms"]) == (20_000, 24_000)
    [(start, end, text)] = given["cues"]
    assert (start, text) == (0, "Ines, good closeout there.")
    assert 3_500 < end <= 4_000
    # Once somebody else is addressed, the name in the sound is another child's.
    other = suggestion(talk, [cast.kid], start_ms=20_000, take=take, with_voice=True)
    other.players.set([cast.mate])
    with pytest.raises(DomainError) as refusal:
        suggestions.accept(actor=cast.coach, suggestion=other)
    assert refusal.value.code == "voice.names"
    assert fresh(other).state == "open"
    assert len(handed) == 2


def test_names_in_the_words_are_caught_by_check_and_send(cast, talk, client):
    one = suggestion(
        talk, [cast.kid], happened="Runa had to come over.", said="Runa had to come over."
    )
    suggestions.accept(actor=cast.coach, suggestion=one)
    client.force_login(cast.coach)
    page = client.get(reverse("feedback:check", args=[talk.film_id])).content.decode()
    assert "names another player" in page
    comment = feedback.write_team_mate(actor=cast.coach, comment=fresh(one).comment)
    assert comment.happened == "A team-mate had to come over."


def test_no_consent_to_film_holds_it_back_when_sending(cast, talk):
    cast.kid.consents.all().delete()
    one = suggestion(talk, [cast.kid])
    suggestions.accept(actor=cast.coach, suggestion=one)
    with pytest.raises(feedback.NotSendable):
        feedback.send_comments(actor=cast.coach, comments=[fresh(one).comment])
