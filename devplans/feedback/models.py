from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Skill
from devplans.core.models import Row
from devplans.feedback.cliplists.models import ClipList as ClipList
from devplans.feedback.cliplists.models import ClipListItem as ClipListItem
from devplans.feedback.cliplists.models import ListClip as ListClip
from devplans.film.models import Film
from devplans.people.access import Role
from devplans.people.models import Consent, Player, Squad
from devplans.threads.models import Thread


class CommentQuerySet(models.QuerySet["Comment"]):
    def visible_to(self, user: Any) -> "CommentQuerySet":
        """The author's own, and the sent ones of squads that the user coaches or directs.
        Players and guardians never read comments: they read deliveries."""
        staff = Squad.objects.for_role(user, Role.COACH, Role.DIRECTOR, Role.WELFARE)
        coached = Squad.objects.for_role(user, Role.COACH)
        return self.filter(
            Q(author=user.pk, film__squad__in=coached)
            | Q(handed_over_at__isnull=False, film__squad__in=coached)
            | Q(sent_at__isnull=False, film__squad__in=staff)
        )

    def drafts(self) -> "CommentQuerySet":
        return self.filter(sent_at=None)

    def to_send_by(self, user: Any) -> "CommentQuerySet":
        """Drafts that `user` checks and sends: his own, save those that he has handed over, and
        those that others have handed over."""
        own = Q(author=user.pk, handed_over_at=None)
        return self.drafts().filter(own | Q(handed_over_at__isnull=False) & ~Q(author=user.pk))

    def sent_by(self, user: Any) -> "CommentQuerySet":
        """Those that `user` sent, whoever wrote them."""
        return self.sent().filter(Q(sender=user.pk) | Q(sender=None, author=user.pk))

    def of_film(self, film: Film) -> "CommentQuerySet":
        return self.filter(film=film)

    def sent(self) -> "CommentQuerySet":
        return self.filter(sent_at__isnull=False)


class Comment(Row):
    class Verdict(models.TextChoices):
        DID_IT = "did_it", _("did it")
        NOT_YET = "not_yet", _("not yet")
        NOTE = "note", _("note")

    film = models.ForeignKey(Film, on_delete=models.CASCADE, related_name="comments")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    players = models.ManyToManyField(Player, related_name="comments")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="comments")
    verdict = models.CharField(max_length=10, choices=Verdict.choices)
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField(null=True, blank=True)
    happened = models.TextField(blank=True)
    do_instead = models.TextField(blank=True)
    version = models.PositiveSmallIntegerField(default=1)
    handed_over_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    sender = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
        help_text="Empty: its author.",
    )
    imported_as = models.CharField(
        max_length=64, blank=True, help_text="Fingerprint of the row of the file it came from."
    )
    sending = models.UUIDField(null=True, help_text="Shared by what was sent in one go.")
    corrected_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = CommentQuerySet.as_manager()

    class Meta:
        ordering = ["-start_ms"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end_ms=None) | Q(end_ms__gt=F("start_ms")),
                name="comment_ends_after_start",
            ),
            models.CheckConstraint(
                condition=Q(sent_at=None) | ~Q(verdict="not_yet") | ~Q(do_instead=""),
                name="sent_not_yet_has_do_instead",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_verdict_display()} at {self.start_ms} ms"

    @property
    def lacks_answer(self) -> bool:
        """Is it a "not yet" that does not say what to do instead?"""
        return self.verdict == self.Verdict.NOT_YET and not self.do_instead.strip()

    def is_handed_over_by(self, user: Any) -> bool:
        """Is it a draft of `user` that is now with the other coaches?"""
        return self.handed_over_at is not None and self.author_id == user.pk

    def is_open_to(self, user: Any) -> bool:
        """May `user`, a coach of the squad, change it? Its author may; so may all of them while it
        is handed over, and whoever sent it."""
        if self.author_id == user.pk:
            return True
        if self.sent_at is None:
            return self.handed_over_at is not None
        return self.sender_id is not None and self.sender_id == user.pk


class PhraseQuerySet(models.QuerySet["Phrase"]):
    def visible_to(self, user: Any) -> "PhraseQuerySet":
        """A coach's own."""
        return self.filter(coach=user.pk)

    def for_skill(self, skill: Skill | None) -> "PhraseQuerySet":
        """Those kept for `skill` or for any."""
        return self.filter(Q(skill=None) | Q(skill=skill))


class CommentVersion(Row):
    """What a sent comment said before it was corrected."""

    comment = models.ForeignKey(Comment, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveSmallIntegerField()
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=10, choices=Comment.Verdict.choices)
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField(null=True)
    happened = models.TextField(blank=True)
    do_instead = models.TextField(blank=True)
    drawing = models.JSONField(default=list)
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["comment", "number"], name="one_row_per_version")
        ]

    def __str__(self) -> str:
        return f"version {self.number}"


