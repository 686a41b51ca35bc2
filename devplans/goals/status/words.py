"""What a ruling is called and why, in the reader's language. Words first, then made of tried."""

from datetime import date

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from devplans.goals.status import asking
from devplans.goals.status.counted import after, chances, counted, more_of, so_far
from devplans.goals.status.parts import REPS_PER_WEEK, SETTLED, Facts, Ruling, Word

LABELS: dict[Word, Promise] = {
    "met": gettext_lazy("Met"),
    "on the way": gettext_lazy("On the way"),
    "could go either way": gettext_lazy("Could go either way"),
    "behind": gettext_lazy("Behind"),
    "missed": gettext_lazy("Missed"),
    "not enough evidence yet": gettext_lazy("Not enough evidence yet"),
}


def day(value: date) -> str:
    return date_format(value, "j F")


def sentence(goal: Facts, ruling: Ruling, today: date, source: str = "") -> str:
    """Why the word is the word it is. source: where a film's count comes from."""
    parts = [_due(goal, today), _what(goal, ruling, source), _why(goal, ruling), _moved(goal)]
    return " ".join(part for part in parts if part)


def settles(goal: Facts, ruling: Ruling, today: date) -> str:
    """What would settle it, or at least tell more; "" where it is settled."""
    told = asking.settles(goal, ruling)
    is_open = ruling.word not in SETTLED and goal.life == "live"
    if is_open and today == goal.due_on:
        counts = _("What is done today still counts.")
        is_all = ruling.reason == "pace" and not ruling.left
        return counts if is_all else " ".join([told, counts]).strip()
    return told


def _due(goal: Facts, today: date) -> str:
    if goal.started_on is None or goal.life != "live":
        return ""
    if today == goal.due_on:
        return _("Due today.")
    return _("It was due on %(day)s.") % {"day": day(goal.due_on)} if today > goal.due_on else ""


def _what(goal: Facts, ruling: Ruling, source: str) -> str:
    """What was counted."""
    if ruling.reason == "draft":
        return ""
    if goal.measure == REPS_PER_WEEK:
        return _reps_so_far(ruling)
    since = day(goal.started_on) if goal.started_on else ""
    told = so_far(goal.measure, ruling.made, ruling.tried, since)
    return f"{told} ({source})." if source and ruling.tried else f"{told}."


def _reps_so_far(ruling: Ruling) -> str:
    if ruling.reps is None:
        return _("No complete week has been counted yet.")
    return ngettext(
        "%(reps)s reps in the one complete week so far.",
        "%(reps)s reps a week on average over %(weeks)s complete weeks.",
        ruling.weeks,
    ) % {"reps": round(ruling.reps), "weeks": ruling.weeks}


def _moved(goal: Facts) -> str:
    if goal.target_since is None:
        return ""
    values = {"day": day(goal.target_since)}
    if goal.target_was is None:
        return _("The target stands since %(day)s.") % values
    if goal.measure == REPS_PER_WEEK:
        words = _("The target stands since %(day)s; before, it was %(was)s reps a week.")
        return words % {**values, "was": round(goal.target_was)}
    words = _("The target stands since %(day)s; before, it was %(was)s %%.")
    return words % {**values, "was": round(100 * goal.target_was)}


def _why(goal: Facts, ruling: Ruling) -> str:
    told = _BY_REASON.get(ruling.reason)
    return told(goal, ruling) if told else ""


def percent(goal: Facts) -> str:
    return _("%(share)s %%") % {"share": round(100 * (goal.target or 0))}


def _forecast(goal: Facts, ruling: Ruling) -> str:
    needed = _("%(needed)s of those are needed for %(target)s.") % {
        "needed": ruling.needed, "target": percent(goal),
    }  # fmt: skip
    end = {
        "on the way": _("That is likely."),
        "behind": _("That is unlikely."),
    }.get(ruling.word, _("That could go either way."))
    return " ".join([after(goal, ruling), needed, end])


def _pace(goal: Facts, ruling: Ruling) -> str:
    if not ruling.left:
        return _("That is %(needed)s short of %(target)s.") % {
            "needed": ruling.needed, "target": percent(goal),
        }  # fmt: skip
    words = _(
        "At the pace of the last %(weeks)s weeks about %(left)s more are to come, and even if all "
        "of them go well, %(target)s is not reached."
    )
    return words % {"weeks": ruling.level_weeks, "left": ruling.left, "target": percent(goal)}


def _unreachable(goal: Facts, ruling: Ruling) -> str:
    words = _(
        "The target of %(target)s cannot be reached in this window: %(needed)s are needed, and "
        "%(left)s of %(all)s are left."
    )
    return words % {
        "target": percent(goal), "needed": ruling.needed, "left": ruling.left,
        "all": chances(goal.measure, goal.chances_needed or 0),
    }  # fmt: skip


