"""What the line about unsent workouts says; its script fills in {count}, {made}, {tried}."""

from typing import Any
from uuid import UUID

from django import template
from django.urls import reverse
from django.utils.translation import gettext as _

register = template.Library()
NOBODY = UUID(int=0)


@register.simple_tag
def unsent_words() -> dict[str, Any]:
    return {
        "one": _("1 workout on this phone is not sent yet."),
        "many": _("{count} workouts on this phone are not sent yet."),
        "offline": _("Sent when there is a connection."),
        "signedOut": _("Nothing is lost: sign in again, and all of it is sent."),
        "unkept": _("This phone keeps nothing just now: stay on this page until it is sent."),
        "conflict": _("Nothing of it is lost."),
        "both": _("On this phone: {here}. In the portal: {there}."),
        "mine": _("Keep this phone’s"),
        "theirs": _("Keep the portal’s"),
        "refused": _("Open it, change what is wrong, and save it again."),
        "open": _("Open it"),
        "renew": _("Keep as a new workout"),
        "drop": _("Throw away"),
        "dropped": _("Thrown away."),
        "undo": _("Bring it back"),
        "copied": _("Copied."),
        "minutes": _("{count} min"),
        "effort": _("effort {count}"),
        "set": _("1 set"),
        "sets": _("{count} sets"),
        "of": _("{made} of {tried}"),
        "reps": _("{count} reps"),
        "seconds": _("{count} s"),
        "sides": {"left": _("left"), "right": _("right")},
    }


@register.simple_tag
def log_of_nobody() -> dict[str, str]:
    """The address of a log page, with a key in it that the script replaces by a player's."""
    return {"nobody": str(NOBODY), "log": reverse("workouts:log", args=[NOBODY])}
