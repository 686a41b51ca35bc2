import csv
import io
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from devplans.core.models import AuditEntry
from devplans.goals.models import Goal
from devplans.people.models import Consent
from devplans.progress import reports
from devplans.stats import weeks
from tests import factories as make


@pytest.fixture
def week(cast):
    return weeks.last_complete_week(timezone.now(), cast.club.zone)


@pytest.fixture
def inside(cast, week):
    return weeks.bounds(*week, cast.club.zone)[0] + timedelta(days=2, hours=12)


@pytest.fixture
def goal(cast):
    drill = make.make_drill(name="Wall finishes")
    began = timezone.now().date() - timedelta(days=20)
    return Goal.objects.create(
        player=cast.kid,
        skill=drill.skill,
        drill=drill,
        measure="drill_share",
        target_share=0.7,
        chances_needed=100,
        start_made=5,
        start_tried=10,
        life="live",
        started_on=began,
        due_on=began + timedelta(weeks=12),
        review_dates=[(began + timedelta(weeks=4)).isoformat()],
    )


def summary(client, cast, user):
    client.force_login(user)
    return client.get(reverse("progress:player", args=[cast.kid.pk])).content.decode()


def test_the_summary_shows_counts_and_claims_nothing(client, cast, goal):
    sets = [
        {"drill": goal.drill, "made": 7, "tried": 10},
        {"drill": goal.drill, "made": 6, "tried": 10},
    ]
    make.make_workout(cast.kid, sets=sets, started_at=timezone.now() - timedelta(hours=3))
    page = summary(client, cast, cast.guardian)
    assert "13 of 20" in page
    assert "was 5 of 10" in page
    assert "Not enough tries yet: 20 of the 100" in page
    assert not any(word in page for word in ("improved", "better", "Up at the review"))


def test_without_a_try_there_is_no_figure_and_never_nought_per_cent(client, cast, goal):
    page = summary(client, cast, cast.player)
    assert "no figure yet" in page
    assert "0 %" not in page.replace("100 %", "")


def test_a_film_goal_has_no_figure_before_it_is_counted(client, cast, goal):
    Goal.objects.filter(pk=goal.pk).update(measure="film_rate", drill=None)
    comment = make.make_comment(
        make.make_film(cast.squad), cast.coach, [cast.kid], skill=goal.skill
    )
    make.make_delivery(comment, cast.kid)
    page = summary(client, cast, cast.coach)
    assert "has not been counted on film" in page
    assert "never counted as a rate" in page


def test_office_readers_leave_a_line_in_the_audit_and_family_does_not(client, cast):
    summary(client, cast, cast.guardian)
    summary(client, cast, cast.coach)
    assert not AuditEntry.objects.filter(verb="progress.summary_read").exists()
    summary(client, cast, cast.director)
    assert AuditEntry.objects.get(verb="progress.summary_read").player_id == cast.kid.pk


def test_no_team_mate_is_named_in_a_summary(client, cast):
    comment = make.make_comment(make.make_film(cast.squad), cast.coach, [cast.kid, cast.mate])
    make.make_delivery(comment, cast.kid)
    make.make_delivery(comment, cast.mate)
    page = summary(client, cast, cast.guardian)
    assert "Runa" not in page
    assert "Lindqvist" not in page


def test_the_csv_holds_eight_weeks_of_sums(client, cast, week, inside):
    make.make_workout(
        cast.kid,
        started_at=inside,
        minutes=30,
        sets=[{"drill": make.make_drill(), "made": 3, "tried": 4}],
    )
    client.force_login(cast.player)
    body = client.get(reverse("progress:player-csv", args=[cast.kid.pk])).content.decode()
    rows = list(csv.reader(io.StringIO(body)))
    assert len(rows) == 9
    assert [weeks.format_label(week), "0", "30", "3", "4", ""] in rows


def test_the_club_page_says_who_got_feedback_and_how_long_it_took(client, cast, inside):
    film = make.make_film(cast.squad, recorded_at=inside - timedelta(hours=20))
    comment = make.make_comment(film, cast.coach, [cast.kid])
    make.make_delivery(comment, cast.kid, sent_at=inside, seen_at=inside)
    client.force_login(cast.director)
    page = client.get(reverse("progress:club")).content.decode()
    assert "<b>1 of 3</b> players got feedback" in page
    assert "20.0 hours (middle of 1 films)" in page
    assert "1 of 1 comments were opened" in page


def test_squad_facts_name_who_has_no_guardian_and_no_consent(cast, week):
    row = reports.squad_facts([cast.squad], week, cast.club.zone)[0]
    assert row["no_guardian"] == []
    assert row["no_consent"] == ["Tove Adeyemi"]
    Consent.objects.update(withdrawn_at=timezone.now())
    cast.kid.guardianships.all().delete()
    row = reports.squad_facts([cast.squad], week, cast.club.zone)[0]
    assert row["no_guardian"] == ["Ines Okafor"]
    assert len(row["no_consent"]) == 3


@pytest.mark.parametrize("number", [2, 50])
def test_the_club_page_asks_as_much_for_fifty_players_as_for_two(
    client, cast, number, django_assert_max_num_queries
):
    for _player in range(number):
        make.make_player(squad=cast.squad)
    client.force_login(cast.director)
    with django_assert_max_num_queries(48):
        client.get(reverse("progress:club"))


def test_the_summary_asks_a_fixed_number_of_questions(
    client, cast, goal, django_assert_max_num_queries
):
    film = make.make_film(cast.squad)
    for _number in range(30):
        make.make_delivery(make.make_comment(film, cast.coach, [cast.kid]), cast.kid)
    client.force_login(cast.player)
    with django_assert_max_num_queries(75):
        client.get(reverse("progress:player", args=[cast.kid.pk]))
