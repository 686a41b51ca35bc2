import re
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from devplans.goals import services
from devplans.goals.models import Goal, GoalExample, PlanItem
from tests import factories as make
from tests.goals.steps import an_aim, log


def url(name, row, query=""):
    return reverse(f"goals:{name}", args=[row.pk]) + query


def text_of(reply):
    """The words of the page's main part, without its markup."""
    html = reply.content.decode().split("<main", 1)[1].split("</main>", 1)[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


@pytest.fixture
def as_(client):
    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in


def item_for(people, **fields):
    fields = {"player": people.kid, "drill": people.drill, **fields}
    return services.add_plan_item(actor=people.coach, **fields)


def form_of(people, **fields):
    figures = {"measure": "drill_share", "drill": people.drill.pk, "target_percent": "70"}
    return {"skill": people.skill.pk, "due_on": "2027-03-03", **figures, **fields}


def test_work_shows_the_week_and_where_to_log_it(people, live, as_):
    item_for(people, goal=live)
    log(people.kid, people.drill, datetime(2026, 12, 8, tzinfo=UTC), made=7, tried=10)
    reply = as_(people.player).get(url("work", people.kid))
    text = text_of(reply)
    assert "7 of 40 makes" in text
    assert "Land on two feet." in text
    log_url = reverse("workouts:log", args=[people.kid.pk])
    assert f'href="{log_url}?drill=power-layups"' in reply.content.decode()
    assert reply.context["next"].item.drill == people.drill


def test_who_may_only_read_gets_no_button(people, live, as_):
    item_for(people, goal=live)
    html = as_(people.welfare).get(url("work", people.kid)).content.decode()
    assert people.drill.name in html
    assert reverse("workouts:log", args=[people.kid.pk]) not in html
    assert url("item-add", people.kid) not in html


def test_an_empty_week_says_what_to_do(people, as_):
    assert "No drills this week" in text_of(as_(people.player).get(url("work", people.kid)))


def test_an_empty_week_speaks_to_who_reads_it(people, as_):
    own = text_of(as_(people.player).get(url("work", people.kid)))
    theirs = text_of(as_(people.guardian).get(url("work", people.kid)))
    assert "add a drill yourself" in own
    assert "yourself" not in theirs
    assert f"add a drill for {people.kid.first_name}" in theirs


@pytest.mark.parametrize("named", ["slug", "pk"])
def test_a_drill_from_another_page_goes_into_the_work(people, as_, named):
    client = as_(people.player)
    came_from = "http://testserver/today/?clip=1"
    reply = client.post(
        url("add-drill", people.kid),
        {"drill": getattr(people.drill, named)},
        headers={"referer": came_from},
    )
    assert reply.url == came_from
    item = PlanItem.objects.get()
    assert (item.drill, item.player, item.added_by) == (people.drill, people.kid, people.player)
    assert "Power layups is in this week" in text_of(client.get(url("work", people.kid)))


@pytest.mark.parametrize("came_from", ["", "https://elsewhere.example/", "//elsewhere.example/"])
def test_nobody_is_sent_to_another_site(people, as_, came_from):
    reply = as_(people.player).post(
        url("add-drill", people.kid), {"drill": people.drill.slug}, headers={"referer": came_from}
    )
    assert reply.url == url("work", people.kid)


def test_a_drill_that_is_not_ours_is_not_found(people, as_):
    far = make.make_drill(club=people.far_club)
    for named in (far.slug, far.pk, "no-such-drill", ""):
        reply = as_(people.player).post(url("add-drill", people.kid), {"drill": named})
        assert reply.status_code == 404
    assert not PlanItem.objects.exists()


def test_the_clubs_own_drill_comes_before_a_shipped_one_of_that_name(people, as_):
    own = make.make_drill(slug=people.drill.slug, club=people.club)
    as_(people.player).post(url("add-drill", people.kid), {"drill": people.drill.slug})
    assert PlanItem.objects.get().drill == own


def test_a_full_plan_refuses_in_words(people, as_):
    for _number in range(12):
        item_for(people, drill=make.make_drill())
    client = as_(people.player)
    client.post(url("add-drill", people.kid), {"drill": people.drill.slug})
    assert "Twelve drills a week are the most" in text_of(client.get(url("work", people.kid)))
    assert PlanItem.objects.count() == 12


def test_the_log_pulls_the_weeks_drills(people, as_):
    item_for(people)
    html = as_(people.player).get(url("plan-drills", people.kid)).content.decode()
    assert 'data-drill="power-layups"' in html
    assert "0 of 40 makes" in html


def test_a_coach_writes_a_goal_and_makes_it_live(people, as_):
    client = as_(people.coach)
    log(people.kid, people.drill, datetime(2026, 12, 1, 12, tzinfo=UTC), made=22, tried=40)
    reply = client.post(url("add", people.kid), form_of(people, words="Two feet."))
    goal = Goal.objects.get()
    assert reply.url == url("goal", goal)
    assert (goal.life, goal.target_share, goal.author) == ("draft", 0.7, people.coach)
    assert (goal.start_made, goal.start_tried) == (22, 40)
    client.post(url("life", goal), {"step": "begin"})
    text = text_of(client.get(url("goal", goal)))
    for words in ("22 of 40", "70 %", "6 January 2027", "3 March 2027", "Power layups"):
        assert words in text


def test_a_start_that_the_coach_writes_stands(people, as_):
    log(people.kid, people.drill, datetime(2026, 12, 1, 12, tzinfo=UTC), made=22, tried=40)
    form = form_of(people, start_made="5", start_tried="10")
    as_(people.coach).post(url("add", people.kid), form)
    goal = Goal.objects.get()
    assert (goal.start_made, goal.start_tried) == (5, 10)


def test_reps_a_week_start_from_the_last_four_weeks(people, as_):
    drill = make.make_drill(counts="reps")
    for day in (1, 3):
        log(people.kid, drill, datetime(2026, 12, day, 12, tzinfo=UTC), reps=50)
    form = form_of(people, measure="reps_per_week", drill=drill.pk, target_reps="120")
    as_(people.coach).post(url("add", people.kid), form)
    goal = Goal.objects.get()
    assert (goal.start_reps, goal.target_reps, goal.target_share) == (25, 120, None)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"target_percent": ""}, "target_percent"), ({"target_percent": "nan"}, "target_percent"),
        ({"drill": ""}, "drill"), ({"due_on": "2026-12-09"}, "due_on"), ({"skill": "x"}, "skill"),
        ({"start_made": "9", "start_tried": "8"}, "start_made"), ({"measure": ""}, "measure"),
    ],
)  # fmt: skip
def test_a_wrong_goal_comes_back_with_its_fault(people, as_, wrong, field):
    reply = as_(people.coach).post(url("add", people.kid), form_of(people, **wrong))
    assert reply.status_code == 422
    assert list(reply.context["form"].errors) == [field]
    assert not Goal.objects.exists()


