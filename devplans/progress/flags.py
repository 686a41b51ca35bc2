"""What a director looks after first: safeguarding flags as numbers, with where each is mended.

Names only of players who lack a guardian, a consent or a birth date; of what hurts a number, never
who or in what words.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.people.access import Role
from devplans.people.models import Club, Invitation, Membership, Player, Squad
from devplans.progress.reports import SquadsRead
from devplans.stats import weeks
from devplans.workouts.models import PainAnswer

# So long a family may take to answer before a director asks after it (our own choice).
PAIN_WAITS = timedelta(days=3)
MOST_NAMES = 6


@dataclass(frozen=True)
class Place:
    """One squad's share of a flag, or the club's own; people: [(key, name)], where they are
    named."""

    name: str
    number: int
    url: str
    people: list[tuple[UUID, str]] = field(default_factory=list)

    @property
    def first(self) -> list[tuple[UUID, str]]:
        return self.people[:MOST_NAMES]

    @property
    def others(self) -> int:
        return max(0, len(self.people) - MOST_NAMES)


@dataclass(frozen=True)
class Flag:
    """number: in the whole club, a player of two squads once. words: what it is, in few words;
    note: more of it; mend: what to do."""

    key: str
    number: int
    words: str
    mend: str
    places: list[Place]
    note: str = ""


def flags_of(club: Club, read: SquadsRead) -> list[Flag]:
    """The flags of a club that are up, today's but for the hours and who joined, which are those
    of the week read. Five queries, however many players there are."""
    late = _late_pains(read)
    found = [
        _without_guardian(read),
        _of_people(
            read, "consent", read.unconsented, _("Without consent to film"),
            _("A guardian or an adult player gives it; one on paper is recorded for the player."),
        ),
        _of_people(
            read, "birth", {p.pk for p in _players(read) if p.born_on is None},
            _("Without a birth date, so counted as under 18"),
            _("It is filled in on the player’s page; without it no limit on hours is known."),
        ),
        _pains(read, late),
        _hours(read),
        _invitations(club, read),
        _welfare(club),
        _joined(club, read),
    ]  # fmt: skip
    return [flag for flag in found if flag.number]


def _players(read: SquadsRead) -> list[Player]:
    places = (place for squad in read.squads for place in read.rosters[squad.pk])
    return list({place.player_id: place.player for place in places}.values())


def _squad_url(squad: Squad) -> str:
    return reverse("people:squad", args=[squad.pk])


def _of_people(
    read: SquadsRead, key: str, whom: Iterable[UUID], words: str, mend: str, note: str = ""
) -> Flag:
    whom = set(whom)
    places = []
    for squad in read.squads:
        players = [p.player for p in read.rosters[squad.pk] if p.player_id in whom]
        people = [(player.pk, player.full_name) for player in players]
        if people:
            places.append(Place(squad.name, len(people), _squad_url(squad), people))
    number = len({pk for place in places for pk, _name in place.people})
    return Flag(key, number, words, mend, places, note)


def _without_guardian(read: SquadsRead) -> Flag:
    invited = set(
        Invitation.objects.open()
        .filter(kind=Invitation.Kind.GUARDIAN, player__in=read.unguarded)
        .values_list("player", flat=True)
    )
    note = ""
    if invited:
        note = ngettext(
            "For %(number)s of them a guardian is invited.",
            "For %(number)s of them a guardian is invited.",
            len(invited),
        ) % {"number": len(invited)}
    words = _("Under 18 without a guardian who has accepted")
    mend = _("A guardian is invited from the player’s page.")
    return _of_people(read, "guardian", read.unguarded, words, mend, note)


def _by_squad(
    read: SquadsRead, key: str, each: dict[UUID, int], words: str, mend: str, note: str = "",
    url: str = "",
) -> Flag:  # fmt: skip
    """Numbers by player, told by squad without names."""
    places = []
    for squad in read.squads:
        keys = {place.player_id for place in read.rosters[squad.pk]}
        if number := sum(each.get(pk, 0) for pk in keys):
            places.append(Place(squad.name, number, url or _squad_url(squad)))
    return Flag(key, sum(each.get(p.pk, 0) for p in _players(read)), words, mend, places, note)


def _late_pains(read: SquadsRead) -> int:
    """How many reports no one has answered for days."""
    keys = [key for key, number in read.pains.items() if number]
    rows = PainAnswer.objects.filter(player__in=keys, said_at__lte=read.now - PAIN_WAITS)
    return rows.open().count()


def _pains(read: SquadsRead, late: int) -> Flag:
    note = ""
    if late:
        note = ngettext(
            "%(number)s has waited for three days or longer.",
            "%(number)s have waited for three days or longer.",
            late,
        ) % {"number": late}
    words = _("Something hurts, and nobody has answered")
    mend = _(
        "The guardian answers, and can be asked to: the addresses stand on the players’ pages."
    )
    return _by_squad(read, "pain", read.pains, words, mend, note)


def _hours(read: SquadsRead) -> Flag:
    words = _("Past the published limits on hours or rest, in the week shown")
    mend = _("Who and how far stands below, under Training.")
    each = dict.fromkeys(read.past, 1)
    return _by_squad(read, "hours", each, words, mend, url="#training-head")


def _invitations(club: Club, read: SquadsRead) -> Flag:
    """Those that ran out and were not sent again, taken back, or overtaken by another one."""
    rows = Invitation.objects.filter(club=club).exclude(kind=Invitation.Kind.FOUNDER)
    later = rows.filter(
        Q(accepted_at__isnull=False) | Q(revoked_at=None, expires_at__gt=read.now),
        kind=OuterRef("kind"), email=OuterRef("email"),
    ).filter(
        Q(player=OuterRef("player")) | Q(squad=OuterRef("squad"))
        | Q(player=None, squad=None, kind__in=[Role.DIRECTOR, Role.WELFARE])
    )  # fmt: skip
    out = rows.filter(accepted_at=None, revoked_at=None, expires_at__lte=read.now)
    found = list(out.filter(~Exists(later)).values_list("pk", "squad", "player"))
    places = []
    shown: set[UUID] = set()
    for squad in read.squads:
        keys = {place.player_id for place in read.rosters[squad.pk]}
        mine = {pk for pk, to, player in found if to == squad.pk or player in keys}
        shown |= mine
        if mine:
            places.append(Place(squad.name, len(mine), _squad_url(squad)))
    if staff := sum(1 for _pk, to, player in found if to is None and player is None):
        places.append(Place(_("Staff"), staff, reverse("people:staff")))
        shown |= {pk for pk, to, player in found if to is None and player is None}
    words = _("Invitations that ran out unused")
    return Flag("invitations", len(shown), words, _("Send them again, or take them back."), places)


def _welfare(club: Club) -> Flag:
    rows = Membership.objects.current().filter(club=club, role=Role.WELFARE, user__is_active=True)
    missing = 0 if rows.exists() else 1
    url = reverse("people:invite-staff") + f"?club={club.pk}"
    mend = _("The officer is the second adult for children without a guardian here.")
    places = [Place(_("Invite a welfare officer"), 0, url)]
    return Flag("welfare", missing, _("No welfare officer"), mend, places)


def _joined(club: Club, read: SquadsRead) -> Flag:
    """Coaches may invite coaches; whom no director invited is told once, in the week he joined."""
    start, end = weeks.bounds(*read.week, read.zone)
    directors = Membership.objects.filter(
        club=club, role=Role.DIRECTOR, user=OuterRef("invited_by")
    ).filter(Q(until=None) | Q(until__gte=weeks.monday(*read.week)))
    rows = Invitation.objects.filter(
        club=club, kind=Invitation.Kind.COACH, accepted_at__gte=start, accepted_at__lt=end
    ).filter(~Exists(directors))
    by_squad: dict[Any, int] = defaultdict(int)
    for squad in rows.values_list("squad", flat=True):
        by_squad[squad] += 1
    names = {squad.pk: squad.name for squad in read.squads}
    url = reverse("people:staff")
    places = [Place(names[pk], by_squad[pk], url) for pk in names if pk in by_squad]
    words = _("Coaches who joined without a director’s invitation, in the week shown")
    mend = _("A coach of the squad invited them; a role is ended on the page of the staff.")
    return Flag("joined", sum(place.number for place in places), words, mend, places)
