"""Who may show a code, what it does once, and what it never does."""

from datetime import timedelta
from functools import partial

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry, Message
from devplans.people import codes, phone_rules, services
from devplans.people.links import hash_of
from devplans.people.models import Phone, PhoneCode, User
from devplans.people.services import phones as phone_services
from tests import factories as make


def show(actor, player):
    return services.show_code(actor=actor, player=player)


def join(actor, player, name="Android phone, Chrome", beside=()):
    _code, secret = show(actor, player)
    return services.join_phone(secret=secret, name=name, beside=beside).phone


def refused(action, *arguments):
    with pytest.raises(DomainError) as caught:
        action(*arguments)
    return caught.value.code


def mails(kind_of_key):
    rows = Message.objects.filter(kind="phone", key__startswith=kind_of_key)
    return sorted(rows.values_list("address", flat=True))


def test_only_the_hash_is_kept_and_only_for_minutes(cast):
    code, secret = show(cast.guardian, cast.sibling)
    assert code.code_hash == hash_of(secret)
    kept = str(list(PhoneCode.objects.values_list())) + str(list(AuditEntry.objects.values_list()))
    assert secret not in kept + str(list(Message.objects.values_list()))
    assert timedelta(minutes=3) < code.expires_at - timezone.now() <= timedelta(minutes=15)


@pytest.mark.parametrize(
    "role",
    ["player", "teammate", "mate_guardian", "ex_guardian", "other_coach", "director", "welfare",
     "outsider", "stranger"],
)  # fmt: skip
def test_nobody_else_shows_a_code(cast, role):
    with pytest.raises(PermissionDenied):
        show(getattr(cast, role), cast.kid)
    assert not PhoneCode.objects.exists()


def test_a_child_without_address_gets_an_account_of_a_mere_player(cast):
    phone = join(cast.guardian, cast.sibling)
    cast.sibling.refresh_from_db()
    user = cast.sibling.user
    assert (phone.user, phone.shown_by) == (user, cast.guardian)
    assert (user.email, user.first_name, user.has_usable_password()) == (None, "Luc", False)
    assert (user.is_staff, user.is_superuser) == (False, False)
    assert not user.memberships.exists()
    assert not user.guardianships.exists()
    join(cast.other_coach, cast.sibling)
    cast.sibling.refresh_from_db()
    assert cast.sibling.user == user
    assert User.objects.filter(email=None).count() == 1


def test_it_stands_until_the_season_ends_and_for_a_year_at_most(cast):
    phone = join(cast.coach, cast.kid)
    assert phone.last_day == cast.season.ends_on
    cast.season.ends_on += timedelta(days=900)
    cast.season.save()
    later = join(cast.coach, cast.kid)
    assert timedelta(days=364) < later.expires_at - timezone.now() <= timedelta(days=365)


def test_it_works_once(cast):
    _code, secret = show(cast.guardian, cast.kid)
    services.join_phone(secret=secret, name="one")
    again = partial(services.join_phone, secret=secret, name="two")
    assert refused(again) == "code.used"
    assert Phone.objects.count() == 1


def test_each_code_that_does_not_hold_says_why(cast):
    code, secret = show(cast.guardian, cast.kid)
    show(cast.guardian, cast.kid)
    assert refused(phone_rules.open_code, secret) == "code.revoked"
    code, secret = show(cast.guardian, cast.kid)
    PhoneCode.objects.filter(pk=code.pk).update(expires_at=timezone.now())
    assert refused(phone_rules.open_code, secret) == "code.expired"
    assert refused(phone_rules.open_code, codes.new_code()) == "code.unknown"
    assert refused(phone_rules.open_code, "ABCD EFGH") == "code.slip"
    assert refused(phone_rules.open_code, "\x00" * 28) == "code.slip"


def test_a_newer_code_of_one_adult_leaves_that_of_another(cast):
    _code, secret = show(cast.guardian, cast.kid)
    show(cast.coach, cast.kid)
    assert phone_rules.open_code(secret).shown_by == cast.guardian


