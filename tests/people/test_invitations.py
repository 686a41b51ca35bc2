from datetime import timedelta

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import Message
from devplans.people import lookups, services
from devplans.people.access import Role
from devplans.people.links import hash_of
from devplans.people.models import Consent, Invitation, Player, User
from tests import factories as make
from tests.people.steps import invite, token_in

NEW = "nia.new@people.example"


def join(token, **more):
    return services.join_with_new_account(
        token=token, first_name="Nia", last_name="Newcome", **more
    )


@pytest.mark.parametrize(
    ("kind", "place", "who"),
    [
        ("director", "club", {"director"}),
        ("welfare", "club", {"director"}),
        ("coach", "squad", {"director", "coach"}),
        ("player", "adult", {"director", "coach"}),
        ("guardian", "kid", {"director", "coach"}),
    ],
)
def test_who_may_invite(cast, kind, place, who):
    everybody = (
        "director",
        "welfare",
        "coach",
        "other_coach",
        "player",
        "guardian",
        "outsider",
        "stranger",
    )
    name = "player" if place in {"adult", "kid"} else place
    allowed = set()
    for actor in everybody:
        email = f"{actor}.{kind}@people.example"
        try:
            services.invite(
                actor=getattr(cast, actor), kind=kind, email=email, **{name: getattr(cast, place)}
            )
        except PermissionDenied:
            continue
        allowed.add(actor)
    assert allowed == who
    assert Invitation.objects.count() == len(who)


def test_only_the_hash_of_the_secret_is_kept(cast):
    invitation, token = invite(cast.coach, "guardian", NEW, player=cast.kid)
    assert invitation.token_hash == hash_of(token)
    assert token not in str([list(Invitation.objects.values_list()), invitation.__dict__])


def test_a_sent_invitation_is_not_left_in_the_outbox(cast, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        services.invite(actor=cast.coach, kind="guardian", email=NEW, player=cast.kid)
    [sent] = mail.outbox
    row = Message.objects.get(kind="invitation")
    assert sent.to == [NEW]
    assert token_in(sent.body)
    assert row.state == Message.State.SENT
    assert (row.text, row.html) == ("", "")


def test_accepting_makes_the_account_and_the_guardian(cast):
    invitation, token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    user = join(token, password="ruled-paper-77", relationship="aunt")
    invitation.refresh_from_db()
    assert invitation.accepted_by == user
    assert user.email == NEW
    assert user.check_password("ruled-paper-77")
    assert user in lookups.guardians_of(cast.mate)
    assert lookups.roles_of(user) == {Role.GUARDIAN}
    assert not Consent.objects.filter(given_by=user).exists()


def test_without_a_password_only_a_code_opens_the_account(cast):
    _invitation, token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    assert not join(token).has_usable_password()


@pytest.mark.parametrize("password", ["short-one", "password12"])
def test_a_weak_password_is_refused_and_the_link_stays_good(cast, password):
    _invitation, token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    with pytest.raises(DomainError) as refusal:
        join(token, password=password)
    assert refusal.value.code == "password.weak"
    assert not User.objects.filter(email=NEW).exists()
    assert join(token, password="ruled-paper-77")


@pytest.mark.parametrize("ticked", [(), ("film",), ("email_pictures",), ("film", "email_pictures")])
def test_what_a_guardian_ticks_is_written_for_a_year(cast, ticked):
    _invitation, token = invite(cast.other_coach, "guardian", NEW, player=cast.sibling)
    user = join(token, consents=ticked)
    rows = {row.kind: row for row in Consent.objects.filter(player=cast.sibling)}
    assert set(rows) == set(ticked)
    assert user in lookups.guardians_of(cast.sibling)
    for row in rows.values():
        assert (row.how, row.given_by) == ("guardian", user)
        assert 364 <= (row.expires_on - row.given_on).days <= 366


def test_an_adult_player_gives_his_own_consent(cast):
    _invitation, token = invite(cast.coach, "player", NEW, player=cast.adult)
    user = join(token, consents=["film"])
    cast.adult.refresh_from_db()
    assert cast.adult.user == user
    assert [(c.kind, c.how) for c in cast.adult.consents.all()] == [("film", "player")]


@pytest.mark.parametrize("born_on", [None, timezone.now().date() - timedelta(days=365 * 14)])
def test_a_minor_may_join_and_consents_to_nothing(cast, born_on):
    child = make.make_player(squad=cast.squad, born_on=born_on)
    _invitation, token = invite(cast.coach, "player", NEW, player=child)
    user = join(token, consents=["film", "email_pictures"])
    assert not child.consents.exists()
    [waiting] = lookups.waiting_for(user)
    assert (waiting.is_own, waiting.has_consent) == (True, False)


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        ({"accepted_at": timezone.now()}, "invitation.used"),
        ({"revoked_at": timezone.now()}, "invitation.revoked"),
        ({"expires_at": timezone.now() - timedelta(seconds=1)}, "invitation.expired"),
        ({"token_hash": "another"}, "invitation.unknown"),
    ],
)
def test_a_closed_link_opens_nothing(cast, spoil, code):
    invitation, token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    Invitation.objects.filter(pk=invitation.pk).update(**spoil)
    with pytest.raises(DomainError) as refusal:
        join(token)
    assert refusal.value.code == code
    assert not User.objects.filter(email=NEW).exists()


def test_a_link_works_once(cast):
    _invitation, token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    user = join(token)
    for attempt in (
        lambda: join(token),
        lambda: services.accept_invitation(actor=user, token=token),
    ):
        with pytest.raises(DomainError) as refusal:
            attempt()
        assert refusal.value.code == "invitation.used"
    assert cast.mate.guardianships.filter(user=user).count() == 1


