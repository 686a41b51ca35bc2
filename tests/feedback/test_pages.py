import json

import pytest
from django.urls import reverse

from devplans.feedback import picking, services, times
from devplans.feedback.models import Comment, CommentVersion, Delivery, Phrase
from devplans.feedback.roster import roster
from tests import factories as make

HTMX = {"HX-Request": "true"}


@pytest.fixture
def coach(room, client):
    client.force_login(room.coach)
    return client


def words(answer):
    return " ".join(answer.text.split())


def typed(**fields):
    return {
        "start_ms": "0:03.000", "end_ms": "", "who": "12 7", "skill": "help", "verdict": "not_yet",
        "happened": "Late.", "do_instead": "Go early.", **fields,
    }  # fmt: skip


def add(room):
    return reverse("feedback:comment-add", args=[room.film.pk])


@pytest.mark.parametrize(
    ("ms", "text"),
    [(0, "0:00.000"), (3_003, "0:03.003"), (724_300, "12:04.300"), (3_723_004, "1:02:03.004")],
)
def test_times_as_they_are_told_and_typed(ms, text):
    assert times.told(ms) == text
    assert times.parsed(text) == ms


def test_times_that_are_typed_otherwise():
    assert times.parsed("3.5") == 3_500
    assert times.parsed("90") == 90_000
    assert times.parsed(" 12:04,3 ") == 724_300
    for text in ("", "x", "1:60", "-3", "1:2:3:4", "3.5555", "1:61:00"):
        with pytest.raises(ValueError, match=r".*"):
            times.parsed(text)


def test_players_by_number_or_name(room):
    entries = roster(room.film)

    def names(text):
        return [entry.player.first_name for entry in picking.pick(entries, text).entries]

    assert names("12 7") == ["Ines", "Runa"]
    assert names("in ru") == ["Ines", "Runa"]
    assert names("Runa Lindqvist, inès") == ["Runa", "Ines"]
    assert names("#31;12 12") == ["Tove", "Ines"]
    assert names("12 Ines Okafor") == ["Ines"]
    assert picking.pick(entries, "99 x").unknown == ["99", "x"]
    room.adult.first_name = "Inga"
    room.adult.save()
    unsure = picking.pick(roster(room.film), "in").unsure
    assert {entry.number for entry in unsure["in"]} == {"12", "31"}


def test_a_comment_is_written_without_scripts(room, coach):
    page = coach.get(add(room)).text
    assert "<html" in page
    assert "Help-side position" in page
    answer = coach.post(add(room), typed())
    assert answer.url == reverse("film:detail", args=[room.film.pk])
    comment = Comment.objects.get()
    assert {player.first_name for player in comment.players.all()} == {"Ines", "Runa"}
    assert (comment.start_ms, comment.end_ms, comment.skill) == (3_000, None, room.skill)


def test_a_comment_is_written_in_the_film_page(room, coach):
    fragment = coach.get(add(room), headers=HTMX).text
    assert "<html" not in fragment
    chosen = typed(who="7", players=[str(room.kid.pk)], end_ms="0:05.5")
    answer = coach.post(add(room), chosen, headers=HTMX)
    assert answer.status_code == 200
    added = Comment.objects.get()
    assert json.loads(answer["HX-Trigger"]) == {"film:comments": {"id": str(added.pk)}}
    assert " saved" in answer.text
    assert "Go early." not in answer.text
    comment = Comment.objects.get()
    assert comment.end_ms == 5_500
    assert comment.players.count() == 2


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"start_ms": "soon"}, "Write the time as minutes and seconds"),
        ({"start_ms": "9:00"}, "That moment is not in the film."),
        ({"end_ms": "0:02"}, "The end has to be after the start."),
        ({"who": ""}, "Name at least one player."),
        ({"who": "99"}, "Nobody in this squad is called 99."),
        ({"skill": "zzz"}, "There is no such skill in the catalogue."),
        ({"skill": "help-"}, "Which one: Help the ball"),
        ({"verdict": ""}, "Choose did it, not yet or note."),
    ],
)
def test_what_is_wrong_is_told_at_its_field_and_nothing_is_lost(room, coach, fields, said):
    make.make_skill(slug="help-ball", name="Help the ball", family="a")
    room.skill.name = "Help-side position"
    skill = {"skill": "Help-side position"} if "skill" not in fields else {}
    if fields.get("skill") == "help-":
        fields = {"skill": "help"}
    answer = coach.post(add(room), typed(happened="Kept words", **{**skill, **fields}))
    assert answer.status_code == 422
    assert said in words(answer)
    assert "Kept words" in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert not Comment.objects.exists()


def test_a_player_of_another_club_cannot_be_smuggled_in(room, coach):
    answer = coach.post(add(room), typed(players=[str(room.far_kid.pk)]))
    assert answer.status_code == 422
    assert not Comment.objects.exists()


