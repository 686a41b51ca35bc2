"""Closed counts and goals of a squad, made directly, and its pages as words."""

import re
from datetime import timedelta

from django.urls import reverse
from django.utils import timezone

from devplans.goals.models import Goal
from devplans.tallies.evidence import write_weeks
from devplans.tallies.models import Tally, TallyMark, TallyWeek
from tests import factories as make


def count(squad, coach, skills, figures, *, days=3, asked=None):
    """A closed whole count. figures: {player: {skill: (made, tried)}}."""
    film = make.make_film(squad, recorded_at=timezone.now() - timedelta(days=days))
    tally = Tally.objects.create(film=film, coach=coach, scope="whole", closed_at=timezone.now())
    tally.skills.set(skills)
    tally.players.set(asked if asked is not None else figures)
    TallyMark.objects.bulk_create(
        TallyMark(tally=tally, film_ms=1_000 * n, player=player, skill=skill, did_it=n < made)
        for player, by_skill in figures.items()
        for skill, (made, tried) in by_skill.items()
        for n in range(tried)
    )
    write_weeks(tally)
    return tally


def sample(squad, coach, skill, player, made, tried, low, high):
    film = make.make_film(squad, recorded_at=timezone.now() - timedelta(days=2))
    tally = Tally.objects.create(
        film=film, coach=coach, scope="sample", drawn=5, closed_at=timezone.now()
    )
    tally.skills.set([skill])
    tally.players.set([player])
    day = timezone.now().date()
    iso = day.isocalendar()
    TallyWeek.objects.create(
        tally=tally, player=player, skill=skill, made=made, tried=tried, low=low, high=high,
        iso_year=iso.year, iso_week=iso.week, film_on=day,
    )  # fmt: skip
    return tally


def long_ago():
    return timezone.now().date() - timedelta(days=300)


def film_goal(player, skill, target, **fields):
    today = timezone.now().date()
    return Goal.objects.create(
        player=player, skill=skill, measure="film_rate", target_share=target, life="live",
        started_on=today, due_on=today + timedelta(weeks=8), **fields,
    )  # fmt: skip


def weeks_of(tally, people, skills):
    """Its week rows without the marks, which no page reads."""
    day = tally.film.recorded_at.date()
    iso = day.isocalendar()
    TallyWeek.objects.bulk_create(
        TallyWeek(
            tally=tally, player=one, skill=skill, made=2, tried=4,
            iso_year=iso.year, iso_week=iso.week, film_on=day,
        )
        for one in people
        for skill in skills
    )  # fmt: skip


def fill(cast, players, skills):
    people = [make.make_player(squad=cast.squad, number=str(n)) for n in range(players)]
    listed = [make.make_skill(family=f"family {n % 5}") for n in range(skills)]
    for skill in listed:
        make.make_drill(skill=skill)
    for first in range(0, skills, 3):
        for days in (3, 10, 17):
            tally = count(cast.squad, cast.coach, listed[first : first + 3], {}, days=days)
            tally.players.set(people)
            weeks_of(tally, people, listed[first : first + 3])
    for one in people:
        film_goal(one, listed[0], 0.7)
        make.make_pain(one)


def page(client, user, route, squad, **query):
    client.force_login(user)
    return client.get(reverse(f"progress:{route}", args=[squad.pk]), query).content.decode()


def words(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())
