from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from devplans.feedback import reading
from devplans.film.lookups import coached_film
from devplans.people.models import Player


@require_GET
def last_words(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """What was last said to `?player=` on `?skill=`, a name or a slug, for the comment form."""
    film = coached_film(request, film_id)
    try:
        key = UUID(request.GET.get("player", ""))
    except ValueError:
        raise Http404 from None
    player = get_object_or_404(Player.objects.visible_to(request.user), pk=key)
    skill = reading.skill_named(film.squad.season.club, request.GET.get("skill", ""))
    found = {
        "player": player,
        "skill": skill,
        "comments": reading.last_said(request.user, player, skill) if skill else [],
    }
    return render(request, "feedback/_last_words.html", found)
