"""What a squad should practise next: skills by need, and the drills that serve them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from statistics import median
from typing import Any
from uuid import UUID

from django.db.models import Count, Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.catalogue.models import Drill, Skill
from devplans.feedback.models import Comment
from devplans.film.models import Film
from devplans.goals.models import Goal
from devplans.people.models import Squad
from devplans.progress.board.counts import (
    Line,
    SquadCounts,
    counts_of,
    live_goals,
    recent,
    roster_of,
    skills_of,
)
from devplans.progress.board.minutes import MOST_SKILLS
from devplans.progress.board.need import LEAST_FILMS, LEAST_TRIED, Need, alike, need
from devplans.progress.board.table import percent
from devplans.tallies.rates import film_rate

# Where no player has a goal on film: the coach's to change, in the address.
USUAL_TARGET = 0.7


@dataclass(frozen=True)
class Held:
    """A player's live goal on the skill."""

    line: Line
    goal: Goal


@dataclass
class SkillNeed:
    """One skill of a squad: what was counted, and what serves it. from_goals: whether the target is
    that of goals on it. coach: whose count it is. beside: what is not added to it, in words."""

    skill: Skill
    need: Need
    from_goals: bool
    coach: str = ""
    beside: list[str] = field(default_factory=list)
    drills: list[Drill] = field(default_factory=list)
    goals: list[Held] = field(default_factory=list)
    clips: int = 0

    @property
    def interval(self) -> str:
        if self.need.low is None or self.need.high is None:
            return ""
        return percent(self.need.low, self.need.high)

    @property
    def target_percent(self) -> int:
        return round(100 * self.need.target)

    @property
    def heading(self) -> str:
        """The plain words that stand first."""
        return {
            "below": _("Below the target, however the count is read."),
            "open": _("At the target or below it: the count cannot tell."),
            "there": _("At the target or above it."),
            "thin": _("Not enough evidence yet."),
        }[self.need.standing]

    @property
    def why(self) -> str:
        """The sentence behind the plain words."""
        if self.need.standing == "thin":
            return self._missing()
        often = _("It comes up about %(chances)s times a film.") % {
            "chances": _rounded(self.need.a_film)
        }
        if self.need.standing == "below":
            lost = _("At least %(lost)s of these are lost against %(target)s %%.") % {
                "lost": _rounded(self.need.lost),
                "target": self.target_percent,
            }
            return f"{often} {lost}"
        return often

    def _missing(self) -> str:
        films = ngettext(
            "Count it on %(films)s more film", "Count it on %(films)s more films",
            self.need.more_films,
        ) % {"films": self.need.more_films}  # fmt: skip
        if not self.need.more_tried:
            return f"{films}."
        more = ngettext(
            "%(count)s more chance is needed.", "%(count)s more chances are needed.",
            self.need.more_tried,
        ) % {"count": self.need.more_tried}  # fmt: skip
        return f"{films}: {more}"

    @property
    def counted(self) -> str:
        """What there is so far, for a skill of which nothing is claimed yet."""
        if not self.need.films:
            return _("Not counted on a whole film in these weeks.")
        return _("%(tried)s of %(least_tried)s chances, on %(films)s of %(least_films)s films.") % {
            "tried": self.need.tried,
            "least_tried": LEAST_TRIED,
            "films": self.need.films,
            "least_films": LEAST_FILMS,
        }


@dataclass(frozen=True)
class Needs:
    """ranked: by need, the greatest first. there: at their target. thin: not enough evidence, in
    the order of the catalogue."""

    lines: list[Line]
    since: date
    target: float
    ranked: list[SkillNeed]
    there: list[SkillNeed]
    thin: list[SkillNeed]

    @property
    def first(self) -> list[SkillNeed]:
        """Those that a practice is planned from."""
        return self.ranked[:MOST_SKILLS]

    @property
    def further(self) -> list[SkillNeed]:
        return self.ranked[MOST_SKILLS:]

    @property
    def begun(self) -> list[SkillNeed]:
        """Counted, and not enough."""
        return [one for one in self.thin if one.need.films]

    @property
    def uncounted(self) -> list[SkillNeed]:
        return [one for one in self.thin if not one.need.films]

    @property
    def every(self) -> list[SkillNeed]:
        return [*self.ranked, *self.there, *self.thin]


