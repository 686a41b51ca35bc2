"""What a squad should practise next, through its page."""

import json
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from devplans.progress.board.practice import needs_of
from devplans.schedule.models import Event
from tests import factories as make
from tests.progress.counting import count, film_goal, page, sample, words


def test_skills_come_by_need_and_thin_ones_apart(cast, skills, four_films):
    found = needs_of(cast.coach, cast.squad, timezone.now())
    assert [one.skill.name for one in found.ranked] == ["Closing out"]
    assert [one.skill.name for one in found.there] == ["Boxing out"]
    assert [one.skill.name for one in found.thin] == ["Finishing high"]
    close, thin = found.ranked[0], found.thin[0]
    assert (close.need.made, close.need.tried, close.need.films) == (12, 40, 4)
    assert close.need.standing == "below"
    assert 0 < close.need.lost <= 10 * (0.7 - 0.3)
    assert (thin.need.more_tried, thin.need.more_films) == (8, 3)
    assert thin.why == "Count it on 3 more films: 8 more chances are needed."


def test_the_target_is_the_middle_of_the_goals(cast, skills, four_films):
    film_goal(cast.kid, skills[0], 0.5)
    film_goal(cast.mate, skills[0], 0.6)
    film_goal(cast.adult, skills[0], 0.9)
    found = {one.skill: one for one in needs_of(cast.coach, cast.squad, timezone.now()).every}
    assert found[skills[0]].need.target == 0.6
    assert [held.line.number for held in found[skills[0]].goals] == ["7", "12", "31"]
    # Without a goal of its own a skill takes the middle of all of them, or what is asked for.
    assert found[skills[1]].need.target == 0.6
    asked = needs_of(cast.coach, cast.squad, timezone.now(), target=0.8)
    assert {one.skill: one.need.target for one in asked.every}[skills[1]] == 0.8


def test_another_coach_and_samples_stand_beside_the_need(client, cast, second, skills, four_films):
    close = skills[0]
    count(cast.squad, second, [close], {cast.kid: {close: (9, 9)}})
    sample(cast.squad, cast.coach, close, cast.mate, 3, 6, 0.3, 0.7)
    one = needs_of(cast.coach, cast.squad, timezone.now()).ranked[0]
    assert (one.need.made, one.need.tried) == (12, 40)
    assert one.beside == [
        f"9 of 9, counted on 1 film by {second.full_name}",
        "1 sample",
    ]


def test_a_film_on_which_a_skill_never_came_up_counts_as_a_film(cast, skills, four_films):
    before = needs_of(cast.coach, cast.squad, timezone.now()).ranked[0].need
    count(cast.squad, cast.coach, skills[:1], {}, asked=[cast.kid])
    after = needs_of(cast.coach, cast.squad, timezone.now()).ranked[0].need
    assert (before.films, before.a_film) == (4, 10.0)
    assert (after.films, after.a_film) == (5, 8.0)
    assert after.lost < before.lost


def test_old_counts_are_not_the_next_practice(cast, skills, four_films):
    later = timezone.now() + timedelta(weeks=12)
    assert needs_of(cast.coach, cast.squad, later).every == []


def test_a_wanted_skill_that_was_never_counted_is_to_be_counted(client, cast):
    film_goal(cast.kid, make.make_skill(name="Talking on screens"), 0.6)
    told = words(page(client, cast.coach, "next", cast.squad))
    assert "1 skill with a goal, not counted on a whole film in these weeks" in told
    assert "Each takes 20 chances on 3 films. Talking on screens" in told


@pytest.fixture
def drills(skills):
    return [
        make.make_drill(skill=skills[0], slug="wall-closeouts", name="Closeouts", minutes=10),
        make.make_drill(
            skill=skills[0], slug="big-shell", name="Shell", minutes=10, players_needed=8
        ),
        make.make_drill(skill=skills[2], slug="high-glass", name="High glass", minutes=12),
    ]


def plan_of(html):
    return re.findall(r'data-key="([^"]+)" data-minutes="(\d+)"', html)


def test_the_plan_takes_drills_for_what_is_needed(client, cast, four_films, practice, drills):
    html = page(client, cast.coach, "next", cast.squad)
    # Three players cannot do the drill for eight, and a thin skill puts nothing into the plan.
    assert plan_of(html) == [("wall-closeouts", "10")]
    assert "10 of 90 minutes planned, 80 left free." in words(html)
    facts = json.loads(re.search(r'id="practice-facts"[^>]*>(.*?)</script>', html, re.S)[1])
    assert facts["minutes"] == 90
    assert facts["event"] == str(practice.pk)
    assert set(facts["drills"]) == {"wall-closeouts", "big-shell", "high-glass"}


