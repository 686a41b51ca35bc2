from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from devplans.core import audit
from devplans.people import access
from devplans.people.access import Action, Role
from devplans.people.models import Club, Player
from devplans.progress import club as clubs
from devplans.progress import exports, summary
from devplans.progress.tables import Table
from devplans.stats import weeks


@require_GET
def player(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """The progress summary of one player: the standing page behind the weekly digest."""
    found = _player(request, player_id)
    _note_office(request, found, "progress.summary_read")
    context = {"player": found, "staff": access.allows(request.user, Action.COACH_PLAYER, found)}
    return render(
        request,
        "progress/player.html",
        context | summary.of_player(request.user, found, timezone.now()),
    )


@require_GET
def player_table(request: HttpRequest, player_id: UUID, table: str) -> HttpResponse:
    """One table of the summary as CSV; whoever reads the page may have it."""
    found = _player(request, player_id)
    _note_office(request, found, "progress.table_exported", table=table)
    rows = exports.TABLES[table](request.user, found, timezone.now())
    return _csv(rows, f"{table}.csv")


def _player(request: HttpRequest, player_id: UUID) -> Player:
    return get_object_or_404(
        Player.objects.visible_to(request.user).select_related("club"), pk=player_id
    )


def _note_office(request: HttpRequest, player: Player, verb: str, **detail: Any) -> None:
    """A director or welfare officer, who is neither the family nor the coach: that is audited."""
    near = Player.objects.for_role(request.user, Role.PLAYER, Role.GUARDIAN, Role.COACH)
    if not near.filter(pk=player.pk).exists():
        audit.record(
            request.user, verb, player, club_id=player.club_id, player_id=player.pk, **detail
        )


@require_GET
def club(request: HttpRequest) -> HttpResponse:
    """The director's page: who got feedback and how long it took, goals, training time and
    safeguarding flags, across squads."""
    found = _club(request)
    audit.record(request.user, "progress.club_read", found, club_id=found.pk)
    context = clubs.of_club(request.user, found, _week(request, found), timezone.now())
    return render(request, "progress/club.html", {"club": found, **context})


@require_GET
def club_table(request: HttpRequest, table: str) -> HttpResponse:
    """One table of the director's page as CSV, of the week that the page shows."""
    found = _club(request)
    week = weeks.format_label(_week(request, found))
    audit.record(
        request.user, "progress.club_exported", found, club_id=found.pk, table=table, week=week
    )
    read = clubs.read_club(request.user, found, weeks.parse_label(week))
    if table == "flags":
        return _csv(clubs.flags_table(found, read), f"{table}-{week}.csv")
    return _csv(clubs.TABLES[table](clubs.rows_of(read)), f"{table}-{week}.csv")


def _club(request: HttpRequest) -> Club:
    clubs_run = Club.objects.allowing(request.user, Action.RUN_CLUB).order_by("created_at")
    return get_object_or_404(clubs_run[:1])


def _week(request: HttpRequest, club: Club) -> weeks.Week:
    """The week asked for; the last complete one where none or nonsense was asked for."""
    try:
        week = weeks.parse_label(request.GET.get("week", ""))
        weeks.previous_week(week), weeks.next_week(week)
    except ValueError:
        return weeks.last_complete_week(timezone.now(), club.zone)
    return week


def _csv(table: Table, name: str) -> HttpResponse:
    response = HttpResponse(table.written(), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
