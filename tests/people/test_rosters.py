from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.people import access, lookups, roster, services
from devplans.people.access import Action
from devplans.people.models import Player, Squad
from tests import factories as make

YESTERDAY = today() - timedelta(days=1)


def refused(code, run):
    with pytest.raises(DomainError) as refusal:
        run()
    assert refusal.value.code == code


def test_a_player_added_by_hand_is_on_the_roster(cast):
    player = services.add_player(
        actor=cast.coach, squad=cast.squad, number="00", first_name=" Ada ", last_name="Newcome"
    )
    assert (player.full_name, player.club, player.is_minor()) == ("Ada Newcome", cast.club, True)
    assert lookups.number_on(player, cast.squad, today()) == "00"


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"first_name": " "}, "name.missing"),
        ({"number": "12"}, "number.taken"),
        ({"number": "1a"}, "number.bad"),
        ({"email": "nobody"}, "email.bad"),
        ({"born_on": today() + timedelta(days=1)}, "born_on.range"),
        ({"first_name": "ines", "last_name": "OKAFOR"}, "player.exists"),
    ],
)
def test_what_is_not_added(cast, fields, code):
    before = Player.objects.count()
    given = {"first_name": "Ada", "last_name": "Newcome", **fields}
    refused(code, lambda: services.add_player(actor=cast.coach, squad=cast.squad, **given))
    assert Player.objects.count() == before


@pytest.mark.parametrize("known", [True, False])
def test_a_coach_alone_makes_no_adult_of_a_minor(cast, known):
    if not known:
        cast.kid.born_on = None
        cast.kid.save(update_fields=["born_on"])
    grown = {"player": cast.kid, "born_on": today() - timedelta(days=365 * 20)}
    refused("born_on.adult", lambda: services.change_player(actor=cast.coach, **grown))
    cast.kid.refresh_from_db()
    assert cast.kid.is_minor()
    services.change_player(actor=cast.director, **grown)
    assert not cast.kid.is_minor()


def test_two_people_of_one_name_differ_by_birth_date(cast):
    born_on = cast.kid.born_on - timedelta(days=300)
    services.add_player(
        actor=cast.coach,
        squad=cast.squad,
        first_name="Ines",
        last_name="Okafor",
        born_on=born_on,
    )
    assert Player.objects.filter(first_name="Ines", last_name="Okafor").count() == 2


def test_a_number_changes_from_a_day_on(cast):
    services.change_number(
        actor=cast.coach, squad=cast.squad, player=cast.kid, number="23", since=today()
    )
    assert lookups.number_on(cast.kid, cast.squad, today()) == "23"
    assert lookups.number_on(cast.kid, cast.squad, YESTERDAY) == "12"
    assert lookups.numbers_in(cast.squad, YESTERDAY)[cast.kid.pk] == "12"
    # Corrected on the same day, it leaves no row behind.
    services.change_number(actor=cast.coach, squad=cast.squad, player=cast.kid, number="24")
    assert cast.kid.squadplayers.count() == 2


@pytest.mark.parametrize(
    ("number", "since", "code"),
    [
        ("7", today(), "number.taken"),
        ("abc", today(), "number.bad"),
        ("55", today() - timedelta(days=400), "number.since"),
    ],
)
def test_a_number_that_cannot_be(cast, number, since, code):
    refused(
        code,
        lambda: services.change_number(
            actor=cast.coach, squad=cast.squad, player=cast.kid, number=number, since=since
        ),
    )
    assert lookups.number_on(cast.kid, cast.squad, today()) == "12"


def test_a_number_given_up_is_free_for_another(cast):
    services.leave_squad(actor=cast.coach, squad=cast.squad, player=cast.kid, last_day=YESTERDAY)
    services.change_number(actor=cast.coach, squad=cast.squad, player=cast.mate, number="12")
    assert lookups.numbers_in(cast.squad)[cast.mate.pk] == "12"


def test_who_left_is_off_the_roster_and_out_of_the_coaches_sight(cast):
    services.leave_squad(actor=cast.coach, squad=cast.squad, player=cast.kid, last_day=YESTERDAY)
    assert cast.kid not in [line.player for line in roster.lines_of(cast.squad)]
    assert lookups.number_on(cast.kid, cast.squad, YESTERDAY) == "12"
    assert not access.allows(cast.coach, Action.READ, cast.kid)
    assert access.allows(cast.guardian, Action.READ, cast.kid)
    assert access.allows(cast.director, Action.READ, cast.kid)
    refused(
        "player.left",
        lambda: services.leave_squad(actor=cast.director, squad=cast.squad, player=cast.kid),
    )


