"""A review in a sentence: the word and its day first, then the figures."""

from datetime import date
from math import ceil

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.goals.status.counted import counted, more_of
from devplans.goals.status.reviewing import Finding, Window


def sentence(measure: str, window: Window, found: Finding) -> str:
    if found.reason == "nothing" and window.number == 1:
        return " ".join([_opening(found, window.on), _("Nothing was counted since it began.")])
    parts = [_opening(found, window.on), _because(measure, found), _figures(found, window)]
    return " ".join(part for part in parts if part)


def _opening(found: Finding, on: date) -> str:
    values = {"day": date_format(on, "j F")}
    if found.reason == "differ":
        return _("The coaches' counts differ at the review of %(day)s.") % values
    if found.word == "up":
        return _("Up at the review of %(day)s.") % values
    if found.word == "down":
        return _("Down at the review of %(day)s.") % values
    if found.word == "same":
        return _("About the same at the review of %(day)s.") % values
    return _("Not enough evidence yet at the review of %(day)s.") % values


def _because(measure: str, found: Finding) -> str:
    if found.reason == "claim":
        return _claim(found)
    if found.reason == "more":
        more = more_of(measure, found.more_needed or 0)
        return _("About %(more)s needed to see a 10-point change.") % {"more": more}
    if found.reason == "few_sessions":
        return ngettext(
            "All of it is from %(count)s session; three are the least.",
            "All of it is from %(count)s sessions; three are the least.",
            found.sessions,
        ) % {"count": found.sessions}
    return str(_PLAIN.get(found.reason, str)())


def _claim(found: Finding) -> str:
    low, high = points(found.low or 0), points(found.high or 0)
    if found.word == "up":
        return _("Between %(low)s and %(high)s points better than at the start.") % {
            "low": low, "high": high,
        }  # fmt: skip
    if found.word == "down":
        return _("Between %(low)s and %(high)s points lower than at the start.") % {
            "low": points(-(found.high or 0)), "high": points(-(found.low or 0)),
        }  # fmt: skip
    return _("Any difference to the start is smaller than 10 points.")


def points(share: float) -> int:
    """A difference of shares in whole points: never 0 for one that is not."""
    return max(1, ceil(100 * share - 0.5)) if share > 0 else 0


_PLAIN = {
    "nothing": lambda: _("Nothing was counted since the last review."),
    "no_start": lambda: _("There is no starting point to compare with."),
    "typed": lambda: _(
        "The starting point was typed in without its sessions, so it cannot show a change; "
        "count afresh."
    ),
    "small_start": lambda: _("This starting point is too small to show it; count afresh."),
    "between": lambda: _("There is enough to see a 10-point change, and none is clear."),
    "no_weeks": lambda: _("No complete week lies in it."),
    "sample": lambda: _("Only a sample of a film was counted; a count of whole films is needed."),
    "other_coach": lambda: _(
        "Another coach counted than at the start, and counts of two coaches are not compared."
    ),
    "differ": lambda: _(
        "On a film that two of them counted they agree too little to tell a change."
    ),
}


def _figures(found: Finding, window: Window) -> str:
    since = _("since it began") if window.number == 1 else _("since the last review")
    if found.reps is not None:
        told = _("%(reps)s reps a week %(since)s.") % {"reps": found.reps, "since": since}
        if found.start_reps is None:
            return told
        return _("%(reps)s reps a week %(since)s, %(start)s at the start.") % {
            "reps": found.reps, "since": since, "start": found.start_reps,
        }  # fmt: skip
    if found.after is None or not found.after[1]:
        return ""
    values = {"after": counted(*found.after), "since": since}
    if found.before is None or not found.before[1]:
        return _("%(after)s %(since)s.") % values
    return _("%(after)s %(since)s, %(before)s at the start.") % {
        **values, "before": counted(*found.before),
    }  # fmt: skip