def test_the_plan_of_the_address_is_shown_as_it_is(client, cast, four_films, practice, drills):
    text = "high-glass:25,nobody:5,wall-closeouts:70,<b>:3"
    html = page(client, cast.coach, "next", cast.squad, plan=text, practice=practice.pk)
    assert plan_of(html) == [("high-glass", "25"), ("wall-closeouts", "70")]
    assert "95 minutes planned, 5 more than the practice has." in words(html)
    assert plan_of(page(client, cast.coach, "next", cast.squad, plan="")) == []


def test_a_plan_stays_with_its_practice(client, cast, practice, drills):
    over = timezone.now() - timedelta(days=1)
    Event.objects.filter(pk=practice.pk).update(
        starts_at=over, ends_at=over + timedelta(minutes=75)
    )
    html = words(page(client, cast.coach, "next", cast.squad, plan="", practice=practice.pk))
    assert "this practice is over" in html
    assert "0 of 75 minutes planned" in html
    far = Event.objects.create(
        squad=cast.far_squad, kind="practice", starts_at=over, ends_at=over + timedelta(minutes=33)
    )
    told = words(page(client, cast.coach, "next", cast.squad, plan="", practice=far.pk))
    assert "of 60 minutes" in told


def test_without_evidence_the_drills_of_the_goals_are_offered(
    client, cast, skills, practice, drills
):
    film_goal(cast.kid, skills[2], 0.6)
    html = page(client, cast.coach, "next", cast.squad)
    assert plan_of(html) == [("high-glass", "12")]
    assert "These drills belong to the players’ goals." in words(html)


def test_what_hurts_stands_on_top_for_coaches_and_without_words_for_directors(client, cast):
    make.make_pain(cast.kid)
    told = words(page(client, cast.coach, "next", cast.squad))
    assert told.index("Left ankle") < told.index("What it needs most")
    office = words(page(client, cast.director, "next", cast.squad))
    assert "Left ankle" not in office
    assert "1 player has said that something hurts" in office


def test_an_empty_plan_is_not_printed(client, cast, four_films, practice, drills):
    empty = page(client, cast.coach, "next", cast.squad, plan="")
    full = page(client, cast.coach, "next", cast.squad)
    button = re.compile(r"<button[^>]*data-print[^>]*>")
    assert " hidden>" in button.search(empty)[0]
    assert " hidden>" not in button.search(full)[0]


def test_who_was_not_seen_lately_is_named(client, cast, skills):
    count(cast.squad, cast.coach, skills[:1], {cast.kid: {skills[0]: (3, 9)}}, days=2)
    count(cast.squad, cast.coach, skills[:1], {cast.mate: {skills[0]: (3, 9)}}, days=40)
    told = words(page(client, cast.coach, "next", cast.squad))
    after = told[told.index("Not seen on film for three weeks") :]
    assert "Runa Lindqvist" in after
    assert "31 Tove Adeyemi never" in after
    assert "Ines" not in after.split("How need is told")[0]
    comment = make.make_comment(make.make_film(cast.squad), cast.coach, [cast.mate])
    make.make_delivery(comment, cast.mate)
    told = words(page(client, cast.coach, "next", cast.squad))
    assert "Runa" not in told[told.index("Not seen on film for three weeks") :]


def test_clips_on_the_theme_lead_into_the_list(client, cast, skills, four_films):
    make.make_comment(
        make.make_film(cast.squad), cast.coach, [cast.kid], skill=skills[0], sent_at=timezone.now()
    )
    html = page(client, cast.coach, "next", cast.squad)
    assert f'href="{reverse("feedback:cliplists")}"' in html
    made = cast.squad.clip_lists.create(title="Monday", author=cast.coach)
    html = page(client, cast.coach, "next", cast.squad)
    there = f"{reverse('feedback:cliplist-search', args=[made.pk])}?skill={skills[0].pk}"
    assert there in html
    assert client.get(there).status_code == 200
    assert "clip to show" not in page(client, cast.director, "next", cast.squad)


def test_the_squad_whose_practice_comes_first_is_in_turn(client, cast, practice):
    make.make_member(cast.coach, "coach", club=cast.club, squad=cast.other_squad)
    client.force_login(cast.coach)
    there = client.get(reverse("progress:next-practice"))
    assert there.url == reverse("progress:next", args=[cast.squad.pk])
    sooner = timezone.now() + timedelta(hours=1)
    Event.objects.create(
        squad=cast.other_squad, kind="practice", starts_at=sooner,
        ends_at=sooner + timedelta(hours=1),
    )  # fmt: skip
    there = client.get(reverse("progress:next-practice"))
    assert there.url == reverse("progress:next", args=[cast.other_squad.pk])


@pytest.mark.parametrize("text", ["", "0", "101", "-3", "x", "٣", "9" * 40, "70"])
def test_any_target_is_read(client, cast, text):
    client.force_login(cast.coach)
    assert (
        client.get(reverse("progress:next", args=[cast.squad.pk]), {"target": text}).status_code
        == 200
    )
