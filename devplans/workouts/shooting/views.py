import csv
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from devplans.core.cells import harmless
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts.shooting import reading, words
from devplans.workouts.shooting.forms import ShotsForm, choice_of
from devplans.workouts.shooting.reading import ShotLog


@require_GET
def shots(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """A player's shots by zone, spot, drill and week."""
    player = _player(request, player_id)
    choice = choice_of(request.GET)
    log = reading.read(player, choice, timezone.now())
    first = {"kind": choice.kind, "drill": choice.drill or "", "side": choice.side}
    page = {
        "player": player,
        "is_own": player.user_id == request.user.pk,
        "may_log": access.allows(request.user, Action.LOG_WORKOUT, player),
        "log": log,
        "choice": choice,
        "is_filtered": bool(choice.kind or choice.drill or choice.side),
        "spans": [(key, name, _address(request, key)) for key, name in words.SPANS.items()],
        "form": ShotsForm(initial=first, drills=log.choices),
        "rules": player.club.get_rule_set_display(),
        "zones": _named(log.zones, words.ZONES),
        "points": _named(log.points, words.ZONES),
        "spots": [
            (log.names.get(table.drill, table.drill), _named(table.lines, words.SPOTS))
            for table in log.spots
        ],
        "drills": [(log.names.get(line.key) or _no_drill(line.key), line) for line in log.drills],
        "weeks": [
            (weeks.monday(*line.week), line) for line in log.weeks if line.tried or line.is_current
        ],
        "query": request.GET.urlencode(),
    }
    return render(request, "workouts/shots.html", page)


def _player(request: HttpRequest, player_id: UUID) -> Player:
    players = Player.objects.visible_to(request.user).select_related("club")
    found: Player = get_object_or_404(players, pk=player_id)
    return found


def _address(request: HttpRequest, span: str) -> str:
    """This page with another span of weeks, the other choices kept."""
    query = request.GET.copy()
    query["span"] = span
    return f"?{query.urlencode()}"


def _named(lines: Any, names: Any) -> list[tuple[str, Any]]:
    return [(str(names[line.key]), line) for line in lines]


def _no_drill(slug: str) -> str:
    return slug or _("Shots outside a set")


@require_GET
def shots_csv(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """The same tables as a file, by the same choices."""
    player = _player(request, player_id)
    log = reading.read(player, choice_of(request.GET), timezone.now())
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="shots.csv"'
    writer = csv.writer(answer)
    writer.writerow([_("table"), _("name"), _("made"), _("tried"), _("share"), _("low"), _("high")])
    for table, lines in reading.tables(log):
        for line in lines:
            writer.writerow([harmless(str(cell)) for cell in _cells(table, line, log)])
    return answer


def _cells(table: str, line: Any, log: ShotLog) -> list[object]:
    name = line.key
    if table == "zone":
        name = words.ZONES[line.key]
    elif table.startswith("spot "):
        name = words.SPOTS[line.key]
    elif table == "drill":
        name = log.names.get(line.key) or _no_drill(line.key)
    figures = [line.share, *(line.interval or (None, None))]
    return [table, name, line.made, line.tried, *("" if f is None else f"{f:.4f}" for f in figures)]
