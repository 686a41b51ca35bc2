"""The sentences that a summary opens with, made from where the goals stand: what a review found,
what cannot be said yet, what has not been counted. Figures come after them."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, ngettext_lazy

from devplans.goals.models import Goal
from devplans.goals.status import ReviewFacts, Standing

CLAIMS = frozenset({"up", "down", "same"})
REPS, FILM = str(Goal.Measure.REPS_PER_WEEK), str(Goal.Measure.FILM_RATE)


@dataclass(frozen=True)
class Stand:
    """The skill of one goal, and where it stands."""

    skill: str
    standing: Standing

    @property
    def name(self) -> str:
        """The skill inside a sentence: "Help position" is "help position", "VCP" stays."""
        return self.skill[:1].lower() + self.skill[1:] if self.skill[1:2].islower() else self.skill

    @property
    def is_reviewed(self) -> bool:
        """Has a review claimed anything?"""
        review = self.standing.last_review
        return review is not None and review.word in CLAIMS

    @property
    def is_uncounted(self) -> bool:
        return not self.standing.is_settled and (
            self.standing.reps is None if self.standing.measure == REPS else not self.standing.tried
        )

    @property
    def waits_for_review(self) -> bool:
        """Is there enough to go by, and no review has looked at it yet?"""
        found = self.standing
        is_told = found.measure == REPS or found.word != "not enough evidence yet"
        return is_told and found.last_review is None and found.next_review is not None


def sentences(stands: Iterable[Stand], *, name: str, own: bool) -> list[str]:
    """What can be said of the goals as a whole. own: the player reads it, and is called "you"."""
    stands = list(stands)
    found = [
        _reviewed(one, review, name, own)
        for one in stands
        if one.is_reviewed and (review := one.standing.last_review)
    ]
    found += _settled(stands, name, own)
    open_ones = [one for one in stands if not one.standing.is_settled]
    unclaimed = [one for one in open_ones if not (one.is_uncounted or one.is_reviewed)]
    found += _to_come([one for one in unclaimed if one.waits_for_review])
    found += _about([one for one in unclaimed if not one.waits_for_review], _unsure)
    found += _about([one for one in open_ones if one.is_uncounted], _uncounted)
    return found


def _reviewed(one: Stand, review: ReviewFacts, name: str, own: bool) -> str:
    values = {"skill": one.name, "name": name, "day": date_format(review.reviewed_on, "j F")}
    if one.standing.measure == REPS:
        words = {
            "up": _("At the review of %(day)s the reps a week for %(skill)s had gone up."),
            "down": _("At the review of %(day)s the reps a week for %(skill)s had gone down."),
            "same": _("At the review of %(day)s the reps a week for %(skill)s were as before."),
        }
    elif own:
        words = {
            "up": _("At the review of %(day)s your %(skill)s had improved."),
            "down": _("At the review of %(day)s your %(skill)s had gone down."),
            "same": _("At the review of %(day)s your %(skill)s was about as at the start."),
        }
    else:
        words = {
            "up": _("At the review of %(day)s %(name)s’s %(skill)s had improved."),
            "down": _("At the review of %(day)s %(name)s’s %(skill)s had gone down."),
            "same": _("At the review of %(day)s %(name)s’s %(skill)s was about as at the start."),
        }
    return words[review.word] % values


def _settled(stands: Sequence[Stand], name: str, own: bool) -> list[str]:
    found = []
    met = _named(one for one in stands if one.standing.word == "met")
    if met and own:
        found.append(_("You have reached the target for %(skills)s.") % {"skills": met})
    elif met:
        words = _("%(name)s has reached the target for %(skills)s.")
        found.append(words % {"name": name, "skills": met})
    missed = _named(one for one in stands if one.standing.word == "missed")
    if missed:
        words = _("The target for %(skills)s was not reached by the due date.")
        found.append(words % {"skills": missed})
    return found


def _about(stands: Sequence[Stand], told: Callable[[str, Sequence[Stand]], str]) -> list[str]:
    """One sentence for each measure."""
    by_kind: dict[str, list[Stand]] = {}
    for one in stands:
        measure = one.standing.measure
        by_kind.setdefault(measure if measure in {REPS, FILM} else "", []).append(one)
    return [told(kind, rows) for kind, rows in by_kind.items()]


def _to_come(stands: Sequence[Stand]) -> list[str]:
    """One sentence for each day."""
    by_day: dict[date, list[Stand]] = {}
    for one in stands:
        if one.standing.next_review is not None:
            by_day.setdefault(one.standing.next_review, []).append(one)
    words = ngettext_lazy(
        "Whether %(skills)s has changed is first looked at on %(day)s.",
        "Whether %(skills)s have changed is first looked at on %(day)s.",
        "number",
    )
    return [
        words % {"skills": _named(rows), "day": date_format(day, "j F"), "number": len(rows)}
        for day, rows in sorted(by_day.items())
    ]


def _unsure(kind: str, rows: Sequence[Stand]) -> str:
    if kind == REPS:
        words = ngettext(
            "Reps for %(skills)s are counted week by week; no review has compared them yet.",
            "Reps for %(skills)s are counted week by week; no review has compared them yet.",
            len(rows),
        )
    elif kind == FILM:
        words = ngettext(
            "Whether %(skills)s has changed, the film cannot say yet.",
            "Whether %(skills)s have changed, the film cannot say yet.",
            len(rows),
        )
    else:
        words = ngettext(
            "Whether %(skills)s has changed, what was logged cannot say yet.",
            "Whether %(skills)s have changed, what was logged cannot say yet.",
            len(rows),
        )
    return _begun(words % {"skills": _named(rows)})


def _uncounted(kind: str, rows: Sequence[Stand]) -> str:
    if kind == REPS:
        words = ngettext(
            "No complete week of %(skills)s has been counted yet.",
            "No complete week of %(skills)s has been counted yet.",
            len(rows),
        )
    elif kind == FILM:
        words = ngettext(
            "%(skills)s has not been counted on film since the goal began.",
            "%(skills)s have not been counted on film since the goals began.",
            len(rows),
        )
    else:
        words = ngettext(
            "Nothing has been logged for %(skills)s since the goal began.",
            "Nothing has been logged for %(skills)s since the goals began.",
            len(rows),
        )
    return _begun(words % {"skills": _named(rows)})


def _named(rows: Iterable[Stand]) -> str:
    names = list(dict.fromkeys(one.name for one in rows))
    return get_text_list(names, _("and")) if names else ""


def _begun(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
