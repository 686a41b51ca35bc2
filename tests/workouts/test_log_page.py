"""What the pages for logging know: the club's court, spots, and the players of a squad."""

import json
import re

import pytest
from django.test import Client

from devplans.stats.court import zone
from devplans.workouts.log_page import MOST_AT_ONE_BASKET
from tests import factories as make
from tests.workouts.phone import DRILL


@pytest.fixture
def coach(cast):
    client = Client()
    client.force_login(cast.coach)
    return client


def scripted(answer, name):
    page = answer.content.decode()
    found = re.search(rf'<script id="{name}" type="application/json">(.*?)</script>', page)
    return json.loads(found[1])


def asked(client, cast, *players, **more):
    keys = [str(getattr(player, "pk", player)) for player in players]
    return client.get(f"/workouts/squads/{cast.squad.pk}/log/", {"player": keys, **more})


@pytest.mark.parametrize("rules", ["fiba", "nba", "ncaa", "nfhs"])
def test_the_log_brings_the_court_of_the_club(cast, coach, rules):
    cast.club.rule_set = rules
    cast.club.save()
    make.make_drill(slug=DRILL)
    make.make_drill(slug="wall-passes")
    court = scripted(coach.get(f"/workouts/of/{cast.kid.pk}/log/"), "log-court")
    assert list(court["spots"]) == [DRILL]
    assert [spot["words"] for spot in court["spots"][DRILL]][::4] == ["Left corner", "Right corner"]
    for place in court["places"]:
        assert zone(place["x_mm"], place["y_mm"], rules=rules).name == place["name"]
        assert place["words"] == court["zones"][place["name"]]


def test_one_player_is_named_to_the_script_by_his_key_alone(cast, coach):
    found = scripted(coach.get(f"/workouts/of/{cast.kid.pk}/log/"), "log-players")
    assert found == [{"id": str(cast.kid.pk), "name": "", "hand": cast.kid.hand}]


def test_a_coach_chooses_players_of_his_squad(cast, coach):
    page = asked(coach, cast)
    words = page.content.decode()
    order = [words.index(str(one.pk)) for one in (cast.mate, cast.kid, cast.adult)]
    assert order == sorted(order)
    assert str(cast.sibling.pk) not in words
    assert "workout-log" not in words


def test_those_who_were_chosen_are_counted_by_number(cast, coach):
    page = asked(coach, cast, cast.kid, cast.mate, drill=DRILL)
    assert [one["name"] for one in scripted(page, "log-players")] == ["Runa", "Ines"]
    assert f'data-first="{DRILL}"' in page.content.decode()
    assert "You log for 2 players of Under 16" in page.content.decode()


def test_two_of_one_first_name_are_told_apart(cast, coach):
    other = make.make_player(squad=cast.squad, number="13", first_name="Ines", last_name="Vale")
    names = [one["name"] for one in scripted(asked(coach, cast, cast.kid, other), "log-players")]
    assert names == ["Ines Okafor", "Ines Vale"]


def test_nobody_else_gets_in_by_the_address(cast, coach):
    page = asked(coach, cast, cast.kid, cast.sibling, cast.far_kid, "nonsense", '"><script>x')
    assert [one["name"] for one in scripted(page, "log-players")] == ["Ines"]
    assert "<script>x" not in page.content.decode()
    assert "Who is at this basket?" in asked(coach, cast, cast.far_kid).content.decode()


def test_a_basket_has_room_for_so_many(cast, coach):
    crowd = [make.make_player(squad=cast.squad) for _ in range(MOST_AT_ONE_BASKET + 3)]
    assert len(scripted(asked(coach, cast, *crowd), "log-players")) == MOST_AT_ONE_BASKET
    # But for the page that a phone keeps, since nobody knows who will be there.
    query = "&".join(f"player={one.pk}" for one in crowd)
    kept = coach.get(f"/workouts/squads/{cast.squad.pk}/log/?{query}", headers={"X-Keep": "1"})
    assert len(scripted(kept, "log-players")) == len(crowd)


def test_an_empty_squad_says_so(cast, coach):
    empty = make.make_squad(season=cast.season, name="Under 18")
    make.make_member(cast.coach, "coach", club=cast.club, squad=empty)
    page = coach.get(f"/workouts/squads/{empty.pk}/log/")
    assert "As soon as players are in the squad" in page.content.decode()


@pytest.mark.parametrize("count", [2, 10])
def test_many_players_cost_as_much_as_few(cast, coach, count, django_assert_max_num_queries):
    crowd = [make.make_player(squad=cast.squad) for _ in range(count)]
    with django_assert_max_num_queries(20):
        assert asked(coach, cast, *crowd).status_code == 200


def test_the_squad_page_leads_a_coach_here_and_nobody_else(cast, coach):
    address = f"/workouts/squads/{cast.squad.pk}/log/"
    assert address in coach.get(f"/people/squads/{cast.squad.pk}/").content.decode()
    director = Client()
    director.force_login(cast.director)
    assert address not in director.get(f"/people/squads/{cast.squad.pk}/").content.decode()
