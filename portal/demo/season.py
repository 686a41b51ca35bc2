"""Eight weeks in the life of the demo club: dates, film, comments, answers, goals, workouts."""

import random
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone

from devplans.catalogue.models import Drill, Skill
from devplans.core.ids import uuid7
from devplans.feedback.models import Clip, Comment, Delivery, Drawing
from devplans.film.models import Film
from devplans.goals.models import Goal, GoalExample, PlanItem
from devplans.people.models import Player, Squad
from devplans.schedule.models import Event
from devplans.threads.models import Reply, Thread
from devplans.workouts.models import Workout, WorkoutSet
from portal.demo import marks
from portal.demo.drawings import drawing
from portal.demo.film import MOMENTS, Moment
from portal.demo.people import Cast
from portal.demo.words import DO_INSTEAD, PLANS, QUESTIONS, Plan

WEEKS = 8
OPPONENTS = [
    "Ashdown Larks",
    "Quarry Bank",
    "Thornbury Kites",
    "Saltmarsh",
    "Harrow Vale",
    "Eastgate Otters",
    "Pinewood",
    "Castle Row",
]


def local(club: Any, day: date, hour: int, minute: int = 0) -> datetime:
    return datetime.combine(day, time(hour, minute), ZoneInfo(club.zone))


def last_saturday(now: datetime) -> date:
    """The last Saturday that is over."""
    day = now.date() - timedelta(days=1)
    return day - timedelta(days=(day.weekday() - 5) % 7)


