from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.changes import player_left
from devplans.people.checks import check_age, check_number, check_player, same_person
from devplans.people.models import Guardianship, Player, Squad, SquadPlayer, User
from devplans.people.services.phones import end_phones_of_leaver, end_phones_shown_by


@transaction.atomic
def add_player(*, actor: User, squad: Squad, number: str = "", **fields: Any) -> Player:
    """Add a new player to a squad, from today.

    fields: first_name, last_name, born_on, grade, hand, email. Raises DomainError "player.exists"
    where the club has this person, else with the field that is wrong.
    """
    access.require(actor, Action.KEEP_ROSTER, squad)
    found = check_player(fields)
    club = squad.season.club
    if same_person(club, found["first_name"], found["last_name"], found.get("born_on")):
        message = _(
            "The club has a player of this name. Give different birth dates if they are two "
            "people; a director can take the same player into another squad."
        )
        raise DomainError("player.exists", message, field="last_name")
    number = check_number(squad, number, today())
    player = Player.objects.create(club=club, **found)
    SquadPlayer.objects.create(squad=squad, player=player, number=number)
    audit.record(actor, "people.player_added", player, club_id=club.pk, player_id=player.pk)
    return player


@transaction.atomic
def change_player(*, actor: User, player: Player, **fields: Any) -> Player:
    """Change names, birth date, grade, hand or address of a player.

    Raises DomainError with the field, "born_on.adult" where only a director may make him an adult.
    """
    access.require(actor, Action.KEEP_ROSTER, player)
    found = check_player(fields)
    if "born_on" in found:
        check_age(actor, player, found["born_on"])
    changed = [name for name, new in found.items() if new != getattr(player, name)]
    for name in changed:
        setattr(player, name, found[name])
    if changed:
        player.save(update_fields=[*changed, "updated_at"])
        audit.record(
            actor,
            "people.player_changed",
            player,
            club_id=player.club_id,
            player_id=player.pk,
            fields=changed,
        )
    return player


@transaction.atomic
def place_player(*, actor: User, squad: Squad, player: Player, number: str = "") -> SquadPlayer:
    """Take a player of the club into another squad as well.

    Whoever coaches that squad can then read about him, so it is for those who run the club.
    Raises DomainError "player.placed" or "number.…".
    """
    access.require(actor, Action.RUN_CLUB, squad.season.club)
    if player.club_id != squad.season.club_id:
        raise DomainError("player.club", _("This player is in another club."), field="player")
    if squad.squadplayers.current().filter(player=player).exists():
        raise DomainError("player.placed", _("This player is in it already."), field="player")
    number = check_number(squad, number, today())
    place = SquadPlayer.objects.create(squad=squad, player=player, number=number)
    audit.record(actor, "people.player_placed", place, club_id=player.club_id, player_id=player.pk)
    return place


def _open_place(squad: Squad, player: Player) -> SquadPlayer:
    place = squad.squadplayers.filter(player=player, until=None).order_by("-since").first()
    if place is None:
        raise DomainError("player.left", _("This player is not in it any more."))
    return place


@transaction.atomic
def change_number(
    *, actor: User, squad: Squad, player: Player, number: str, since: date | None = None
) -> SquadPlayer:
    """Give a player another number from `since` (today) on; films of before keep the old one.

    Raises DomainError "number.…", or "number.since" for a day before the present number began.
    """
    access.require(actor, Action.KEEP_ROSTER, squad)
    since = since or today()
    place = _open_place(squad, player)
    number = check_number(squad, number, since, player=player)
    if number == place.number:
        return place
    if since < place.since:
        message = _("The present number began on %(day)s: choose that day or a later one.")
        words = {"day": place.since.isoformat()}
        raise DomainError("number.since", message % words, field="since")
    if since == place.since:
        place.number = number
        place.save(update_fields=["number", "updated_at"])
    else:
        place.until = since - timedelta(days=1)
        place.save(update_fields=["until", "updated_at"])
        place = SquadPlayer.objects.create(squad=squad, player=player, number=number, since=since)
    audit.record(
        actor,
        "people.number_changed",
        place,
        club_id=player.club_id,
        player_id=player.pk,
        number=number,
    )
    return place


@transaction.atomic
def leave_squad(
    *, actor: User, squad: Squad, player: Player, last_day: date | None = None
) -> SquadPlayer:
    """End a player's time in a squad; `last_day` (yesterday) is the last one that counts.

    Phones that a code signed in, and calendar addresses, end with the last place.
    """
    access.require(actor, Action.KEEP_ROSTER, squad)
    place = _open_place(squad, player)
    place.until = last_day or today() - timedelta(days=1)
    if last_day and last_day < place.since:
        message = _("This player came on %(day)s.") % {"day": place.since.isoformat()}
        raise DomainError("player.last_day", message, field="last_day")
    place.save(update_fields=["until", "updated_at"])
    audit.record(actor, "people.player_left", place, club_id=player.club_id, player_id=player.pk)
    end_phones_of_leaver(actor=actor, player=player)
    if not player.squadplayers.current().exists():
        player_left.send(sender=Player, player=player)
    return place


@transaction.atomic
def end_guardianship(*, actor: User, guardianship: Guardianship) -> Guardianship:
    """End a guardian's link to a player as of now, and the phones that joined by his codes."""
    access.require(actor, Action.RUN_CLUB, guardianship.player.club)
    guardianship.until = today() - timedelta(days=1)
    guardianship.save(update_fields=["until", "updated_at"])
    audit.record(
        actor,
        "people.guardian_ended",
        guardianship,
        club_id=guardianship.player.club_id,
        player_id=guardianship.player_id,
    )
    end_phones_shown_by(actor=actor, user=guardianship.user)
    return guardianship
