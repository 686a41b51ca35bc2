from datetime import UTC, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry, Message
from devplans.feedback import checking, notices, services
from devplans.feedback.models import Clip, Comment, Delivery
from devplans.feedback.quiet import first_allowed
from devplans.people.models import Consent, Guardianship, Membership
from devplans.threads.models import Thread
from tests import factories as make


def draft(room, players, **fields):
    return make.make_comment(room.film, room.coach, players, **{"skill": room.skill, **fields})


def send(room, *comments):
    return services.send_comments(actor=room.coach, comments=comments)


def test_sending_makes_a_thread_and_a_delivery_per_player_and_one_clip(room):
    both = draft(
        room, [room.kid, room.mate], happened="Ines and Runa trail", do_instead="Ask number 7"
    )
    send(room, both)
    mine, theirs = (Delivery.objects.get(player=player) for player in (room.kid, room.mate))
    assert mine.thread_id == mine.pk
    assert Thread.objects.count() == 2
    assert (mine.happened, mine.do_instead) == ("Ines and a team-mate trail", "Ask a team-mate")
    assert (theirs.happened, theirs.do_instead) == ("A team-mate and Runa trail", "Ask number 7")
    clip = Clip.objects.get()
    assert (clip.start_ms, clip.end_ms, clip.state) == (0, 6_000, "waiting")
    assert AuditEntry.objects.filter(verb="feedback.comment_sent").count() == 2


def test_all_or_none(room):
    good = draft(room, [room.kid])
    mute = draft(room, [room.kid, room.mate], do_instead=" ")
    lonely = draft(room, [room.adult, room.kid])
    with pytest.raises(services.NotSendable) as caught:
        send(room, good, mute, lonely)
    assert set(caught.value.problems) == {mute.pk, lonely.pk}
    assert "Next time" in caught.value.problems[mute.pk][0]
    assert "Tove Adeyemi" in caught.value.problems[lonely.pk][0]
    assert not Delivery.objects.exists()
    assert not Message.objects.exists()
    assert not Comment.objects.sent().exists()


def test_a_minor_without_guardian_or_second_adult_gets_nothing(room):
    Guardianship.objects.filter(player=room.kid).delete()
    send(room, draft(room, [room.kid]))
    told = Message.objects.get(recipient=room.welfare)
    assert told.player_id == room.kid.pk
    Membership.objects.filter(role__in=["welfare", "director"]).delete()
    make.make_member(room.coach, "director", club=room.club)
    with pytest.raises(services.NotSendable) as caught:
        send(room, draft(room, [room.kid]))
    assert "no guardian" in str(caught.value)


def test_an_adult_player_needs_nobody_beside_him(room):
    Membership.objects.filter(role__in=["welfare", "director"]).delete()
    make.give_consent(room.adult)
    send(room, draft(room, [room.adult]))
    assert Delivery.objects.get().player == room.adult


def test_an_unknown_birth_date_is_a_minor(room):
    Membership.objects.filter(role__in=["welfare", "director"]).delete()
    room.adult.born_on = None
    room.adult.save()
    make.give_consent(room.adult)
    with pytest.raises(services.NotSendable):
        send(room, draft(room, [room.adult]))


def test_sending_twice_sends_once(room):
    comment = draft(room, [room.kid])
    send(room, comment)
    counted = (Delivery.objects.count(), Message.objects.count(), Clip.objects.count())
    send(room, comment)
    assert (Delivery.objects.count(), Message.objects.count(), Clip.objects.count()) == counted


def test_somebody_elses_draft_is_not_sent(room):
    second = make.make_user("Second")
    make.make_member(second, "coach", club=room.club, squad=room.squad)
    with pytest.raises(PermissionDenied):
        services.send_comments(actor=second, comments=[draft(room, [room.kid])])


def test_one_notice_per_sending_and_person(room):
    """A guardian of two children in one sending gets one mail, which names only his own."""
    room.sibling.squadplayers.create(squad=room.squad, number="5", since=make.long_ago())
    make.give_consent(room.sibling)
    send(
        room,
        draft(room, [room.kid, room.mate, room.sibling]),
        draft(room, [room.kid, room.mate], start_ms=9_000),
    )
    mails = {mail.recipient: mail for mail in Message.objects.all()}
    assert set(mails) == {room.player, room.teammate, room.guardian, room.mate_guardian}
    mail = mails[room.guardian]
    assert "Ines: 2 comments" in mail.text
    assert "Luc: 1 comment" in mail.text
    assert mail.player_id is None
    assert "Runa" not in mail.text + mail.html + mail.subject
    assert {mail.kind for mail in mails.values()} == {"notice"}


def test_a_minors_notice_waits_for_the_end_of_the_quiet_hours(room):
    night = datetime(2026, 11, 21, 22, 30, tzinfo=UTC)
    assert notices.not_before(room.kid, room.club, night) == datetime(
        2026, 11, 22, 8, 0, tzinfo=UTC
    )
    assert notices.not_before(room.adult, room.club, night) == night


