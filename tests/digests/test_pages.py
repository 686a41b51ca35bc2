import pytest
from django.urls import reverse
from django.utils import timezone

from devplans.core.models import AuditEntry, Message
from devplans.digests import links, services
from devplans.digests.models import Digest
from devplans.people.models import MailChoice
from devplans.stats import weeks
from tests import factories as make


@pytest.fixture
def digest(cast):
    week = weeks.last_complete_week(timezone.now(), cast.club.zone)
    for pk in services.plan_week(club=cast.club, week=week):
        services.build_digest(digest_id=pk)
    return Digest.objects.get(kind="guardian", recipient=cast.guardian)


def test_the_archive_keeps_a_digest_as_it_was_sent(client, cast, digest):
    client.force_login(cast.guardian)
    assert b"Ines and Luc" in client.get(reverse("digests:archive")).content
    cast.kid.first_name = "Changed"
    cast.kid.save(update_fields=["first_name"])
    page = client.get(reverse("digests:page", args=[digest.pk]))
    assert "Ines’s week" in page.content.decode()
    letter = client.get(reverse("digests:letter", args=[digest.pk]))
    assert "Ines’s week" in letter.content.decode()
    assert letter["X-Frame-Options"] == "SAMEORIGIN"
    assert "script-src 'self'" in letter["Content-Security-Policy"]
    assert "sandbox" in letter["Content-Security-Policy"]


def test_a_director_may_read_it_and_that_is_written_down(client, cast, digest):
    client.force_login(cast.director)
    assert client.get(reverse("digests:page", args=[digest.pk])).status_code == 200
    assert AuditEntry.objects.filter(verb="digests.read", actor=cast.director).exists()


def test_preview_writes_nothing_but_the_audit_line(client, cast):
    client.force_login(cast.director)
    to = f"guardian.{cast.guardian.pk.hex}.{cast.guardian.pk.hex}"
    page = client.get(reverse("digests:preview"), {"to": to})
    assert "Ines and Luc" in page.content.decode()
    assert client.get(reverse("digests:preview-letter"), {"to": to}).status_code == 200
    assert not Digest.objects.exists()
    assert not Message.objects.filter(kind="digest").exists()


def test_a_coach_of_two_squads_stands_there_with_each(client, cast):
    other = make.make_squad(season=cast.squad.season, name="Second squad")
    make.make_member(cast.coach, "coach", club=cast.club, squad=other)
    client.force_login(cast.director)
    page = client.get(reverse("digests:preview")).content.decode()
    for squad in (cast.squad, other):
        told = f'{cast.coach} <span class="faded">{squad.name}</span></a>'
        assert page.count(told) == 1


def test_one_click_stops_digests_without_signing_in(client, cast, digest):
    url = links.unsubscribe_url(cast.guardian).removeprefix("http://127.0.0.1:8000")
    assert "Stop the weekly digest?" in client.get(url).content.decode()
    assert not MailChoice.objects.exists(), "a GET only asks"
    for _time in range(2):
        answer = client.post(url, {"List-Unsubscribe": "One-Click"})
        assert answer.status_code == 200
    assert MailChoice.objects.filter(user=cast.guardian, kind="digest").count() == 1
    assert Message.objects.get(kind="digest", recipient=cast.guardian).state == "withdrawn"
    assert client.post(reverse("digests:unsubscribe", args=["forged:token"])).status_code == 404


def test_unsubscribing_needs_no_csrf_token(cast, digest):
    from django.test import Client

    url = links.unsubscribe_url(cast.guardian).removeprefix("http://127.0.0.1:8000")
    assert Client(enforce_csrf_checks=True).post(url).status_code == 200