class Drawing(Row):
    """What is drawn on the still of a comment: the shapes of `drawings.shapes`. A comment without
    any has no row."""

    comment = models.OneToOneField(Comment, on_delete=models.CASCADE, related_name="drawing")
    shapes = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"{len(self.shapes)} shapes"


class Voice(Row):
    """The coach's voice for a comment's clip: the sound, what the film did meanwhile (`voices.log`,
    beginning at 0), and the words as [[start_ms, end_ms, text]]. A comment without has no row."""

    comment = models.OneToOneField(Comment, on_delete=models.CASCADE, related_name="voice")
    sound_key = models.CharField(max_length=200)
    length_ms = models.PositiveIntegerField()
    log = models.JSONField(default=list)
    cues = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"{self.length_ms} ms of voice"


class Phrase(Row):
    """Words that a coach keeps for "do instead", for one skill or for any."""

    coach = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="phrases"
    )
    skill = models.ForeignKey(
        Skill, null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    text = models.CharField(max_length=200)

    objects = PhraseQuerySet.as_manager()

    class Meta:
        ordering = ["created_at"]
        constraints = [
            models.UniqueConstraint(fields=["coach", "skill", "text"], name="one_phrase_per_text")
        ]

    def __str__(self) -> str:
        return self.text


class Clip(Row):
    """The short video of one version of a comment, cut in the background."""

    class State(models.TextChoices):
        WAITING = "waiting"
        READY = "ready"
        FAILED = "failed"

    comment = models.ForeignKey(Comment, on_delete=models.CASCADE, related_name="clips")
    version = models.PositiveSmallIntegerField()
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    video_key = models.CharField(max_length=200, blank=True)
    still_key = models.CharField(max_length=200, blank=True)
    voiced = models.BooleanField(default=False, help_text="Cut with the coach's voice.")
    problem = models.CharField(max_length=300, blank=True)
    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["comment", "version"], name="one_clip_per_version")
        ]

    def __str__(self) -> str:
        return f"clip of {self.comment_id}"

    @property
    def still_ms(self) -> int:
        """The very frame that the comment is pinned to: the moment, or where its span begins."""
        return self.comment.start_ms


class DeliveryQuerySet(models.QuerySet["Delivery"]):
    def visible_to(self, user: Any) -> "DeliveryQuerySet":
        """Whoever may read its thread."""
        return self.filter(thread__in=Thread.objects.visible_to(user))

    def for_family_of(self, user: Any) -> "DeliveryQuerySet":
        """Deliveries that reach the user as a player or a guardian."""
        return self.filter(player__in=Player.objects.for_role(user, Role.PLAYER, Role.GUARDIAN))

    def standing(self) -> "DeliveryQuerySet":
        """Not taken back."""
        return self.filter(withdrawn_at=None)

    def with_film(self) -> "DeliveryQuerySet":
        """Those whose clip and still may be shown: not taken back, and consent to film stands."""
        consents = Consent.objects.valid().filter(kind=Consent.Kind.FILM)
        return self.standing().filter(player__in=consents.values("player"))

    def to_player(self, user: Any) -> "DeliveryQuerySet":
        """What reached `user` as a player."""
        return self.filter(player__in=Player.objects.for_role(user, Role.PLAYER))

    def of_player(self, player: Player) -> "DeliveryQuerySet":
        return self.filter(player=player)

    def of_film(self, film: Film) -> "DeliveryQuerySet":
        return self.filter(comment__film=film)

    def told(self) -> "DeliveryQuerySet":
        """With everything that a page says about them."""
        return self.select_related(
            "comment__skill",
            "comment__drawing",
            "comment__voice",
            "comment__author",
            "comment__film__event",
            "player__club",
            "player__user",
            "thread__squad__season__club",
            "thread__club",
            "thread__player",
            "thread__author",
        )


class Delivery(models.Model):
    """One player's own copy of a sent comment. Its words name no other addressee.

    It shares its thread's key.
    """

    thread = models.OneToOneField(
        Thread, primary_key=True, on_delete=models.CASCADE, related_name="delivery"
    )
    comment = models.ForeignKey(Comment, on_delete=models.CASCADE, related_name="deliveries")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="deliveries")
    happened = models.TextField(blank=True)
    do_instead = models.TextField(blank=True)
    version = models.PositiveSmallIntegerField(default=1)
    sent_at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True)
    seen_version = models.PositiveSmallIntegerField(null=True)
    opened_by_guardian_at = models.DateTimeField(null=True)
    understood_at = models.DateTimeField(null=True, help_text='"I see it"')
    withdrawn_at = models.DateTimeField(null=True)

    objects = DeliveryQuerySet.as_manager()

    class Meta:
        ordering = ["-sent_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["comment", "player"], name="one_delivery_per_player")
        ]

    def __str__(self) -> str:
        return f"{self.comment} for {self.player}"