def test_nobody_leaves_before_he_came(cast):
    long_before = today() - timedelta(days=1000)
    refused(
        "player.last_day",
        lambda: services.leave_squad(
            actor=cast.coach, squad=cast.squad, player=cast.kid, last_day=long_before
        ),
    )
    assert cast.kid.squadplayers.get().until is None


def test_a_director_takes_a_player_into_another_squad(cast):
    services.place_player(actor=cast.director, squad=cast.squad, player=cast.sibling, number="61")
    assert access.allows(cast.coach, Action.READ, cast.sibling)
    refused(
        "player.placed",
        lambda: services.place_player(actor=cast.director, squad=cast.squad, player=cast.sibling),
    )
    refused(
        "player.club",
        lambda: services.place_player(actor=cast.director, squad=cast.squad, player=cast.far_kid),
    )


@pytest.mark.parametrize("actor", ["coach", "other_coach", "welfare", "guardian", "outsider"])
def test_a_coach_cannot_widen_his_own_sight(cast, actor):
    with pytest.raises(PermissionDenied):
        services.place_player(actor=getattr(cast, actor), squad=cast.squad, player=cast.sibling)


@pytest.mark.parametrize("actor", ["other_coach", "welfare", "guardian", "player", "outsider"])
def test_only_its_coaches_and_directors_keep_a_roster(cast, actor):
    who = getattr(cast, actor)
    with pytest.raises(PermissionDenied):
        services.add_player(actor=who, squad=cast.squad, first_name="A", last_name="B")
    with pytest.raises(PermissionDenied):
        services.change_number(actor=who, squad=cast.squad, player=cast.kid, number="2")
    with pytest.raises(PermissionDenied):
        services.leave_squad(actor=who, squad=cast.squad, player=cast.kid)
    with pytest.raises(PermissionDenied):
        services.change_player(actor=who, player=cast.kid, first_name="Z")


def test_the_roster_says_what_is_missing(cast):
    lines = {line.player: line for line in roster.lines_of(cast.squad)}
    assert [line.number for line in roster.lines_of(cast.squad)] == ["7", "12", "31"]
    assert not lines[cast.kid].is_waiting
    assert lines[cast.kid].guardians == [cast.guardian]
    adult = lines[cast.adult]
    assert (adult.lacks_guardian, adult.lacks_account, adult.has_film_consent) == (
        False,
        True,
        False,
    )
    lonely = make.make_player(squad=cast.squad, number="0", born_on=None)
    line = next(line for line in roster.lines_of(cast.squad) if line.player == lonely)
    assert (line.lacks_guardian, line.lacks_account, line.is_waiting) == (True, False, True)


def test_numbers_sort_as_numbers():
    numbers = ["31", "", "7", "00", "100", "0"]
    assert sorted(numbers, key=roster.sort_key) == ["0", "00", "7", "31", "100", ""]


def test_a_guardian_whose_link_ended_sees_nothing_more(cast):
    row = cast.guardian.guardianships.get(player=cast.kid)
    with pytest.raises(PermissionDenied):
        services.end_guardianship(actor=cast.coach, guardianship=row)
    services.end_guardianship(actor=cast.director, guardianship=row)
    assert not access.allows(cast.guardian, Action.READ, cast.kid)
    assert access.allows(cast.guardian, Action.READ, cast.sibling)
    assert lookups.guardians_of(cast.kid) == []


def test_the_second_adult_is_welfare_then_a_director_who_is_not_the_author(cast):
    assert lookups.second_adults(cast.club) == [cast.welfare]
    assert lookups.second_adults(cast.club, except_user=cast.welfare) == [cast.director]
    cast.welfare.memberships.update(until=YESTERDAY)
    assert lookups.second_adults(cast.club) == [cast.director]
    assert lookups.second_adults(cast.club, except_user=cast.director) == []
    assert lookups.second_adults(cast.far_club) == []


