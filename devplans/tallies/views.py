from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.film.lookups import seen_film
from devplans.film.models import Film
from devplans.people import access
from devplans.people.access import Action
from devplans.tallies import reading, services
from devplans.tallies.forms import CloseForm, StartForm, batch_from
from devplans.tallies.models import Tally, TallyMark
from devplans.tallies.roster import roster


def staff_film(request: HttpRequest, film_id: UUID) -> Film:
    """The film, for its squad's staff; 403 for others who see it."""
    film = seen_film(request, film_id)
    if not Film.objects.for_staff(request.user).contains(film):
        raise PermissionDenied
    return film


def seen_tally(request: HttpRequest, tally_id: UUID) -> Tally:
    return get_object_or_404(Tally.objects.visible_to(request.user).with_film(), pk=tally_id)


@require_GET
def film_tallies(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """What has been counted on a film, by whom, and how far the counts agree."""
    film = staff_film(request, film_id)
    rows = list(Tally.objects.visible_to(request.user).of_film(film))
    own = [row for row in rows if row.coach_id == request.user.pk]
    found = {
        "film": film,
        "rows": rows,
        "pairs": _pairs([row for row in rows if row.closed_at]),
        "is_counting": any(row.closed_at is None for row in own),
        "possessions": film.possessions.exclude(end_ms=None).count(),
        "may_coach": access.allows(request.user, Action.COACH_SQUAD, film.squad),
    }
    return render(request, "tallies/film_tallies.html", found)


def _pairs(closed: list[Tally]) -> list[tuple[Tally, Tally]]:
    """Closed tallies of two people that share a skill and a player."""
    return [
        (first, second)
        for at, first in enumerate(closed)
        for second in closed[at + 1 :]
        if first.coach_id != second.coach_id
        and set(first.skills.all()) & set(second.skills.all())
        and set(first.players.all()) & set(second.players.all())
    ]


@require_http_methods(["GET", "POST"])
def tally_start(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = staff_film(request, film_id)
    access.require(request.user, Action.COACH_SQUAD, film.squad)
    possessions = film.possessions.exclude(end_ms=None).count()
    form = StartForm(
        request.POST or None,
        user=request.user, film=film, entries=roster(film), possessions=possessions,
    )  # fmt: skip
    page: dict[str, Any] = {"film": film, "form": form}
    if request.method == "POST" and form.is_valid():
        try:
            tally = services.start_tally(actor=request.user, film=film, **form.chosen)
        except DomainError as error:
            form.add_error(error.field, str(error))
            if error.code == "tally.twice":
                chosen = form.chosen
                told = {name: chosen[name] for name in ("skills", "players", "scope")}
                page["before"] = services.counted_before(actor=request.user, film=film, **told)
        else:
            return redirect("tallies:tally", tally.pk)
    status = 422 if request.method == "POST" else 200
    return render(request, "tallies/tally_start.html", page, status=status)


@require_GET
def tally(request: HttpRequest, tally_id: UUID) -> HttpResponse:
    """One's own open count, to go on with; a closed one with its rates."""
    return tally_page(request, seen_tally(request, tally_id))


def tally_page(request: HttpRequest, found: Tally, form: CloseForm | None = None) -> HttpResponse:
    page: dict[str, Any] = {
        "tally": found,
        "film": found.film,
        "is_own": found.coach_id == request.user.pk,
        "skills": found.skills.all(),
        "form": form or CloseForm(user=request.user),
        "status": 422 if form else 200,
    }
    if found.closed_at is None:
        page |= {
            "sheet": reading.sheet(found),
            "possessions": found.possessions.count(),
            "last_ms": reading.last_ms(found),
        }
        return render(request, "tallies/tally_count.html", page, status=page["status"])
    page |= {
        "results": reading.results(found),
        "possessions": found.possessions.count(),
        "marks": reading.marks_of(found),
        "others": Tally.objects.visible_to(request.user).of_film(found.film).closed(),
    }
    return render(request, "tallies/tally_result.html", page, status=page["status"])


@require_POST
def tally_marks(request: HttpRequest, tally_id: UUID) -> HttpResponse:
    """JSON of the counting page: marks that were made or undone since it last asked."""
    found = seen_tally(request, tally_id)
    try:
        answer = services.keep_marks(actor=request.user, tally=found, **batch_from(request.body))
    except DomainError as error:
        return JsonResponse({"detail": str(error)}, status=400)
    return JsonResponse(
        {
            "kept": [str(one) for one in answer.kept],
            "refused": {str(one): why for one, why in answer.refused.items()},
            "marks": TallyMark.objects.of_tally(found).count(),
        }
    )


@require_POST
def tally_more(request: HttpRequest, tally_id: UUID) -> HttpResponse:
    return _step(request, tally_id, services.draw_more, _("Twenty more are drawn."))


@require_POST
def tally_close(request: HttpRequest, tally_id: UUID) -> HttpResponse:
    found = seen_tally(request, tally_id)
    form = CloseForm(request.POST, user=request.user)
    if form.is_valid():
        try:
            services.close_tally(actor=request.user, tally=found, sure=form.cleaned_data["sure"])
        except DomainError as error:
            form.add_error(error.field, str(error))
        else:
            messages.success(request, _("Closed: its chances are rates now."))
            return redirect("tallies:tally", found.pk)
    return tally_page(request, found, form)


@require_POST
def tally_reopen(request: HttpRequest, tally_id: UUID) -> HttpResponse:
    words = _("Open again: until you close it, its rates are gone.")
    return _step(request, tally_id, services.reopen_tally, words)


def _step(request: HttpRequest, tally_id: UUID, step: Any, words: str) -> HttpResponse:
    found = seen_tally(request, tally_id)
    try:
        step(actor=request.user, tally=found)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, words)
    return redirect("tallies:tally", found.pk)


@require_POST
def tally_delete(request: HttpRequest, tally_id: UUID) -> HttpResponse:
    found = seen_tally(request, tally_id)
    try:
        services.delete_tally(actor=request.user, tally=found)
    except DomainError as error:
        messages.error(request, str(error))
        return redirect("tallies:tally", found.pk)
    messages.success(request, _("The count is thrown away."))
    return redirect("tallies:film", found.film_id)


@require_GET
def agreement(request: HttpRequest, tally_id: UUID, other_id: UUID) -> HttpResponse:
    """How far two coaches agree on one film, and the moments at which they do not."""
    first, second = seen_tally(request, tally_id), seen_tally(request, other_id)
    is_pair = first.film_id == second.film_id and first.coach_id != second.coach_id
    if not is_pair or not (first.closed_at and second.closed_at):
        raise Http404
    found = {"film": first.film, "found": reading.compare(first, second)}
    return render(request, "tallies/agreement.html", found)
