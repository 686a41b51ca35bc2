from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import models
from django.db.models import Case, Count, F, Q, When
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Skill
from devplans.core.models import Row
from devplans.feedback.models import Comment
from devplans.feedback.voices.log import BadLog, Log, read_log
from devplans.film.models import Film
from devplans.people.access import Role
from devplans.people.models import Club, Player, Squad


class TalkThroughQuerySet(models.QuerySet["TalkThrough"]):
    def visible_to(self, user: Any) -> "TalkThroughQuerySet":
        """A coach's own, while he coaches the squad: what was said is nobody else's."""
        coached = Squad.objects.for_role(user, Role.COACH)
        return self.filter(coach=user.pk, film__squad__in=coached)

    def of_film(self, film: Film) -> "TalkThroughQuerySet":
        return self.filter(film=film).order_by("created_at")

    def to_correct(self) -> "TalkThroughQuerySet":
        """Written down, and not corrected to the end."""
        return self.filter(state=TalkThrough.State.READY, finished_at=None)

    def counted(self) -> "TalkThroughQuerySet":
        """With `open_count` and `accepted_count` of their suggestions."""
        states = Suggestion.State
        return self.annotate(
            open_count=Count("suggestions", filter=Q(suggestions__state=states.OPEN)),
            accepted_count=Count("suggestions", filter=Q(suggestions__state=states.ACCEPTED)),
        )

    def with_film(self) -> "TalkThroughQuerySet":
        return self.select_related("coach", "film__squad__season__club", "film__event")

    def claimable_transcripts(self, now: datetime) -> "TalkThroughQuerySet":
        """Transcripts that may be understood now: never begun, or whoever did is gone."""
        state = TalkThrough.State
        is_free = Q(state=state.WAITING) | Q(state=state.WRITING, lease_until__lt=now)
        return self.filter(is_free, kind=TalkThrough.Kind.TRANSCRIPT)

    def to_write_down(self, now: datetime) -> "TalkThroughQuerySet":
        """Recorded talks that may be written down now: those that wait, or whose writer is gone."""
        state = TalkThrough.State
        waits = Q(state=state.WAITING, lease_until=None) | Q(
            state__in=[state.WAITING, state.WRITING], lease_until__lt=now
        )
        return self.filter(waits).exclude(kind=TalkThrough.Kind.TRANSCRIPT)

    def in_turn(self) -> "TalkThroughQuerySet":
        """Talks about one moment first, then the one that has waited longest."""
        is_moment = Case(When(kind=TalkThrough.Kind.MOMENT, then=0), default=1)
        return self.order_by(is_moment, "updated_at")

    def being_written_down(self, now: datetime) -> "TalkThroughQuerySet":
        recorded = self.exclude(kind=TalkThrough.Kind.TRANSCRIPT)
        return recorded.filter(state=TalkThrough.State.WRITING, lease_until__gte=now)

    def worth_another_try(self) -> "TalkThroughQuerySet":
        """Failed, with words or sound that are here still."""
        lines = TalkLine.objects.values("talk")
        sound = TalkTake.objects.filter(Q(pieces__isnull=False) | ~Q(sound_key="")).values("talk")
        return self.filter(Q(pk__in=lines) | Q(pk__in=sound), state=TalkThrough.State.FAILED)

    def not_corrected(self) -> "TalkThroughQuerySet":
        return self.filter(finished_at=None)

    def known(self, keys: Iterable[UUID]) -> set[UUID]:
        """Those of these keys that have a row."""
        return set(self.filter(pk__in=list(keys)).values_list("pk", flat=True))

    def left(self, *, before: datetime) -> "TalkThroughQuerySet":
        """Still being recorded, it seems, and nothing came since."""
        return self.filter(state=TalkThrough.State.RECORDING, updated_at__lt=before)

    def with_sound_to_delete(
        self, *, corrected_before: datetime, said_before: datetime
    ) -> "TalkThroughQuerySet":
        """Talks with sound, corrected to the end or said before those times."""
        state = TalkThrough.State
        sounding = TalkTake.objects.filter(Q(pieces__isnull=False) | ~Q(sound_key=""))
        is_due = Q(finished_at__lt=corrected_before) | Q(created_at__lt=said_before)
        found = self.filter(is_due, pk__in=sounding.values("talk"))
        return found.exclude(state__in=[state.RECORDING, state.WRITING])


