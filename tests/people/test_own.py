import pytest
from django.urls import reverse

from devplans.people import lookups, services
from devplans.people.models import Membership


def test_mails_of_a_kind_are_stopped_and_resumed(cast):
    for _time in range(2):
        services.stop_mails(user=cast.guardian, kind="digest")
    assert not lookups.wants_mail(cast.guardian, "digest")
    assert lookups.wants_mail(cast.guardian, "notice")
    assert lookups.wants_mail(cast.mate_guardian, "digest")
    services.resume_mails(user=cast.guardian, kind="digest")
    services.resume_mails(user=cast.guardian, kind="digest")
    assert lookups.wants_mail(cast.guardian, "digest")


def test_the_page_keeps_the_choice(cast, client):
    client.force_login(cast.guardian)
    client.post(reverse("people:mail-choices"), {"mails": ["digest", "code", "anything"]})
    assert set(cast.guardian.mail_choices.values_list("kind", flat=True)) == {
        "notice",
        "reply",
        "question",
    }
    page = client.get(reverse("people:me")).content.decode()
    assert page.count(" checked") == 1


def test_the_own_page_names_every_role(cast, client):
    Membership.objects.create(user=cast.guardian, club=cast.club, squad=cast.squad, role="coach")
    client.force_login(cast.guardian)
    page = client.get(reverse("people:me")).content.decode()
    for words in ("Coach, Under 16", "Guardian of Ines Okafor", "Guardian of Luc Okafor"):
        assert words in page


def test_the_own_name_is_changed_and_nothing_else(cast, client):
    client.force_login(cast.player)
    email = cast.player.email
    form = {"first_name": "Inès", "last_name": "O.", "email": "x@people.example", "is_staff": "on"}
    client.post(reverse("people:me"), form)
    cast.player.refresh_from_db()
    assert (cast.player.full_name, cast.player.email) == ("Inès O.", email)
    assert not cast.player.is_staff
    assert client.post(reverse("people:me"), {"first_name": " "}).status_code == 422


EXPECTED = {
    "player": (["player"], {"Under 16"}, {"Ines Okafor"}),
    "guardian": (["guardian"], {"Under 16", "Under 14"}, {"Ines Okafor", "Luc Okafor"}),
    "coach": (["coach"], {"Under 16"}, {"Ines Okafor", "Runa Lindqvist", "Tove Adeyemi"}),
    "other_coach": (["coach"], {"Under 14"}, {"Luc Okafor"}),
    "director": (
        ["director"],
        {"Under 16", "Under 14"},
        {"Ines Okafor", "Runa Lindqvist", "Tove Adeyemi", "Luc Okafor"},
    ),
    "outsider": (["coach"], {"Under 16"}, {"Wren Tolland"}),
    "stranger": ([], set(), set()),
    "ex_guardian": ([], set(), set()),
}


@pytest.mark.parametrize("role", EXPECTED)
def test_the_api_says_who_is_here_and_what_may_be_read(cast, client, role):
    user = getattr(cast, role)
    client.force_login(user)
    me = client.get("/api/v1/me/").json()
    roles, squads, players = EXPECTED[role]
    assert set(me) == {"id", "name", "roles", "squads", "players"}
    assert (me["id"], me["name"], me["roles"]) == (str(user.pk), user.full_name, roles)
    assert {row["name"] for row in me["squads"]} == squads
    assert {row["name"] for row in me["players"]} == players
    assert all(set(row) == {"id", "name"} for row in me["squads"] + me["players"])


def test_the_api_is_closed_to_those_who_are_signed_out(cast, client):
    answer = client.get("/api/v1/me/")
    assert answer.status_code == 403
    assert "detail" in answer.json()
    assert "WWW-Authenticate" not in answer


def test_one_person_with_several_roles_has_them_all_in_the_api(cast, client):
    Membership.objects.create(user=cast.guardian, club=cast.club, role="director")
    Membership.objects.create(user=cast.guardian, club=cast.club, role="welfare")
    client.force_login(cast.guardian)
    me = client.get("/api/v1/me/").json()
    assert me["roles"] == ["guardian", "director", "welfare"]
    assert len(me["players"]) == len({row["id"] for row in me["players"]}) == 4