def split(made: int, tried: int, sessions: int) -> list[list[int]]:
    """[[made, tried], ...] of so many sessions, as even as can be."""
    return [
        [made * (n + 1) // sessions - made * n // sessions,
         tried * (n + 1) // sessions - tried * n // sessions]
        for n in range(sessions)
    ]  # fmt: skip


class Season:
    """Writes the eight weeks of one cast; the same chance every time."""

    def __init__(self, cast: Cast) -> None:
        self.cast = cast
        self.now = timezone.now()
        self.chance = random.Random("herons")  # noqa: S311 - the same club every time
        self.skills = {skill.slug: skill for skill in Skill.objects.filter(club=None)}
        self.drills = {drill.slug: drill for drill in Drill.objects.filter(club=None)}

    def write(self) -> None:
        for squad, every in [(self.cast.under_16, 1), (self.cast.under_14, 2)]:
            self.dates(squad)
            for week in range(WEEKS, 0, -1):
                if week % every == 0:
                    self.game(squad, week)
        self.unsent_game()
        for number, plans in PLANS.items():
            for plan in plans:
                self.goal(self.cast.players["Under 16"][number], plan)
        for roster in self.cast.players.values():
            for number, player in roster.items():
                self.workouts(
                    player,
                    number if player.squadplayers.first().squad == self.cast.under_16 else "",
                )

    # Dates

    def dates(self, squad: Squad) -> None:
        """Practices on Tuesday and Thursday, games on Saturday, eight weeks back and four ahead."""
        monday = self.now.date() - timedelta(days=self.now.date().weekday())
        hour = 17 if squad == self.cast.under_14 else 18
        series = uuid7()
        for week in range(-WEEKS - 1, 5):
            first = monday + timedelta(weeks=week)
            for day in (1, 3):
                start = local(squad.club, first + timedelta(days=day), hour, 30)
                Event.objects.create(
                    squad=squad,
                    kind="practice",
                    starts_at=start,
                    ends_at=start + timedelta(minutes=90),
                    place="Rivermead Hall",
                    series=series,
                )
            start = local(squad.club, first + timedelta(days=5), 11)
            opponent = OPPONENTS[(week + WEEKS) % len(OPPONENTS)]
            Event.objects.create(
                squad=squad,
                kind="game",
                starts_at=start,
                ends_at=start + timedelta(minutes=100),
                opponent=opponent,
                place="Rivermead Hall" if week % 2 else opponent,
            )

    # Film and comments

    def film(self, squad: Squad, day: date) -> Film:
        event = Event.objects.get(squad=squad, kind="game", starts_at__date=day)
        film = Film.objects.create(
            squad=squad,
            event=event,
            title=f"v {event.opponent}, second quarter",
            recorded_at=event.starts_at,
            uploaded_by=self.cast.coach,
        )
        Film.objects.filter(pk=film.pk).update(created_at=event.starts_at + timedelta(hours=7))
        marks.write(film)
        return film

    def game(self, squad: Squad, week: int) -> None:
        """A game `week` weeks ago: some of the moments become comments, sent in the days after."""
        day = last_saturday(self.now) - timedelta(weeks=week)
        film = self.film(squad, day)
        sent_at = local(squad.club, day + timedelta(days=1), 14 + week)
        for moment in self.chance.sample(MOMENTS, 6):
            self.comment(film, moment, sent_at=sent_at)

    def unsent_game(self) -> None:
        """Last Saturday's game: part of it sent and not opened yet, the rest still drafts."""
        film = self.film(self.cast.under_16, last_saturday(self.now))
        sent_at = min(
            local(self.cast.club, last_saturday(self.now) + timedelta(days=1), 18), self.now
        )
        mine = [moment for moment in MOMENTS if "12" in moment.numbers]
        for moment in mine:
            self.comment(film, moment, sent_at=sent_at, fresh=True)
        for moment in [m for m in MOMENTS if m not in mine][:7]:
            self.comment(film, moment, sent_at=None)

    def comment(
        self, film: Film, moment: Moment, *, sent_at: datetime | None, fresh: bool = False
    ) -> None:
        roster = self.cast.players[film.squad.name]
        players = [roster[number] for number in moment.numbers if number in roster]
        well = moment.went_well
        comment = Comment.objects.create(
            film=film,
            author=self.cast.coach,
            skill=self.skills[moment.skill],
            verdict="did_it" if well else "not_yet",
            start_ms=moment.start_ms,
            end_ms=moment.end_ms,
            happened=moment.happens,
            do_instead="" if well else DO_INSTEAD[moment.skill],
            sent_at=sent_at,
        )
        comment.players.set(players)
        if MOMENTS.index(moment) % 2 == 0 and (shapes := drawing(moment)):
            Drawing.objects.create(comment=comment, shapes=shapes)
        if sent_at is None:
            return
        Clip.objects.create(
            comment=comment,
            version=1,
            start_ms=max(0, moment.start_ms - 1_000),
            end_ms=moment.end_ms + 1_000,
        )
        for player in players:
            self.delivery(comment, player, sent_at, fresh=fresh)

    def delivery(self, comment: Comment, player: Player, sent_at: datetime, *, fresh: bool) -> None:
        thread = Thread.objects.create(
            club=self.cast.club, squad=comment.film.squad, player=player, author=self.cast.coach
        )
        seen = not fresh and self.chance.random() < 0.8
        seen_at = sent_at + timedelta(hours=self.chance.randint(2, 40)) if seen else None
        Delivery.objects.create(
            thread=thread,
            comment=comment,
            player=player,
            sent_at=sent_at,
            seen_at=seen_at,
            seen_version=1 if seen else None,
            happened=comment.happened,
            do_instead=comment.do_instead,
            understood_at=seen_at if seen and self.chance.random() < 0.7 else None,
        )
        if seen_at and player.user and self.chance.random() < 0.2:
            self.talk(thread, player, seen_at)

    def talk(self, thread: Thread, player: Player, asked_at: datetime) -> None:
        question, answer = self.chance.choice(QUESTIONS)
        answered_at = asked_at + timedelta(hours=9)
        is_open = asked_at > self.now - timedelta(days=9)
        asked = Reply.objects.create(
            thread=thread,
            author=player.user,
            text=question,
            is_question=True,
            answered_at=None if is_open else answered_at,
        )
        Reply.objects.filter(pk=asked.pk).update(created_at=asked_at)
        if not is_open:
            reply = Reply.objects.create(thread=thread, author=self.cast.coach, text=answer)
            Reply.objects.filter(pk=reply.pk).update(created_at=answered_at)

    # Goals and workouts

    def first_monday(self) -> date:
        monday = self.now.date() - timedelta(days=self.now.date().weekday())
        return monday - timedelta(weeks=WEEKS - 1)

    def goal(self, player: Player, plan: Plan) -> None:
        began = self.first_monday()
        reps = plan.measure == "reps_per_week"
        made, tried = plan.start
        goal = Goal.objects.create(
            player=player,
            skill=self.skills[plan.skill],
            measure=plan.measure,
            words=plan.words,
            drill=None if plan.measure == "film_rate" else self.drills[plan.drill],
            start_made=made if tried else None,
            start_tried=tried or None,
            start_sessions=split(made, tried, plan.sessions),
            target_share=None if reps else plan.target,
            target_reps=plan.weekly if reps else None,
            chances_needed=60 if plan.measure == "film_rate" else None,
            life="live",
            started_on=began,
            author=self.cast.coach,
            due_on=began + timedelta(weeks=16),
            review_dates=[(began + timedelta(weeks=4 * k)).isoformat() for k in (1, 2, 3, 4)],
        )
        drill = self.drills[plan.drill]
        PlanItem.objects.create(
            player=player,
            goal=goal,
            drill=drill,
            weekly_target=plan.weekly,
            from_week=began,
            target_in="tries" if drill.counts == "makes" else "reps",
            added_by=self.cast.coach,
        )
        example = Delivery.objects.filter(player=player, comment__skill=goal.skill).first()
        if example:
            GoalExample.objects.create(goal=goal, delivery=example)

    def workouts(self, player: Player, number: str) -> None:
        """Practices twice a week, and two or three workouts of his own by his plan."""
        plans = PLANS.get(number, [])
        for week in range(WEEKS):
            monday = self.first_monday() + timedelta(weeks=week)
            for day in (1, 3):
                if self.chance.random() < 0.85:
                    self.workout(
                        player,
                        local(player.club, monday + timedelta(days=day), 18, 30),
                        90,
                        "organised",
                    )
            for day in self.chance.sample([0, 2, 4, 6], 3 if plans else self.chance.randint(0, 1)):
                start = local(
                    player.club, monday + timedelta(days=day), 17, self.chance.randint(0, 50)
                )
                self.workout(player, start, self.chance.randint(25, 50), "own", plans, week)

    def workout(
        self,
        player: Player,
        start: datetime,
        minutes: int,
        kind: str,
        plans: list[Plan] | None = None,
        week: int = 0,
    ) -> None:
        if start + timedelta(minutes=minutes) > self.now:
            return
        workout = Workout.objects.create(
            id=self.uuid(),
            player=player,
            logged_by=player.user or self.cast.coach,
            started_at=start,
            minutes=minutes,
            effort=self.chance.randint(4, 8),
            kind=kind,
        )
        position = 0
        for plan in plans or []:
            drill = self.drills[plan.drill]
            for side in ["left", "right"] * 2 if drill.sides == "both" else ["none"] * 4:
                WorkoutSet.objects.create(
                    id=self.uuid(),
                    workout=workout,
                    position=position,
                    drill=drill,
                    side=side,
                    **self.counts(plan, week),
                )
                position += 1

    def counts(self, plan: Plan, week: int) -> dict[str, int]:
        drill = self.drills[plan.drill]
        per_set = drill.default_per_set
        if drill.counts == "seconds":
            return {"seconds": per_set}
        if drill.counts == "reps":
            return {"reps": per_set}
        made, tried = plan.start
        rate = (made / tried if tried else 0.5) + plan.gain + plan.growth * week
        return {
            "made": sum(self.chance.random() < rate for _try in range(per_set)),
            "tried": per_set,
        }

    def uuid(self) -> UUID:
        return UUID(int=self.chance.getrandbits(128), version=4)
