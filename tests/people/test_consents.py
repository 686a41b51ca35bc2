from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from devplans.core import outbox
from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.core.mail import queue_message
from devplans.core.models import AuditEntry
from devplans.people import consent, services
from devplans.people.checks import year_after
from devplans.people.models import Consent
from tests import factories as make

ACTORS = [
    "player",
    "guardian",
    "mate_guardian",
    "ex_guardian",
    "coach",
    "director",
    "welfare",
    "outsider",
    "stranger",
]


def who_may(cast, run):
    allowed = set()
    for name in ACTORS:
        try:
            run(getattr(cast, name))
        except PermissionDenied:
            continue
        allowed.add(name)
    return allowed


@pytest.mark.parametrize("born_on", [date(2014, 5, 1), None])
def test_for_a_minor_only_a_guardian_of_today_consents(cast, born_on):
    cast.kid.born_on = born_on
    cast.kid.save(update_fields=["born_on"])
    allowed = who_may(
        cast, lambda who: services.give_consent(actor=who, player=cast.kid, kind="film")
    )
    assert allowed == {"guardian"}


def test_for_an_adult_only_he_himself_consents(cast):
    cast.kid.born_on = today() - timedelta(days=365 * 19)
    cast.kid.save(update_fields=["born_on"])
    allowed = who_may(
        cast, lambda who: services.give_consent(actor=who, player=cast.kid, kind="film")
    )
    assert allowed == {"player"}
    assert cast.kid.consents.get(how="player").given_by == cast.player


def test_only_a_director_records_from_paper(cast):
    paper = {
        "player": cast.kid,
        "kind": "film",
        "given_by_name": "Marta Okafor",
        "given_on": today(),
    }
    allowed = who_may(cast, lambda who: services.record_paper_consent(actor=who, **paper))
    assert allowed == {"director"}
    row = cast.kid.consents.get(recorded_by=cast.director)
    assert (row.how, row.given_by_name, row.given_by) == ("paper", "Marta Okafor", None)


def test_guardian_and_director_withdraw(cast):
    allowed = who_may(
        cast, lambda who: services.withdraw_consent(actor=who, player=cast.kid, kind="film")
    )
    assert allowed == {"guardian", "director"}
    assert not consent.given(cast.kid, "film")
    assert (
        AuditEntry.objects.filter(verb="people.consent_withdrawn", player_id=cast.kid.pk).count()
        == 1
    )


@pytest.mark.parametrize(
    ("days_ago", "name", "code"),
    [(-1, "Marta", "consent.date"), (366, "Marta", "consent.date"), (1, "  ", "consent.name")],
)
def test_paper_that_cannot_hold_is_refused(cast, days_ago, name, code):
    with pytest.raises(DomainError) as refusal:
        services.record_paper_consent(
            actor=cast.director,
            player=cast.sibling,
            kind="film",
            given_by_name=name,
            given_on=today() - timedelta(days=days_ago),
        )
    assert refusal.value.code == code
    assert not cast.sibling.consents.exists()


def test_an_old_paper_counts_from_its_own_date(cast):
    row = services.record_paper_consent(
        actor=cast.director,
        player=cast.sibling,
        kind="film",
        given_by_name="Marta",
        given_on=date(2026, 2, 28),
    )
    assert row.expires_on == date(2027, 2, 28)


@pytest.mark.parametrize(
    ("day", "later"),
    [
        (date(2026, 3, 1), date(2027, 3, 1)),
        (date(2028, 2, 29), date(2029, 2, 28)),
        (date(2026, 12, 31), date(2027, 12, 31)),
    ],
)
def test_a_year_after(day, later):
    assert year_after(day) == later


@pytest.mark.parametrize(
    ("change", "holds"),
    [
        ({}, True),
        ({"expires_on": today() - timedelta(days=1)}, False),
        ({"expires_on": today()}, True),
        ({"given_on": today() + timedelta(days=1)}, False),
        ({"withdrawn_at": timezone.now()}, False),
        ({"kind": "email_pictures"}, False),
    ],
)
def test_when_a_consent_holds(cast, change, holds):
    child = make.make_player(squad=cast.squad)
    make.give_consent(child)
    Consent.objects.filter(player=child).update(**change)
    assert consent.given(child, "film") is holds
    assert (child.pk in consent.given_for([child], "film")) is holds


def test_renewing_after_withdrawing_holds_again(cast):
    services.withdraw_consent(actor=cast.guardian, player=cast.kid, kind="film")
    services.give_consent(actor=cast.guardian, player=cast.kid, kind="film")
    assert consent.given(cast.kid, "film")
    assert cast.kid.consents.filter(kind="film").count() == 2


def picture(cid, **more):
    return {"cid": cid, "key": f"stills/{cid}.jpg", "type": "image/jpeg", **more}


def mail_about(player, key, *, inline, html, player_id=None):
    return queue_message(
        key=key,
        kind="digest",
        address="g@people.example",
        subject="Week",
        text="Week",
        html=html,
        inline=inline,
        player_id=player_id,
        not_before=timezone.now() + timedelta(hours=1),
    )


def test_withdrawing_takes_the_pictures_out_of_waiting_mails(cast):
    own = mail_about(
        cast.kid,
        "own",
        inline=[picture("a1")],
        html='<p>Hi</p><img alt="x" src="cid:a1"><p>b</p>',
        player_id=cast.kid.pk,
    )
    family = mail_about(
        None,
        "family",
        inline=[
            picture("k1", player_id=str(cast.kid.pk)),
            picture("s1", player_id=str(cast.sibling.pk)),
        ],
        html='<img src="cid:k1"><img src="cid:s1">',
    )
    other = mail_about(
        cast.mate,
        "other",
        inline=[picture("m1")],
        html='<img src="cid:m1">',
        player_id=cast.mate.pk,
    )
    sent = mail_about(
        cast.kid, "sent", inline=[picture("z1")], html='<img src="cid:z1">', player_id=cast.kid.pk
    )
    type(sent).objects.filter(pk=sent.pk).update(state="sent")
    services.withdraw_consent(actor=cast.guardian, player=cast.kid, kind="email_pictures")
    for message in (own, family, other, sent):
        message.refresh_from_db()
    assert (own.inline, own.html) == ([], "<p>Hi</p><p>b</p>")
    assert [entry["cid"] for entry in family.inline] == ["s1"]
    assert family.html == '<img src="cid:s1">'
    assert other.html == '<img src="cid:m1">'
    assert len(sent.inline) == 1


def test_a_picture_whose_name_begins_alike_stays():
    html = '<img src="cid:a1"><img src="cid:a11"><img src="cid:a1-b">'
    assert outbox.without_picture(html, "a1") == '<img src="cid:a11"><img src="cid:a1-b">'
