"""Plain functions that make rows; every argument has a default. All names are invented."""

import itertools
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from devplans.people.models import (
    Club,
    Consent,
    Guardianship,
    Membership,
    Player,
    Season,
    Squad,
    SquadPlayer,
    User,
)

_serial = itertools.count(1)
PASSWORD = "scorebook-tests"


def make_user(first_name: str = "", **fields: Any) -> User:
    number = next(_serial)
    first_name = first_name or f"Person{number}"
    fields.setdefault("email", f"{first_name.lower()}.{number}@people.example")
    fields.setdefault("last_name", f"Testname{number}")
    return User.objects.create_user(password=PASSWORD, first_name=first_name, **fields)


def make_club(**fields: Any) -> Club:
    return Club.objects.create(**{"name": f"Club {next(_serial)}", **fields})


def make_season(*, club: Club | None = None, **fields: Any) -> Season:
    today = timezone.now().date()
    fields.setdefault("starts_on", today - timedelta(days=200))
    fields.setdefault("ends_on", today + timedelta(days=160))
    fields.setdefault("name", f"Season {next(_serial)}")
    return Season.objects.create(club=club or make_club(), **fields)


def make_squad(*, season: Season | None = None, club: Club | None = None, **fields: Any) -> Squad:
    fields.setdefault("name", f"Squad {next(_serial)}")
    return Squad.objects.create(season=season or make_season(club=club), **fields)


def make_player(*, squad: Squad | None = None, number: str = "", **fields: Any) -> Player:
    squad = squad or make_squad()
    serial = next(_serial)
    fields.setdefault("first_name", f"Kid{serial}")
    fields.setdefault("last_name", f"Surname{serial}")
    fields.setdefault("born_on", date(timezone.now().year - 14, 3, 1))
    player = Player.objects.create(club=squad.season.club, **fields)
    SquadPlayer.objects.create(squad=squad, player=player, number=number, since=long_ago())
    return player


def long_ago() -> date:
    return timezone.now().date() - timedelta(days=150)


def make_member(
    user: User, role: str, *, club: Club, squad: Squad | None = None, **fields: Any
) -> Membership:
    fields.setdefault("since", long_ago())
    return Membership.objects.create(user=user, club=club, squad=squad, role=role, **fields)


def make_guardian(user: User, player: Player, **fields: Any) -> Guardianship:
    fields.setdefault("since", long_ago())
    return Guardianship.objects.create(user=user, player=player, **fields)


def give_consent(player: Player, kind: str = Consent.Kind.FILM, **fields: Any) -> Consent:
    today = timezone.now().date()
    fields.setdefault("given_on", today - timedelta(days=30))
    fields.setdefault("expires_on", today + timedelta(days=335))
    return Consent.objects.create(player=player, kind=kind, how=Consent.How.PAPER, **fields)


def make_film(squad: Squad, **fields: Any) -> Any:
    from devplans.film.models import Film

    ready = {"state": "ready", "progress": 1.0, "duration_ms": 90_000, "width": 640, "height": 360}
    return Film.objects.create(
        **{"squad": squad, "title": f"Film {next(_serial)}", **ready, **fields}
    )


def make_possession(film: Any, start_ms: int, end_ms: int | None, *, side: str = "ours") -> Any:
    from devplans.film.models import Possession

    return Possession.objects.create(film=film, side=side, start_ms=start_ms, end_ms=end_ms)


def make_clock_mark(film: Any, film_ms: int, period: int, clock_s: float) -> Any:
    from devplans.film.models import ClockMark

    return ClockMark.objects.create(film=film, film_ms=film_ms, period=period, clock_s=clock_s)


def make_upload(squad: Squad, user: User, *, length: int = 5000) -> Any:
    """The only file of a film that is on its way, with nothing of it there yet."""
    from devplans.film.models import FilmFile, Upload
    from devplans.film.uploads.store import parts

    way = {"state": "uploading", "progress": 0, "duration_ms": None, "width": None, "height": None}
    film = make_film(squad, uploaded_by=user, size_bytes=length, **way)
    file = FilmFile.objects.create(film=film, filename="game.mp4", size_bytes=length)
    return Upload.objects.create(
        id=film.pk,
        file=file,
        user=user,
        length=length,
        handle=parts().create(str(film.pk), length),
        expires_at=timezone.now() + timedelta(days=7),
    )


