"""Taking a roster file in: first a plan of what would happen, then the same plan carried out."""

from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.checks import check_age, check_number, check_player, clean_address, same_person
from devplans.people.models import Invitation, Player, Squad, User
from devplans.people.rosterfile import RosterFile, RosterRow
from devplans.people.services.invitations import Kind, invite
from devplans.people.services.rosters import (
    add_player,
    change_number,
    change_player,
    place_player,
)


@dataclass
class PlannedRow:
    """One row of the file and what it would do. `player` is None for a new one."""

    row: RosterRow
    player: Player | None = None
    is_placed: bool = False
    changes: dict[str, Any] = field(default_factory=dict)
    new_number: str | None = None
    invites: list[tuple[str, str, str]] = field(default_factory=list)

    @property
    def is_new(self) -> bool:
        return self.player is None

    @property
    def what_happens(self) -> list[str]:
        """Each step that the import would take with this player, in words."""
        steps = []
        if not self.is_new and not self.is_placed:
            steps.append(_("comes into this squad"))
        if self.new_number is not None:
            steps.append(_("number %(number)s from today") % {"number": self.new_number})
        names = {"born_on": _("birth date"), "grade": _("grade"), "email": _("address")}
        for field_name, value in self.changes.items():
            steps.append(f"{names[field_name]} {value}")
        return steps

    @property
    def is_same(self) -> bool:
        return bool(self.is_placed and not self.changes and self.new_number is None)


@dataclass
class RosterPlan:
    rows: list[PlannedRow] = field(default_factory=list)
    problems: list[tuple[int, str]] = field(default_factory=list)

    @property
    def new(self) -> list[PlannedRow]:
        return [row for row in self.rows if row.is_new]

    @property
    def changed(self) -> list[PlannedRow]:
        return [row for row in self.rows if not row.is_new and not row.is_same]

    @property
    def same(self) -> list[PlannedRow]:
        return [row for row in self.rows if row.is_same]

    @property
    def invite_count(self) -> int:
        return sum(len(row.invites) for row in self.rows)


def plan_import(*, actor: User, squad: Squad, file: RosterFile) -> RosterPlan:
    """What importing `file` into `squad` would do; nothing is written.

    Each row that cannot be used is named with its line and the reason.
    """
    access.require(actor, Action.KEEP_ROSTER, squad)
    plan = RosterPlan(problems=list(file.problems))
    seen: dict[str, dict[Any, int]] = {"number": {}, "player": {}}
    leaving_numbers = _numbers_given_up(squad, file)
    for row in file.rows:
        try:
            plan.rows.append(_plan_row(actor, squad, row, seen, leaving_numbers))
        except DomainError as error:
            plan.problems.append((row.line, str(error)))
    plan.problems.sort()
    return plan


def _numbers_given_up(squad: Squad, file: RosterFile) -> set[str]:
    """Numbers whose wearers get another one by this very file, so that two may swap."""
    given_up = set()
    for place in squad.squadplayers.current().select_related("player"):
        for row in file.rows:
            if _is(place.player, row) and row.number and row.number != place.number:
                given_up.add(place.number)
    return given_up


def _is(player: Player, row: RosterRow) -> bool:
    names = (player.first_name.casefold(), player.last_name.casefold())
    if names != (row.first_name.casefold(), row.last_name.casefold()):
        return False
    return row.born_on is None or player.born_on is None or row.born_on == player.born_on


def _plan_row(
    actor: User,
    squad: Squad,
    row: RosterRow,
    seen: dict[str, dict[Any, int]],
    leaving_numbers: set[str],
) -> PlannedRow:
    _refuse_repeats(row, seen)
    wanted = check_player(_fields(row))
    player = same_person(squad.season.club, row.first_name, row.last_name, row.born_on)
    place = squad.squadplayers.current().filter(player=player).first() if player else None
    if player and not place:
        _require_placing(actor, squad)
    planned = PlannedRow(row=row, player=player, is_placed=place is not None)
    if row.number not in leaving_numbers:
        check_number(squad, row.number, today(), player=player)
    if player:
        planned.changes = {k: v for k, v in wanted.items() if v and v != getattr(player, k)}
        if "born_on" in planned.changes:
            check_age(actor, player, row.born_on)
        planned.changes.pop("first_name", None)
        planned.changes.pop("last_name", None)
    if place and row.number and row.number != place.number:
        planned.new_number = row.number
    planned.invites = _planned_invites(row, player)
    return planned


