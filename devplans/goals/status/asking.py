"""What would settle a goal, or tell more: how many, of what."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.goals.status.counted import more_of
from devplans.goals.status.parts import DRILL_MARK, FILM_RATE, Facts, Ruling


def settles(goal: Facts, ruling: Ruling) -> str:
    told = _BY_REASON.get(ruling.reason)
    return told(goal, ruling) if told else ""


def _forecast(goal: Facts, ruling: Ruling) -> str:
    values = {"needed": ruling.needed, "left": ruling.left}
    if goal.measure == FILM_RATE:
        return _("%(needed)s of the next %(left)s chances taken.") % values
    if goal.measure == DRILL_MARK:
        return _("%(needed)s of the next %(left)s sets at the mark.") % values
    return _("%(needed)s of the next %(left)s made.") % values


def _pace(goal: Facts, ruling: Ruling) -> str:
    words = _("More than the usual number of tries, or a later goal.")
    if goal.measure == FILM_RATE:
        words = _("More chances than usual, or a later goal.")
    return words


def _holding(goal: Facts, ruling: Ruling) -> str:
    return _("The due date: what is still tried until then counts.")


def _unreachable(goal: Facts, ruling: Ruling) -> str:
    return _("Close it and set another one, with a target or a window that fits.")


def _more(goal: Facts, ruling: Ruling) -> str:
    more = more_of(goal.measure, ruling.more)
    if goal.measure == FILM_RATE:
        return _("%(more)s on films that are counted to the end.") % {"more": more}
    return _("%(more)s, logged.") % {"more": more}


def _one_session(goal: Facts, ruling: Ruling) -> str:
    if goal.measure == FILM_RATE:
        return _("1 more film, counted to the end.")
    return _("1 more workout with it, on another day.")


def _sample(goal: Facts, ruling: Ruling) -> str:
    return _("A count of whole films, at least 20 chances.")


def _paused(goal: Facts, ruling: Ruling) -> str:
    return _("It goes on when it is taken up again.")


def _draft(goal: Facts, ruling: Ruling) -> str:
    return _("Make it live.")


def _left(goal: Facts, ruling: Ruling) -> str:
    return _("Close it, or go on when the player is in a squad again.")


def _due_few(goal: Facts, ruling: Ruling) -> str:
    return _("Close it and set another one, with a due date that leaves room for enough of them.")


def _few_weeks(goal: Facts, ruling: Ruling) -> str:
    return ngettext(
        "%(count)s more complete week.", "%(count)s more complete weeks.", ruling.more
    ) % {"count": ruling.more}


def _reps(goal: Facts, ruling: Ruling) -> str:
    return ngettext(
        "%(reps)s reps in the week that is left.",
        "%(reps)s reps in each of the %(left)s weeks that are left.",
        ruling.weeks_left,
    ) % {"reps": ruling.a_week, "left": ruling.weeks_left}


def _no_week_left(goal: Facts, ruling: Ruling) -> str:
    return _("No complete week is left before the due date.")


_BY_REASON = {
    "forecast": _forecast, "holding": _holding, "pace": _pace, "unreachable": _unreachable,
    "few": _more, "none": _more, "few_by_then": _more,
    "one_session": _one_session, "sample": _sample,
    "paused": _paused, "draft": _draft, "left": _left, "due_few": _due_few,
    "due_few_weeks": _due_few, "few_weeks": _few_weeks, "reps": _reps,
    "reps_no_week_left": _no_week_left,
}  # fmt: skip
