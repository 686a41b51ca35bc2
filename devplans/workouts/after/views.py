from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player, Squad
from devplans.stats import hours, weeks
from devplans.workouts import wording
from devplans.workouts.after import effort, reading, services
from devplans.workouts.after.forms import EffortForm, ElsewhereForm, PainAnswerForm, initial_of
from devplans.workouts.after.weekly import Elsewhere
from devplans.workouts.models import OtherHours, PainAnswer, Workout

# Nobody can tell hours of longer ago.
REMEMBERED = timedelta(weeks=52)


@require_GET
def pain(request: HttpRequest, pain_id: UUID) -> HttpResponse:
    """What hurts, what was answered, and the place to answer it."""
    found = _pain(request, pain_id)
    report = found.report
    if not PainAnswer.objects.near(request.user).filter(pk=report.pk).exists():
        audit.record(
            request.user,
            "workouts.pain_read",
            report,
            club_id=report.player.club_id,
            player_id=report.player_id,
        )
    return _pain_page(request, found, _answer_form(report))


@require_POST
def pain_answer(request: HttpRequest, pain_id: UUID) -> HttpResponse:
    found = _pain(request, pain_id)
    form = PainAnswerForm(request.POST)
    if not form.is_valid() and found.may_answer:
        return _pain_page(request, found, form)
    try:
        services.answer_pain(
            actor=request.user,
            report=found.report,
            answer=form.cleaned_data.get("answer", ""),
            note=form.cleaned_data.get("note", ""),
            seen=form.cleaned_data.get("seen"),
        )
    except DomainError as error:
        form.add_error(error.field, str(error))
        return _pain_page(request, _pain(request, pain_id), form)
    messages.success(request, _("Thank you. The coach is told that there is an answer to read."))
    return redirect("workouts:pain", pain_id)


@require_GET
def before_practice(request: HttpRequest) -> HttpResponse:
    """For the coach's calendar, as a fragment: whom something hurts before the next practice."""
    squads = Squad.objects.visible_to(request.user)
    squad_id = None
    if asked := request.GET.get("squad", ""):
        squad_id = get_object_or_404(squads, pk=_uuid(asked)).pk
    page = {"pains": reading.before_practice(request.user, squad_id)}
    return render(request, "workouts/_before_practice.html", page)


@require_GET
def for_office(request: HttpRequest) -> HttpResponse:
    """For the pages of a welfare officer or director, as a fragment: what he answers himself."""
    page = {"pains": reading.for_office(request.user)}
    return render(request, "workouts/_for_office.html", page)


@require_http_methods(["GET", "POST"])
def elsewhere(request: HttpRequest, player_id: UUID, week: str) -> HttpResponse:
    """One week's training with other teams and in other sports: told, corrected, or skipped."""
    players = Player.objects.visible_to(request.user).select_related("club")
    player = get_object_or_404(players, pk=player_id)
    access.require(request.user, Action.TELL_HOURS, player)
    asked = _week(week, player)
    form = ElsewhereForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and _told(request, form, player, asked):
        return redirect(_way_back(request, player))
    row = OtherHours.objects.of_weeks([player], [asked]).first()
    if not form.is_bound:
        form = ElsewhereForm(initial=initial_of(row))
    page = {
        "player": player,
        "form": form,
        "row": row,
        "label": week,
        "first": weeks.monday(*asked),
        "last": weeks.monday(*asked) + timedelta(days=6),
        "before": _week_before(asked, player),
        "is_own": player.user_id == request.user.pk,
        "way_back": _way_back(request, player),
    }
    return render(request, "workouts/elsewhere.html", page, status=422 if form.errors else 200)


def _week_before(asked: weeks.Week, player: Player) -> str:
    """The label of the week before; "" where that is more than a year ago."""
    before = weeks.previous_week(asked)
    earliest = weeks.week_of(timezone.now() - REMEMBERED, player.club.zone)
    return weeks.format_label(before) if before >= earliest else ""