def _few(goal: Facts, ruling: Ruling) -> str:
    words = _("In the last %(weeks)s weeks there were %(tried)s, too few to say how it will go.")
    return words % {
        "weeks": ruling.level_weeks, "tried": chances(goal.measure, ruling.level[1]),
    }  # fmt: skip


def _none(goal: Facts, ruling: Ruling) -> str:
    words = _("Nothing was counted in the last %(weeks)s weeks, so nothing says how it will go.")
    return words % {"weeks": ruling.level_weeks}


def _few_by_then(goal: Facts, ruling: Ruling) -> str:
    return _("At this pace there will be too few by the due date to say anything.")


def _one_session(goal: Facts, ruling: Ruling) -> str:
    words = _(
        "All of the last %(weeks)s weeks (%(count)s) is from one day, and tries of one day are "
        "alike."
    )
    if goal.measure == "film_rate":
        words = _("All of the last %(weeks)s weeks (%(count)s) is from one film.")
    return words % {"weeks": ruling.level_weeks, "count": counted(*ruling.level)}


def _holding(goal: Facts, ruling: Ruling) -> str:
    words = _("That is the target of %(target)s so far, and the usual week brings no more.")
    return words % {"target": percent(goal)}


def _met(goal: Facts, ruling: Ruling) -> str:
    if ruling.first[1] and ruling.first != (ruling.made, ruling.tried):
        words = _("Of the first %(tried)s, %(made)s: the target of %(target)s is reached.")
        made, tried = ruling.first
        return words % {"made": made, "tried": tried, "target": percent(goal)}
    return _("The target of %(target)s is reached.") % {"target": percent(goal)}


def _missed(goal: Facts, ruling: Ruling) -> str:
    return _("The target was %(target)s.") % {"target": percent(goal)}


def _missed_short(goal: Facts, ruling: Ruling) -> str:
    words = _(
        "Even with all of the %(left)s that were still asked for, %(target)s was out of reach."
    )
    return words % {"left": ruling.left, "target": percent(goal)}


def _due_few(goal: Facts, ruling: Ruling) -> str:
    words = _("%(left)s were needed to tell whether %(target)s is reached.")
    return words % {"left": more_of(goal.measure, ruling.left), "target": percent(goal)}


def _closed_early(goal: Facts, ruling: Ruling) -> str:
    words = _("Closed on %(day)s, before it was due: nothing is decided.")
    return words % {"day": day(goal.closed_on or goal.due_on)}


def _left(goal: Facts, ruling: Ruling) -> str:
    words = _("%(name)s has left the squad, so there is no forecast.")
    return words % {"name": goal.name}


def _paused(goal: Facts, ruling: Ruling) -> str:
    if goal.paused_on is None:
        return _("It is paused, so there is no forecast.")
    return _("Paused since %(day)s, so there is no forecast.") % {"day": day(goal.paused_on)}


def _draft(goal: Facts, ruling: Ruling) -> str:
    return _("It is a draft: counting begins on the day it goes live.")


def _sample(goal: Facts, ruling: Ruling) -> str:
    return _("This is a sample: it says where a full count of that film would lie, no more.")


def _reps(goal: Facts, ruling: Ruling) -> str:
    words = ngettext(
        "For %(target)s a week, the one week left needs %(a_week)s.",
        "For %(target)s a week, the %(left)s weeks left need %(a_week)s each.",
        ruling.weeks_left,
    ) % {"target": goal.target_reps, "left": ruling.weeks_left, "a_week": ruling.a_week}
    end = _("The usual week lately had %(usual)s, the best one %(best)s.")
    return " ".join([words, end % {"usual": round(ruling.usual), "best": ruling.best}])


def _reps_target(goal: Facts, ruling: Ruling) -> str:
    return _("The target was %(target)s.") % {"target": goal.target_reps}


def _reps_met(goal: Facts, ruling: Ruling) -> str:
    return _("The target of %(target)s is reached.") % {"target": goal.target_reps}


def _few_weeks(goal: Facts, ruling: Ruling) -> str:
    return _("Two complete weeks are the least that say anything.")


_BY_REASON = {
    "forecast": _forecast, "pace": _pace, "unreachable": _unreachable, "few": _few, "none": _none,
    "holding": _holding, "few_by_then": _few_by_then, "one_session": _one_session,
    "met": _met, "missed": _missed,
    "missed_short": _missed_short, "due_few": _due_few, "closed_early": _closed_early,
    "left": _left, "paused": _paused, "draft": _draft, "sample": _sample, "reps": _reps,
    "reps_met": _reps_met, "reps_missed": _reps_target, "reps_no_week_left": _reps_target,
    "few_weeks": _few_weeks, "due_few_weeks": _few_weeks,
}  # fmt: skip
REASONS = frozenset(_BY_REASON)
