from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.catalogue.models import Drill
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player, Squad
from devplans.stats import weeks
from devplans.workouts import history, log_page, services, wording
from devplans.workouts.after import reading as after
from devplans.workouts.after.weekly import MONOTONY_FLOOR
from devplans.workouts.content import MOST_MINUTES
from devplans.workouts.forms import WorkoutPage, drill_choices
from devplans.workouts.models import Workout

EARLIEST = (2000, 1)


@require_GET
def workout_list(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = _player(request, player_id)
    this_week = weeks.week_of(timezone.now(), player.club.zone)
    last = _week_asked(request, this_week)
    shown = history.weeks_of(player, last, this_week)
    page = {
        "player": player,
        "weeks": shown,
        "older": weeks.format_label(weeks.previous_week(shown[-1].week)),
        "newer": _newer(last, this_week),
        "may_log": access.allows(request.user, Action.LOG_WORKOUT, player),
        "is_own": player.user_id == request.user.pk,
        "hours": after.hours_of([player])[player.pk] if last == this_week else None,
        "may_tell": access.allows(request.user, Action.TELL_HOURS, player),
        "is_coach": access.allows(request.user, Action.COACH_PLAYER, player),
        "may_edit": access.allows(request.user, Action.KEEP_ROSTER, player),
        "floor": MONOTONY_FLOOR,
    }
    return render(request, "workouts/list.html", page)


@require_GET
def workout(request: HttpRequest, workout_id: UUID) -> HttpResponse:
    found = _workout(request, workout_id)
    page = {
        "workout": found,
        "player": found.player,
        "drills": history.by_drill(found),
        "free_shots": history.free_shots(found),
        "effort_words": dict(wording.EFFORT).get(found.effort, ""),
        "may_log": access.allows(request.user, Action.LOG_WORKOUT, found.player),
        "is_own": found.player.user_id == request.user.pk,
        "reads_words": bool(found.pain) and after.reads_words(request.user, found.player),
        "report": found.pain_answers.last() if found.pain else None,
    }
    return render(request, "workouts/workout.html", page)


@require_GET
def log(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = _player(request, player_id)
    access.require(request.user, Action.LOG_WORKOUT, player)
    page = _log_page(request, player) | {
        "scripted": [log_page.player_for_script(player)],
        "is_own": player.user_id == request.user.pk,
        "read_url": reverse("workouts:workout", args=[player.pk]),
    }
    return render(request, "workouts/log.html", page)


@require_GET
def group(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    """For a coach: several players at one basket, chosen first, then counted on one phone."""
    squads = Squad.objects.visible_to(request.user).select_related("season__club")
    squad = get_object_or_404(squads, pk=squad_id)
    access.require(request.user, Action.COACH_SQUAD, squad)
    most = log_page.MOST_KEPT if "X-Keep" in request.headers else log_page.MOST_AT_ONE_BASKET
    places = log_page.places(request.user, squad, request.GET.getlist("player"), most=most)
    players = log_page.named([place.player for place in places if place.is_chosen])
    if not players:
        page = {"squad": squad, "places": places, "most": log_page.MOST_AT_ONE_BASKET}
        return render(request, "workouts/group.html", page)
    page = _log_page(request, players[0]) | {
        "squad": squad,
        "players": players,
        "scripted": [log_page.player_for_script(one, name=one.short_name) for one in players],
        "read_url": reverse("people:squad", args=[squad.pk]),
    }
    return render(request, "workouts/log.html", page)


def _log_page(request: HttpRequest, player: Player) -> dict[str, Any]:
    """What the page says whoever is counted; `player`: any of them, they are of one club."""
    drills = _drills(player)
    families: dict[str, list[Drill]] = {}
    for drill in drills.values():
        families.setdefault(drill.skill.family, []).append(drill)
    return {
        "player": player,
        "families": families,
        "drills": {slug: wording.drill_for_script(drill) for slug, drill in drills.items()},
        "words": wording.for_script(),
        "court": log_page.court_for_script(player.club.rule_set, drills),
        "effort": wording.EFFORT,
        "rests": wording.RESTS,
        "most_minutes": MOST_MINUTES,
        "first": request.GET.get("drill", ""),
    }


@require_http_methods(["GET", "POST"])
def type_in(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """A finished workout at once, also where no script runs."""
    player = _player(request, player_id)
    access.require(request.user, Action.LOG_WORKOUT, player)
    page = WorkoutPage(_posted(request), choices=drill_choices(_drills(player).values()))
    if request.method == "POST" and page.is_valid() and not page.is_empty():
        key = _key(request)
        if kept := _put(request, page, player, key, 1):
            return redirect("workouts:workout", kept.pk)
    return _form_page(request, page, player, key=_key(request))


@require_http_methods(["GET", "POST"])
def workout_edit(request: HttpRequest, workout_id: UUID) -> HttpResponse:
    held = _workout(request, workout_id)
    access.require(request.user, Action.LOG_WORKOUT, held.player)
    drills = _drills(held.player) | {one.drill.slug: one.drill for one in held.sets.all()}
    page = WorkoutPage(_posted(request), choices=drill_choices(drills.values()), held=held)
    if request.method == "POST" and page.is_valid() and not page.is_empty():
        revision = page.form.cleaned_data["revision"] + 1
        if _put(request, page, held.player, held.pk, revision):
            return redirect("workouts:workout", held.pk)
    return _form_page(request, page, held.player, key=held.pk, held=held)


@require_POST
def workout_delete(request: HttpRequest, workout_id: UUID) -> HttpResponse:
    held = _workout(request, workout_id)
    services.delete_workout(actor=request.user, workout=held)
    messages.success(request, _("The workout is deleted."))
    return redirect("workouts:list", held.player_id)


def _player(request: HttpRequest, player_id: UUID) -> Player:
    players = Player.objects.visible_to(request.user).select_related("club")
    return get_object_or_404(players, pk=player_id)


def _workout(request: HttpRequest, workout_id: UUID) -> Workout:
    found = Workout.objects.visible_to(request.user).with_content()
    return get_object_or_404(found.select_related("player__club", "logged_by"), pk=workout_id)


def _drills(player: Player) -> dict[str, Drill]:
    """The drills that may be logged, by slug; a club's own stands in for a shipped one."""
    found = Drill.objects.for_club(player.club).in_use().select_related("skill")
    rows = sorted(
        found, key=lambda drill: (drill.club_id is not None, drill.skill.family, drill.name)
    )
    by_slug = {drill.slug: drill for drill in rows}
    return dict(sorted(by_slug.items(), key=lambda pair: (pair[1].skill.family, pair[1].name)))


def _week_asked(request: HttpRequest, this_week: weeks.Week) -> weeks.Week:
    try:
        return max(EARLIEST, min(this_week, weeks.parse_label(request.GET.get("until", ""))))
    except ValueError:
        return this_week


def _newer(last: weeks.Week, this_week: weeks.Week) -> str:
    if last == this_week:
        return ""
    later = last
    for _step in range(history.WEEKS_SHOWN):
        later = weeks.next_week(later)
    return weeks.format_label(min(later, this_week))


def _posted(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


def _key(request: HttpRequest) -> UUID:
    """The page makes the key, as a phone would: a form sent twice is one workout."""
    try:
        return UUID(request.POST.get("key", ""))
    except ValueError:
        return uuid4()


def _put(
    request: HttpRequest, page: WorkoutPage, player: Player, key: UUID, revision: int
) -> Workout | None:
    """Keep what the page says; None where something is wrong, which then stands on the page."""
    content = page.content(player.pk, key)
    try:
        kept, _outcome = services.put_workout(
            actor=request.user, player=player, workout_id=key, revision=revision, content=content
        )
    except Workout.DoesNotExist as error:
        raise Http404 from error
    except services.Unfit as error:
        page.tell(error.problems)
        return None
    except DomainError as error:
        page.form.add_error(None, str(error))
        return None
    messages.success(request, _("Saved."))
    return kept


def _form_page(
    request: HttpRequest, page: WorkoutPage, player: Player, *, key: UUID, held: Any = None
) -> HttpResponse:
    words = {"player": player, "form": page.form, "sets": page.sets, "key": key, "workout": held}
    status = 422 if page.form.is_bound else 200
    return render(request, "workouts/form.html", words, status=status)
