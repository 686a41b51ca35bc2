from datetime import timedelta
from typing import Any

from django.utils import timezone

from devplans.goals import services
from devplans.goals.days import this_monday
from devplans.goals.models import Goal, GoalExample, PlanItem
from tests import factories as make
from tests.access import row


def things(cast: Any) -> None:
    cast.goal_skill = make.make_skill()
    cast.goal_drill, cast.goal_new_drill = make.make_drill(), make.make_drill()
    fields = {
        "player": cast.kid, "skill": cast.goal_skill, "measure": "film_rate", "target_share": 0.7,
        "due_on": timezone.now().date() + timedelta(days=60), "author": cast.coach,
    }  # fmt: skip
    cast.goal = Goal.objects.create(**fields, life="live", started_on=timezone.now().date())
    cast.draft_goal = Goal.objects.create(**fields)
    item = {"target_in": "makes", "weekly_target": 40, "from_week": this_monday(cast.club.zone)}
    cast.goal_item = PlanItem.objects.create(
        player=cast.kid, goal=cast.goal, drill=cast.goal_drill, added_by=cast.coach, **item
    )
    cast.own_item = PlanItem.objects.create(
        player=cast.kid, drill=make.make_drill(), added_by=cast.player, **item
    )
    film = make.make_film(cast.squad)
    cast.goal_deliveries = [
        make.make_delivery(
            make.make_comment(film, cast.coach, [cast.kid], skill=cast.goal_skill), cast.kid
        )
        for _number in range(2)
    ]
    cast.feed_secret = services.issue_feed(actor=cast.guardian, subject=cast.kid)
    cast.goal_example = GoalExample.objects.create(goal=cast.goal, delivery=cast.goal_deliveries[0])


def new_goal(cast: Any) -> dict[str, Any]:
    due_on = timezone.now().date() + timedelta(days=90)
    figures = {"measure": "film_rate", "target_percent": "70"}
    return {"skill": cast.goal_skill.pk, "due_on": due_on.isoformat(), **figures}


def picked(cast: Any) -> dict[str, Any]:
    return {"delivery": cast.goal_deliveries[1].pk}


def new_drill(cast: Any) -> dict[str, Any]:
    return {"drill": cast.goal_new_drill.pk}


#                  anon strg play mate guar coac othr dire welf exgu outs
READ = "           302  404  200  404  200  200  404  200  200  404  404"
DRAFT = "          302  404  404  404  404  200  404  200  404  404  404"
COACH_PAGE = "     302  404  403  404  403  200  404  403  403  404  404"
COACH_WRITE = "    302  404  403  404  403  302  404  403  403  404  404"
DRAFT_WRITE = "    302  404  404  404  404  302  404  403  404  404  404"
LOG_PAGE = "       302  404  200  404  200  200  404  403  403  404  404"
LOG_WRITE = "      302  404  302  404  302  302  404  403  403  404  404"
# Who added it and the coaches; not the other people of the family.
OWN_PAGE = "       302  404  200  404  403  200  404  403  403  404  404"
OWN_WRITE = "      302  404  302  404  403  302  404  403  403  404  404"

ANY_PAGE = "       302  200  200  200  200  200  200  200  200  200  200"
# The secret is the right: who asks does not matter.
FEED = "           200  200  200  200  200  200  200  200  200  200  200"
FAMILY_NEW = "     302  404  200  404  200  403  404  403  403  404  404"
FAMILY_END = "     302  404  302  404  302  403  404  403  403  404  404"
SQUAD_NEW = "      302  404  403  403  403  200  404  403  403  404  404"

PLAYER, GOAL, DRAFT_GOAL = {"player_id": "kid"}, {"goal_id": "goal"}, {"goal_id": "draft_goal"}
ITEM, OWN_ITEM = {"item_id": "goal_item"}, {"item_id": "own_item"}
TARGET = {"target_in": "makes", "weekly_target": "50"}

ROWS = [
    row("get", "goals:list", PLAYER, READ),
    row("get", "goals:on-skill", PLAYER, READ),
    row("get", "goals:work", PLAYER, READ),
    row("get", "goals:goal", GOAL, READ),
    row("get", "goals:goal", DRAFT_GOAL, DRAFT),
    row("get", "goals:plan-drills", PLAYER, LOG_PAGE),
    row("get", "goals:add", PLAYER, COACH_PAGE),
    row("post", "goals:add", PLAYER, COACH_WRITE, body=new_goal),
    row("get", "goals:edit", GOAL, COACH_PAGE),
    row("post", "goals:edit", DRAFT_GOAL, DRAFT_WRITE, body=new_goal),
    row("post", "goals:life", GOAL, COACH_WRITE, body={"step": "pause"}),
    row("post", "goals:life", DRAFT_GOAL, DRAFT_WRITE, body={"step": "begin"}),
    row("post", "goals:close", GOAL, COACH_WRITE, body={"words": "Well done."}),
    row("post", "goals:add-drill", PLAYER, LOG_WRITE, body=new_drill),
    row("get", "goals:calendar", {}, ANY_PAGE),
    row("get", "goals:feed", {"token": lambda cast: cast.feed_secret}, FEED),
    row("post", "goals:feed-player", PLAYER, FAMILY_NEW, body={"step": "new"}),
    row("post", "goals:feed-player", PLAYER, FAMILY_END, body={"step": "end"}),
    row("post", "goals:feed-squad", {"squad_id": "squad"}, SQUAD_NEW, body={"step": "new"}),
    row("get", "goals:item-add", PLAYER, LOG_PAGE),
    row("post", "goals:item-add", PLAYER, LOG_WRITE, body=new_drill),
    row(
        "post", "goals:item-add", PLAYER, COACH_WRITE,
        body=new_drill, query=lambda cast: f"goal={cast.goal.pk}",
    ),
    row("get", "goals:item-edit", ITEM, COACH_PAGE),
    row("post", "goals:item-edit", ITEM, COACH_WRITE, body=TARGET),
    row("post", "goals:item-end", ITEM, COACH_WRITE),
    row("get", "goals:item-edit", OWN_ITEM, OWN_PAGE),
    row("post", "goals:item-edit", OWN_ITEM, OWN_WRITE, body=TARGET),
    row("post", "goals:item-end", OWN_ITEM, OWN_WRITE),
    row("post", "goals:example-add", GOAL, COACH_WRITE, body=picked),
    row("post", "goals:example-remove", {"example_id": "goal_example"}, COACH_WRITE),
]  # fmt: skip