def _fields(row: RosterRow) -> dict[str, Any]:
    return {
        "first_name": row.first_name,
        "last_name": row.last_name,
        "born_on": row.born_on,
        "grade": row.grade,
        "email": clean_address(row.player_email) if row.player_email else "",
    }


def _require_placing(actor: User, squad: Squad) -> None:
    if not access.allows(actor, Action.RUN_CLUB, squad.season.club):
        message = _(
            "The club has a player of this name in another squad: "
            "a director has to take the player into this one."
        )
        raise DomainError("player.exists", message)


def _refuse_repeats(row: RosterRow, seen: dict[str, dict[Any, int]]) -> None:
    name = (row.first_name.casefold(), row.last_name.casefold())
    for (first, last, born_on), line in seen["player"].items():
        same_day = born_on is None or row.born_on is None or born_on == row.born_on
        if (first, last) == name and same_day:
            message = _("This player is in line %(line)s already.")
            raise DomainError("row.player", message % {"line": line})
    if row.number and row.number in seen["number"]:
        message = _("Number %(number)s is in line %(line)s already.")
        words = {"number": row.number, "line": seen["number"][row.number]}
        raise DomainError("row.number", message % words)
    seen["player"][(*name, row.born_on)] = row.line
    if row.number:
        seen["number"][row.number] = row.line


def _planned_invites(row: RosterRow, player: Player | None) -> list[tuple[str, str, str]]:
    """(kind, address, name) of those who are not here and have no open invitation."""
    wanted = []
    if row.guardian_email:
        email = clean_address(row.guardian_email)
        if email == row.player_email.lower():
            message = _("Player and guardian need an address each; leave the player's empty.")
            raise DomainError("row.email", message)
        if _minor(row, player):
            wanted.append((str(Kind.GUARDIAN), email, row.guardian_name))
    if row.player_email and not (player and player.user_id):
        email = clean_address(row.player_email)
        wanted.append((str(Kind.PLAYER), email, f"{row.first_name} {row.last_name}"))
    return [entry for entry in wanted if not (player and _is_known(entry, player))]


def _minor(row: RosterRow, player: Player | None) -> bool:
    born_on = row.born_on or (player.born_on if player else None)
    return Player(born_on=born_on).is_minor()


def _is_known(entry: tuple[str, str, str], player: Player) -> bool:
    kind, email, _name = entry
    if Invitation.objects.open().filter(kind=kind, email=email, player=player).exists():
        return True
    guardians = player.guardianships.current().filter(user__email=email)
    return kind == Kind.GUARDIAN and guardians.exists()


@transaction.atomic
def import_roster(
    *, actor: User, squad: Squad, file: RosterFile, send_invitations: bool
) -> RosterPlan:
    """Carry out the plan of a roster file; importing the same file again changes nothing.

    All or nothing: raises DomainError "roster.problems" where a row cannot be used.
    """
    plan = plan_import(actor=actor, squad=squad, file=file)
    if file.faults or plan.problems:
        message = _("Some rows cannot be used. Correct them in the file and send it again.")
        raise DomainError("roster.problems", message)
    # Numbers are laid down first and taken up after, so that two players may swap theirs.
    for planned in plan.rows:
        if planned.new_number:
            change_number(actor=actor, squad=squad, player=planned.player, number="")
    for planned in plan.rows:
        _carry_out(actor, squad, planned)
        if send_invitations:
            for kind, email, name in planned.invites:
                invite(actor=actor, kind=kind, email=email, name=name, player=planned.player)
    audit.record(
        actor,
        "people.roster_imported",
        squad,
        club_id=squad.season.club_id,
        new=len([row for row in plan.rows if not row.is_placed]),
    )
    return plan


def _carry_out(actor: User, squad: Squad, planned: PlannedRow) -> None:
    if planned.player is None:
        fields = {**_fields(planned.row), "number": planned.row.number}
        planned.player = add_player(actor=actor, squad=squad, **fields)
        return
    if not planned.is_placed:
        number = planned.row.number
        place_player(actor=actor, squad=squad, player=planned.player, number=number)
    if planned.changes:
        change_player(actor=actor, player=planned.player, **planned.changes)
    if planned.new_number:
        number = planned.new_number
        change_number(actor=actor, squad=squad, player=planned.player, number=number)
