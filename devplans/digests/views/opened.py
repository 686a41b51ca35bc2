"""The page behind the link in a mail: read without signing in, and by a GET nothing changes."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from csp.decorators import csp_replace
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST, require_safe

from devplans.core.errors import DomainError
from devplans.digests import emails, opening, services
from devplans.digests.models import DigestLink
from devplans.people import guesses

View = Callable[..., HttpResponse]

# The mail's own styles are inline; nothing is loaded from anywhere.
page_policy = csp_replace(
    {
        "script-src": ["'none'"],
        "style-src": ["'unsafe-inline'"],
        "img-src": ["data:"],
        "connect-src": ["'none'"],
    }
)


def told_to_nobody(view: View) -> View:
    """No search engine, no cache and no further page hears of the address."""

    @wraps(view)
    def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        answer = view(request, *args, **kwargs)
        answer["X-Robots-Tag"] = "noindex, nofollow, noarchive"
        answer["Cache-Control"] = "no-store, private"
        answer["Referrer-Policy"] = "no-referrer"
        return answer

    return answered


def _looked_up(request: HttpRequest, token: str) -> DigestLink | HttpResponse:
    """The link, or the page that says why it opens nothing and leads to sign-in."""
    if not guesses.may_try(request):
        reason = _("Those were many wrong addresses. Wait five minutes, or sign in.")
        return _closed(request, reason, status=429)
    try:
        return opening.look_up(token)
    except DomainError as error:
        is_unknown = error.code == "link.unknown"
        if is_unknown:
            guesses.count_wrong(request)
        return _closed(request, str(error), status=404 if is_unknown else 410)


def _closed(request: HttpRequest, reason: str, *, status: int = 200) -> HttpResponse:
    return render(request, "digests/closed.html", {"reason": reason}, status=status)


@login_not_required
@require_safe
@told_to_nobody
def page(request: HttpRequest, token: str) -> HttpResponse:
    """One digest as it was sent, without any picture of a child."""
    found = _looked_up(request, token)
    if isinstance(found, HttpResponse):
        return found
    return _shown(request, found, token)


@page_policy
def _shown(request: HttpRequest, link: DigestLink, token: str) -> HttpResponse:
    return HttpResponse(emails.page_behind(link, secret=token))


@csrf_exempt
@login_not_required
@require_POST
@told_to_nobody
def end(request: HttpRequest, token: str) -> HttpResponse:
    """End the link. The secret in the address is the right to do so, so no further token is
    asked for; a page without a referrer could not send one."""
    found = _looked_up(request, token)
    if isinstance(found, HttpResponse):
        return found
    services.close_link(link=found)
    return _closed(request, _("The link has ended. Nobody can open the page with it any more."))
