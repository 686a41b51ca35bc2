"""The link in a mail that opens its page without signing in."""

import hashlib
import re
from datetime import timedelta

import pytest
from django.core.cache import cache
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core.models import AuditEntry, Message
from devplans.digests import services, tasks
from devplans.digests.models import Digest, DigestLink
from devplans.feedback.models import Clip
from devplans.people import guesses
from devplans.people.models import Consent, MailChoice
from devplans.stats import weeks
from tests import factories as make
from tests.test_access import fingerprint


@pytest.fixture
def week(cast):
    return weeks.last_complete_week(timezone.now(), cast.club.zone)


@pytest.fixture
def digests(cast, week):
    """Everybody's digest of a week with a comment for two, whose still may go into mails."""
    inside = weeks.bounds(*week, cast.club.zone)[0] + timedelta(days=2, hours=12)
    comment = make.make_comment(
        make.make_film(cast.squad), cast.coach, [cast.kid, cast.mate], do_instead="Talk early."
    )
    make.make_delivery(comment, cast.kid, sent_at=inside)
    make.make_delivery(comment, cast.mate, sent_at=inside, do_instead="Said to Runa alone.")
    key = default_storage.save("clips/still.jpg", ContentFile(b"\xff\xd8\xff\xe0 still"))
    Clip.objects.create(
        comment=comment, version=1, start_ms=0, end_ms=6000, state="ready", still_key=key
    )
    make.give_consent(cast.kid, Consent.Kind.EMAIL_PICTURES)
    for pk in services.plan_week(club=cast.club, week=week):
        assert services.build_digest(digest_id=pk)
    return {(one.kind, one.recipient_id): one for one in Digest.objects.all()}


@pytest.fixture
def digest(cast, digests):
    return digests["guardian", cast.guardian.pk]


def secret_of(digest):
    return re.search(r"/digests/open/([\w-]+)/", digest.message.text)[1]


def url_of(digest):
    return reverse("digests:open", args=[secret_of(digest)])


def end_url_of(digest):
    return reverse("digests:open-end", args=[secret_of(digest)])


def test_it_opens_that_page_without_signing_in_and_no_picture_of_a_child(cast, digest):
    assert "cid:still" in digest.message.html, "the mail itself has the still"
    answer = Client().get(url_of(digest))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Ines’s week" in page
    assert "Luc’s week" in page
    assert "Talk early." in page
    assert not re.search(r"cid:|\.jpe?g|/still/|<video|<script", page)
    assert not re.search(r"Runa|Lindqvist|number 7\b|#7\b", page)


def test_every_kind_of_digest_has_its_link(digests):
    assert len(digests) == 7
    for one in digests.values():
        assert one.message.html.count(secret_of(one)) == 1
        assert Client().get(url_of(one)).status_code == 200


def test_nothing_on_the_way_keeps_or_passes_on_the_address(digest):
    opened = Client().get(url_of(digest))
    assert not opened.cookies
    for answer in [
        opened,
        Client().post(end_url_of(digest)),
        Client().get(url_of(digest)),
        Client().get(reverse("digests:open", args=["nobody-made-this"])),
    ]:
        assert "noindex" in answer["X-Robots-Tag"]
        assert "no-store" in answer["Cache-Control"]
        assert answer["Referrer-Policy"] == "no-referrer"


def test_the_page_loads_nothing_and_runs_nothing(digest):
    answer = Client().get(url_of(digest))
    policy = answer["Content-Security-Policy"]
    assert "script-src 'none'" in policy
    assert "img-src data:" in policy
    assert not re.search(r'src="(?!data:image/png)', answer.content.decode())


def test_every_address_on_it_asks_to_sign_in(settings, digest):
    """Behind none of them is a page for whoever was sent the link."""
    page = Client().get(url_of(digest)).content.decode()
    addresses = set(re.findall(r'href="([^"]+)"', page))
    assert len(addresses) >= 3
    for address in addresses:
        assert address.startswith(settings.PUBLIC_URL)
        answer = Client().get(address.removeprefix(settings.PUBLIC_URL))
        assert answer.status_code == 302, address
        assert answer["Location"].startswith("/accounts/login/"), address
    assert re.findall(r'action="([^"]+)"', page) == [end_url_of(digest)]


def test_a_scanner_that_follows_it_changes_nothing(digest):
    before = fingerprint()
    audited = AuditEntry.objects.count()
    for _time in range(3):
        assert Client().get(url_of(digest)).status_code == 200
        assert Client().head(url_of(digest)).status_code == 200
        assert Client().get(end_url_of(digest)).status_code == 405
    assert fingerprint() == before
    assert AuditEntry.objects.count() == audited


def test_only_the_hash_is_kept_and_the_secret_leaves_the_outbox_once_sent(settings, digest):
    secret = secret_of(digest)
    assert digest.link.token_hash == hashlib.sha256(secret.encode()).hexdigest()
    assert len(secret) >= 43, "256 bits"
    assert services.forget_links() == 0, "it waits to be sent"
    Message.objects.filter(pk=digest.message_id).update(state="sent")
    tasks.plan_due()
    message = Message.objects.get(pk=digest.message_id)
    assert secret not in message.text + message.html
    assert f"{settings.PUBLIC_URL}/digests/{digest.pk}/" in message.text
    assert services.forget_links() == 0
    assert Client().get(reverse("digests:open", args=[secret])).status_code == 200


