from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.people import lookups, services
from devplans.people.access import Role
from devplans.people.models import Club, Invitation, Membership, Season, Squad, User
from tests.people.steps import link_in

FORM = {
    "name": "Fenwick Owls",
    "zone": "Australia/Adelaide",
    "rule_set": "ncaa",
    "digest_day": "3",
    "digest_hour": "7",
    "season_name": "2026/27",
    "starts_on": "2026-08-01",
    "ends_on": "2027-06-30",
    "squad_name": "Under 12",
    "first_name": "Fia",
    "last_name": "Founder",
    "email": "Fia@Owls.example",
    "password": "ruled-paper-77",
}


def link():
    out = StringIO()
    call_command("start_club", stdout=out, stderr=StringIO())
    return link_in(out.getvalue())


def test_the_command_prints_one_link_and_keeps_its_hash_only(db):
    out = StringIO()
    call_command("start_club", stdout=out, stderr=StringIO())
    [line] = out.getvalue().splitlines()
    token = line.rstrip("/").rsplit("/", 1)[1]
    assert len(token) >= 40
    assert token not in str(list(Invitation.objects.values_list()))


def test_the_page_sets_the_club_up_and_signs_the_director_in(db, client):
    answer = client.post(link(), FORM)
    assert (answer.status_code, answer.url) == (302, reverse("people:squads"))
    club = Club.objects.get()
    assert (club.name, club.zone, club.rule_set) == ("Fenwick Owls", "Australia/Adelaide", "ncaa")
    assert (club.digest_day, club.digest_hour) == (3, 7)
    assert Season.objects.get().starts_on == date(2026, 8, 1)
    assert Squad.objects.get().name == "Under 12"
    director = User.objects.get()
    assert (director.email, director.full_name) == ("fia@owls.example", "Fia Founder")
    assert lookups.roles_of(director) == {Role.DIRECTOR}
    page = client.get(answer.url).content.decode()
    assert "Fia Founder" in page
    assert "What next for Fenwick Owls" in page
    assert "Under 12 has no players yet." in page


def test_monday_at_four_is_what_the_page_proposes(db, client):
    form = client.get(link()).context["form"]
    assert (form["digest_day"].value(), form["digest_hour"].value()) == (0, 16)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"zone": "Mars/Olympus"}, "zone"),
        ({"ends_on": "2026-07-01"}, "ends_on"),
        ({"password": "short"}, "password"),
        ({"first_name": ""}, "first_name"),
        ({"email": "nobody"}, "email"),
        ({"name": ""}, "name"),
        ({"rule_set": "own"}, "rule_set"),
    ],
)
def test_what_is_wrong_is_said_and_the_link_stays_good(db, client, change, field):
    url = link()
    answer = client.post(url, {**FORM, **change})
    assert answer.status_code == 422
    assert answer.context["form"].errors[field]
    assert (Club.objects.count(), User.objects.count()) == (0, 0)
    assert client.post(url, FORM).status_code == 302


def test_the_link_works_once(db, client):
    url = link()
    client.post(url, FORM)
    client.logout()
    again = client.post(url, {**FORM, "name": "Second", "email": "second@owls.example"})
    assert again.status_code == 410
    assert "used already" in again.content.decode()
    assert Club.objects.count() == 1


def test_an_old_link_says_so(db, client):
    url = link()
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    answer = client.get(url)
    assert answer.status_code == 410
    assert "runs the server" in answer.content.decode()


def test_opening_the_page_uses_nothing(db, client):
    url = link()
    for _time in range(3):
        assert client.get(url).status_code == 200
    assert Invitation.objects.get().accepted_at is None


def test_a_person_with_an_account_signs_in_first(cast, client):
    url = link()
    answer = client.post(url, {**FORM, "email": cast.coach.email})
    assert answer.status_code == 422
    assert "sign in" in answer.content.decode()
    client.force_login(cast.coach)
    assert client.post(url, FORM).status_code == 302
    assert lookups.roles_of(cast.coach) == {Role.COACH, Role.DIRECTOR}


def test_no_invitation_of_another_kind_sets_up_a_club(cast):
    with pytest.raises(DomainError) as refusal:
        services.accept_invitation(actor=cast.stranger, token=services.invite_founder())
    assert refusal.value.code == "invitation.unknown"


@pytest.mark.parametrize("actor", ["coach", "welfare", "player", "guardian", "outsider"])
def test_only_a_director_runs_the_club(cast, actor):
    who = getattr(cast, actor)
    span = {"starts_on": date(2027, 8, 1), "ends_on": date(2028, 6, 30)}
    for run in (
        lambda: services.change_club(actor=who, club=cast.club, name="Mine"),
        lambda: services.add_season(actor=who, club=cast.club, name="27/28", **span),
        lambda: services.add_squad(actor=who, season=cast.season, name="Mine"),
        lambda: services.end_membership(actor=who, membership=cast.other_coach.memberships.get()),
    ):
        with pytest.raises(PermissionDenied):
            run()


def test_settings_are_saved(cast, client):
    client.force_login(cast.director)
    form = {
        "name": "Rivermead",
        "zone": "Asia/Tokyo",
        "rule_set": "nba",
        "digest_day": "6",
        "digest_hour": "9",
        "quiet_from_hour": "20",
        "quiet_until_hour": "7",
        "says_team": "on",
    }
    assert client.post(reverse("people:club"), form).status_code == 302
    cast.club.refresh_from_db()
    assert (cast.club.zone, cast.club.digest_day, cast.club.says_team) == ("Asia/Tokyo", 6, True)
    assert "Teams" in client.get(reverse("people:squads")).content.decode()


def test_names_are_not_doubled(cast):
    with pytest.raises(DomainError) as refusal:
        services.add_squad(actor=cast.director, season=cast.season, name="Under 16")
    assert refusal.value.code == "squad.name"
    with pytest.raises(DomainError) as refusal:
        services.add_season(
            actor=cast.director,
            club=cast.club,
            name="2026/27",
            starts_on=date(2027, 8, 1),
            ends_on=date(2028, 6, 30),
        )
    assert refusal.value.code == "season.name"


def test_a_squad_is_added_to_a_season_of_this_club_only(cast, client):
    client.force_login(cast.director)
    answer = client.post(
        reverse("people:squad-add"), {"season": cast.far_squad.season.pk, "name": "Mine"}
    )
    assert answer.status_code == 422
    assert not Squad.objects.filter(name="Mine").exists()


def test_the_last_director_stays(cast):
    own = cast.director.memberships.get()
    with pytest.raises(DomainError) as refusal:
        services.end_membership(actor=cast.director, membership=own)
    assert refusal.value.code == "staff.last_director"
    Membership.objects.create(user=cast.welfare, club=cast.club, role="director")
    services.end_membership(actor=cast.director, membership=own)
    assert lookups.roles_of(cast.director) == set()


def test_a_role_that_ended_opens_nothing_more(cast, client):
    client.force_login(cast.coach)
    url = reverse("people:squad", args=[cast.squad.pk])
    assert client.get(url).status_code == 200
    services.end_membership(actor=cast.director, membership=cast.coach.memberships.get())
    assert client.get(url).status_code == 404
