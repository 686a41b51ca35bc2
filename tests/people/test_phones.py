"""What a phone does with a code: through URLs only, each client one phone."""

from datetime import timedelta

import pytest
from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.people import codes, services
from devplans.people.models import Phone, User
from tests import factories as make

ENTER, JOIN = reverse("people:phone-enter"), reverse("people:phone-join")
SWITCH, LEAVE = reverse("people:phone-switch"), reverse("people:phone-leave")
ANDROID = "Mozilla/5.0 (Linux; Android 14) Chrome/126.0 Mobile Safari/537.36"


def opened(secret):
    return reverse("people:phone-open", args=[secret])


def secret_for(actor, player):
    return services.show_code(actor=actor, player=player)[1]


def scan(client, actor, player):
    """The child's phone reads the code and taps."""
    return client.post(JOIN, {"code": secret_for(actor, player)}, headers={"user-agent": ANDROID})


def who(client):
    """Whom the portal takes this phone for; None where it asks to sign in."""
    answer = client.get("/api/v1/me/")
    return answer.json()["name"].split()[0] if answer.status_code == 200 else None


@pytest.fixture
def phone():
    return Client()


def row_of(client):
    return Phone.objects.get(pk=client.session["phone"])


def test_opening_says_whose_phone_and_signs_nobody_in(cast, phone):
    secret = secret_for(cast.guardian, cast.sibling)
    for _time in range(3):
        page = phone.get(opened(secret))
        assert page.status_code == 200
        assert "Luc Okafor" in page.content.decode()
        assert "Marta" in page.content.decode()
        assert "no-store" in page.headers["Cache-Control"]
    phone.head(opened(secret))
    assert phone.get(JOIN, {"code": secret}).status_code == 405
    assert who(phone) is None
    assert not Phone.objects.exists()


def test_one_tap_signs_in_for_the_season_without_a_password(cast, phone):
    answer = scan(phone, cast.guardian, cast.sibling)
    assert (answer.status_code, answer.url) == (302, "/")
    assert who(phone) == "Luc"
    assert phone.get("/today/").status_code == 200
    row = row_of(phone)
    assert row.name == "Android phone, Chrome"
    cookie = phone.cookies[settings.SESSION_COOKIE_NAME]
    lasts = row.expires_at - timezone.now()
    assert abs(cookie["max-age"] - lasts.total_seconds()) < 60
    assert cookie["httponly"]
    assert SESSION_KEY not in phone.session


def test_a_tap_needs_the_page_of_this_site(cast):
    phone = Client(enforce_csrf_checks=True)
    assert scan(phone, cast.guardian, cast.sibling).status_code == 403
    assert not Phone.objects.exists()


def test_the_typed_code_leads_to_the_same_page(cast, phone):
    secret = secret_for(cast.guardian, cast.sibling)
    typed = " ".join(codes.grouped(secret)).lower()
    page = phone.post(ENTER, {"code": typed}).content.decode()
    assert "Luc Okafor" in page
    assert f'value="{secret}"' in page
    slip = phone.post(ENTER, {"code": typed[:-1]})
    assert slip.status_code == 422
    assert "There is a slip" in slip.content.decode()
    assert phone.post(ENTER, {"code": " "}).status_code == 200
    assert who(phone) is None


def test_a_used_code_signs_no_second_phone_in(cast, phone):
    secret = secret_for(cast.guardian, cast.sibling)
    phone.post(JOIN, {"code": secret})
    other = Client()
    for answer in (other.get(opened(secret)), other.post(JOIN, {"code": secret})):
        assert answer.status_code == 410
        assert "used already" in answer.content.decode()
        assert "Luc" not in answer.content.decode()
    assert (who(phone), who(other)) == ("Luc", None)