def assert_leads_to_sign_in(answer, status):
    assert answer.status_code == status
    words = answer.content.decode()
    assert "/accounts/login/?next=/digests/" in words
    assert "Ines" not in words


def test_it_holds_for_a_week(digest):
    assert timedelta(days=6, hours=23) < digest.link.expires_at - timezone.now()
    assert digest.link.expires_at - timezone.now() <= timedelta(days=7)
    assert f"until {timezone.localtime(digest.link.expires_at):%-d %B}" in digest.message.text
    DigestLink.objects.filter(digest=digest).update(expires_at=timezone.now())
    assert_leads_to_sign_in(Client().get(url_of(digest)), 410)


def test_an_address_that_nobody_made(digests):
    assert_leads_to_sign_in(Client().get(reverse("digests:open", args=["a" * 43])), 404)


def test_whoever_holds_it_ends_it_on_the_page(digest):
    strict = Client(enforce_csrf_checks=True)
    answer = strict.post(end_url_of(digest))
    assert answer.status_code == 200
    assert "The link has ended." in answer.content.decode()
    assert_leads_to_sign_in(Client().get(url_of(digest)), 410)
    assert_leads_to_sign_in(Client().post(end_url_of(digest)), 410)


@pytest.mark.parametrize(
    ("name", "status"),
    [("guardian", 302), ("director", 302), ("mate_guardian", 404), ("coach", 404), ("kid", 404)],
)
def test_recipient_and_director_end_it_signed_in(client, cast, digest, name, status):
    client.force_login(cast.player if name == "kid" else getattr(cast, name))
    answer = client.post(reverse("digests:link-end", args=[digest.pk]))
    assert answer.status_code == status
    assert Client().get(url_of(digest)).status_code == (410 if status == 302 else 200)
    ended = AuditEntry.objects.filter(verb="digests.link_ended").count()
    assert ended == (1 if status == 302 else 0)


def test_archive_and_page_say_how_the_link_stands(client, cast, digest):
    client.force_login(cast.guardian)
    end = reverse("digests:link-end", args=[digest.pk])
    page = reverse("digests:page", args=[digest.pk])
    for where in (reverse("digests:archive"), page):
        assert f'action="{end}"' in client.get(where).content.decode()
    assert "has ended" in client.post(end, follow=True).content.decode()
    for where in (reverse("digests:archive"), page):
        assert f'action="{end}"' not in client.get(where).content.decode()
    assert "The link in this mail has ended" in client.get(page).content.decode()


def end_guardianship(cast, player):
    yesterday = timezone.now().date() - timedelta(days=1)
    cast.guardian.guardianships.filter(player=player).update(until=yesterday)


LOST = {
    "guardian of one child no more": ("guardian", lambda c: end_guardianship(c, c.kid)),
    "guardian of the other no more": ("guardian", lambda c: end_guardianship(c, c.sibling)),
    "no digests wanted": (
        "guardian",
        lambda c: MailChoice.objects.create(user=c.guardian, kind="digest"),
    ),
    "account closed": ("guardian", lambda c: type(c.guardian).objects.update(is_active=False)),
    "coach no more": (
        "coach",
        lambda c: c.coach.memberships.update(until=timezone.now().date() - timedelta(days=1)),
    ),
    "director no more": (
        "director",
        lambda c: c.director.memberships.update(until=timezone.now().date() - timedelta(days=1)),
    ),
    "another account plays": (
        "player",
        lambda c: type(c.kid).objects.filter(pk=c.kid.pk).update(user=None),
    ),
}


@pytest.mark.parametrize("what", LOST)
def test_not_for_who_lost_the_right_meanwhile(cast, digests, what):
    kind, lose = LOST[what]
    digest = digests[kind, getattr(cast, kind).pk]
    assert Client().get(url_of(digest)).status_code == 200
    lose(cast)
    assert_leads_to_sign_in(Client().get(url_of(digest)), 410)


def test_the_other_guardian_s_link_is_not_touched(cast, digests):
    end_guardianship(cast, cast.kid)
    assert Client().get(url_of(digests["guardian", cast.mate_guardian.pk])).status_code == 200


def test_wrong_addresses_are_counted(digest):
    cache.clear()
    client = Client(REMOTE_ADDR="192.0.2.7")
    for number in range(guesses.MOST):
        wrong = reverse("digests:open", args=[f"wrong{number}"])
        assert client.get(wrong).status_code == 404
    answer = client.get(url_of(digest))
    assert answer.status_code == 429
    assert "Sign in" in answer.content.decode()
    assert Client(REMOTE_ADDR="192.0.2.8").get(url_of(digest)).status_code == 200
    cache.clear()


def test_the_archived_page_has_no_secret_in_it(client, cast, digest):
    client.force_login(cast.guardian)
    for route in ("digests:page", "digests:letter"):
        words = client.get(reverse(route, args=[digest.pk])).content.decode()
        assert "/digests/open/" not in words