def test_another_clubs_drill_cannot_be_chosen(people, as_):
    far = make.make_drill(club=people.far_club)
    reply = as_(people.coach).post(url("add", people.kid), form_of(people, drill=far.pk))
    assert reply.status_code == 422
    assert far.name not in reply.content.decode()


def test_a_begun_goal_keeps_what_is_fixed(people, live, as_):
    form = form_of(people, target_percent="80", due_on="2027-06-01", start_made="1")
    as_(people.coach).post(url("edit", live), form)
    due = live.due_on
    live.refresh_from_db()
    assert (live.target_share, live.due_on, live.start_made) == (0.8, due, None)


def test_a_draft_is_shown_as_it_is_and_saved_unchanged(people, draft, as_):
    client = as_(people.coach)
    form = client.get(url("edit", draft)).context["form"]
    shown = {name: form[name].value() for name in form.fields}
    sent = {name: getattr(value, "pk", value) for name, value in shown.items() if value is not None}
    before = Goal.objects.values().get()
    assert client.post(url("edit", draft), sent).status_code == 302
    assert Goal.objects.values().get() == before


def test_a_fourth_live_goal_is_refused_in_words(people, draft, as_):
    for _number in range(3):
        aim = an_aim(make.make_skill(), measure="film_rate")
        goal = services.add_goal(actor=people.coach, player=people.kid, aim=aim)
        services.make_live(actor=people.coach, goal=goal)
    reply = as_(people.coach).post(url("life", draft), {"step": "begin"})
    assert reply.status_code == 422
    assert "Three live goals are the most" in text_of(reply)
    draft.refresh_from_db()
    assert draft.life == "draft"