def test_a_code_that_ran_out_says_so(cast, phone):
    secret = secret_for(cast.guardian, cast.sibling)
    cast.sibling.phone_codes.update(expires_at=timezone.now() - timedelta(seconds=1))
    answer = phone.post(JOIN, {"code": secret})
    assert answer.status_code == 410
    assert "run out" in answer.content.decode()


def test_guessing_is_stopped_for_a_while(cast, phone):
    good = secret_for(cast.guardian, cast.sibling)
    seen = [phone.post(JOIN, {"code": codes.new_code()}).status_code for _try in range(15)]
    seen += [phone.get(opened(codes.new_code())).status_code for _try in range(15)]
    assert seen == [404] * 30
    for answer in (phone.get(opened(good)), phone.post(JOIN, {"code": good})):
        assert answer.status_code == 429
        assert "Wait five minutes" in answer.content.decode()
    assert Client(REMOTE_ADDR="192.0.2.7").get(opened(good)).status_code == 200


def test_a_slip_of_the_finger_is_no_guess(cast, phone):
    good = secret_for(cast.guardian, cast.sibling)
    for _try in range(40):
        phone.post(ENTER, {"code": good[:-1] + ("7" if good[-1] != "7" else "8")})
    assert phone.get(opened(good)).status_code == 200


def test_the_session_ends_with_its_row_at_the_next_request(cast, phone, client):
    scan(phone, cast.guardian, cast.sibling)
    stolen = Client()
    stolen.cookies[settings.SESSION_COOKIE_NAME] = phone.cookies[settings.SESSION_COOKIE_NAME].value
    assert who(stolen) == "Luc"
    client.force_login(cast.guardian)
    page = client.get(reverse("people:phones", args=[cast.sibling.pk])).content.decode()
    assert "Android phone, Chrome" in page
    client.post(reverse("people:phone-end", args=[row_of(phone).pk]))
    answer = phone.get("/today/", follow=True)
    assert "not signed in as Luc any more" in answer.content.decode()
    assert phone.get("/api/v1/me/").status_code == 403
    assert (who(stolen), who(phone)) == (None, None)


def test_what_was_once_ended_cannot_be_played_again(cast, phone):
    scan(phone, cast.guardian, cast.sibling)
    row, key = row_of(phone), phone.cookies[settings.SESSION_COOKIE_NAME].value
    services.end_phone(actor=cast.guardian, phone=row)
    phone.get("/")
    assert phone.post(SWITCH, {"phone": str(row.pk)}).status_code == 404
    # A fresh phone of the same child does not wake the old session up.
    scan(Client(), cast.guardian, cast.sibling)
    old = Client()
    old.cookies[settings.SESSION_COOKIE_NAME] = key
    assert (who(phone), who(old)) == (None, None)


def test_the_season_ends_the_phone(cast, phone):
    scan(phone, cast.guardian, cast.sibling)
    Phone.objects.update(expires_at=timezone.now())
    assert "The season is over" in phone.get("/", follow=True).content.decode()
    assert who(phone) is None


@pytest.mark.parametrize("what", ["erased", "account", "closed", "coach"])
def test_the_session_is_dead_when_the_player_is_gone_or_more_than_a_player(cast, phone, what):
    scan(phone, cast.guardian, cast.sibling)
    user = User.objects.get(players=cast.sibling)
    if what == "erased":
        Phone.objects.all().delete()
        cast.sibling.squadplayers.all().delete()
    elif what == "account":
        type(cast.sibling).objects.filter(pk=cast.sibling.pk).update(user=None)
    elif what == "closed":
        User.objects.filter(pk=user.pk).update(is_active=False)
    else:
        make.make_member(user, "coach", club=cast.club, squad=cast.squad)
    assert who(phone) is None
    assert phone.get("/", follow=True).status_code == 200


def test_a_password_is_no_matter_of_the_phone(cast, phone):
    scan(phone, cast.guardian, cast.kid)
    cast.player.set_password("another-password-1")
    cast.player.save()
    assert who(phone) == "Ines"