def test_a_player_who_left_the_squad_is_not_signed_in_by_the_coach(cast):
    _code, secret = show(cast.coach, cast.kid)
    services.leave_squad(actor=cast.director, squad=cast.squad, player=cast.kid)
    assert refused(phone_rules.open_code, secret) == "code.revoked"
    with pytest.raises(PermissionDenied):
        show(cast.coach, cast.kid)
    # Without a squad there is no season to sign in for, not by the guardian either.
    assert refused(show, cast.guardian, cast.kid) == "phone.season"


def test_a_guardian_who_is_unlinked_loses_code_and_phones(cast):
    mine = join(cast.guardian, cast.kid)
    theirs = join(cast.coach, cast.kid)
    _code, secret = show(cast.guardian, cast.kid)
    link = cast.guardian.guardianships.get(player=cast.kid)
    services.end_guardianship(actor=cast.director, guardianship=link)
    assert refused(phone_rules.open_code, secret) == "code.revoked"
    assert list(Phone.objects.standing()) == [theirs]
    mine.refresh_from_db()
    assert mine.ended_by == cast.director


def test_a_coach_whose_role_ends_loses_what_joined_by_his_codes(cast):
    join(cast.coach, cast.kid)
    kept = join(cast.guardian, cast.kid)
    membership = cast.coach.memberships.get()
    services.end_membership(actor=cast.director, membership=membership)
    assert list(Phone.objects.standing()) == [kept]


def test_an_erased_player_has_no_phone_and_no_code(cast):
    join(cast.guardian, cast.sibling)
    _code, secret = show(cast.guardian, cast.sibling)
    cast.sibling.delete()
    assert not Phone.objects.exists()
    assert refused(phone_rules.open_code, secret) == "code.unknown"


@pytest.mark.parametrize("more", ["coach", "guardian", "staff", "closed"])
def test_an_account_with_more_rights_is_not_signed_in_by_a_code(cast, more):
    _code, secret = show(cast.guardian, cast.kid)
    phone = join(cast.coach, cast.kid)
    user = cast.player
    if more == "coach":
        make.make_member(user, "coach", club=cast.club, squad=cast.other_squad)
    elif more == "guardian":
        make.make_guardian(user, cast.mate)
    else:
        user.is_staff, user.is_active = more == "staff", more != "closed"
        user.save()
    assert refused(show, cast.guardian, cast.kid) == "phone.account"
    assert refused(phone_rules.open_code, secret) == "code.revoked"
    assert phone not in Phone.objects.standing()


def test_a_minor_without_guardian_needs_a_second_adult_who_is_told(cast):
    cast.guardian.guardianships.all().delete()
    join(cast.coach, cast.kid)
    assert mails("people.code:") == [cast.welfare.email]
    assert mails("people.phone:") == [cast.welfare.email]
    cast.welfare.memberships.all().delete()
    cast.director.memberships.all().delete()
    assert refused(show, cast.coach, cast.kid) == "phone.guardian"
    # The coach is not his own second adult.
    make.make_member(cast.coach, "welfare", club=cast.club)
    assert refused(show, cast.coach, cast.kid) == "phone.guardian"


def test_the_guardian_is_told_of_a_coachs_code_once_an_hour_and_of_every_phone(cast):
    father = make.make_user("Emeka")
    make.make_guardian(father, cast.kid)
    both = sorted([cast.guardian.email, father.email])
    join(cast.coach, cast.kid)
    join(cast.coach, cast.kid)
    assert mails("people.code:") == both
    assert mails("people.phone:") == sorted([*both, *both])
    text = Message.objects.filter(kind="phone", key__startswith="people.phone:").first().text
    assert "Android phone, Chrome" in text
    assert cast.coach.full_name in text
    assert f"/people/players/{cast.kid.pk}/phones/" in text


def test_a_guardian_who_shows_a_code_is_told_of_the_phone_only(cast):
    join(cast.guardian, cast.sibling)
    assert mails("people.code:") == []
    assert mails("people.phone:") == [cast.guardian.email]
    assert not Message.objects.filter(address="").exists()


