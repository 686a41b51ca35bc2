"""What one digest says, as plain values that are kept with it."""

from typing import Any
from uuid import UUID

from django.utils import timezone

from devplans.digests import planning
from devplans.digests.models import Digest
from devplans.feedback.models import Clip
from devplans.people.models import Club, Consent, Player, Squad, SquadPlayer
from devplans.progress import for_digests, reports
from devplans.stats import weeks

KEEPS = {"not_yet": "do_instead", "did_it": "happened"}


def collect(digest: Digest) -> dict[str, Any]:
    """The facts of the digest's week for its recipient, as JSON values."""
    week = (digest.iso_year, digest.iso_week)
    first = weeks.monday(*week)
    last = weeks.monday(*weeks.next_week(week)).toordinal() - 1
    head = {
        "week": weeks.format_label(week),
        "from": first.isoformat(),
        "to": first.fromordinal(last).isoformat(),
        "zone": digest.club.zone,
        "club": digest.club.name,
        "reader": digest.recipient.first_name,
    }
    if digest.kind in {Digest.Kind.PLAYER, Digest.Kind.GUARDIAN}:
        return head | {"parts": _family(digest, week)}
    if digest.kind == Digest.Kind.COACH:
        read = reports.read_squads(
            list(Squad.objects.filter(pk=digest.subject)), week, digest.club.zone
        )
        return head | {"squads": _squads(read)}
    # Those of past seasons have nobody in them any more.
    of_season = Squad.objects.filter(season__club=digest.club, season__ends_on__gte=first)
    read = reports.read_squads(list(of_season.order_by("name")), week, digest.club.zone)
    return head | {"squads": _squads(read), "whole": reports.whole_facts(read)}


def _squads(read: reports.SquadsRead) -> list[dict[str, Any]]:
    more = for_digests.squad_extras(read)
    return [row | more[UUID(row["squad"])] for row in reports.squad_facts(read)]


def draft(*, club: Club, to: planning.Addressee, week: weeks.Week) -> Digest:
    """What somebody would get for `week` if it went out now; not saved."""
    digest = Digest(
        club=club,
        recipient=to.recipient,
        kind=to.kind,
        subject=to.subject,
        iso_year=week[0],
        iso_week=week[1],
    )
    digest.facts = collect(digest)
    return digest


def players_of(digest: Digest) -> list[Player]:
    """The player, or a guardian's children in the club."""
    if digest.kind == Digest.Kind.PLAYER:
        return list(Player.objects.filter(pk=digest.subject).select_related("club"))
    places = SquadPlayer.objects.current().filter(squad__season__club=digest.club)
    children = Player.objects.for_role(digest.recipient, "guardian").filter(club=digest.club)
    return list(children.filter(pk__in=places.values("player")).select_related("club"))


def _family(digest: Digest, week: weeks.Week) -> list[dict[str, Any]]:
    players = players_of(digest)
    found = reports.player_weeks(players, week, digest.club.zone)
    more = for_digests.player_extras(players, week, digest.club.zone, timezone.now())
    parts = []
    for player in players:
        part = found[player.pk] | more[player.pk]
        part["bright"] = _latest(part["film"], "did_it")
        part["focus"] = _latest(part["film"], "not_yet")
        part["picture"] = _picture(digest, player, part["focus"] or part["bright"])
        parts.append(part)
    return parts


def _latest(film: list[dict[str, Any]], verdict: str) -> dict[str, Any] | None:
    rows = [row for row in film if row["verdict"] == verdict and row[KEEPS[verdict]]]
    return rows[-1] if rows else None


def _picture(digest: Digest, player: Player, row: dict[str, Any] | None) -> dict[str, str] | None:
    """The still of the moment the mail is about, only where this reader agreed to pictures in
    emails."""
    if row is None or not agreed_to_pictures(digest, player):
        return None
    clip = (
        Clip.objects.filter(comment=row["comment"], version=row["version"])
        .exclude(still_key="")
        .first()
    )
    return {"cid": f"still-{row['delivery']}", "key": clip.still_key} if clip else None


def agreed_to_pictures(digest: Digest, player: Player) -> bool:
    """Does a consent to pictures in emails stand that covers this reader? A guardian's own yes, or
    one on paper,
    covers that guardian; another guardian's yes does not. The film consent must stand as well."""
    consents = Consent.objects.valid().filter(player=player)
    pictures = consents.filter(kind=Consent.Kind.EMAIL_PICTURES)
    if digest.kind == Digest.Kind.GUARDIAN:
        pictures = pictures.filter(given_by=digest.recipient) | pictures.filter(
            how=Consent.How.PAPER
        )
    return pictures.exists() and consents.filter(kind=Consent.Kind.FILM).exists()
