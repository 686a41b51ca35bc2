"""Whose page it is, told to the phone: it keeps pages per person, and sends nothing for another."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import gettext as _

Handler = Callable[[HttpRequest], HttpResponse]
HEADER = "X-Person"


def person(get_response: Handler) -> Handler:
    """Every page says in `X-Person` who is signed in ("" for nobody), and in `X-Keep: no` that it
    says something which is true only once.

    A request that says for whom it was meant is refused with 401 where somebody else is signed in,
    or nobody: what a phone has kept for one person is never sent in the name of another.
    """

    def handle(request: HttpRequest) -> HttpResponse:
        meant = request.headers.get(HEADER)
        if meant is not None and meant != _key(request):
            words = _("Somebody else is signed in here, or nobody.")
            return JsonResponse({"detail": words}, status=401)
        response = get_response(request)
        if response.headers.get("Content-Type", "").startswith("text/html"):
            response.headers[HEADER] = _key(request)
            told = getattr(request, "_messages", None)
            if told is not None and told.used and len(told):
                response.headers["X-Keep"] = "no"
        return response

    return handle


def _key(request: HttpRequest) -> str:
    user = getattr(request, "user", None)
    return str(user.pk) if user is not None and user.is_authenticated else ""
