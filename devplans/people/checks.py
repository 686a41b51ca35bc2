"""What is looked at before a row is written: addresses, names, birth dates, numbers."""

import re
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player, Squad, User

NUMBER = re.compile(r"\d{1,3}")
PLAYER_FIELDS = ("first_name", "last_name", "born_on", "grade", "hand", "email")
OLDEST = 100


def check_player(fields: dict[str, Any]) -> dict[str, Any]:
    """The fields of a player as we keep them. Raises DomainError with the field that is wrong."""
    found = {name: fields[name] for name in PLAYER_FIELDS if name in fields}
    for name in ("first_name", "last_name"):
        if name in found:
            found[name] = found[name].strip()
            if not found[name]:
                raise DomainError("name.missing", _("Both names are needed."), field=name)
    born_on = found.get("born_on")
    if born_on and not today().year - OLDEST <= born_on.year <= today().year:
        raise DomainError("born_on.range", _("This birth date cannot be right."), field="born_on")
    if born_on and born_on > today():
        raise DomainError("born_on.range", _("This birth date is to come."), field="born_on")
    if found.get("email"):
        found["email"] = clean_address(found["email"])
    return found


def check_number(squad: Squad, number: str, day: date, *, player: Player | None = None) -> str:
    """The number as we keep it: text, so that `00` is not `0`; empty for none.

    Raises DomainError "number.bad", or "number.taken" where somebody wears it on or after `day`.
    """
    number = number.strip()
    if not number:
        return ""
    if not NUMBER.fullmatch(number):
        message = _("A number is one to three figures, such as 7, 00 or 23.")
        raise DomainError("number.bad", message, field="number")
    worn = squad.squadplayers.filter(number=number).exclude(until__lt=day)
    if player:
        worn = worn.exclude(player=player)
    other = worn.select_related("player").first()
    if other:
        message = _("%(name)s wears number %(number)s.")
        words = {"name": other.player.full_name, "number": number}
        raise DomainError("number.taken", message % words, field="number")
    return number


def check_age(actor: User, player: Player, born_on: date | None) -> None:
    """A player whom the club counts as a minor becomes an adult by a director's word only.

    An adult has no guardian on his threads, so this is not for one coach to decide.
    """
    if not player.is_minor() or Player(born_on=born_on).is_minor():
        return
    if not access.allows(actor, Action.RUN_CLUB, player.club):
        message = _("By this date the player would be an adult: a director has to enter it.")
        raise DomainError("born_on.adult", message, field="born_on")


def same_person(club: Any, first_name: str, last_name: str, born_on: date | None) -> Player | None:
    """A player of the club with this name whose birth date is the same or not known."""
    rows = Player.objects.filter(
        club=club, first_name__iexact=first_name.strip(), last_name__iexact=last_name.strip()
    )
    for player in rows.order_by("created_at"):
        if born_on is None or player.born_on is None or player.born_on == born_on:
            return player
    return None


def clean_address(email: str, *, field: str = "email") -> str:
    """The address as we keep it: trimmed, in lower case. Raises DomainError "email.bad"."""
    email = email.strip().lower()
    try:
        validate_email(email)
    except ValidationError:
        raise DomainError("email.bad", _("This is not an email address."), field=field) from None
    return email


def year_after(day: date) -> date:
    """The same day a year later; 28 February for the 29th."""
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return day.replace(year=day.year + 1, day=28)
