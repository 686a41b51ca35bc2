"""Writing goals and plans."""

from devplans.goals.services.examples import add_example, remove_example
from devplans.goals.services.feeds import end_feed, issue_feed
from devplans.goals.services.life import (
    add_goal,
    change_goal,
    close_goal,
    make_live,
    pause_goal,
    resume_goal,
)
from devplans.goals.services.plan import add_plan_item, change_plan_item, end_plan_item
from devplans.goals.services.reviews import write_due_reviews

__all__ = [
    "add_example",
    "add_goal",
    "add_plan_item",
    "change_goal",
    "change_plan_item",
    "close_goal",
    "end_feed",
    "end_plan_item",
    "issue_feed",
    "make_live",
    "pause_goal",
    "remove_example",
    "resume_goal",
    "write_due_reviews",
]
