import csv
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from devplans.core import audit
from devplans.people import access
from devplans.people.access import Action, Role
from devplans.people.models import Club, Player, Squad
from devplans.progress import reports, summary
from devplans.stats import weeks


@require_GET
def player(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """The progress summary of one player: the standing page behind the weekly digest."""
    found = get_object_or_404(
        Player.objects.visible_to(request.user).select_related("club"), pk=player_id
    )
    if _reads_as_office(request, found):
        audit.record(
            request.user, "progress.summary_read", found, club_id=found.club_id, player_id=found.pk
        )
    context = {"player": found, "staff": access.allows(request.user, Action.COACH_PLAYER, found)}
    return render(
        request, "progress/player.html", context | summary.of_player(found, timezone.now())
    )


def _reads_as_office(request: HttpRequest, player: Player) -> bool:
    """A director or welfare officer, who is neither the family nor the coach: that is audited."""
    near = Player.objects.for_role(request.user, Role.PLAYER, Role.GUARDIAN, Role.COACH)
    return not near.filter(pk=player.pk).exists()


@require_GET
def club(request: HttpRequest) -> HttpResponse:
    """The director's page: who got feedback and how long it took, goals, training time, across
    squads."""
    found = get_object_or_404(_clubs_run_by(request)[:1])
    week = _week(request, found)
    squads = (
        Squad.objects.for_role(request.user, Role.DIRECTOR)
        .filter(season__club=found)
        .order_by("name")
    )
    rows = reports.squad_facts(list(squads), week, found.zone)
    context = {
        "rows": rows,
        "week": weeks.format_label(week),
        "before": weeks.format_label(weeks.previous_week(week)),
        "after": weeks.format_label(weeks.next_week(week)),
        "first_day": weeks.monday(*week),
        "is_running": week == weeks.week_of(timezone.now(), found.zone),
    }
    return render(request, "progress/club.html", context)


def _clubs_run_by(request: HttpRequest) -> Any:
    return Club.objects.allowing(request.user, Action.RUN_CLUB).order_by("created_at")


def _week(request: HttpRequest, club: Club) -> weeks.Week:
    """The week asked for; the last complete one where none or nonsense was asked for."""
    try:
        return weeks.parse_label(request.GET.get("week", ""))
    except ValueError:
        return weeks.last_complete_week(timezone.now(), club.zone)


@require_GET
def player_csv(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """The minutes and shots of the last eight weeks as CSV."""
    found = get_object_or_404(
        Player.objects.visible_to(request.user).select_related("club"), pk=player_id
    )
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="summary.csv"'
    writer = csv.writer(response)
    writer.writerow(
        [
            _("week"),
            _("minutes with the team"),
            _("minutes alone"),
            _("made"),
            _("tried"),
            _("reps"),
        ]
    )
    for row in summary.weeks_of(found, timezone.now()):
        writer.writerow(
            [row["week"], row["organised"], row["own"], row["made"], row["tried"], row["reps"]]
        )
    return response