@pytest.mark.parametrize(
    "name",
    ["account_set_password", "account_change_password", "mfa_index", "mfa_activate_totp",
     "account_login", "account_reauthenticate", "account_request_login_code"],
)  # fmt: skip
def test_a_phone_cannot_leave_a_way_in_behind(cast, phone, name):
    scan(phone, cast.guardian, cast.kid)
    before = cast.player.password
    body = {"password1": "brand-new-pass-9", "password2": "brand-new-pass-9"}
    for answer in (phone.get(reverse(name)), phone.post(reverse(name), body)):
        assert (answer.status_code, answer.url) == (302, reverse("people:me"))
    cast.player.refresh_from_db()
    assert cast.player.password == before
    assert who(phone) == "Ines"


def test_a_phone_gives_a_players_rights_and_no_others(cast, phone):
    scan(phone, cast.coach, cast.kid)
    for name, key in [
        ("people:squad", cast.squad.pk),
        ("people:player-edit", cast.kid.pk),
        ("people:phones", cast.mate.pk),
        ("people:phones", cast.sibling.pk),
    ]:
        assert phone.get(reverse(name, args=[key])).status_code in {403, 404}
    show = reverse("people:phone-code-show", args=[cast.kid.pk])
    assert phone.post(show).status_code == 403
    assert phone.get("/family/").status_code == 404
    assert phone.get("/coach/").status_code == 404


def test_whoever_was_signed_in_is_signed_out_first(cast, phone):
    phone.force_login(cast.guardian)
    former = phone.session.session_key
    secret = secret_for(cast.guardian, cast.sibling)
    page = phone.get(opened(secret)).content.decode()
    assert "Marta" in page
    assert "will be signed out" in page
    phone.post(JOIN, {"code": secret})
    assert who(phone) == "Luc"
    assert phone.get("/family/").status_code == 404
    assert not Session.objects.filter(session_key=former).exists()


def test_an_account_that_signs_in_is_never_the_child(cast, phone):
    scan(phone, cast.guardian, cast.kid)
    scan(phone, cast.guardian, cast.sibling)
    row = row_of(phone)
    services.end_phone(actor=cast.guardian, phone=row)
    assert who(phone) is None
    phone.force_login(cast.coach)
    assert who(phone) == "Ravel"
    other = str(Phone.objects.standing().get().pk)
    assert phone.post(SWITCH, {"phone": other}).status_code == 404
    assert "in-hand" not in phone.get("/people/me/").content.decode()


def test_brothers_and_sisters_switch_without_a_code(cast, phone):
    scan(phone, cast.guardian, cast.kid)
    ines = row_of(phone)
    assert "in-hand" not in phone.get("/people/me/").content.decode()
    page = phone.get(opened(secret_for(cast.guardian, cast.sibling))).content.decode()
    assert "Ines can use this phone as well" in page
    scan(phone, cast.guardian, cast.sibling)
    assert who(phone) == "Luc"
    key = phone.session.session_key
    page = phone.get("/people/me/").content.decode()
    assert f'data-person="{row_of(phone).user_id}"' in page
    assert f'value="{ines.pk}"' in page
    assert phone.post(SWITCH, {"phone": str(ines.pk)}).status_code == 302
    assert who(phone) == "Ines"
    assert phone.session.session_key != key
    assert f'data-person="{cast.player.pk}"' in phone.get("/people/me/").content.decode()
    assert Phone.objects.standing().count() == 2


def test_ending_one_leaves_the_others(cast, phone):
    scan(phone, cast.guardian, cast.kid)
    ines = row_of(phone)
    scan(phone, cast.guardian, cast.sibling)
    services.end_phones(actor=cast.guardian, player=cast.sibling)
    page = phone.get("/", follow=True).content.decode()
    assert who(phone) is None, "nobody is signed in as somebody else unasked"
    assert "Go on as Ines" in page
    assert phone.post(SWITCH, {"phone": str(ines.pk)}).status_code == 302
    assert who(phone) == "Ines"
    assert "in-hand" not in phone.get("/people/me/").content.decode()


