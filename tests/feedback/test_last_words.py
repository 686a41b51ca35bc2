"""What was said before stands beside the box of a new comment."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from devplans.feedback import services
from devplans.goals.models import Goal
from tests import factories as make


@pytest.fixture
def said(room):
    room.maren = make.make_user("Maren")
    make.make_member(room.maren, "coach", club=room.club, squad=room.squad)
    for number in range(1, 5):
        comment = make.make_comment(
            room.film, room.maren, [room.kid, room.mate], skill=room.skill, start_ms=number * 1_000,
            happened=f"Late for the {number} time", do_instead=f"Go {number} s earlier",
        )  # fmt: skip
        services.send_comments(actor=room.maren, comments=[comment])
        at = timezone.now() - timedelta(days=10 - number)
        type(comment).objects.filter(pk=comment.pk).update(sent_at=at)
        room.last = comment
    return room


def ask(client, room, who="coach", **query):
    client.force_login(getattr(room, who))
    query = {"player": str(room.kid.pk), "skill": room.skill.name} | query
    answer = client.get(reverse("feedback:last-words", args=[room.film.pk]), query)
    return answer.status_code, " ".join(answer.text.split())


def test_the_last_three_of_any_coach_the_newest_first(said, client):
    make.make_comment(said.film, said.coach, [said.kid], skill=said.skill, happened="A draft")
    make.make_comment(said.film, said.coach, [said.kid], happened="Of another skill")
    status, page = ask(client, said)
    assert status == 200
    places = [page.index(f"Late for the {number} time") for number in (4, 3, 2)]
    assert places == sorted(places)
    for words in ("the 1 time", "A draft", "another skill"):
        assert words not in page
    assert "· Maren" in page
    assert 'data-copy="Go 4 s earlier"' in page
    assert page.count("Alt+0") == 1
    assert ask(client, said, skill=said.skill.slug) == (status, page)


def test_what_was_taken_back_is_not_said_again(said, client):
    said.last.refresh_from_db()
    services.take_back(actor=said.maren, comment=said.last)
    _status, page = ask(client, said)
    assert "the 4 time" not in page


def test_nothing_said_and_nothing_known(said, client):
    status, page = ask(client, said, player=str(said.adult.pk))
    assert (status, "Nothing has been said yet." in page) == (200, True)
    assert ask(client, said, skill="no such skill") == (200, "")
    for player in ("", "x", str(said.far_kid.pk)):
        assert ask(client, said, player=player)[0] == 404
    assert ask(client, said, "director")[0] == 403
    assert ask(client, said, "guardian")[0] == 404


def test_a_goal_on_it_is_told(said, client):
    words = {"player": said.kid, "skill": said.skill, "measure": "film_rate", "target_share": 0.6}
    dates = {"due_on": date(2027, 1, 10)}
    Goal.objects.create(life="live", words="Be there first", **words, **dates)
    Goal.objects.create(life="closed", words="An old one", **words, **dates)
    _status, page = ask(client, said)
    address = reverse("goals:on-skill", args=[said.kid.pk])
    assert f"{address}?skill={said.skill.slug}" in page
    told = client.get(f"{address}?skill={said.skill.slug}").text
    assert "A goal is on this" in told
    assert "Be there first" in told
    assert "An old one" not in told
    assert "goal" not in client.get(f"{address}?skill=other").text