def test_another_person_cannot_use_it(cast):
    invitation, token = invite(cast.director, "director", NEW, club=cast.club)
    with pytest.raises(DomainError) as refusal:
        services.accept_invitation(actor=cast.guardian, token=token)
    assert refusal.value.code == "invitation.address"
    invitation.refresh_from_db()
    assert invitation.accepted_at is None
    assert Role.DIRECTOR not in lookups.roles_of(cast.guardian)


def test_who_has_an_account_joins_with_it(cast):
    _invitation, token = invite(cast.director, "coach", cast.guardian.email, squad=cast.squad)
    with pytest.raises(DomainError) as refusal:
        join(token)
    assert refusal.value.code == "email.taken"
    services.accept_invitation(actor=cast.guardian, token=token)
    assert lookups.roles_of(cast.guardian) == {Role.GUARDIAN, Role.COACH}


def test_one_person_holds_several_roles(cast):
    for kind, places in [
        ("welfare", {"club": cast.club}),
        ("coach", {"squad": cast.squad}),
        ("director", {"club": cast.club}),
    ]:
        _invitation, token = invite(cast.director, kind, cast.guardian.email, **places)
        services.accept_invitation(actor=cast.guardian, token=token)
    assert lookups.roles_of(cast.guardian) == {
        Role.GUARDIAN,
        Role.WELFARE,
        Role.COACH,
        Role.DIRECTOR,
    }
    visible = set(Player.objects.visible_to(cast.guardian))
    assert visible == set(Player.objects.filter(club=cast.club))


def test_nobody_is_his_own_guardian(cast):
    _invitation, token = invite(cast.coach, "guardian", cast.player.email, player=cast.kid)
    with pytest.raises(DomainError) as refusal:
        services.accept_invitation(actor=cast.player, token=token)
    assert refusal.value.code == "invitation.guardian"
    lonely = make.make_player(squad=cast.squad)
    make.make_guardian(cast.guardian, lonely)
    _invitation, token = invite(cast.coach, "player", cast.guardian.email, player=lonely)
    with pytest.raises(DomainError) as refusal:
        services.accept_invitation(actor=cast.guardian, token=token)
    assert refusal.value.code == "invitation.guardian"


@pytest.mark.parametrize(
    ("kind", "email", "player", "code"),
    [
        ("guardian", "guardian", "kid", "invitation.joined"),
        ("player", "x@people.example", "kid", "invitation.joined"),
        ("guardian", "x@people.example", "adult", "invitation.adult"),
        ("guardian", "not an address", "kid", "email.bad"),
        ("guardian", "a@b.example\nBcc: c@d.example", "kid", "email.bad"),
    ],
)
def test_what_is_not_invited(cast, kind, email, player, code):
    address = cast.guardian.email if email == "guardian" else email
    with pytest.raises(DomainError) as refusal:
        services.invite(actor=cast.coach, kind=kind, email=address, player=getattr(cast, player))
    assert refusal.value.code == code
    assert not Message.objects.exists()


def test_an_open_invitation_is_not_doubled(cast):
    invite(cast.coach, "guardian", NEW, player=cast.mate)
    with pytest.raises(DomainError) as refusal:
        services.invite(actor=cast.coach, kind="guardian", email=NEW.upper(), player=cast.mate)
    assert refusal.value.code == "invitation.open"


def test_sending_again_replaces_the_link(cast):
    invitation, old = invite(cast.coach, "guardian", NEW, player=cast.mate)
    with pytest.raises(DomainError) as refusal:
        services.resend_invitation(actor=cast.coach, invitation=invitation)
    assert refusal.value.code == "invitation.too_soon"
    long_ago = timezone.now() - timedelta(days=20)
    Invitation.objects.filter(pk=invitation.pk).update(updated_at=long_ago, expires_at=long_ago)
    invitation.refresh_from_db()
    services.resend_invitation(actor=cast.coach, invitation=invitation)
    new = token_in(Message.objects.order_by("-created_at").first().text)
    with pytest.raises(DomainError) as refusal:
        join(old)
    assert refusal.value.code == "invitation.unknown"
    assert join(new)


def test_taking_back_closes_the_link_for_good(cast):
    invitation, token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    services.revoke_invitation(actor=cast.director, invitation=invitation)
    with pytest.raises(DomainError):
        join(token)
    for again in (services.resend_invitation, services.revoke_invitation):
        with pytest.raises(DomainError) as refusal:
            again(actor=cast.director, invitation=invitation)
        assert refusal.value.code == "invitation.closed"


@pytest.mark.parametrize("actor", ["other_coach", "guardian", "outsider", "welfare"])
def test_only_those_who_may_invite_send_again_or_take_back(cast, actor):
    invitation, _token = invite(cast.coach, "guardian", NEW, player=cast.mate)
    for service in (services.resend_invitation, services.revoke_invitation):
        with pytest.raises(PermissionDenied):
            service(actor=getattr(cast, actor), invitation=invitation)


def test_one_address_is_not_flooded(cast):
    for number in range(10):
        Invitation.objects.create(
            kind="guardian",
            club=cast.club,
            email=NEW,
            token_hash=str(number),
            expires_at=timezone.now(),
        )
    with pytest.raises(DomainError) as refusal:
        services.invite(actor=cast.coach, kind="guardian", email=NEW, player=cast.mate)
    assert refusal.value.code == "invitation.too_many"
