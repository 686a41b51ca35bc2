from datetime import date
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from devplans.core.days import today
from devplans.core.ids import uuid7
from devplans.core.models import Row
from devplans.people import access

ADULT_AGE = 18


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "User":
        """A person with an address. Without a password he signs in by e-mailed code."""
        user = self.model(email=email.strip().lower(), **fields)
        user.set_password(password)
        user.save()
        return user


class User(AbstractBaseUser, PermissionsMixin):
    """One person with an account. What he may do comes from his rows in the tables below."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    email = models.EmailField(
        _("email address"),
        unique=True,
        null=True,
        help_text=_("None for a child who only signs in by a code on a phone."),
    )
    first_name = models.CharField(_("first name"), max_length=80)
    last_name = models.CharField(_("last name"), max_length=80, blank=True)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)
    is_demo = models.BooleanField(default=False, help_text="Refused from any other machine.")
    date_joined = models.DateTimeField(default=timezone.now)

    objects = UserManager()
    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: list[str] = []

    def __str__(self) -> str:
        return self.full_name

    @property
    def full_name(self) -> str:
        return f"{self.first_name} {self.last_name}".strip()


class AnchorQuerySet(models.QuerySet[Any]):
    """Club, Squad and Player: what everything else hangs off."""

    def visible_to(self, user: Any) -> "AnchorQuerySet":
        """Rows that `user` may read."""
        return self.filter(access.reach(user, self.model))

    def for_role(self, user: Any, *roles: access.Role) -> "AnchorQuerySet":
        """Rows that `user` reaches in one of `roles`."""
        return self.filter(access.reach(user, self.model, roles))

    def allowing(self, user: Any, action: access.Action) -> "AnchorQuerySet":
        """Rows on which `user` may do `action`."""
        return self.filter(access.reach(user, self.model, access.POLICY[action]))


class Club(Row):
    class RuleSet(models.TextChoices):
        FIBA = "fiba", "FIBA"
        NBA = "nba", "NBA"
        NCAA = "ncaa", "NCAA"
        NFHS = "nfhs", "NFHS"

    name = models.CharField(_("club"), max_length=120)
    zone = models.CharField(_("time zone"), max_length=60, default="Europe/London")
    rule_set = models.CharField(
        _("rule set"), max_length=5, choices=RuleSet.choices, default=RuleSet.FIBA
    )
    digest_day = models.PositiveSmallIntegerField(
        default=0, validators=[MaxValueValidator(6)]
    )  # 0 Monday
    digest_hour = models.PositiveSmallIntegerField(default=16, validators=[MaxValueValidator(23)])
    quiet_from_hour = models.PositiveSmallIntegerField(
        default=21, validators=[MaxValueValidator(23)]
    )
    quiet_until_hour = models.PositiveSmallIntegerField(
        default=8, validators=[MaxValueValidator(23)]
    )
    says_team = models.BooleanField(_('say "team" instead of "squad"'), default=False)

    objects = AnchorQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name


class SeasonQuerySet(models.QuerySet["Season"]):
    def visible_to(self, user: Any) -> "SeasonQuerySet":
        """Seasons of the clubs that `user` may read."""
        return self.filter(club__in=Club.objects.visible_to(user))


class Season(Row):
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="seasons")
    name = models.CharField(max_length=60)
    starts_on = models.DateField()
    ends_on = models.DateField()

    objects = SeasonQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gt=F("starts_on")), name="season_ends_after_start"
            ),
            models.UniqueConstraint(fields=["club", "name"], name="one_season_per_name"),
        ]

    def __str__(self) -> str:
        return self.name


class Squad(Row):
    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="squads")
    name = models.CharField(max_length=80)

    objects = AnchorQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name"], name="one_squad_per_name")
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def club(self) -> Club:
        return self.season.club


class DatedQuerySet(models.QuerySet[Any]):
    def current(self) -> "DatedQuerySet":
        """Rows that hold today."""
        return self.filter(access.current(""))

    def on(self, day: date) -> "DatedQuerySet":
        """Rows that held on `day`."""
        return self.filter(Q(until=None) | Q(until__gte=day), since__lte=day)


class Dated(Row):
    since = models.DateField(default=today)
    until = models.DateField(null=True, blank=True)

    objects = DatedQuerySet.as_manager()

    class Meta:
        abstract = True


class MembershipQuerySet(DatedQuerySet):
    def visible_to(self, user: Any) -> "MembershipQuerySet":
        """The staff of the clubs in which `user` is staff himself."""
        return self.filter(
            Q(club__in=Club.objects.for_role(user, access.Role.DIRECTOR, access.Role.WELFARE))
            | Q(squad__in=Squad.objects.for_role(user, access.Role.COACH))
        )


class Membership(Dated):
    """An adult's role in a club; a coach's names the squad."""

    class Role(models.TextChoices):
        COACH = "coach", _("coach")
        DIRECTOR = "director", _("director")
        WELFARE = "welfare", _("welfare officer")

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="memberships")
    squad = models.ForeignKey(
        Squad, null=True, blank=True, on_delete=models.CASCADE, related_name="memberships"
    )
    role = models.CharField(max_length=10, choices=Role.choices)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(role="coach", squad__isnull=False)
                | (~Q(role="coach") & Q(squad__isnull=True)),
                name="coach_has_squad",
            )
        ]

    def __str__(self) -> str:
        return f"{self.user} · {self.get_role_display()}"


class PlayerQuerySet(AnchorQuerySet):
    def in_squad(self, squad: Squad) -> "PlayerQuerySet":
        """Players who are in `squad` today, by number."""
        return self.filter(pk__in=squad.squadplayers.current().values("player"))


class Player(Row):
    class Hand(models.TextChoices):
        RIGHT = "right", _("right")
        LEFT = "left", _("left")

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="players")
    user = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.SET_NULL, related_name="players"
    )
    first_name = models.CharField(max_length=80)
    last_name = models.CharField(max_length=80)
    born_on = models.DateField(null=True, blank=True)
    grade = models.CharField(max_length=20, blank=True)
    hand = models.CharField(max_length=5, choices=Hand.choices, default=Hand.RIGHT)
    email = models.EmailField(
        blank=True, help_text=_("Where an invitation goes; empty for a child without one.")
    )

    objects = PlayerQuerySet.as_manager()

    class Meta:
        ordering = ["first_name", "last_name"]
        constraints = [
            models.UniqueConstraint(
                fields=["club", "user"], condition=~Q(user=None), name="one_player_per_account"
            )
        ]

    def __str__(self) -> str:
        return self.full_name

    @property
    def full_name(self) -> str:
        return f"{self.first_name} {self.last_name}".strip()

    def is_minor(self, day: date | None = None) -> bool:
        """Under 18 on `day` (today). An unknown birth date counts as a minor."""
        if self.born_on is None:
            return True
        day = day or today()
        birthday_to_come = (day.month, day.day) < (self.born_on.month, self.born_on.day)
        return day.year - self.born_on.year - birthday_to_come < ADULT_AGE


class SquadPlayer(Dated):
    """A player's place in a squad, with his number; numbers are text, `00` is not `0`."""

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="squadplayers")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="squadplayers")
    number = models.CharField(max_length=3, blank=True)

    def __str__(self) -> str:
        return f"{self.number} {self.player}".strip()