def test_a_draft_is_edited_and_a_sent_comment_corrected(room, coach):
    coach.post(add(room), typed())
    comment = Comment.objects.get()
    address = reverse("feedback:comment", args=[comment.pk])
    page = coach.get(address).text
    assert "Late." in page
    assert "0:03.000" in page
    assert coach.post(address, typed(who="7", next="check")).url == reverse(
        "feedback:check", args=[room.film.pk]
    )
    assert list(comment.players.all()) == [room.mate]
    services.send_comments(actor=room.coach, comments=[comment])
    assert coach.post(address, typed(do_instead="")).status_code == 422
    assert coach.post(address, typed(who="12", happened="Very late.")).status_code == 302
    assert Delivery.objects.get().happened == "Very late."
    assert list(comment.players.all()) == [room.mate]
    assert CommentVersion.objects.get().happened == "Late."
    assert "What it said before" in words(coach.get(address))


def test_drafts_and_sent_comments_beside_the_film(room, coach):
    address = reverse("feedback:film-comments", args=[room.film.pk])
    assert "No drafts." in words(coach.get(address, headers=HTMX))
    coach.post(add(room), typed(do_instead=""))
    page = coach.get(address, headers=HTMX)
    assert "<html" not in page.text
    assert "1 comment · 2 players" in words(page)
    assert "1 without “Next time”" in words(page)
    assert "Check and send" in words(page)
    assert "&quot;verdict&quot;: &quot;not_yet&quot;" in page.text
    comment = Comment.objects.get()
    comment.do_instead = "Go"
    comment.save()
    services.send_comments(actor=room.coach, comments=[comment])
    page = words(coach.get(address, headers=HTMX))
    assert "not opened yet" in page
    services.mark_seen(actor=room.player, delivery=Delivery.objects.get(player=room.kid))
    assert "seen" in words(coach.get(address, headers=HTMX))
    answer = coach.post(reverse("feedback:comment-take-back", args=[comment.pk]), headers=HTMX)
    assert answer.status_code == 204
    assert "film:comments" in answer["HX-Trigger"]
    assert "Taken back" in words(coach.get(address, headers=HTMX))


def test_deleting_a_draft(room, coach):
    coach.post(add(room), typed())
    answer = coach.post(reverse("feedback:comment-delete", args=[Comment.objects.get().pk]))
    assert answer.url == reverse("film:detail", args=[room.film.pk])
    assert not Comment.objects.exists()


def test_phrases_are_kept_and_dropped(room, coach):
    keep = reverse("feedback:phrase-keep", args=[room.film.pk])
    answer = coach.post(keep, typed(do_instead="Low and loud", skill=room.skill.name), headers=HTMX)
    assert "Low and loud" in answer.text
    phrase = Phrase.objects.get()
    assert phrase.skill == room.skill
    assert coach.post(keep, typed(do_instead=""), headers=HTMX).status_code == 422
    assert "Low and loud" in coach.get(add(room)).text
    drop = reverse("feedback:phrase-drop", args=[room.film.pk, phrase.pk])
    assert "Low and loud" not in coach.post(drop, headers=HTMX).text


def test_check_and_send_tells_and_does_what_it_says(room, coach):
    shared = make.make_comment(
        room.film, room.coach, [room.kid, room.mate, room.adult], skill=room.skill,
        happened="Tove and Runa trail; Wim waits",
    )  # fmt: skip
    bystander = make.make_player(squad=room.squad, number="9", first_name="Wim", last_name="Post")
    check = reverse("feedback:check", args=[room.film.pk])
    page = words(coach.get(check))
    assert "Send to 2 players" in page
    assert "Tove's waits" in page
    assert "Tove Adeyemi has no consent to film." in page
    assert "“Wim” names another player." in page
    assert "A team-mate and Runa trail; Wim waits" in page
    assert "9 Wim Post" in page
    assert f"player-{bystander.pk}" not in page
    coach.post(reverse("feedback:comment-team-mate", args=[shared.pk]), {"next": "check"})
    assert "names another player" not in words(coach.get(check))

    send = reverse("feedback:send", args=[room.film.pk])
    answer = coach.post(send, {"players": [str(room.kid.pk), str(room.adult.pk)]})
    assert answer.url == reverse("feedback:sent", args=[room.film.pk])
    assert [one.player for one in Delivery.objects.all()] == [room.kid]
    page = words(coach.get(answer.url))
    receipt, waiting = page.split("Still waiting")
    assert "Ines Okafor" in receipt
    assert "Mail to Marta" in receipt
    assert "Runa" not in receipt
    assert "Runa Lindqvist" in waiting
    assert "Tove Adeyemi has no consent to film." in waiting
    assert "Send to 1 player" in words(coach.get(check))


def test_sending_nothing_is_told(room, coach):
    send = reverse("feedback:send", args=[room.film.pk])
    answer = coach.post(send, {"players": [str(room.kid.pk)]})
    assert answer.status_code == 422
    assert "There is nothing that could be sent." in words(answer)
    assert "No drafts on this film" in words(answer)
    assert "Nothing has been sent from this film yet" in words(
        coach.get(reverse("feedback:sent", args=[room.film.pk]))
    )


def test_all_clips_of_a_player(room, coach, client):
    comment = make.make_comment(room.film, room.coach, [room.kid], skill=room.skill)
    delivery = make.make_delivery(comment, room.kid)
    address = reverse("feedback:deliveries", args=[room.kid.pk])
    for who in (room.player, room.guardian, room.coach, room.director):
        client.force_login(who)
        assert reverse("feedback:delivery", args=[delivery.pk]) in client.get(address).text
    empty = reverse("feedback:deliveries", args=[room.mate.pk])
    assert "No clips yet" in words(client.get(empty))
