"""The director's page, squad beside squad."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.goals.status import WORDS
from devplans.people.models import Consent, Player
from devplans.progress import reports
from devplans.stats import weeks
from tests import factories as make
from tests.progress.test_pages import make_goal


@pytest.fixture
def week(cast):
    return weeks.last_complete_week(timezone.now(), cast.club.zone)


@pytest.fixture
def inside(cast, week):
    return weeks.bounds(*week, cast.club.zone)[0] + timedelta(days=2, hours=12)


def club_page(client, cast, query=""):
    client.force_login(cast.director)
    answer = client.get(reverse("progress:club") + query)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def row_of(cast, week):
    return reports.squad_facts(reports.read_squads([cast.squad], week, cast.club.zone))[0]


def test_who_got_feedback_and_how_long_it_took(client, cast, inside):
    film = make.make_film(cast.squad, recorded_at=inside - timedelta(hours=20))
    comment = make.make_comment(film, cast.coach, [cast.kid])
    make.make_delivery(comment, cast.kid, sent_at=inside, seen_at=inside)
    page = club_page(client, cast)
    assert "1 of 4 players got feedback from film." in page
    assert "1 of 1 comments were opened" in page
    assert "it took 20.0 hours (1 film)" in page
    assert "<b>1</b> of 3" in page


def test_films_without_a_comment_and_their_age(client, cast):
    now = timezone.now()
    for days, squad in ((9, cast.squad), (3, cast.squad), (2, cast.other_squad)):
        make.make_film(squad, title=f"Game {days}", recorded_at=now - timedelta(days=days, hours=1))
    make.make_film(cast.squad, title="Not ready", state="preparing")
    old = make.make_film(cast.squad, title="Long ago")
    type(old).objects.filter(pk=old.pk).update(created_at=now - timedelta(days=80))
    page = club_page(client, cast)
    assert "3 films have no comment yet; the oldest has waited 9 days." in page
    assert "oldest 9 days" in page
    assert page.index("Game 9") < page.index("Game 3")
    assert "Not ready" not in page
    assert "Long ago" not in page


def test_goals_by_the_six_words_and_by_life(cast, week):
    make_goal(cast.kid)
    make_goal(cast.mate, life="paused")
    make_goal(cast.mate, life="draft")
    row = row_of(cast, week)
    words = {one["word"]: one["goals"] for one in row["goals_by_status"]}
    assert list(words) == list(WORDS)
    assert words["not enough evidence yet"] == 1
    assert sum(words.values()) == row["goals_live"] == 1
    assert (row["goals_draft"], row["goals_paused"], row["goals_closed"]) == (1, 1, 0)


def test_who_is_above_published_hours_is_named_to_the_director_only(client, cast, inside, week):
    make.make_workout(cast.kid, kind="organised", minutes=601, started_at=inside)
    make.make_workout(cast.mate, kind="organised", minutes=600, started_at=inside)
    page = club_page(client, cast)
    assert "The week of 1 player lies past the published limits." in page
    assert "10 h 1 min of team basketball" in page
    assert "DiFiori et al. 2018" in page
    assert "not medical advice" in page
    row = row_of(cast, week)
    assert row["past_hours"] == 1
    assert "past" not in row


def test_nobody_without_a_birth_date_is_held_against_a_limit(cast, inside, week):
    Player.objects.filter(pk=cast.kid.pk).update(born_on=None)
    make.make_workout(cast.kid, kind="organised", minutes=2_000, started_at=inside)
    row = row_of(cast, week)
    assert row["past_hours"] == 0
    assert row["no_birth_date"] == ["Ines Okafor"]


def test_facts_name_who_has_no_guardian_and_no_consent(client, cast, week):
    row = row_of(cast, week)
    assert row["no_guardian"] == []
    assert row["no_consent"] == ["Tove Adeyemi"]
    Consent.objects.update(withdrawn_at=timezone.now())
    cast.kid.guardianships.all().delete()
    make.make_pain(cast.mate)
    row = row_of(cast, week)
    assert row["no_guardian"] == ["Ines Okafor"]
    assert len(row["no_consent"]) == 3
    assert row["open_pains"] == 1
    assert "6 safeguarding flags are open" in club_page(client, cast)


def test_players_stand_by_their_numbers_whatever_they_do(client, cast, inside):
    for number in ("0", "00", "100", ""):
        make.make_player(squad=cast.squad, number=number, first_name=f"Nr{number or 'none'}")
    make.make_workout(cast.adult, minutes=300, started_at=inside)
    row = row_of(cast, weeks.week_of(inside, cast.club.zone))
    assert [line["number"] for line in row["roster"]] == ["0", "00", "7", "12", "31", "100", ""]
    page = club_page(client, cast)
    assert reverse("progress:player", args=[cast.adult.pk]) in page


def test_the_week_is_chosen_and_nonsense_is_the_last_complete_one(client, cast, week):
    now = timezone.now()
    running = weeks.format_label(weeks.week_of(now, cast.club.zone))
    assert "this week so far" in club_page(client, cast, f"?week={running}")
    for query in ("", "?week=nonsense", "?week=2026-W54", "?week=0001-W01", "?week=9999-W52"):
        page = club_page(client, cast, query)
        assert f'value="{weeks.format_label(week)}" selected' in page
    assert 'value="2025-W05" selected' in club_page(client, cast, "?week=2025-W05")


def test_an_empty_club_is_told_what_to_do(client, db):
    director, club = make.make_user("Dana"), make.make_club()
    make.make_member(director, "director", club=club)
    client.force_login(director)
    assert "No squad yet" in client.get(reverse("progress:club")).content.decode()
    make.make_squad(club=club)
    page = client.get(reverse("progress:club")).content.decode()
    assert "0 of 0 players got feedback" in page
    assert "No player yet." in page


def test_seasons_that_are_over_are_not_shown(client, cast):
    today = timezone.now().date()
    past = make.make_season(
        club=cast.club,
        starts_on=today - timedelta(days=700),
        ends_on=today - timedelta(days=400),
    )
    make.make_squad(season=past, name="Long gone")
    assert "Long gone" not in club_page(client, cast)


def test_fifty_players_ask_as_much_as_two(client, cast, inside):
    def questions():
        client.force_login(cast.director)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(reverse("progress:club")).status_code == 200
        return len(asked)

    def more(squads, number):
        for _squad in range(squads):
            squad = make.make_squad(season=cast.season)
            film = make.make_film(squad)
            for _player in range(number):
                player = make.make_player(squad=squad)
                goal = make_goal(player)
                make.make_workout(
                    player, started_at=inside, sets=[{"drill": goal.drill, "made": 3, "tried": 5}]
                )
                comment = make.make_comment(film, cast.coach, [player])
                make.make_delivery(comment, player, sent_at=inside)

    more(1, 2)
    few = questions()
    more(2, 50)
    many = questions()
    print(f"{few} questions for 2 players with goals, {many} for 102")
    assert many == few
    assert many < 70
