from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from devplans.core import audit
from devplans.people import access
from devplans.people.access import Action, Role
from devplans.people.models import Squad
from devplans.progress.board import export, lookups, session
from devplans.progress.board.counts import RECENT_WEEKS, recent
from devplans.progress.board.need import LEAST_FILMS, LEAST_TRIED
from devplans.progress.board.practice import Needs, needs_of
from devplans.progress.board.table import board_of

HIGHEST_TARGET = 100


def staffed_squad(request: HttpRequest, squad_id: UUID) -> tuple[Squad, bool]:
    """The squad, and whether the user coaches it. 404 for everybody but its coaches and directors;
    what a director reads of children is audited."""
    squads = Squad.objects.for_role(request.user, Role.COACH, Role.DIRECTOR)
    squad = get_object_or_404(squads.select_related("season__club"), pk=squad_id)
    is_coach = access.allows(request.user, Action.COACH_SQUAD, squad)
    if not is_coach:
        audit.record(request.user, "progress.squad_read", squad, club_id=squad.season.club_id)
    return squad, is_coach


@require_GET
def next_practice(request: HttpRequest) -> HttpResponse:
    """To the squad of the user whose practice comes first."""
    squad = lookups.squad_in_turn(request.user, timezone.now())
    if squad is None:
        raise Http404
    return redirect("progress:next", squad.pk)


@require_GET
def board(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad, is_coach = staffed_squad(request, squad_id)
    is_recent = request.GET.get("span") == "recent"
    context = {
        "squad": squad,
        "is_coach": is_coach,
        "board": board_of(squad, _since(squad, is_recent=is_recent)),
        "is_recent": is_recent,
        "since": _since(squad, is_recent=is_recent),
        "weeks": RECENT_WEEKS,
    }
    return render(request, "progress/board.html", context)


@require_GET
def board_csv(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad, _is_coach = staffed_squad(request, squad_id)
    is_recent = request.GET.get("span") == "recent"
    found = board_of(squad, _since(squad, is_recent=is_recent))
    return _file(export.board_rows(found), "board.csv")


@require_GET
def next_page(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    """Skills by need, and the minutes of the next practice; the plan is in the address."""
    squad, is_coach = staffed_squad(request, squad_id)
    now = timezone.now()
    needs = _needs(request, squad)
    plan = session.session_of(
        squad, needs, now, text=request.GET.get("plan"), asked=_key(request.GET.get("practice"))
    )
    pains, open_pains = session.hurts(request.user, squad, needs.lines)
    context = {
        "squad": squad,
        "is_coach": is_coach,
        "needs": needs,
        "plan": plan,
        "pains": pains,
        "open_pains": open_pains,
        "unseen": session.unseen(squad, needs.lines, lookups.club_day(squad, now)),
        "clip_list": lookups.newest_list(request.user, squad) if is_coach else None,
        "others": lookups.other_squads(request.user, squad) if is_coach else [],
        "target": round(100 * needs.target),
        "least_tried": LEAST_TRIED,
        "least_films": LEAST_FILMS,
        "now": now,
    }
    return render(request, "progress/next.html", context)


@require_GET
def next_csv(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad, _is_coach = staffed_squad(request, squad_id)
    return _file(export.need_rows(_needs(request, squad)), "next.csv")


def _needs(request: HttpRequest, squad: Squad) -> Needs:
    return needs_of(request.user, squad, timezone.now(), _target(request.GET.get("target", "")))


def _target(text: str) -> float | None:
    """The target of the address, 0..1; None where there is none to be read."""
    if not text.isascii() or not text.isdigit() or not 0 < int(text[:4]) <= HIGHEST_TARGET:
        return None
    return int(text) / 100 if len(text) < 4 else None


def _since(squad: Squad, *, is_recent: bool) -> Any:
    return recent(squad, timezone.now()) if is_recent else squad.season.starts_on


def _key(text: str | None) -> UUID | None:
    try:
        return UUID(text or "")
    except ValueError:
        return None


def _file(body: str, name: str) -> HttpResponse:
    answer = HttpResponse(body, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
