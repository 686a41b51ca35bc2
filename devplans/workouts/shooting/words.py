"""What zones, spots and rule sets are called on the page and in the file."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

ZONES: dict[str, Promise] = {
    "free-throw": _("Free throws"),
    "restricted": _("Under the ring"),
    "key": _("In the key"),
    "mid-left": _("Mid-range, left"),
    "mid-middle": _("Mid-range, middle"),
    "mid-right": _("Mid-range, right"),
    "corner-left": _("Left corner, three"),
    "wing-left": _("Left wing, three"),
    "top": _("Top, three"),
    "wing-right": _("Right wing, three"),
    "corner-right": _("Right corner, three"),
    "backcourt": _("Beyond half court"),
    "out": _("Outside these lines"),
    "twos": _("All twos"),
    "threes": _("All threes"),
}
SPOTS: dict[str, Promise] = {
    "corner-left": _("Left corner"),
    "wing-left": _("Left wing"),
    "top": _("Top"),
    "wing-right": _("Right wing"),
    "corner-right": _("Right corner"),
    "free-throw": _("Free-throw line"),
    "elsewhere": _("Not at a spot"),
}
SPANS: dict[str, Promise] = {
    "4": _("4 weeks"),
    "12": _("12 weeks"),
    "season": _("Season"),
}