class GuardianshipQuerySet(DatedQuerySet):
    def visible_to(self, user: Any) -> "GuardianshipQuerySet":
        """Of the players that `user` may read."""
        return self.filter(player__in=Player.objects.visible_to(user))


class Guardianship(Dated):
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="guardianships")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="guardianships")
    relationship = models.CharField(max_length=40, blank=True)

    objects = GuardianshipQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.user} for {self.player}"


class InvitationQuerySet(models.QuerySet["Invitation"]):
    def open(self) -> "InvitationQuerySet":
        """Invitations that can still be accepted."""
        return self.filter(accepted_at=None, revoked_at=None, expires_at__gt=timezone.now())

    def visible_to(self, user: Any) -> "InvitationQuerySet":
        """A coach those of his squads and their players, a director the club's."""
        squads = Squad.objects.for_role(user, access.Role.COACH)
        return self.filter(
            Q(club__in=Club.objects.for_role(user, access.Role.DIRECTOR))
            | Q(squad__in=squads)
            | Q(player__in=Player.objects.for_role(user, access.Role.COACH))
        )


class Invitation(Row):
    """A single-use, expiring link. Only the hash of its secret is kept."""

    class Kind(models.TextChoices):
        FOUNDER = "founder", _("sets up the club")
        DIRECTOR = "director", _("director")
        WELFARE = "welfare", _("welfare officer")
        COACH = "coach", _("coach")
        PLAYER = "player", _("player")
        GUARDIAN = "guardian", _("guardian")

    kind = models.CharField(max_length=10, choices=Kind.choices)
    club = models.ForeignKey(Club, null=True, on_delete=models.CASCADE, related_name="invitations")
    squad = models.ForeignKey(
        Squad, null=True, on_delete=models.CASCADE, related_name="invitations"
    )
    player = models.ForeignKey(
        Player, null=True, on_delete=models.CASCADE, related_name="invitations"
    )
    email = models.EmailField(blank=True)
    name = models.CharField(max_length=160, blank=True)
    token_hash = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True)
    accepted_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    revoked_at = models.DateTimeField(null=True)

    objects = InvitationQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.kind} {self.email}"

    @property
    def is_open(self) -> bool:
        """Can it still be accepted?"""
        return not (self.accepted_at or self.revoked_at) and self.expires_at > timezone.now()


class ConsentQuerySet(models.QuerySet["Consent"]):
    def valid(self) -> "ConsentQuerySet":
        """Consents that hold today: given, within their year, not withdrawn."""
        day = today()
        return self.filter(withdrawn_at=None, given_on__lte=day, expires_on__gte=day)


class Consent(Row):
    """One consent, dated, for a year. Withdrawing it stops what it allowed at once."""

    class Kind(models.TextChoices):
        FILM = "film", _("being filmed and getting film comments")
        EMAIL_PICTURES = "email_pictures", _("pictures in emails")

    class How(models.TextChoices):
        GUARDIAN = "guardian", _("by a guardian")
        PLAYER = "player", _("by the adult player")
        PAPER = "paper", _("on paper")

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="consents")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    how = models.CharField(max_length=10, choices=How.choices)
    given_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    given_by_name = models.CharField(max_length=160, blank=True)
    given_on = models.DateField(default=today)
    expires_on = models.DateField()
    recorded_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    withdrawn_at = models.DateTimeField(null=True)
    withdrawn_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = ConsentQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.kind} for {self.player}"


class MailChoice(Row):
    """A person's no to one kind of mail; no row means yes."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="mail_choices")
    kind = models.CharField(max_length=30)
    stopped_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "kind"], name="one_choice_per_kind")]

    def __str__(self) -> str:
        return f"{self.user}: no {self.kind}"