def test_closed_accounts_are_no_adults_on_a_thread(cast):
    for person in (cast.guardian, cast.welfare):
        person.is_active = False
        person.save(update_fields=["is_active"])
    assert lookups.guardians_of(cast.kid) == []
    assert lookups.second_adults(cast.club) == [cast.director]


@pytest.mark.parametrize("years_to_birthday", [17, 18])
def test_the_eighteenth_birthday_is_the_first_adult_day(cast, years_to_birthday):
    day = today()
    born_on = day.replace(year=day.year - years_to_birthday, day=min(day.day, 28))
    minor = Player(born_on=born_on).is_minor(day.replace(day=min(day.day, 28)))
    assert minor is (years_to_birthday == 17)
    assert Player(born_on=born_on + timedelta(days=1)).is_minor(
        born_on.replace(year=born_on.year + 18)
    )


def test_the_squad_page_holds_each_player_and_what_is_missing(cast, client):
    client.force_login(cast.coach)
    page = client.get(reverse("people:squad", args=[cast.squad.pk])).content.decode()
    for name in ("Ines Okafor", "Runa Lindqvist", "Tove Adeyemi"):
        assert name in page
    assert "Luc Okafor" not in page
    assert "No consent to film." in page
    assert "Guardian: Marta" in page


@pytest.mark.parametrize("count", [3, 12])
def test_the_squad_page_asks_as_often_for_many_as_for_few(
    cast, client, django_assert_max_num_queries, count
):
    for _number in range(count):
        make.make_guardian(make.make_user(), make.make_player(squad=cast.squad))
    client.force_login(cast.director)
    with django_assert_max_num_queries(40):
        assert client.get(reverse("people:squad", args=[cast.squad.pk])).status_code == 200


@pytest.mark.parametrize("role", ["player", "guardian"])
def test_families_see_no_roster_and_no_other_child(cast, client, role):
    client.force_login(getattr(cast, role))
    assert client.get(reverse("people:squad", args=[cast.squad.pk])).status_code == 403
    for route in ("people:players", "people:squads", "people:me", "people:welcome"):
        page = client.get(reverse(route)).content.decode()
        assert "Lindqvist" not in page
        assert "Adeyemi" not in page
    assert client.get(reverse("people:player", args=[cast.mate.pk])).status_code == 404


def test_contacts_are_for_staff(cast, client):
    url = reverse("people:player", args=[cast.kid.pk])
    pages = {}
    for role in ("coach", "player", "guardian"):
        client.force_login(getattr(cast, role))
        pages[role] = client.get(url).content.decode()
    assert cast.guardian.email in pages["coach"]
    assert f"mailto:{cast.guardian.email}" not in pages["player"]
    assert "Marta" in pages["player"]
    assert cast.player.email not in pages["guardian"]


def test_extra_fields_of_a_form_write_nothing(cast, client):
    client.force_login(cast.coach)
    url = reverse("people:player-add", args=[cast.squad.pk])
    extra = {
        "club": cast.far_club.pk,
        "user": cast.coach.pk,
        "id": cast.kid.pk,
        "squad": cast.other_squad.pk,
    }
    client.post(url, {"first_name": "Ada", "last_name": "Newcome", "hand": "left", **extra})
    ada = Player.objects.get(first_name="Ada")
    assert (ada.club, ada.user, ada.hand) == (cast.club, None, "left")
    assert lookups.squads_of(ada) == [cast.squad]
    url = reverse("people:player-edit", args=[cast.kid.pk])
    client.post(url, {"first_name": "Ines", "last_name": "Okafor", "hand": "left", **extra})
    cast.kid.refresh_from_db()
    assert (cast.kid.user, cast.kid.club, cast.kid.hand) == (cast.player, cast.club, "left")


def test_the_choice_of_players_is_narrowed_to_the_club(cast, client):
    client.force_login(cast.director)
    url = reverse("people:player-place", args=[cast.squad.pk])
    answer = client.post(url, {"player": cast.far_kid.pk})
    assert answer.status_code == 422
    assert not cast.far_kid.squadplayers.filter(squad=cast.squad).exists()
    assert set(client.get(url).context["form"].fields["player"].queryset) == {cast.sibling}


def test_a_squad_of_another_club_is_unseen(cast, client):
    client.force_login(cast.director)
    assert client.get(reverse("people:squad", args=[cast.far_squad.pk])).status_code == 404
    assert cast.far_squad not in Squad.objects.visible_to(cast.director)
