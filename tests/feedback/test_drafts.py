from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.feedback import services
from devplans.feedback.models import Comment, Phrase
from devplans.people.models import SquadPlayer
from tests import factories as make


def add(room, **fields):
    words = {"start_ms": 3_000, "players": [room.kid], "skill": room.skill, "verdict": "not_yet"}
    return services.add_comment(actor=room.coach, film=room.film, **{**words, **fields})


def code_of(run, *arguments, **fields):
    with pytest.raises(DomainError) as caught:
        run(*arguments, **fields)
    return caught.value.code


def test_a_draft_is_seen_by_its_author_only(room):
    draft = add(room, happened=" Late. ")
    assert draft.happened == "Late."
    assert draft.sent_at is None
    others = [room.director, room.welfare, room.player, room.guardian, room.other_coach]
    assert [u for u in others if Comment.objects.visible_to(u).exists()] == []
    assert Comment.objects.visible_to(room.coach).get() == draft
    assert AuditEntry.objects.filter(verb="feedback.comment_added").count() == 1


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"start_ms": 90_001}, "start_ms.range"),
        ({"start_ms": 5_000, "end_ms": 5_000}, "end_ms.order"),
        ({"start_ms": 5_000, "end_ms": 95_000}, "end_ms.range"),
        ({"happened": "x" * 1001}, "words.long"),
        ({"players": []}, "players.none"),
    ],
)
def test_a_draft_has_to_make_sense(room, fields, code):
    assert code_of(add, room, **fields) == code
    assert not Comment.objects.exists()


def test_players_come_from_the_squad_on_the_day_or_today(room):
    assert code_of(add, room, players=[room.sibling]) == "players.squad"
    assert code_of(add, room, players=[room.far_kid]) == "players.squad"
    today = timezone.now().date()
    left = make.make_player(squad=room.squad)
    SquadPlayer.objects.filter(player=left).update(until=today - timedelta(days=10))
    assert code_of(add, room, players=[left]) == "players.squad"
    room.film.recorded_at = timezone.now() - timedelta(days=20)
    room.film.save()
    assert list(add(room, players=[left]).players.all()) == [left]


def test_a_skill_must_be_in_use_in_the_club(room):
    far = make.make_skill(club=room.far_club)
    retired = make.make_skill(retired_at=timezone.now())
    own = make.make_skill(club=room.club)
    assert code_of(add, room, skill=far) == "skill.unknown"
    assert code_of(add, room, skill=retired) == "skill.unknown"
    assert add(room, skill=own).skill == own


@pytest.mark.parametrize("state", ["uploading", "waiting", "preparing"])
def test_a_film_on_its_way_takes_drafts_and_sends_none(room, state):
    room.film.state, room.film.duration_ms = state, None
    room.film.save()
    draft = add(room, start_ms=4_000_000, do_instead="Go early.")
    with pytest.raises(services.NotSendable) as caught:
        services.send_comments(actor=room.coach, comments=[draft])
    assert "on its way" in caught.value.problems[draft.pk][0]
    send = {"actor": room.coach, "film": room.film, "players": [room.kid]}
    assert code_of(services.send_film, **send) == "film.not_ready"
    room.film.state, room.film.duration_ms = "ready", 90_000
    room.film.save()
    with pytest.raises(services.NotSendable):
        services.send_comments(actor=room.coach, comments=[draft])
    assert code_of(services.send_film, **send) == "send.nothing"


def test_a_film_that_failed_takes_no_comment(room):
    room.film.state = "failed"
    assert code_of(add, room) == "film.failed"


@pytest.mark.parametrize("who", ["player", "guardian", "director", "other_coach", "outsider"])
def test_only_the_squads_coach_comments(room, who):
    with pytest.raises(PermissionDenied):
        services.add_comment(
            actor=getattr(room, who), film=room.film, start_ms=1, players=[room.kid],
            skill=room.skill, verdict="note",
        )  # fmt: skip


def test_a_draft_is_edited_and_deleted_by_its_author(room):
    draft = add(room)
    second = make.make_user("Second")
    make.make_member(second, "coach", club=room.club, squad=room.squad)
    with pytest.raises(PermissionDenied):
        services.edit_comment(actor=second, comment=draft, happened="Mine now")
    services.edit_comment(
        actor=room.coach, comment=draft, do_instead=" Go ", players=[room.mate], end_ms=4_000
    )
    draft.refresh_from_db()
    assert (draft.do_instead, draft.end_ms) == ("Go", 4_000)
    assert list(draft.players.all()) == [room.mate]
    services.delete_draft(actor=room.coach, comment=draft)
    assert not Comment.objects.exists()


def test_a_sent_comment_is_not_a_draft_any_more(room):
    sent = make.make_comment(room.film, room.coach, [room.kid], sent_at=timezone.now())
    assert code_of(services.edit_comment, actor=room.coach, comment=sent) == "comment.sent"
    assert code_of(services.delete_draft, actor=room.coach, comment=sent) == "comment.sent"


def test_holding_back_splits_a_draft(room):
    draft = add(room, players=[room.kid, room.mate], happened="Both trail", do_instead="Talk")
    held = services.hold_back(actor=room.coach, comment=draft, players=[room.mate, room.adult])
    assert list(draft.players.all()) == [room.kid]
    assert list(held.players.all()) == [room.mate]
    assert (held.happened, held.do_instead, held.sent_at) == ("Both trail", "Talk", None)
    assert services.hold_back(actor=room.coach, comment=draft, players=[room.kid]) == draft
    assert Comment.objects.count() == 2


def test_other_roster_players_can_be_written_out_of_a_draft(room):
    draft = add(room, happened="Runa had to help; Ines watched", do_instead="Talk to number 31")
    services.write_team_mate(actor=room.coach, comment=draft)
    assert draft.happened == "A team-mate had to help; Ines watched"
    assert draft.do_instead == "Talk to a team-mate"


def test_phrases_are_kept_once_and_dropped_by_their_coach(room):
    kept = services.keep_phrase(actor=room.coach, text=" Low  and loud ", skill=room.skill)
    again = services.keep_phrase(actor=room.coach, text="Low and loud", skill=room.skill)
    assert kept == again
    assert kept.text == "Low and loud"
    assert code_of(services.keep_phrase, actor=room.coach, text=" ") == "phrase.empty"
    with pytest.raises(PermissionDenied):
        services.drop_phrase(actor=room.other_coach, phrase=kept)
    services.drop_phrase(actor=room.coach, phrase=kept)
    assert not Phrase.objects.exists()
