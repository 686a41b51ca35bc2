"""Made of tried in the words of each measure: chances on film, tries, sets."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.goals.status.parts import DRILL_MARK, FILM_RATE, Facts, Ruling


def counted(made: int, tried: int) -> str:
    return _("%(made)s of %(tried)s") % {"made": made, "tried": tried}


def chances(measure: str, number: int) -> str:
    """ "26 tries", "1 chance", "4 sets"."""
    if measure == FILM_RATE:
        words = ngettext("%(number)s chance", "%(number)s chances", number)
    elif measure == DRILL_MARK:
        words = ngettext("%(number)s set", "%(number)s sets", number)
    else:
        words = ngettext("%(number)s try", "%(number)s tries", number)
    return words % {"number": number}


def more_of(measure: str, number: int) -> str:
    """ "26 more tries", "1 more chance", "4 more sets"."""
    if measure == FILM_RATE:
        words = ngettext("%(number)s more chance", "%(number)s more chances", number)
    elif measure == DRILL_MARK:
        words = ngettext("%(number)s more set", "%(number)s more sets", number)
    else:
        words = ngettext("%(number)s more try", "%(number)s more tries", number)
    return words % {"number": number}


def so_far(measure: str, made: int, tried: int, since: str) -> str:
    """What was counted since a day, without a full stop."""
    if measure == FILM_RATE:
        return _film(made, tried, since)
    if measure == DRILL_MARK:
        return _sets(made, tried, since)
    values = {"made": made, "tried": tried, "since": since}
    if not tried:
        return _("Nothing logged since %(since)s") % values
    if made == tried:
        return _("All %(tried)s made since %(since)s") % values
    if not made:
        return _("None of %(tried)s made since %(since)s") % values
    return _("%(made)s of %(tried)s made since %(since)s") % values


def _film(made: int, tried: int, since: str) -> str:
    values = {"made": made, "tried": tried, "since": since}
    if not tried:
        return _("No chance counted on film since %(since)s") % values
    if made == tried:
        return _("All of %(tried)s chances taken since %(since)s") % values
    if not made:
        return _("None of %(tried)s chances taken since %(since)s") % values
    return _("Took %(made)s of %(tried)s chances since %(since)s") % values


def _sets(made: int, tried: int, since: str) -> str:
    values = {"made": made, "tried": tried, "since": since}
    if not tried:
        return _("No set logged since %(since)s") % values
    if made == tried:
        return _("All of %(tried)s sets reached the mark since %(since)s") % values
    if not made:
        return _("None of %(tried)s sets reached the mark since %(since)s") % values
    return _("%(made)s of %(tried)s sets reached the mark since %(since)s") % values


def after(goal: Facts, ruling: Ruling) -> str:
    """The assumption under which a forecast holds."""
    if goal.measure == FILM_RATE:
        words = ngettext(
            "With about %(left)s more chance, taken as often as in the last %(weeks)s weeks "
            "(%(level)s):",
            "With about %(left)s more chances, taken as often as in the last %(weeks)s weeks "
            "(%(level)s):",
            ruling.left,
        )
    elif goal.measure == DRILL_MARK:
        words = ngettext(
            "With about %(left)s more set, done as in the last %(weeks)s weeks (%(level)s):",
            "With about %(left)s more sets, done as in the last %(weeks)s weeks (%(level)s):",
            ruling.left,
        )
    else:
        words = ngettext(
            "With about %(left)s more try, made as often as in the last %(weeks)s weeks "
            "(%(level)s):",
            "With about %(left)s more tries, made as often as in the last %(weeks)s weeks "
            "(%(level)s):",
            ruling.left,
        )
    return words % {
        "left": ruling.left, "weeks": ruling.level_weeks,
        "level": counted(*ruling.level),
    }  # fmt: skip
