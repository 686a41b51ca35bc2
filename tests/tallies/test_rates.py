"""What goals, summary and digests say of closed tallies, and what two coaches agree on."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from devplans.goals.models import Goal
from devplans.goals.reading import standing_of
from devplans.goals.starting import start_of
from devplans.progress import reports
from devplans.tallies import rates, reading, services
from tests import factories as make


@pytest.fixture
def goal(people):
    began = timezone.now().date() - timedelta(days=5)
    return Goal.objects.create(
        player=people.kid, skill=people.skill, measure="film_rate", target_share=0.7, life="live",
        started_on=began, due_on=began + timedelta(weeks=12),
    )  # fmt: skip


def a_film(people, days_ago):
    recorded_at = timezone.now() - timedelta(days=days_ago)
    return make.make_film(people.squad, duration_ms=600_000, recorded_at=recorded_at)


def counted(people, counts, film, made, missed, *, coach=None):
    tally = counts.start(film=film, coach=coach)
    counts.mark(tally, *((1_000 * n, n < made) for n in range(made + missed)))
    return counts.close(tally)


def test_only_closed_counts_since_the_goal_began_are_its_figure(people, counts, goal):
    assert standing_of(goal).tried == 0
    counted(people, counts, a_film(people, 20), 9, 0)
    tally = counted(people, counts, a_film(people, 2), 3, 2)
    found = standing_of(goal)
    assert (found.made, found.tried) == (3, 5)
    assert 0.2 < found.low < 0.6 < found.high < 1
    services.reopen_tally(actor=people.coach, tally=tally)
    assert standing_of(goal).tried == 0
    assert start_of(goal, timezone.now().date()).tried == 9


def test_counts_of_two_coaches_are_not_added_up(people, counts, goal):
    film = a_film(people, 1)
    counted(people, counts, film, 6, 2)
    counted(people, counts, film, 3, 4, coach=people.second_coach)
    rate = rates.rate_of(people.kid, people.skill.pk)
    assert (rate.made, rate.tried, rate.films) == (6, 8, 1)
    assert [(one.made, one.tried) for one in rate.others] == [(3, 7)]
    assert "Not added to it: 3 of 7" in standing_of(goal).sentence


def test_one_coachs_whole_films_are_added_up(people, counts):
    counted(people, counts, a_film(people, 1), 6, 2)
    counted(people, counts, a_film(people, 2), 1, 1)
    rate = rates.rate_of(people.kid, people.skill.pk)
    assert (rate.made, rate.tried, rate.films, rate.others) == (7, 10, 2, ())


def test_a_sample_keeps_its_own_interval_until_the_film_is_counted(
    people, possessions, counts, goal
):
    tally = counts.start(scope="sample", drawn=20)
    starts = dict(tally.possessions.values_list("place", "start_ms"))
    counts.mark(tally, *((starts[place] + 1, place > 3, place) for place in range(12)))
    counts.close(tally)
    row = tally.weeks.get()
    rate = rates.rate_of(people.kid, people.skill.pk)
    assert (rate.is_sample, rate.low, rate.high) == (True, row.low, row.high)
    assert "a full count of that film" in standing_of(goal).sentence
    counted(people, counts, people.film, 1, 0)
    assert (rates.rate_of(people.kid, people.skill.pk).is_sample, rate.others) == (False, ())


def test_the_summary_and_the_digest_say_it_and_families_hear_of_nobody_else(
    client, people, counts, goal
):
    film = a_film(people, 1)
    tally = counts.start(film=film, players=[people.kid, people.mate])
    counts.mark(tally, *((1_000 * n, n < 14) for n in range(22)))
    counts.mark(tally, (500, True), player=people.mate)
    counts.close(tally)
    for user in (people.guardian, people.player, people.coach):
        client.force_login(user)
        for url in (
            reverse("progress:player", args=[people.kid.pk]),
            reverse("goals:goal", args=[goal.pk]),
        ):
            page = client.get(url).content.decode()
            assert "14 of 22" in page
            assert people.mate.first_name not in page
    facts = reports.goals_of([people.kid])[people.kid.pk][0]
    assert (facts["made"], facts["tried"]) == (14, 22)
    client.force_login(people.guardian)
    for name, key in (("tally", tally.pk), ("film", film.pk)):
        assert client.get(reverse(f"tallies:{name}", args=[key])).status_code == 404


def test_the_digests_goals_ask_a_constant_number_of_questions(
    people, counts, goal, django_assert_max_num_queries
):
    counted(people, counts, a_film(people, 1), 6, 2)
    with django_assert_max_num_queries(12):
        reports.goals_of([people.kid, people.mate, people.adult])


def test_the_result_shows_counts_a_dash_and_never_nought_per_cent(client, people, counts):
    tally = counts.start(players=[people.kid, people.mate])
    counts.mark(tally, *((1_000 * n, False) for n in range(6)))
    counts.close(tally)
    client.force_login(people.coach)
    page = client.get(reverse("tallies:tally", args=[tally.pk])).content.decode()
    assert "0 of 6" in page
    assert "No chance, so no figure (–): 7 Runa" in " ".join(page.split())
    assert "took 0 of 6 chances" in page


def test_a_samples_result_says_what_twenty_more_would_do(client, people, possessions, counts):
    tally = counts.start(scope="sample", drawn=15)
    starts = dict(tally.possessions.values_list("place", "start_ms"))
    counts.mark(tally, *((starts[place] + 1, place > 3, place) for place in range(10)))
    counts.close(tally)
    client.force_login(people.coach)
    page = client.get(reverse("tallies:tally", args=[tally.pk])).content.decode()
    assert "A full count of this film would lie between" in page
    assert "20 more possessions would narrow it to about" in page


def both(people, counts, ours, theirs, **more):
    first = counts.start(**more)
    second = counts.start(coach=people.second_coach, **more)
    counts.mark(first, *ours)
    counts.mark(second, *theirs)
    return counts.close(first), counts.close(second)


def test_two_coaches_agree_or_differ(client, people, counts):
    ours = [(10_000 * n, n < 25) for n in range(50)]
    theirs = [(10_000 * n + 900, n < 20 or 25 <= n < 35) for n in range(50)]
    first, second = both(
        people, counts, [*ours, (595_000, True)], [*theirs, (555_000, True), (565_000, False)]
    )
    found = reading.compare(first, second)
    assert (found.shared, found.same, found.only_first, found.only_second) == (50, 35, 1, 2)
    assert found.kappa == pytest.approx(0.4)
    assert found.interval == pytest.approx((0.151, 0.649), abs=6e-4)
    assert found.differ
    assert not found.is_thin
    assert len(found.differences) == 15 + 3
    client.force_login(people.coach)
    page = client.get(reverse("tallies:agreement", args=[first.pk, second.pk])).content.decode()
    assert "The two differ." in page
    assert 'data-ms="200000"' in page
    assert "saw no chance" in page
    client.force_login(people.guardian)
    answer = client.get(reverse("tallies:agreement", args=[first.pk, second.pk]))
    assert answer.status_code == 404


def test_a_whole_film_and_a_sample_are_compared_where_both_looked(people, possessions, counts):
    sample = counts.start(scope="sample", drawn=10)
    drawn = dict(sample.possessions.filter(place__lt=10).values_list("place", "start_ms"))
    whole = counts.start(coach=people.second_coach)
    counts.mark(sample, *((start + 8_000, True, place) for place, start in drawn.items()))
    counts.mark(whole, *((row.start_ms + 1_000, True) for row in possessions))
    found = reading.compare(counts.close(sample), counts.close(whole))
    assert (found.shared, found.same, found.only_first, found.only_second) == (10, 10, 0, 0)
    assert (found.kappa, found.raw, found.is_thin) == (None, 1, True)


def test_the_start_page_says_what_a_sample_needs(client, people, counts):
    client.force_login(people.coach)
    url = reverse("tallies:start", args=[people.film.pk])
    assert "possessions must be marked first" in client.get(url).content.decode()
    answer = client.post(url, {"skill": people.skill.pk, "scope": "sample"})
    assert answer.status_code == 422
    assert "Only 0 possessions are marked" in answer.content.decode()
    answer = client.post(url, {"skill": people.skill.pk, "scope": "whole"})
    assert answer.status_code == 302


def test_the_start_page_groups_the_skills_and_takes_each_once(client, people):
    client.force_login(people.coach)
    url = reverse("tallies:start", args=[people.film.pk])
    family = people.skill.family.capitalize()
    assert f'<optgroup label="{family}">' in client.get(url).content.decode()
    sent = {"skill": people.skill.pk, "second": people.skill.pk, "scope": "whole"}
    answer = client.post(url, sent)
    assert answer.status_code == 422
    assert "This skill is chosen above already" in answer.content.decode()


def test_a_count_that_is_there_is_led_to(client, people, counts):
    client.force_login(people.coach)
    url = reverse("tallies:start", args=[people.film.pk])
    there = counts.start()
    sent = {"skill": people.skill.pk, "scope": "whole"}
    page = client.post(url, sent).content.decode()
    assert reverse("tallies:tally", args=[there.pk]) in page
    assert "Go on with that count" in page
    counts.close(there)
    page = client.post(url, sent).content.decode()
    assert reverse("tallies:tally", args=[there.pk]) in page
    assert "closed the count" in page
    assert "Go on" not in page


@pytest.mark.parametrize(
    "body", ["", "[]", '{"marks": 3}', '{"marks": [{"id": "x"}]}', '{"marks": [], "seen": [-1]}']
)
def test_what_is_no_batch_of_marks_is_refused(client, people, counts, body):
    tally = counts.start()
    client.force_login(people.coach)
    url = reverse("tallies:marks", args=[tally.pk])
    answer = client.post(url, body, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["detail"]


def test_a_batch_answers_for_each_of_its_marks(client, people, counts):
    tally = counts.start()
    client.force_login(people.coach)
    good, bad = (
        {"id": str(uuid4()), "ms": ms, "player": str(people.kid.pk),
         "skill": str(people.skill.pk), "did_it": True, "place": None, "undone": False}
        for ms in (1_000, 700_000)
    )  # fmt: skip
    url = reverse("tallies:marks", args=[tally.pk])
    found = client.post(url, {"marks": [good, bad]}, content_type="application/json").json()
    assert (found["kept"], list(found["refused"]), found["marks"]) == ([good["id"]], [bad["id"]], 1)