def test_an_adult_player_is_told_himself(cast):
    cast.adult.user = cast.stranger
    cast.adult.save()
    join(cast.coach, cast.adult)
    assert mails("people.") == [cast.stranger.email] * 2
    cast.stranger.email = None
    cast.stranger.save()
    join(cast.coach, cast.adult)
    assert len(mails("people.")) == 2


def test_brothers_and_sisters_stay_others_do_not(cast):
    first = join(cast.guardian, cast.kid)
    second = join(cast.guardian, cast.sibling, beside=[first])
    assert set(Phone.objects.standing()) == {first, second}
    third = join(cast.mate_guardian, cast.mate, beside=[first, second])
    assert list(Phone.objects.standing()) == [third]
    # The same player again: one row, not two.
    fourth = join(cast.mate_guardian, cast.mate, beside=[third])
    assert list(Phone.objects.standing()) == [fourth]


def test_ending_is_for_those_who_see_the_player(cast):
    phone = join(cast.coach, cast.kid)
    for role in ("teammate", "mate_guardian", "ex_guardian", "other_coach", "outsider"):
        for end in (
            partial(services.end_phone, phone=phone),
            partial(services.end_phones, player=cast.kid),
        ):
            with pytest.raises(PermissionDenied):
                end(actor=getattr(cast, role))
    assert phone in Phone.objects.standing()
    services.end_phone(actor=cast.player, phone=phone)
    services.end_phone(actor=cast.guardian, phone=phone)
    phone.refresh_from_db()
    assert phone.ended_by == cast.player


def test_end_all_ends_the_codes_that_are_shown_too(cast):
    phones = [join(cast.coach, cast.kid), join(cast.guardian, cast.kid)]
    mate = join(cast.coach, cast.mate)
    _code, secret = show(cast.coach, cast.kid)
    assert services.end_phones(actor=cast.guardian, player=cast.kid) == len(phones)
    assert list(Phone.objects.standing()) == [mate]
    assert refused(phone_rules.open_code, secret) == "code.revoked"


def test_everything_is_audited_without_the_code(cast):
    phone = join(cast.coach, cast.kid)
    services.end_phone(actor=cast.guardian, phone=phone)
    rows = AuditEntry.objects.filter(player_id=cast.kid.pk, verb__startswith="people.phone")
    told = [(row.verb, row.actor, row.club_id) for row in rows.order_by("at")]
    assert told == [
        ("people.phone_code_shown", cast.coach, cast.club.pk),
        ("people.phone_joined", cast.player, cast.club.pk),
        ("people.phone_ended", cast.guardian, cast.club.pk),
    ]


def test_codes_within_an_hour_have_an_end(cast, monkeypatch):
    monkeypatch.setattr(phone_services, "CODES_AN_HOUR", 2)
    show(cast.coach, cast.kid)
    show(cast.coach, cast.mate)
    assert refused(show, cast.coach, cast.kid) == "code.too_many"
    show(cast.guardian, cast.kid)


def test_rows_of_the_past_are_forgotten(cast):
    phone, old = join(cast.coach, cast.kid), timezone.now() - timedelta(days=40)
    Phone.objects.filter(pk=phone.pk).update(ended_at=old)
    PhoneCode.objects.update(expires_at=old)
    code, _secret = show(cast.coach, cast.kid)
    assert not Phone.objects.exists()
    assert list(PhoneCode.objects.all()) == [code]


def test_a_child_of_phones_only_gets_an_address_later_and_stays_who_he_is(cast):
    from tests.people.steps import invite

    phone = join(cast.guardian, cast.sibling)
    _invitation, token = invite(
        cast.other_coach, "player", "luc@people.example", player=cast.sibling
    )
    user = services.join_with_new_account(token=token, first_name="Luc", last_name="Okafor")
    assert (user.pk, user.email) == (phone.user_id, "luc@people.example")
    assert phone in Phone.objects.standing()
    again = partial(invite, cast.other_coach, "player", "other@people.example", player=cast.sibling)
    cast.sibling.refresh_from_db()
    assert refused(again) == "invitation.joined"
