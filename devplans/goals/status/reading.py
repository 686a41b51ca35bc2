"""Where many goals stand, in a constant number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Max
from django.utils.translation import gettext as _

from devplans.core.models import AuditEntry
from devplans.goals.models import Goal, GoalReview
from devplans.goals.status import logged, reps, shares, words
from devplans.goals.status.alike import squad_icc
from devplans.goals.status.logged import Drilled, Span
from devplans.goals.status.parts import (
    Evidence,
    Facts,
    ReviewFacts,
    Ruling,
    Sample,
    Session,
    Standing,
)
from devplans.people.models import SquadPlayer
from devplans.stats.proportions import wilson_interval
from devplans.tallies import rates
from devplans.tallies.models import TallyWeek
from devplans.tallies.rates import FilmRate

BEGUN, PAUSED, RESUMED = "goals.goal_begun", "goals.goal_paused", "goals.goal_resumed"
MOVED = "goals.target_changed"


@dataclass(frozen=True)
class Known:
    """A goal with what tells where it stands. sessions are those of its whole window, and of some
    weeks before it."""

    goal: Goal
    facts: Facts
    evidence: Evidence
    today: date
    rate: FilmRate | None = None


def statuses(goals: Iterable[Goal], now: datetime) -> dict[UUID, Standing]:
    """Where each of the goals stands at `now`, under its key; constant in queries."""
    found = known(goals, now)
    reviews = _latest_reviews([one.goal for one in found])
    return {one.goal.pk: _standing(one, reviews.get(one.goal.pk)) for one in found}


def known(
    goals: Iterable[Goal], now: datetime, *, cuts: Mapping[UUID, Sequence[date]] | None = None
) -> list[Known]:
    """The facts and the evidence of each goal at `now`.

    cuts: by goal, further days on which a window begins; the sessions of their weeks are told by
    day.
    """
    rows = list(_with_people([goal.pk for goal in goals]))
    if not rows:
        return []
    days = {goal.pk: _day(now, goal) for goal in rows}
    today = max(days.values())
    entries = _entries(rows)
    squads, left_on = _squads(rows, today)
    mates = {goal.pk: squads.get(goal.player_id, set()) for goal in rows}
    spans = [
        Span(goal, _since(goal, days[goal.pk]), _until(goal), tuple((cuts or {}).get(goal.pk, ())))
        for goal in rows
    ]
    everybody = set().union(*mates.values())
    drilled = logged.of_drills(spans, everybody, today)
    marks = logged.of_marks(spans, everybody, today)
    zones = logged.of_zones(spans, everybody, today)
    films = _films(rows, everybody)
    found = []
    for goal in rows:
        facts = _facts(goal, entries.get(str(goal.pk), []), left_on.get(goal.player_id))
        rate = None
        if goal.measure == Goal.Measure.FILM_RATE:
            evidence, rate = _film_evidence(goal, films, mates[goal.pk], days[goal.pk])
        elif goal.measure == Goal.Measure.DRILL_MARK:
            evidence = _by_goal(goal, marks, mates[goal.pk], days[goal.pk])
        elif goal.measure == Goal.Measure.ZONE_SHARE:
            evidence = _by_goal(goal, zones, mates[goal.pk], days[goal.pk])
        else:
            evidence = _drill_evidence(goal, drilled, mates[goal.pk], days[goal.pk])
        found.append(Known(goal, facts, evidence, days[goal.pk], rate))
    return found


def _with_people(keys: Sequence[UUID]) -> Any:
    rows = Goal.objects.filter(pk__in=keys).order_by("due_on", "created_at")
    return rows.select_related("player__club", "skill", "drill")


def _day(now: datetime, goal: Goal) -> date:
    return now.astimezone(ZoneInfo(goal.player.club.zone)).date()


def _since(goal: Goal, today: date) -> date:
    lately = shares.monday_of(today) - shares.LEVEL_WEEKS[-1] * shares.WEEK
    return min(lately, goal.started_on or today)


def _until(goal: Goal) -> date:
    ended = goal.closed_on if goal.life == Goal.Life.CLOSED else None
    return min(goal.due_on, ended or goal.due_on)


def _entries(goals: Sequence[Goal]) -> dict[str, list[AuditEntry]]:
    """What was written down of pauses and moved targets, by goal, the oldest first."""
    found: dict[str, list[AuditEntry]] = defaultdict(list)
    rows = AuditEntry.objects.filter(
        player_id__in={goal.player_id for goal in goals}, verb__in=(BEGUN, PAUSED, RESUMED, MOVED)
    )
    for entry in rows.order_by("at", "pk"):
        found[entry.row_id].append(entry)
    return found


def _squads(goals: Sequence[Goal], today: date) -> tuple[dict[UUID, set[UUID]], dict[UUID, date]]:
    """Who plays with whom today; and for those in no squad any more, the day they left."""
    players = {goal.player_id for goal in goals}
    places = SquadPlayer.objects.on(today)
    pairs = places.filter(squad__in=places.filter(player__in=players).values("squad"))
    by_squad: dict[UUID, set[UUID]] = defaultdict(set)
    for squad, player in pairs.order_by().values_list("squad", "player"):
        by_squad[squad].add(player)
    mates: dict[UUID, set[UUID]] = defaultdict(set)
    for group in by_squad.values():
        for player in group & players:
            mates[player] |= group
    rows = SquadPlayer.objects.filter(player__in=players - mates.keys(), until__lt=today)
    gone = rows.order_by().values_list("player").annotate(Max("until"))
    return mates, dict(gone)


def _facts(goal: Goal, entries: Sequence[AuditEntry], left_on: date | None) -> Facts:
    zone = ZoneInfo(goal.player.club.zone)
    pauses: list[tuple[date, date | None]] = []
    since, was = None, None
    name = "target_reps" if goal.measure == Goal.Measure.REPS_PER_WEEK else "target_share"
    for entry in entries:
        day = entry.at.astimezone(zone).date()
        if entry.verb == PAUSED:
            pauses.append((day, None))
        elif entry.verb == RESUMED and pauses:
            pauses[-1] = (pauses[-1][0], day)
        elif entry.verb == BEGUN:
            since, was = None, None
        elif entry.verb == MOVED and name in entry.detail:
            since, was = day, entry.detail[name][0]
    return Facts(
        measure=goal.measure,
        life=goal.life,
        name=goal.player.first_name,
        due_on=goal.due_on,
        started_on=goal.started_on,
        closed_on=goal.closed_on,
        target=goal.target_share,
        target_reps=goal.target_reps,
        chances_needed=goal.chances_needed,
        start_reps=goal.start_reps,
        target_since=since,
        target_was=was,
        pauses=tuple(pauses),
        left_on=left_on,
    )


def _drill_evidence(goal: Goal, drilled: Drilled, mates: set[UUID], today: date) -> Evidence:
    sessions = drilled.sessions.get((goal.player_id, goal.drill_id), [])  # type: ignore[arg-type]
    recent = today - logged.SQUAD_WEEKS * logged.WEEK
    periods = [
        [one.count for one in drilled.sessions.get((mate, goal.drill_id), ()) if one.on >= recent]  # type: ignore[arg-type]
        for mate in mates | {goal.player_id}
    ]
    counted = drilled.reps.get((goal.player_id, goal.drill_id), {})
    return Evidence(tuple(sessions), dict(counted), squad_icc(periods))


def _by_goal(
    goal: Goal, found: dict[tuple[UUID, UUID], list[Session]], mates: set[UUID], today: date
) -> Evidence:
    recent = today - logged.SQUAD_WEEKS * logged.WEEK
    periods = [
        [one.count for one in found.get((goal.pk, mate), ()) if one.on >= recent]
        for mate in mates | {goal.player_id}
    ]
    return Evidence(tuple(found.get((goal.pk, goal.player_id), ())), icc=squad_icc(periods))


Films = dict[tuple[UUID, UUID], list[TallyWeek]]


def _films(goals: Sequence[Goal], mates: set[UUID]) -> Films:
    on_film = [goal for goal in goals if goal.measure == Goal.Measure.FILM_RATE]
    if not on_film:
        return {}
    players = {goal.player_id for goal in on_film} | mates
    return rates.week_rows(players, skills={goal.skill_id for goal in on_film})


def _film_evidence(
    goal: Goal, films: Films, mates: set[UUID], today: date
) -> tuple[Evidence, FilmRate | None]:
    """The films of one coach: who counted most chances since the goal began, whole films before
    samples. What others counted stands beside it."""
    rows = films.get((goal.player_id, goal.skill_id), [])
    since, until = goal.started_on or today, _until(goal)
    rate = whole_first(rates.film_rate(rows, since=since, until=until))
    lately = whole_first(rates.film_rate(rows, since=_since(goal, today)))
    if rate is not None and rate.is_sample:
        sample = Sample(rate.made, rate.tried, rate.low, rate.high)
        return Evidence(sample=sample, source=rate.source), rate
    lead = rate or lately
    if lead is None or lead.is_sample:
        return Evidence(), rate
    mine = [row for row in rows if row.low is None and row.tally.coach_id == lead.coach_id]
    icc = squad_icc(
        period
        for mate in mates | {goal.player_id}
        for period in _periods(films.get((mate, goal.skill_id), ()))
    )
    sessions = tuple(Session(row.film_on, row.made, row.tried) for row in mine)
    return Evidence(sessions, icc=icc, source=rate.source if rate else ""), rate


def whole_first(rate: FilmRate | None) -> FilmRate | None:
    """The same counts, with one of whole films before those of samples."""
    if rate is None or not rate.is_sample:
        return rate
    every = (rate, *rate.others)
    first = next((one for one in every if not one.is_sample), rate)
    others = tuple(one for one in every if one is not first)
    return FilmRate(**{**first.__dict__, "others": others})


def _periods(rows: Iterable[TallyWeek]) -> list[list[tuple[int, int]]]:
    """The whole films of one player on one skill, each coach's apart."""
    found: dict[Any, list[tuple[int, int]]] = defaultdict(list)
    for row in rows:
        if row.low is None:
            found[row.tally.coach_id].append((row.made, row.tried))
    return list(found.values())


