from uuid import uuid4

import pytest
from django.urls import reverse

from devplans.feedback.models import Clip, Comment, Delivery
from devplans.people.models import Consent
from tests import factories as make

COMMENTS = "/api/v1/comments/"


def body(room, **fields):
    words = {
        "film": str(room.film.pk), "start_ms": 3_000, "end_ms": None,
        "players": [str(room.kid.pk), str(room.mate.pk)], "skill": "help-position",
        "verdict": "not_yet", "happened": "Ines and Runa trail", "do_instead": "Talk",
    }  # fmt: skip
    return {**words, **fields}


@pytest.fixture
def as_(client):
    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in


def post(client, path, found):
    return client.post(path, found, content_type="application/json")


def test_a_draft_is_made_sent_and_read_by_each_in_his_way(room, as_):
    coach = as_(room.coach)
    made = post(coach, COMMENTS, body(room))
    assert made.status_code == 201
    draft = made.json()
    assert draft["sent_at"] is None
    assert draft["delivery"] is None
    assert draft["clip"] is None
    assert draft["skill"] == "help-position"
    assert set(draft["players"]) == {str(room.kid.pk), str(room.mate.pk)}
    answer = post(coach, COMMENTS + "send/", {"comments": [draft["id"]]})
    assert answer.status_code == 200
    assert [one["id"] for one in answer.json()] == [draft["id"]]
    assert answer.json()[0]["sent_at"]
    Clip.objects.update(state="ready")

    listed = coach.get(COMMENTS, {"film": str(room.film.pk)}).json()
    assert set(listed) == {"next", "previous", "results"}
    assert set(listed["results"][0]["players"]) == set(draft["players"])
    assert listed["results"][0]["clip"].startswith("/feedback/deliveries/")

    delivery = Delivery.objects.get(player=room.kid)
    for who in (room.player, room.guardian):
        for asked in ({"player": str(room.kid.pk)}, {"film": str(room.film.pk)}):
            [one] = as_(who).get(COMMENTS, asked).json()["results"]
            assert one == {
                "id": draft["id"], "delivery": str(delivery.pk), "film": str(room.film.pk),
                "start_ms": 3_000, "end_ms": None, "players": [str(room.kid.pk)],
                "skill": "help-position", "verdict": "not_yet",
                "happened": "Ines and a team-mate trail", "do_instead": "Talk",
                "sent_at": one["sent_at"], "clip": reverse("feedback:clip", args=[delivery.pk]),
            }  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"film": str(uuid4())}, "film"),
        ({"players": []}, "players"),
        ({"players": [str(uuid4())]}, "players"),
        ({"skill": "no-such-skill"}, "skill"),
        ({"verdict": "bad"}, "verdict"),
        ({"start_ms": -1}, "start_ms"),
        ({"start_ms": 90_001}, "start_ms"),
        ({"end_ms": 3_000}, "end_ms"),
        ({"end_ms": 99_000}, "end_ms"),
        ({"happened": "x" * 1001}, "happened"),
        ({"start_ms": None}, "start_ms"),
        ({"start_ms": 10**12}, "start_ms"),
    ],
)
def test_a_bad_draft_is_told_by_field(room, as_, fields, field):
    answer = post(as_(room.coach), COMMENTS, body(room, **fields))
    assert answer.status_code == 400
    assert list(answer.json()) == [field]
    assert not Comment.objects.exists()


def test_a_player_of_another_squad_or_club_is_refused(room, as_):
    make.make_member(room.coach, "coach", club=room.club, squad=room.other_squad)
    for player in (room.sibling, room.far_kid):
        answer = post(as_(room.coach), COMMENTS, body(room, players=[str(player.pk)]))
        assert answer.status_code == 400
        assert list(answer.json()) == ["players"]


def test_sending_is_all_or_none_with_a_reason_for_each(room, as_):
    coach = as_(room.coach)
    good = post(coach, COMMENTS, body(room)).json()["id"]
    mute = post(coach, COMMENTS, body(room, do_instead="")).json()["id"]
    lonely = post(
        coach, COMMENTS, body(room, players=[str(room.adult.pk), str(room.kid.pk)])
    ).json()["id"]
    answer = post(coach, COMMENTS + "send/", {"comments": [good, mute, lonely]})
    assert answer.status_code == 400
    problems = answer.json()["comments"]
    assert set(problems) == {mute, lonely}
    assert all(isinstance(words, list) and words for words in problems.values())
    assert "Tove Adeyemi" in problems[lonely][0]
    assert not Delivery.objects.exists()
    assert post(coach, COMMENTS + "send/", {"comments": []}).status_code == 400
    assert post(coach, COMMENTS + "send/", {"comments": ["x"]}).status_code == 400
    assert post(coach, COMMENTS + "send/", {"comments": [str(uuid4())]}).status_code == 404