def test_pause_resume_and_close_by_their_buttons(people, live, as_):
    client = as_(people.coach)
    for step, life in [("pause", "paused"), ("resume", "live")]:
        client.post(url("life", live), {"step": step})
        live.refresh_from_db()
        assert live.life == life
    assert client.post(url("life", live), {"step": "close"}).status_code == 404
    assert client.post(url("close", live), {"words": ""}).status_code == 422
    client.post(url("close", live), {"words": "You have it."})
    family = as_(people.guardian)
    assert "You have it." in text_of(family.get(url("list", people.kid)))
    assert "You have it." in text_of(family.get(url("goal", live)))


def test_a_family_reads_no_draft_and_gets_no_button(people, draft, as_):
    draft.words = "Words of a draft."
    draft.save(update_fields=["words"])
    item_for(people, goal=draft)
    for user in (people.player, people.guardian):
        client = as_(user)
        for name in ("list", "work"):
            html = client.get(url(name, people.kid)).content.decode()
            assert "Words of a draft." not in html
            assert people.drill.name not in html
        assert client.get(url("goal", draft)).status_code == 404
    services.make_live(actor=people.coach, goal=draft)
    html = as_(people.player).get(url("list", people.kid)).content.decode()
    assert "Words of a draft." in html
    for name in ("edit", "life", "close"):
        assert url(name, draft) not in html


def test_a_coach_changes_and_ends_a_drill(people, live, as_, clock):
    item = item_for(people, goal=live)
    client = as_(people.coach)
    clock.now += timedelta(weeks=1)
    assert client.post(
        url("item-edit", item), {"target_in": "makes", "weekly_target": "0"}
    ).status_code == 422  # fmt: skip
    client.post(url("item-edit", item), {"target_in": "tries", "weekly_target": "80"})
    text = text_of(client.get(url("goal", live)))
    assert "0 of 80 tries this week" in text
    assert "40 makes a week the week of 7 December" in text
    client.post(url("item-end", PlanItem.objects.running().get()))
    assert not PlanItem.objects.running().exists()


def test_a_player_adds_a_drill_of_his_own_and_changes_it(people, as_):
    client = as_(people.player)
    reply = client.post(
        url("item-add", people.kid), {"drill": people.drill.pk, "weekly_target": "25"}
    )
    assert reply.url == url("work", people.kid)
    item = PlanItem.objects.get()
    assert (item.target_in, item.weekly_target, item.goal) == ("makes", 25, None)
    assert url("item-edit", item) in client.get(reply.url).content.decode()


def test_drills_of_the_goals_skill_come_first(people, live, as_):
    make.make_drill(name="Another first by name")
    form = as_(people.coach).get(url("item-add", people.kid, f"?goal={live.pk}")).context["form"]
    assert form.fields["drill"].queryset[0] == people.drill
    for wrong in ("x", people.kid.pk):
        reply = as_(people.coach).get(url("item-add", people.kid, f"?goal={wrong}"))
        assert reply.status_code == 404


def test_a_coach_attaches_a_clip_and_takes_it_off_again(people, live, as_):
    film = make.make_film(people.squad)
    comment = make.make_comment(
        film, people.coach, [people.kid, people.mate], skill=people.skill, happened="Off one foot."
    )
    delivery = make.make_delivery(comment, people.kid)
    theirs = make.make_delivery(comment, people.mate, happened="Words for the other.")
    client = as_(people.coach)
    page = client.get(url("goal", live))
    assert list(page.context["to_pick"]) == [delivery]
    client.post(url("example-add", live), {"delivery": theirs.pk})
    assert client.post(url("example-add", live), {"delivery": "x"}).status_code == 404
    assert not GoalExample.objects.exists()
    client.post(url("example-add", live), {"delivery": delivery.pk})
    seen = as_(people.guardian).get(url("goal", live))
    assert reverse("feedback:delivery", args=[delivery.pk]) in seen.content.decode()
    assert "Off one foot." in text_of(seen)
    for other in ("Words for the other.", "Runa", "Lindqvist"):
        assert other not in seen.content.decode()
    as_(people.coach).post(url("example-remove", GoalExample.objects.get()))
    assert not GoalExample.objects.exists()
    assert list(client.get(url("goal", live)).context["to_pick"]) == [delivery]