def make_skill(**fields: Any) -> Any:
    from devplans.catalogue.models import Skill

    number = next(_serial)
    words = {
        "slug": f"skill-{number}",
        "name": f"Skill {number}",
        "family": "finishing",
        "opportunity": "a drive",
    }
    return Skill.objects.create(**{**words, "cues": ["Low", "Loud"], **fields})


def make_drill(**fields: Any) -> Any:
    from devplans.catalogue.models import Drill

    number = next(_serial)
    fields.setdefault("skill", None)
    fields["skill"] = fields["skill"] or make_skill()
    return Drill.objects.create(
        **{"slug": f"drill-{number}", "name": f"Drill {number}", "counts": "makes", **fields}
    )


def make_comment(film: Any, author: User, players: list[Player], **fields: Any) -> Any:
    from devplans.feedback.models import Comment

    fields.setdefault("skill", None)
    fields["skill"] = fields["skill"] or make_skill()
    words = {
        "verdict": "not_yet",
        "start_ms": 3_000,
        "happened": "Late.",
        "do_instead": "Go early.",
    }
    comment = Comment.objects.create(**{"film": film, "author": author, **words, **fields})
    comment.players.set(players)
    return comment


def make_delivery(comment: Any, player: Player, **fields: Any) -> Any:
    """A sent comment's copy for one player, made directly."""
    from devplans.feedback.models import Delivery
    from devplans.threads.models import Thread

    squad = comment.film.squad
    thread = Thread.objects.create(
        club=squad.club, squad=squad, player=player, author=comment.author
    )
    sent_at = fields.setdefault("sent_at", timezone.now())
    type(comment).objects.filter(pk=comment.pk).update(sent_at=sent_at)
    words = {"happened": comment.happened, "do_instead": comment.do_instead}
    return Delivery.objects.create(
        thread=thread, comment=comment, player=player, **{**words, **fields}
    )


def make_workout(player: Player, *, sets: list[dict[str, Any]] | None = None, **fields: Any) -> Any:
    from devplans.workouts.models import Workout, WorkoutSet

    times = {"started_at": timezone.now(), "minutes": 40, "effort": 5}
    workout = Workout.objects.create(player=player, **{**times, **fields})
    for position, row in enumerate(sets or []):
        WorkoutSet.objects.create(workout=workout, position=position, **row)
    sum_weeks(workout)
    return workout


def make_event(squad: Squad, **fields: Any) -> Any:
    """A practice of an hour and a half that ended yesterday at this hour, unless told otherwise."""
    from devplans.schedule.models import Event

    ends_at = fields.setdefault("ends_at", timezone.now() - timedelta(days=1))
    fields.setdefault("starts_at", ends_at - timedelta(minutes=90))
    return Event.objects.create(squad=squad, **{"kind": "practice", **fields})


def sum_weeks(workout: Any) -> None:
    """The rows of its week anew, after sets or shots were put into it directly."""
    from django.db import transaction

    from devplans.workouts.weeks.writing import write_weeks

    with transaction.atomic():
        write_weeks(workout.player, workout.started_at)


def forget_workouts() -> None:
    """All workouts, with the rows of their weeks."""
    from devplans.workouts.models import DrillWeek, Workout, WorkoutWeek

    for model in (Workout, WorkoutWeek, DrillWeek):
        model.objects.all().delete()


def make_pain(player: Player, *, workout: Any = None, **fields: Any) -> Any:
    """A report of pain that waits for an answer, made directly."""
    from devplans.workouts.models import PainAnswer

    words = {"said": "Left ankle, since Tuesday.", "said_at": timezone.now()}
    return PainAnswer.objects.create(player=player, workout=workout, **{**words, **fields})