@pytest.mark.parametrize(
    ("now", "hours", "expected"),
    [
        ("2026-11-21T20:59:00+00:00", (21, 8), "2026-11-21T20:59:00+00:00"),
        ("2026-11-21T21:00:00+00:00", (21, 8), "2026-11-22T08:00:00+00:00"),
        ("2026-11-22T07:59:00+00:00", (21, 8), "2026-11-22T08:00:00+00:00"),
        ("2026-11-22T08:00:00+00:00", (21, 8), "2026-11-22T08:00:00+00:00"),
        ("2026-11-22T13:10:00+00:00", (13, 14), "2026-11-22T14:00:00+00:00"),
        ("2026-11-22T03:00:00+00:00", (8, 8), "2026-11-22T03:00:00+00:00"),
        # The night in which the clocks go back has an hour more.
        ("2026-10-24T21:30:00+00:00", (21, 8), "2026-10-25T08:00:00+00:00"),
        ("2026-06-21T20:30:00+00:00", (21, 8), "2026-06-22T07:00:00+00:00"),
    ],
)
def test_quiet_hours_on_the_clubs_clock(now, hours, expected):
    allowed = first_allowed(
        datetime.fromisoformat(now), zone="Europe/London", from_hour=hours[0], until_hour=hours[1]
    )
    assert allowed == datetime.fromisoformat(expected)


def test_a_players_no_to_notices_counts_and_a_guardians_safeguarding_copy_stays(room):
    room.player.mail_choices.create(kind="notice")
    room.guardian.mail_choices.create(kind="notice")
    send(room, draft(room, [room.kid]))
    assert {mail.recipient for mail in Message.objects.all()} == {room.guardian}


def test_sending_a_film_holds_back_who_cannot_get_it(room):
    shared = draft(room, [room.kid, room.adult], happened="Both trail")
    mute = draft(room, [room.kid], do_instead="")
    own = draft(room, [room.mate])
    sent = services.send_film(actor=room.coach, film=room.film, players=[room.kid, room.mate])
    assert {one.pk for one in sent} == {shared.pk, own.pk}
    waiting = Comment.objects.drafts().exclude(pk=mute.pk).get()
    assert list(waiting.players.all()) == [room.adult]
    assert waiting.happened == "Both trail"
    assert {one.player for one in Delivery.objects.all()} == {room.kid, room.mate}
    with pytest.raises(DomainError) as caught:
        services.send_film(actor=room.coach, film=room.film, players=[room.kid])
    assert caught.value.code == "send.nothing"


def test_the_check_tells_what_each_player_would_get(room):
    draft(room, [room.kid, room.mate], verdict="did_it", start_ms=5_000, happened="Runa and Ines")
    draft(room, [room.kid], do_instead="", start_ms=1_000, happened="Tove had to come")
    draft(room, [room.adult], verdict="note")
    found = checking.check(room.film, room.coach)
    ines, runa, tove = (
        next(page for page in found.pages if page.entry.player == player)
        for player in (room.kid, room.mate, room.adult)
    )
    assert [page.entry.number for page in found.pages] == ["7", "12", "31"]
    assert [line.happened for line in ines.lines] == ["Tove had to come", "A team-mate and Ines"]
    assert (ines.did_it, ines.fixes, ines.lacking_answers) == (1, 1, 1)
    assert ines.lines[0].names == ["Tove"]
    assert ines.lines[0].suggestion == "A team-mate had to come"
    assert ines.readers[0] == "Ines"
    assert ines.readers[1].endswith("(mother)")
    assert [line.comment.start_ms for line in ines.sendable] == [5_000]
    assert runa.sendable
    assert tove.standing.lacks == ["Tove Adeyemi has no consent to film."]
    assert found.without == []
    assert [page.entry.player for page in found.waiting] == [room.adult]


def test_nothing_from_this_film_leaves_out_who_got_something_before(room):
    draft(room, [room.kid])
    services.send_film(actor=room.coach, film=room.film, players=[room.kid])
    found = checking.check(room.film, room.coach)
    assert found.pages == []
    assert {entry.player for entry in found.without} == {room.mate, room.adult}
    Delivery.objects.update(withdrawn_at=timezone.now())
    taken_back = checking.check(room.film, room.coach)
    assert {entry.player for entry in taken_back.without} == {room.kid, room.mate, room.adult}


def test_four_corrections_are_too_many(room):
    for start in range(4):
        draft(room, [room.kid], start_ms=start)
    page = checking.check(room.film, room.coach).pages[0]
    assert "more than three" in page.remarks[0]


def test_the_check_asks_as_many_questions_for_fifty_players_as_for_two(
    room, django_assert_max_num_queries, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counts = []
    for more in (2, 48):
        for _ in range(more):
            player = make.make_player(squad=room.squad)
            make.give_consent(player)
            draft(room, [room.kid, player])
        with CaptureQueriesContext(
            connection,
        ) as asked:
            checking.check(room.film, room.coach)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_consent_that_ran_out_stops_a_sending(room):
    Consent.objects.filter(player=room.kid).update(
        expires_on=timezone.now().date() - timedelta(days=1)
    )
    with pytest.raises(services.NotSendable):
        send(room, draft(room, [room.kid]))