def test_sending_again_changes_nothing(room, as_):
    coach = as_(room.coach)
    key = post(coach, COMMENTS, body(room)).json()["id"]
    first = post(coach, COMMENTS + "send/", {"comments": [key, key]}).json()
    again = post(coach, COMMENTS + "send/", {"comments": [key]})
    assert again.status_code == 200
    assert again.json()[0]["sent_at"] == first[0]["sent_at"]
    assert Delivery.objects.count() == 2


def test_drafts_are_their_authors_only(room, as_):
    key = post(as_(room.coach), COMMENTS, body(room)).json()["id"]
    second = make.make_user("Second")
    make.make_member(second, "coach", club=room.club, squad=room.squad)
    for who in (second, room.director, room.player, room.guardian, room.outsider):
        client = as_(who)
        assert client.get(f"{COMMENTS}{key}/").status_code == 404
        assert post(client, COMMENTS + "send/", {"comments": [key]}).status_code == 404
    assert as_(second).get(COMMENTS, {"film": str(room.film.pk)}).json()["results"] == []
    assert not Delivery.objects.exists()


def test_a_draft_can_be_changed_and_deleted_but_not_moved(room, as_):
    coach = as_(room.coach)
    key = post(coach, COMMENTS, body(room)).json()["id"]
    path = f"{COMMENTS}{key}/"

    def patch(**fields):
        return coach.patch(path, fields, content_type="application/json")

    assert patch(verdict="did_it", end_ms=5_000).json()["end_ms"] == 5_000
    other = make.make_film(room.squad)
    assert patch(film=str(other.pk)).status_code == 400
    # Nothing of the server's own can be set from outside.
    patch(sent_at="2026-11-20T17:30:00Z", author=str(room.director.pk), version=9)
    found = Comment.objects.get()
    assert (found.sent_at, found.author, found.version) == (None, room.coach, 1)
    assert coach.delete(path).status_code == 204
    assert coach.get(path).status_code == 404


def test_lists_name_a_player_or_a_film(room, as_):
    coach = as_(room.coach)
    assert coach.get(COMMENTS).status_code == 400
    assert coach.get(COMMENTS, {"player": "x"}).status_code == 400
    assert coach.get(COMMENTS, {"player": str(room.far_kid.pk)}).status_code == 404
    assert coach.get(COMMENTS, {"film": str(uuid4())}).status_code == 404
    assert as_(room.teammate).get(COMMENTS, {"player": str(room.kid.pk)}).status_code == 404


def test_a_film_that_is_closed_to_a_family_without_deliveries_is_not_there(room, as_):
    asked = {"film": str(room.film.pk)}
    assert as_(room.player).get(COMMENTS, asked).status_code == 404
    make.make_delivery(make.make_comment(room.film, room.coach, [room.kid]), room.kid)
    assert len(as_(room.player).get(COMMENTS, asked).json()["results"]) == 1
    assert as_(room.mate_guardian).get(COMMENTS, asked).status_code == 404


def test_without_consent_the_words_stay_and_the_clip_goes(room, as_):
    delivery = make.make_delivery(make.make_comment(room.film, room.coach, [room.kid]), room.kid)
    Clip.objects.create(
        comment=delivery.comment, version=1, start_ms=0, end_ms=6_000, state="ready"
    )
    asked = {"player": str(room.kid.pk)}
    assert as_(room.player).get(COMMENTS, asked).json()["results"][0]["clip"]
    Consent.objects.filter(player=room.kid).delete()
    for who in (room.player, room.guardian, room.coach):
        assert as_(who).get(COMMENTS, asked).json()["results"][0]["clip"] is None


def test_newest_first_and_in_pages(room, as_):
    for second in range(3):
        comment = make.make_comment(room.film, room.coach, [room.kid], start_ms=second)
        make.make_delivery(comment, room.kid)
    for who in (room.coach, room.player):
        asked = {"player": str(room.kid.pk), "page_size": 2}
        page = as_(who).get(COMMENTS, asked).json()
        assert [one["start_ms"] for one in page["results"]] == [2, 1]
        rest = as_(who).get(page["next"]).json()
        assert [one["start_ms"] for one in rest["results"]] == [0]


def test_lists_ask_as_many_questions_for_fifty_as_for_two(room, as_):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counts = {}
    for more in (2, 48):
        for _ in range(more):
            comment = make.make_comment(room.film, room.coach, [room.kid, room.mate])
            make.make_delivery(comment, room.kid)
        for who in (room.coach, room.player):
            client = as_(who)
            with CaptureQueriesContext(connection) as asked:
                client.get(COMMENTS, {"player": str(room.kid.pk)})
            counts.setdefault(who, []).append(len(asked))
    for before, after in counts.values():
        assert before == after