class TalkThrough(Row):
    """What a coach said over a film, spoken or out of a file, and how far it is written down."""

    class Kind(models.TextChoices):
        WHOLE = "whole", _("over the film")
        MOMENT = "moment", _("about one moment")
        TRANSCRIPT = "transcript", _("from a transcript")

    class State(models.TextChoices):
        RECORDING = "recording", _("being recorded")
        WAITING = "waiting", _("waits to be written down")
        WRITING = "writing", _("being written down")
        READY = "ready", _("ready to correct")
        FAILED = "failed", _("could not be written down")

    film = models.ForeignKey(Film, on_delete=models.CASCADE, related_name="talks")
    coach = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    kind = models.CharField(max_length=10, choices=Kind.choices)
    state = models.CharField(max_length=10, choices=State.choices, default=State.RECORDING)
    progress = models.FloatField(default=0, help_text="0..1 of the sound that is written down.")
    problem = models.CharField(max_length=300, blank=True)
    file_name = models.CharField(max_length=200, blank=True, help_text="Of a transcript.")
    offset_ms = models.IntegerField(
        default=0, help_text="Of a transcript: film time is its time plus this."
    )
    faults = models.JSONField(default=list, help_text="[{line, why}]: what could not be read.")
    left_out = models.JSONField(default=list, help_text="[{start_ms, said, why}], film time.")
    understood_at = models.DateTimeField(null=True, help_text="Turned into suggestions, lately.")
    finished_at = models.DateTimeField(null=True, blank=True, help_text="Corrected to the end.")
    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)

    objects = TalkThroughQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]
        indexes = [models.Index(fields=["film", "coach"])]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} by {self.coach}"


class TalkTake(Row):
    """One recording without a break. A reload ends it; what was said until then is kept.

    log: what the film did meanwhile, in the form of `feedback.voices.log`, in the take's own time.
    """

    talk = models.ForeignKey(TalkThrough, on_delete=models.CASCADE, related_name="takes")
    number = models.PositiveSmallIntegerField()
    log = models.JSONField(default=list)
    length_ms = models.PositiveIntegerField(null=True, help_text="Null while it is recorded.")
    mime = models.CharField(max_length=60, blank=True)
    sound_key = models.CharField(max_length=200, blank=True, help_text="All pieces as one file.")
    heard_ms = models.PositiveIntegerField(default=0, help_text="Written down up to here.")

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["talk", "number"], name="one_take_per_number")
        ]

    def __str__(self) -> str:
        return f"take {self.number}"

    @property
    def course(self) -> Log:
        """What the film did meanwhile; an empty log where what is kept cannot be read as one."""
        try:
            return read_log(self.log)
        except BadLog:
            return Log(())


class TalkPiece(Row):
    """A few seconds of a take as the browser recorded them; they make sense only in order."""

    take = models.ForeignKey(TalkTake, on_delete=models.CASCADE, related_name="pieces")
    number = models.PositiveIntegerField()
    key = models.CharField(max_length=200)
    size = models.PositiveIntegerField()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["take", "number"], name="one_piece_per_number")
        ]

    def __str__(self) -> str:
        return f"piece {self.number}"


class TalkLine(Row):
    """A stretch of words. start_ms and end_ms are in the take's sound, or in the transcript;
    film_start_ms and film_end_ms say where the film was."""

    talk = models.ForeignKey(TalkThrough, on_delete=models.CASCADE, related_name="lines")
    take = models.ForeignKey(TalkTake, null=True, on_delete=models.CASCADE, related_name="lines")
    place = models.PositiveIntegerField()
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField()
    film_start_ms = models.PositiveIntegerField()
    film_end_ms = models.PositiveIntegerField()
    text = models.TextField()

    class Meta:
        ordering = ["place"]
        constraints = [
            models.UniqueConstraint(fields=["talk", "place"], name="one_line_per_place"),
            models.CheckConstraint(
                condition=Q(end_ms__gte=F("start_ms")), name="line_ends_after_start"
            ),
        ]

    def __str__(self) -> str:
        return self.text


class SuggestionQuerySet(models.QuerySet["Suggestion"]):
    def of_talk(self, talk: TalkThrough) -> "SuggestionQuerySet":
        return self.filter(talk=talk).order_by("place", "created_at")

    def open(self) -> "SuggestionQuerySet":
        return self.filter(state=Suggestion.State.OPEN)

    def accepted(self) -> "SuggestionQuerySet":
        return self.filter(state=Suggestion.State.ACCEPTED)

    def untouched(self) -> "SuggestionQuerySet":
        """Open, and no coach's hand was on it: what reading again may make anew."""
        return self.open().filter(touched_at=None)

    def shown(self) -> "SuggestionQuerySet":
        """All but those that went into another one, with what the page tells of them."""
        found = self.exclude(state=Suggestion.State.MERGED)
        return found.select_related("skill", "take", "comment").prefetch_related("players")