def needs_of(user: Any, squad: Squad, now: datetime, target: float | None = None) -> Needs:
    """The skills of a squad by need, in a fixed number of queries.

    target: 0..1, for skills without a goal on film; without it the middle of all such goals.
    """
    lines, since = roster_of(squad), recent(squad, now)
    players = [line.player for line in lines]
    counts, goals = counts_of(squad, players, since), live_goals(players)
    targets = _targets(goals)
    every = [share for shares in targets.values() for share in shares]
    usual = target if target is not None else median(every) if every else USUAL_TARGET
    skills = skills_of(counts.skills() | {goal.skill_id for goal in goals})
    films = {skill.pk: counts.films(skill.pk, counts.first_coach(skill.pk)) for skill in skills}
    like = alike(films.values())
    found = []
    for skill in skills:
        mine = targets.get(skill.pk)
        weighed = need(films[skill.pk], target=median(mine) if mine else usual, alike=like)
        found.append(SkillNeed(skill, weighed, bool(mine)))
    _tell_whose(found, counts)
    _add_what_serves(user, squad, found, lines, goals)
    ranked = sorted(
        (one for one in found if one.need.standing in ("below", "open")),
        key=lambda one: one.need.order,
    )
    there = [one for one in found if one.need.standing == "there"]
    thin = [one for one in found if one.need.standing == "thin"]
    return Needs(lines, since, usual, ranked, there, thin)


def _targets(goals: Sequence[Goal]) -> dict[UUID, list[float]]:
    found: dict[UUID, list[float]] = defaultdict(list)
    for goal in goals:
        if goal.measure == Goal.Measure.FILM_RATE and goal.target_share is not None:
            found[goal.skill_id].append(goal.target_share)
    return found


def _tell_whose(found: list[SkillNeed], counts: SquadCounts) -> None:
    """Whose count it is, and what other counts there are."""
    for one in found:
        rows = counts.by_skill.get(one.skill.pk, [])
        coach = counts.first_coach(one.skill.pk)
        mine = film_rate(row for row in rows if row.low is None and row.tally.coach_id == coach)
        one.coach = mine.coach if mine else ""
        others: dict[UUID | None, list[Any]] = defaultdict(list)
        samples = set()
        for row in rows:
            if row.low is not None:
                samples.add(row.tally_id)
            elif row.tally.coach_id != coach:
                others[row.tally.coach_id].append(row)
        for theirs in others.values():
            rate = film_rate(theirs)
            if rate:
                words = _("%(made)s of %(tried)s, %(source)s")
                one.beside.append(
                    words % {"made": rate.made, "tried": rate.tried, "source": rate.source}
                )
        if samples:
            words = ngettext("%(count)s sample", "%(count)s samples", len(samples))
            one.beside.append(words % {"count": len(samples)})


def _add_what_serves(
    user: Any, squad: Squad, found: list[SkillNeed], lines: list[Line], goals: Sequence[Goal]
) -> None:
    keys = [one.skill.pk for one in found]
    drills: dict[UUID, list[Drill]] = defaultdict(list)
    for drill in drills_of(squad):
        drills[drill.skill_id].append(drill)
    clips = clip_counts(user, squad, keys)
    by_skill: dict[UUID, list[Held]] = defaultdict(list)
    places = {line.player.pk: (at, line) for at, line in enumerate(lines)}
    for goal in sorted(goals, key=lambda goal: places[goal.player_id][0]):
        by_skill[goal.skill_id].append(Held(places[goal.player_id][1], goal))
    for one in found:
        one.drills = drills[one.skill.pk]
        one.goals = by_skill[one.skill.pk]
        one.clips = clips.get(one.skill.pk, 0)


def drills_of(squad: Squad) -> list[Drill]:
    """What may be practised: the shipped drills and the club's own, by skill."""
    rows = Drill.objects.for_club(squad.season.club).in_use().select_related("skill")
    return list(rows.order_by("skill__family", "skill__name", "players_needed", "name", "pk"))


def clip_counts(user: Any, squad: Squad, skills: list[UUID]) -> dict[UUID, int]:
    """How many comments on films that can be played there are for a list on each skill."""
    rows = Comment.objects.visible_to(user).filter(
        Q(skill__in=skills), film__squad=squad, film__state=Film.State.READY, withdrawn_at=None
    )
    return dict(rows.order_by().values_list("skill").annotate(number=Count("pk")))


def _rounded(number: float) -> str:
    """A figure that does not look more exact than it is."""
    return f"{number:.1f}" if number < 1.95 else str(round(number))
