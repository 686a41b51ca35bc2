from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_safe

from portal.pwa import icons, keeping, shell

A_DAY = "public, max-age=86400"


@login_not_required
@require_safe
def worker(_request: HttpRequest) -> HttpResponse:
    """At the root, as it looks after every page."""
    headers = {"Cache-Control": "no-cache"}
    return HttpResponse(shell.worker(), content_type="text/javascript", headers=headers)


@login_not_required
@require_safe
def manifest(_request: HttpRequest) -> HttpResponse:
    pictures = [
        {"src": reverse("pwa:icon", args=[size]), "sizes": f"{size}x{size}", "type": "image/png"}
        for size in icons.SIZES
    ]
    told = {
        "id": "/",
        "name": _("Player development"),
        "short_name": _("Development"),
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#FAF6EC",
        "theme_color": "#FAF6EC",
        "icons": [
            *({**one, "purpose": "any"} for one in pictures),
            {**pictures[-1], "purpose": "maskable"},
        ],
    }
    kind = "application/manifest+json"
    return JsonResponse(told, content_type=kind, headers={"Cache-Control": A_DAY})


@login_not_required
@require_safe
def icon(_request: HttpRequest, size: int) -> HttpResponse:
    try:
        picture = icons.png(size)
    except ValueError as error:
        raise Http404 from error
    return HttpResponse(picture, content_type="image/png", headers={"Cache-Control": A_DAY})


@login_not_required
@require_safe
def offline(request: HttpRequest) -> HttpResponse:
    """What stands in for a page that the phone has not kept. Fetched without a session."""
    return render(request, "offline.html")


@require_GET
def keep(request: HttpRequest) -> JsonResponse:
    """What this person's phone fetches ahead."""
    return JsonResponse(keeping.for_phone(request.user))
