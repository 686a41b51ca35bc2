from uuid import UUID

from csp.decorators import csp_replace
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.http import require_GET

from devplans.core import outbox
from devplans.core.models import Message

SHOWN = 100


@require_GET
def mails(request: HttpRequest) -> HttpResponse:
    """The mails sent to the person who is signed in; in the demo only, where no mail server is."""
    if not settings.DEMO:
        raise Http404
    rows = Message.objects.sent_to(request.user)[:SHOWN]
    return render(request, "demo/mails.html", {"rows": rows, "now": timezone.now()})


@require_GET
def mail(request: HttpRequest, message_id: UUID) -> HttpResponse:
    if not settings.DEMO:
        raise Http404
    message = get_object_or_404(Message.objects.sent_to(request.user), pk=message_id)
    headers = outbox.build(message).message().items()
    return render(request, "demo/mail.html", {"message": message, "headers": headers})


@require_GET
@xframe_options_sameorigin
@csp_replace({"style-src": ["'unsafe-inline'"], "frame-ancestors": ["'self'"]})
def letter(request: HttpRequest, message_id: UUID) -> HttpResponse:
    if not settings.DEMO:
        raise Http404
    message = get_object_or_404(Message.objects.sent_to(request.user), pk=message_id)
    html = message.html.replace("<head>", '<head><base target="_top">', 1)
    return HttpResponse(html.replace(settings.PUBLIC_URL, ""))