def ruling_of(one: Known) -> Ruling:
    rule = reps.rule if one.goal.measure == Goal.Measure.REPS_PER_WEEK else shares.rule
    return rule(one.facts, one.evidence, one.today)


def _standing(one: Known, review: GoalReview | None) -> Standing:
    goal, ruling = one.goal, ruling_of(one)
    low = high = None
    if one.evidence.sample is not None:
        low, high = one.evidence.sample.low, one.evidence.sample.high
    elif ruling.tried:
        low, high = wilson_interval(ruling.made, ruling.tried)
    start = wilson_interval(goal.start_made or 0, goal.start_tried) if goal.start_tried else None
    sentence = words.sentence(one.facts, ruling, one.today, one.evidence.source)
    if one.rate is not None and one.rate.others:
        sentence = f"{sentence} {one.rate.others_words}"
    return Standing(
        word=ruling.word,
        label=str(words.LABELS[ruling.word]),
        sentence=sentence,
        settles=words.settles(one.facts, ruling, one.today),
        measure=goal.measure,
        source=source_of(goal),
        made=ruling.made,
        tried=ruling.tried,
        low=low,
        high=high,
        start_made=goal.start_made,
        start_tried=goal.start_tried,
        start_low=start[0] if start else None,
        start_high=start[1] if start else None,
        target=goal.target_share,
        target_reps=goal.target_reps,
        reps=None if ruling.reps is None else round(ruling.reps),
        start_reps=goal.start_reps,
        weeks=ruling.weeks,
        next_review=next_review(goal, one.today),
        last_review=None if review is None else review_facts(review),
    )


def source_of(goal: Goal) -> str:
    """What is counted, in words."""
    if goal.measure == Goal.Measure.FILM_RATE:
        return _("from film, did it / chances")
    if goal.measure == Goal.Measure.ZONE_SHARE:
        return goal.zone_label
    if goal.drill is None:
        return _("all reps")
    return str(goal.drill.name)


def next_review(goal: Goal, today: date) -> date | None:
    """The next of the fixed dates of a goal that goes on."""
    if goal.life not in {Goal.Life.LIVE, Goal.Life.PAUSED}:
        return None
    days = [date.fromisoformat(day) for day in goal.review_dates]
    return min((day for day in days if day >= today), default=None)


def _latest_reviews(goals: Sequence[Goal]) -> dict[UUID, GoalReview]:
    rows = GoalReview.objects.filter(goal__in=goals).order_by("number")
    return {row.goal_id: row for row in rows}


def review_facts(row: GoalReview) -> ReviewFacts:
    names = [name for name in ReviewFacts.__dataclass_fields__ if name != "label"]
    return ReviewFacts(
        label=str(row.get_word_display()), **{name: getattr(row, name) for name in names}
    )
