"""Words of the logging pages that both the page and its script say."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from devplans.catalogue.models import Drill
from devplans.workouts.content import MOST_COUNTED, MOST_MINUTES

EFFORT = [
    (0, gettext_lazy("sat out")),
    (1, gettext_lazy("a stroll")),
    (2, gettext_lazy("loosening up")),
    (3, gettext_lazy("comfortable")),
    (4, gettext_lazy("warmed up")),
    (5, gettext_lazy("working")),
    (6, gettext_lazy("working hard")),
    (7, gettext_lazy("tough")),
    (8, gettext_lazy("very tough")),
    (9, gettext_lazy("nearly empty")),
    (10, gettext_lazy("empty")),
]


RESTS = [
    (0, gettext_lazy("off")),
    (30, gettext_lazy("30 s")),
    (60, gettext_lazy("1 min")),
    (90, gettext_lazy("1 min 30 s")),
    (120, gettext_lazy("2 min")),
]


def duration(minutes: int) -> str:
    """ "3 h 10 min", "55 min"."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return _("%(minutes)s min") % {"minutes": rest}
    if not rest:
        return _("%(hours)s h") % {"hours": hours}
    return _("%(hours)s h %(minutes)s min") % {"hours": hours, "minutes": rest}


def aim(drill: Drill) -> str:
    """What the drill asks for, in one line: "4 sets of 10, both sides"."""
    sets = ngettext("%(sets)s set of %(each)s", "%(sets)s sets of %(each)s", drill.default_sets)
    words = sets % {"sets": drill.default_sets, "each": drill.default_per_set}
    if drill.counts == Drill.Counts.SECONDS:
        words = _("%(aim)s seconds") % {"aim": words}
    if drill.sides == Drill.Sides.NONE:
        return words
    return _("%(aim)s, %(side)s") % {"aim": words, "side": drill.get_sides_display()}


def drill_for_script(drill: Drill) -> dict[str, Any]:
    return {
        "name": drill.name,
        "counts": drill.counts,
        "sides": drill.sides,
        "sets": drill.default_sets,
        "per_set": drill.default_per_set,
        "aim": aim(drill),
        "how": drill.how,
    }


def for_script() -> dict[str, Any]:
    """What the script writes into the page; it fills in {made}, {tried}, {count}, {message}."""
    return {
        "of": _("{made} of {tried}"),
        "reps": _("{count} reps"),
        "seconds": _("{count} s"),
        "set": _("set"),
        "week": _("{done} this week"),
        "sides": {"left": _("left"), "right": _("right"), "none": ""},
        "start": _("start"),
        "stop": _("stop · {count} s"),
        "whole": {
            "ask": _("Whole set: how many of {tried} went in?"),
            "makes": _("whole set: {made} of {tried}"),
            "reps": _("whole set · {count}"),
            "seconds": _("whole set · {count} s"),
        },
        "court": {
            "tap": _("Tap where the shot is taken, then made or missed."),
            "ask": _("From where? Tap the court or choose a place first."),
            "here": _("{place} · {made} of {tried} here"),
        },
        "go": _("go"),
        "hurts": _("Something hurts."),
        "wrong": {
            "number": _("Give whole numbers, and at least one try."),
            "too-many": _("Too large. The largest number taken is %(most)s.")
            % {"most": f"{MOST_COUNTED:,}"},
            "more-made": _("More made than tried."),
            "minutes": _("Give whole minutes, at most %(most)s.") % {"most": MOST_MINUTES},
            "effort": _(
                "Not answered: the load does not count this workout then. "
                "Choose a number, or save once more to leave it open."
            ),
            "hurts": _("Answer this before you save: no or yes?"),
            "hurts-of": _("Answer this before you save, no or yes: {names}."),
        },
        "sum": {
            "set": _("{count} set"),
            "sets": _("{count} sets"),
            "of": _("{made} of {tried} made"),
            "reps": _("{count} reps"),
            "seconds": _("{count} s"),
            "minutes": _("{count} min"),
        },
        "states": {
            "nothing": "",
            "waiting": _("Kept on this phone, not sent yet."),
            "sending": _("Sending…"),
            "saved": _("Saved."),
            "offline": _(
                "No connection. Sets kept on this phone: {count}. Sent when you are online."
            ),
            "signed-out": _("Not sent: you are signed out. Sets kept on this phone: {count}."),
            "conflict": _("Not sent: {message} What you see is kept on this phone."),
            "refused": _("Not sent: {message}"),
        },
    }
