from devplans.goals.views.examples import example_add, example_remove
from devplans.goals.views.feeds import calendar, feed, feed_of_player, feed_of_squad
from devplans.goals.views.goals import add, close, edit, goal, goal_list, life, on_skill
from devplans.goals.views.plan import add_drill, item_add, item_edit, item_end, plan_drills, work

__all__ = [
    "add",
    "add_drill",
    "calendar",
    "close",
    "edit",
    "example_add",
    "example_remove",
    "feed",
    "feed_of_player",
    "feed_of_squad",
    "goal",
    "goal_list",
    "item_add",
    "item_edit",
    "item_end",
    "life",
    "on_skill",
    "plan_drills",
    "work",
]