def test_signing_out_ends_ones_own_place_only(cast, phone):
    scan(phone, cast.guardian, cast.kid)
    scan(phone, cast.guardian, cast.sibling)
    answer = phone.post(reverse("account_logout"))
    assert answer.url == LEAVE
    assert "new code" in phone.get(LEAVE).content.decode()
    assert who(phone) == "Luc"
    page = phone.post(LEAVE, follow=True).content.decode()
    assert "Go on as Ines" in page
    assert who(phone) is None
    assert [one.player for one in Phone.objects.standing()] == [cast.kid]


def test_another_familys_child_takes_the_phone_over(cast, phone):
    scan(phone, cast.guardian, cast.kid)
    secret = secret_for(cast.coach, cast.mate)
    assert "Ines will be signed out here" in phone.get(opened(secret)).content.decode()
    phone.post(JOIN, {"code": secret})
    assert who(phone) == "Runa"
    assert [one.player for one in Phone.objects.standing()] == [cast.mate]
    assert "Ines" not in phone.get("/people/me/").content.decode()


def test_places_of_another_phone_cannot_be_taken(cast, phone):
    scan(phone, cast.guardian, cast.kid)
    elsewhere = Client()
    scan(elsewhere, cast.mate_guardian, cast.mate)
    for wanted in (str(row_of(elsewhere).pk), "", "x", str(cast.mate.pk)):
        assert phone.post(SWITCH, {"phone": wanted}).status_code == 404
    assert who(phone) == "Ines"


def test_a_code_of_another_club_cannot_be_had_nor_watched(cast, client, phone):
    client.force_login(cast.outsider)
    show = reverse("people:phone-code-show", args=[cast.kid.pk])
    assert client.post(show).status_code == 404
    code, _secret = services.show_code(actor=cast.coach, player=cast.kid)
    assert client.get(reverse("people:phone-code", args=[code.pk])).status_code == 404
    scan(phone, cast.coach, cast.kid)
    assert client.post(reverse("people:phone-end", args=[row_of(phone).pk])).status_code == 404
    assert who(phone) == "Ines"


def test_the_screen_says_when_the_phone_has_joined(cast, client, phone):
    client.force_login(cast.guardian)
    page = client.post(reverse("people:phone-code-show", args=[cast.sibling.pk]))
    text = page.content.decode()
    assert "data:image/svg+xml" in text
    assert "no-store" in page.headers["Cache-Control"]
    assert 'hx-trigger="every 3s"' in text
    code = cast.sibling.phone_codes.get()
    state = reverse("people:phone-code", args=[code.pk])
    assert "Waiting" in client.get(state).content.decode()
    groups = "".join(page.context["groups"])
    phone.post(JOIN, {"code": groups}, headers={"user-agent": ANDROID})
    answer = client.get(state)
    said = answer.content.decode()
    assert answer.headers["HX-Retarget"] == ".phone-code", "the dead code leaves the screen"
    assert "Android phone, Chrome is signed in as Luc" in said
    assert "hx-trigger" not in said
    client.post(reverse("people:phone-end", args=[code.__class__.objects.get().phone.pk]))
    assert who(phone) is None


def test_the_day_of_the_last_use_is_kept_and_no_more(cast, phone, django_assert_max_num_queries):
    scan(phone, cast.guardian, cast.sibling)
    Phone.objects.update(seen_on=timezone.now().date() - timedelta(days=9))
    who(phone)
    assert row_of(phone).seen_on == timezone.now().date()
    fields = {field.name for field in Phone._meta.get_fields() if field.concrete}
    assert not {name for name in fields if "ip" in name or "address" in name}
    # Of these, one asks who it is: as many as for an account.
    with django_assert_max_num_queries(4):
        phone.get(reverse("people:roster-template"))
