import pytest
from django.test import Client
from django.urls import reverse

from devplans.people import lookups
from devplans.people.models import Invitation, User
from tests.people.steps import invite

NEW = "nia.new@people.example"
NAMES = {"first_name": "Nia", "last_name": "Newcome"}


@pytest.fixture
def guardian_link(cast):
    _invitation, token = invite(
        cast.other_coach, "guardian", NEW, player=cast.sibling, name="Nia Newcome"
    )
    return reverse("people:join", args=[token])


def test_the_page_says_what_film_means_and_ticks_nothing(cast, client, guardian_link):
    page = client.get(guardian_link).content.decode()
    assert "What film and comments mean" in page
    assert "As a guardian of Luc Okafor." in page
    assert 'name="film"' in page
    assert 'name="email_pictures"' in page
    assert "checked" not in page
    assert 'value="Nia"' in page


def test_opening_the_link_uses_nothing(cast, client, guardian_link):
    for _time in range(3):
        assert client.get(guardian_link).status_code == 200
    client.head(guardian_link)
    assert Invitation.objects.get().accepted_at is None
    assert not User.objects.filter(email=NEW).exists()


def test_accepting_signs_in_and_says_what_is_next(cast, client, guardian_link):
    answer = client.post(guardian_link, {**NAMES, "film": "on"})
    assert (answer.status_code, answer.url) == (302, reverse("people:welcome"))
    page = client.get(answer.url).content.decode()
    assert "Welcome, Nia" in page
    assert "Everything is there for Luc" in page
    assert [row.kind for row in cast.sibling.consents.all()] == ["film"]


def test_without_consent_he_is_a_guardian_and_nothing_is_delivered(cast, client, guardian_link):
    answer = client.post(guardian_link, NAMES)
    assert "no consent to film for Luc" in client.get(answer.url).content.decode()
    assert User.objects.get(email=NEW) in lookups.guardians_of(cast.sibling)


def test_the_address_cannot_be_chosen(cast, client, guardian_link):
    extra = {
        "email": "other@people.example",
        "is_staff": "on",
        "is_superuser": "on",
        "kind": "director",
    }
    client.post(guardian_link, {**NAMES, **extra})
    user = User.objects.get(email=NEW)
    assert not (user.is_staff)
    assert not (user.is_superuser)
    assert not User.objects.filter(email="other@people.example").exists()
    assert not user.memberships.exists()


def test_a_used_link_says_whom_to_ask(cast, client, guardian_link):
    client.post(guardian_link, NAMES)
    mine = client.get(guardian_link)
    assert mine.status_code == 410
    assert "It was you who used it" in mine.content.decode()
    other = Client().get(guardian_link)
    assert other.status_code == 410
    assert cast.other_coach.full_name in other.content.decode()
    assert "Luc" not in other.content.decode()


def test_a_made_up_link_is_not_found(cast, client):
    page = client.get(reverse("people:join", args=["x" * 43]))
    assert page.status_code == 404
    assert "not one of ours" in page.content.decode()


def test_who_is_signed_in_as_somebody_else_cannot_accept(cast, client, guardian_link):
    client.force_login(cast.mate_guardian)
    page = client.get(guardian_link).content.decode()
    assert "You are signed in as" in page
    assert "Accept the invitation" not in page
    assert client.post(guardian_link, {"film": "on"}).status_code == 422
    assert cast.mate_guardian not in lookups.guardians_of(cast.sibling)


def test_who_has_an_account_signs_in_and_comes_back(cast, client):
    _invitation, token = invite(cast.coach, "coach", cast.guardian.email, squad=cast.squad)
    url = reverse("people:join", args=[token])
    page = client.get(url).content.decode()
    assert f"{reverse('account_login')}?next={url}" in page
    assert client.post(url, NAMES).status_code == 422
    client.force_login(cast.guardian)
    assert client.post(url, {}).status_code == 302
    assert cast.guardian in lookups.coaches_of(cast.squad)


def test_a_minor_is_told_that_clips_wait(cast, client):
    _invitation, token = invite(cast.other_coach, "player", NEW, player=cast.sibling)
    cast.guardian.guardianships.filter(player=cast.sibling).delete()
    cast.welfare.memberships.all().delete()
    cast.director.memberships.all().delete()
    url = reverse("people:join", args=[token])
    assert "as soon as a guardian is here too" in client.get(url).content.decode()
    answer = client.post(url, {**NAMES, "film": "on"})
    page = client.get(answer.url).content.decode()
    assert "wait until a guardian of yours is here too" in page
    assert "wait until a guardian has agreed to film" in page
    assert not cast.sibling.consents.exists()


def test_accepting_needs_the_page_of_this_site(cast, guardian_link):
    client = Client(enforce_csrf_checks=True)
    assert client.post(guardian_link, NAMES).status_code == 403
    assert Invitation.objects.get().accepted_at is None


def test_sending_again_and_taking_back_from_the_page(cast, client):
    invitation, token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    client.force_login(cast.coach)
    page = client.get(reverse("people:squad", args=[cast.squad.pk])).content.decode()
    assert NEW in page
    url = reverse("people:invitation-resend", args=[invitation.pk])
    answer = client.post(url, follow=True)
    assert "sent a moment ago" in answer.content.decode()
    client.post(reverse("people:invitation-revoke", args=[invitation.pk]))
    assert Client().get(reverse("people:join", args=[token])).status_code == 410


@pytest.mark.parametrize("kind", ["welfare", "director", "coach"])
def test_staff_is_invited_from_the_pages(cast, client, kind):
    client.force_login(cast.director)
    if kind == "coach":
        url = reverse("people:invite-coach", args=[cast.squad.pk])
    else:
        url = reverse("people:invite-staff")
    assert client.post(url, {"kind": kind, "email": NEW, "name": "Nia"}).status_code == 302
    row = Invitation.objects.get()
    assert (row.kind, row.club, row.invited_by) == (kind, cast.club, cast.director)
    assert client.post(url, {"kind": kind, "email": NEW}).status_code == 422


@pytest.mark.parametrize("kind", ["founder", "player", "guardian", "coach"])
def test_the_staff_page_makes_no_other_role(cast, client, kind):
    client.force_login(cast.director)
    assert (
        client.post(reverse("people:invite-staff"), {"kind": kind, "email": NEW}).status_code == 422
    )
    assert not Invitation.objects.exists()