def queries_of(client, address):
    with CaptureQueriesContext(
        connection,
    ) as seen:
        assert client.get(address).status_code == 200
    return len(seen)


def grow(people, goal, count):
    film = make.make_film(people.squad)
    for number in range(count):
        drill, skill = make.make_drill(how="Loud."), make.make_skill()
        other = Goal.objects.create(
            player=people.kid, skill=skill, measure="drill_share", target_share=0.7, drill=drill,
            life=["closed", "paused", "draft"][number % 3], due_on=goal.due_on,
            closed_on=goal.due_on,
        )  # fmt: skip
        for owner in (goal, other, None):
            PlanItem.objects.create(
                player=people.kid, goal=owner, drill=make.make_drill(), target_in="makes",
                weekly_target=10, from_week="2026-11-30", added_by=people.player,
            )  # fmt: skip
        PlanItem.objects.create(
            player=people.kid, goal=goal, drill=drill, target_in="makes", weekly_target=10,
            from_week="2026-11-02", until_week="2026-11-23",
        )  # fmt: skip
        for attached in (True, False):
            comment = make.make_comment(film, people.coach, [people.kid], skill=people.skill)
            delivery = make.make_delivery(comment, people.kid)
            if attached:
                GoalExample.objects.create(goal=goal, delivery=delivery)


@pytest.mark.parametrize("name", ["list", "work", "goal", "plan-drills"])
@pytest.mark.parametrize("role", ["coach", "player"])
def test_a_page_takes_as_many_queries_for_fifty_rows(people, live, as_, name, role):
    client = as_(getattr(people, role))
    address = url(name, live if name == "goal" else people.kid)
    grow(people, live, 2)
    queries_of(client, address)
    few = queries_of(client, address)
    grow(people, live, 48)
    assert queries_of(client, address) == few


def test_a_goal_on_sets_that_reach_a_mark_comes_from_the_form(people, as_):
    url = reverse("goals:add", args=[people.kid.pk])
    wrong = form_of(people, measure="drill_mark", target_percent="60")
    answer = as_(people.coach).post(url, wrong)
    assert answer.status_code == 422
    assert "Say what a set has to reach" in text_of(answer)
    asked = {**wrong, "mark_kind": "makes_least", "mark": "8"}
    assert as_(people.coach).post(url, asked).status_code == 302
    goal = Goal.objects.get()
    assert (goal.mark_kind, goal.mark, goal.target_share, goal.zone) == ("makes_least", 8, 0.6, "")
    page = text_of(as_(people.coach).get(reverse("goals:goal", args=[goal.pk])))
    assert "Sets of Power layups with at least 8 made" in page
    assert "It is a draft: counting begins on the day it goes live." in page


def test_a_goal_on_a_zone_offers_those_of_the_clubs_court(people, as_):
    url = reverse("goals:add", args=[people.kid.pk])
    asked = form_of(people, measure="zone_share", target_percent="40")
    assert "Choose the zone from which it is counted." in text_of(
        as_(people.coach).post(url, asked)
    )
    answer = as_(people.coach).post(url, {**asked, "zone": "moon"})
    assert answer.status_code == 422
    assert as_(people.coach).post(url, {**asked, "zone": "top"}).status_code == 302
    goal = Goal.objects.get()
    assert (goal.zone, goal.drill, goal.mark) == ("top", None, None)
    page = text_of(as_(people.coach).get(reverse("goals:goal", args=[goal.pk])))
    assert "Share made from: Top, three" in page
