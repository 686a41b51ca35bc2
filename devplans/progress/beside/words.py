"""What may be said of film and gym side by side: three things, never that one caused the other."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.stats import together
from devplans.stats.together import Link


def sentences(link: Link) -> list[str]:
    """What the two series say together, what was left out, and what is never said."""
    return [*_finding(link), *_left_out(link), never_a_cause()]


def never_a_cause() -> str:
    return _("Film and gym are shown side by side; nothing here says that one caused the other.")


def _finding(link: Link) -> list[str]:
    if link.word == together.MOVED:
        words = _(
            "Moved together: over %(weeks)s weeks, those with more work in the gym than the trend"
            " were mostly those with a higher share on film than the trend."
        )
        return [words % {"weeks": link.weeks}]
    if link.word == together.NO_LINK:
        words = _(
            "No visible link: over %(weeks)s weeks, those with more work in the gym were not"
            " clearly those with a higher share on film. In so few weeks a link that is there"
            " often stays unseen."
        )
        return [words % {"weeks": link.weeks}]
    if link.is_constant:
        return [
            _(
                "Not enough evidence yet: one of the two was the same each week, or changed by the"
                " same amount, so nothing can move together with it."
            )
        ]
    return [_missing(link)]


def _missing(link: Link) -> str:
    words = ngettext(
        "Not enough evidence yet: it takes %(needed)s weeks with at least %(chances)s counted"
        " chances and a known amount of gym work each, and there is %(weeks)s.",
        "Not enough evidence yet: it takes %(needed)s weeks with at least %(chances)s counted"
        " chances and a known amount of gym work each, and there are %(weeks)s.",
        link.weeks,
    )
    return words % {
        "needed": together.LEAST_WEEKS,
        "chances": together.LEAST_CHANCES,
        "weeks": link.weeks,
    }


def _left_out(link: Link) -> list[str]:
    if not link.left_out or not link.weeks:
        return []
    words = ngettext(
        "%(count)s week is left out: too few chances, or one of the two is missing.",
        "%(count)s weeks are left out: too few chances, or one of the two is missing.",
        link.left_out,
    )
    return [words % {"count": link.left_out}]
