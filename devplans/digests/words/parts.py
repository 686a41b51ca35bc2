"""What a page is made of, and the words that all kinds share."""

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.core import charts


@dataclass
class Line:
    """One ruled row: its label and what it says; further rows of it; perhaps a link."""

    label: str
    text: str
    url: str = ""
    link: str = ""
    items: list[str] = field(default_factory=list)


@dataclass
class Figure:
    """A chart of numbers: its picture's name in the mail, how to read it, all of it in words."""

    cid: str
    name: str
    caption: str
    alt: str
    chart: charts.Share | charts.Minutes


@dataclass
class Part:
    """What the digest says about one child, or one squad."""

    title: str
    sentences: list[str] = field(default_factory=list)
    next_time: str = ""
    watch_url: str = ""
    picture_cid: str = ""
    picture_alt: str = ""
    figures: list[Figure] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    button: str = ""
    button_url: str = ""


def absolute(name: str, *arguments: Any) -> str:
    return settings.PUBLIC_URL + reverse(name, args=arguments)


def day(text: str) -> str:
    """ "5 December" of an ISO day."""
    return date_format(date.fromisoformat(text), "j F")


def of(counted: dict[str, Any]) -> str:
    """ "28 of 40 (long-run rate 55–82 %)"; a dash where nothing was tried."""
    if not counted["tried"]:
        return "–"
    low, high = round(100 * counted["low"]), round(100 * counted["high"])
    words = _(
        "%(made)s of %(tried)s went in; the long-run rate may lie between %(low)s and %(high)s %%"
    )
    return words % {"made": counted["made"], "tried": counted["tried"], "low": low, "high": high}


def week_title(facts: dict[str, Any]) -> str:
    """ "week 47, 16 to 22 November"."""
    first, last = date.fromisoformat(facts["from"]), date.fromisoformat(facts["to"])
    start = date_format(first, "j" if first.month == last.month else "j F")
    number = int(facts["week"][-2:])
    return _("week %(number)s, %(start)s to %(end)s") % {
        "number": number,
        "start": start,
        "end": date_format(last, "j F"),
    }


def moment(text: str, zone: str) -> str:
    """ "Tue 17 Nov 18:05" of an ISO instant, by the club's clock."""
    return date_format(datetime.fromisoformat(text).astimezone(ZoneInfo(zone)), "D j M H:i")


def dates(events: list[dict[str, Any]], zone: str) -> str:
    """ "Practice Tue 24 Nov 17:30 · Game v Larks Sat 28 Nov 11:00 at Ashdown"."""
    shown = []
    for event in events:
        what = _("Game") if event["kind"] == "game" else _("Practice")
        if event["opponent"]:
            what = _("%(what)s v %(opponent)s") % {"what": what, "opponent": event["opponent"]}
        words = f"{what} {moment(event['starts_at'], zone)}"
        if event["place"]:
            words = _("%(words)s at %(place)s") % {"words": words, "place": event["place"]}
        shown.append(words)
    return " · ".join(shown) or _("No dates in the calendar yet.")


def some(rows: list[str], most: int) -> list[str]:
    """The first rows, and how many more there are: the mail stays one page."""
    left = len(rows) - most
    if left <= 0:
        return rows
    more = ngettext("and %(left)s more", "and %(left)s more", left) % {"left": left}
    return [*rows[:most], more]
