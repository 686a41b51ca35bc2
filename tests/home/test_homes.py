from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.feedback import services
from devplans.people.models import Consent
from tests import factories as make


@pytest.mark.parametrize(
    ("who", "page"),
    [
        ("coach", "/coach/"),
        ("director", "/club/"),
        ("guardian", "/family/"),
        ("player", "/today/"),
        ("welfare", "/people/players/"),
    ],
)
def test_each_role_has_its_first_page(cast, client, who, page):
    client.force_login(getattr(cast, who))
    assert client.get("/").url == page


def test_several_roles_lead_to_the_first_and_keep_the_others(cast, client):
    make.make_guardian(cast.coach, cast.mate)
    client.force_login(cast.coach)
    assert client.get("/").url == "/coach/"
    assert client.get("/family/").status_code == 200
    assert client.get("/today/").status_code == 404


def test_somebody_without_a_club_is_told_what_to_do(cast, client):
    client.force_login(cast.stranger)
    page = client.get("/")
    assert page.status_code == 200
    assert "Ask your club for an invitation" in page.text


def deliver(room, player, **fields):
    comment = make.make_comment(room.film, room.coach, [player], skill=room.skill)
    return make.make_delivery(comment, player, **fields)


def words(client):
    return " ".join(client.get("/family/").text.split())


def test_the_family_page_tells_of_each_child(room, client):
    delivery = deliver(room, room.kid)
    services.ask(actor=room.player, delivery=delivery, text="Which foot?")
    client.force_login(room.guardian)
    page = words(client)
    assert "Ines Okafor" in page
    assert "Luc Okafor" in page
    assert "Runa" not in page
    assert "1 new clip" in page
    assert "There is no consent to film for Luc" in page
    assert "There is no consent to film for Ines" not in page
    assert "not answered yet" in page
    for route in ("feedback:deliveries", "progress:player", "people:player"):
        assert reverse(route, args=[room.kid.pk]) in page
    services.mark_seen(actor=room.player, delivery=delivery)
    assert "Everything has been watched." in words(client)


def test_without_a_clip_lately_it_says_so(room, client):
    deliver(room, room.kid, sent_at=timezone.now() - timedelta(days=30))
    client.force_login(room.guardian)
    assert "No film comments in the last two weeks." in words(client)
    Consent.objects.all().delete()
    assert "There is no consent to film for Ines" in words(client)


def test_the_family_page_asks_as_many_questions_for_fifty_clips_as_for_two(room, client):
    client.force_login(room.guardian)
    counts = []
    for more in (2, 48):
        for _ in range(more):
            deliver(room, room.kid)
            deliver(room, room.sibling)
        with CaptureQueriesContext(connection) as asked:
            assert client.get("/family/").status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 20