class Suggestion(Row):
    """A comment that the words seem to make; a coach corrects it and accepts it, or drops it.

    players: certain enough to be filled in. unsure: ids of players, best first, whom the coach is
    asked about; maybe_skills: slugs likewise. heard: [{"text", "players": [id], "sure"}]: which
    words were taken for whom; what the coach says of them becomes an Alias.
    """

    class State(models.TextChoices):
        OPEN = "open"
        ACCEPTED = "accepted"
        DROPPED = "dropped"
        MERGED = "merged"

    talk = models.ForeignKey(TalkThrough, on_delete=models.CASCADE, related_name="suggestions")
    take = models.ForeignKey(TalkTake, null=True, on_delete=models.SET_NULL, related_name="+")
    place = models.PositiveIntegerField()
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField(null=True)
    sound_start_ms = models.PositiveIntegerField(default=0)
    sound_end_ms = models.PositiveIntegerField(default=0)
    players = models.ManyToManyField(Player, related_name="+")
    unsure = models.JSONField(default=list)
    skill = models.ForeignKey(Skill, null=True, on_delete=models.SET_NULL, related_name="+")
    maybe_skills = models.JSONField(default=list)
    verdict = models.CharField(max_length=10, choices=Comment.Verdict.choices)
    happened = models.TextField(blank=True)
    do_instead = models.TextField(blank=True)
    said = models.TextField(blank=True)
    heard = models.JSONField(default=list)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    with_voice = models.BooleanField(default=False)
    comment = models.ForeignKey(
        Comment, null=True, on_delete=models.SET_NULL, related_name="suggestions"
    )
    touched_at = models.DateTimeField(
        null=True, help_text="A coach's hand was on it: reading the talk again leaves it alone."
    )

    objects = SuggestionQuerySet.as_manager()

    class Meta:
        ordering = ["place", "created_at"]

    def __str__(self) -> str:
        return f"{self.get_verdict_display()} at {self.start_ms} ms"

    @property
    def lacks_answer(self) -> bool:
        """As a comment's: is it a "not yet" that does not say what to do instead?"""
        return self.verdict == Comment.Verdict.NOT_YET and not self.do_instead.strip()


class Step(Row):
    """One thing that a coach did while correcting, and how it was before, so that it can be undone.

    before: see `services.steps`. session: edits of one opening of the form are one step.
    """

    talk = models.ForeignKey(TalkThrough, on_delete=models.CASCADE, related_name="steps")
    number = models.PositiveIntegerField()
    what = models.CharField(max_length=20)
    before = models.JSONField(default=dict)
    session = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["talk", "number"], name="one_step_per_number")
        ]

    def __str__(self) -> str:
        return f"step {self.number}: {self.what}"


class AliasQuerySet(models.QuerySet["Alias"]):
    def of_squad(self, squad: Squad) -> "AliasQuerySet":
        return self.filter(squad=squad)

    def told(self) -> "AliasQuerySet":
        return self.select_related("player", "coach").order_by(
            "player__first_name", "player__last_name", "heard"
        )


class Alias(Row):
    """How a player's name is written or heard in one squad; learned from a coach's corrections."""

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="aliases")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="aliases")
    heard = models.CharField(max_length=60, help_text="Lower case, single spaces.")
    coach = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = AliasQuerySet.as_manager()

    class Meta:
        ordering = ["heard"]
        constraints = [
            models.UniqueConstraint(fields=["squad", "heard"], name="one_player_per_alias")
        ]

    def __str__(self) -> str:
        return self.heard


class SkillPhraseQuerySet(models.QuerySet["SkillPhrase"]):
    def of_club(self, club: Club) -> "SkillPhraseQuerySet":
        return self.filter(club=club).select_related("skill")

    def usable(self) -> "SkillPhraseQuerySet":
        """Those of skills that may be picked for something new."""
        return self.filter(skill__retired_at=None)


class SkillPhrase(Row):
    """Words that mean a skill in one club, beside those that every club has."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="skill_phrases")
    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="phrases")
    text = models.CharField(max_length=60)

    objects = SkillPhraseQuerySet.as_manager()

    class Meta:
        ordering = ["text"]
        constraints = [
            models.UniqueConstraint(fields=["club", "text"], name="one_skill_per_phrase")
        ]

    def __str__(self) -> str:
        return self.text