@require_http_methods(["GET", "POST"])
def how_hard(request: HttpRequest, workout_id: UUID) -> HttpResponse:
    """How hard a workout was that a coach counted, and whether anything hurts."""
    found = Workout.objects.visible_to(request.user).select_related("player__club", "logged_by")
    held = get_object_or_404(found, pk=workout_id)
    access.require(request.user, Action.TELL_HOURS, held.player)
    form = EffortForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and _felt(request, form, held):
        return redirect(_way_back(request, held.player))
    page = {
        "workout": held,
        "player": held.player,
        "form": form,
        "effort": wording.EFFORT,
        "is_own": held.player.user_id == request.user.pk,
        "way_back": _way_back(request, held.player),
    }
    return render(request, "workouts/how_hard.html", page, status=422 if form.errors else 200)


def _felt(request: HttpRequest, form: EffortForm, workout: Workout) -> bool:
    if not form.is_valid():
        return False
    try:
        effort.answer_effort(actor=request.user, workout=workout, **form.cleaned_data)
    except DomainError as error:
        form.add_error(error.field, str(error))
        return False
    words = dict(wording.EFFORT)[form.cleaned_data["effort"]]
    messages.success(
        request,
        _("Noted: %(number)s, %(words)s. You can correct it in the workout.")
        % {"number": form.cleaned_data["effort"], "words": words},
    )
    return True


@require_GET
def squad_hours(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    """The hours that we know of, for every player of a squad, by name."""
    squads = Squad.objects.visible_to(request.user).select_related("season__club")
    squad = get_object_or_404(squads, pk=squad_id)
    access.require(request.user, Action.COACH_SQUAD, squad)
    players = list(Player.objects.in_squad(squad).select_related("club"))
    found = reading.hours_of(players)
    rows = [found[player.pk] for player in players]
    page = {
        "squad": squad,
        "rows": rows,
        "any_past": any(row.against_last.is_noted for row in rows),
        "source": hours.SOURCE,
    }
    return render(request, "workouts/squad_hours.html", page)


def _pain(request: HttpRequest, pain_id: UUID) -> reading.Pain:
    try:
        return reading.pain_for(request.user, pain_id)
    except PainAnswer.DoesNotExist as error:
        raise Http404 from error


def _answer_form(report: PainAnswer) -> PainAnswerForm:
    seen = report.answered_at.isoformat() if report.answered_at else ""
    return PainAnswerForm(initial={"answer": report.answer, "note": report.note, "seen": seen})


def _pain_page(request: HttpRequest, found: reading.Pain, form: PainAnswerForm) -> HttpResponse:
    report, player = found.report, found.report.player
    page = {
        "pain": found,
        "report": report,
        "player": player,
        "form": form,
        "is_own": player.user_id == request.user.pk,
        "is_coach": access.allows(request.user, Action.COACH_PLAYER, player),
        "stands_in": found.may_answer
        and player.user_id != request.user.pk
        and not PainAnswer.objects.of_family(request.user).filter(pk=report.pk).exists(),
    }
    return render(request, "workouts/pain.html", page, status=422 if form.errors else 200)


def _told(request: HttpRequest, form: ElsewhereForm, player: Player, week: weeks.Week) -> bool:
    does = request.POST.get("do", "")
    told: Elsewhere | None = Elsewhere() if does == "none" else None
    if does not in {"none", "skip"}:
        if not form.is_valid():
            return False
        told = form.elsewhere()
    try:
        services.tell_hours(actor=request.user, player=player, week=week, elsewhere=told)
    except DomainError as error:
        form.add_error(error.field, str(error))
        return False
    messages.success(
        request, _("Skipped for this week.") if told is None else _("Noted. You can change it.")
    )
    return True


def _week(label: str, player: Player) -> weeks.Week:
    """The week of the address; a week that does not exist, or has not begun, is none."""
    try:
        week = weeks.parse_label(label)
    except ValueError as error:
        raise Http404 from error
    if not (2000, 1) <= week <= weeks.week_of(timezone.now(), player.club.zone):
        raise Http404
    return week


def _way_back(request: HttpRequest, player: Player) -> str:
    """Where the question was asked; the player's workouts unless it was a page of ours."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(asked, {request.get_host()}, request.is_secure()):
        return asked
    return reverse("workouts:list", args=[player.pk])


def _uuid(text: str) -> Any:
    try:
        return UUID(text)
    except ValueError as error:
        raise Http404 from error
