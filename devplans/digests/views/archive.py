from typing import Any
from uuid import UUID

from csp.decorators import csp_replace
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core import audit
from devplans.digests import emails, links, pictures, planning, services
from devplans.digests.forms import PreviewForm, key_of, parse_week
from devplans.digests.models import Digest
from devplans.feedback.models import Delivery
from devplans.people.access import Action
from devplans.people.models import Club
from devplans.stats import weeks

# The mail's own styles are inline; the frame that shows it may do nothing else.
letter_policy = csp_replace(
    {
        "style-src": ["'unsafe-inline'"],
        "frame-ancestors": ["'self'"],
        "sandbox": ["allow-top-navigation-by-user-activation", "allow-same-origin"],
    }
)


@require_GET
def archive(request: HttpRequest) -> HttpResponse:
    """A person's own digests; a director sees whose there are in the club."""
    rows = (
        Digest.objects.visible_to(request.user)
        .select_related("recipient", "club")
        .exclude(facts={})
    )
    label = request.GET.get("week", "")
    own = rows.filter(recipient=request.user)
    others = rows.exclude(recipient=request.user)
    shown = [
        {"digest": row, "subject": emails.subject_of(row), "link": getattr(row, "link", None)}
        for row in own.select_related("recipient", "club", "link")[:60]
    ]
    context = {"own": shown, "weeks": _weeks(others), "runs_club": _club(request) is not None}
    if label:
        year, number = parse_week(label, request.user and _any_club(request), timezone.now())
        found = others.filter(iso_year=year, iso_week=number).order_by(
            "kind", "recipient__first_name"
        )
        context |= {
            "week": label,
            "others": [{"digest": r, "subject": emails.subject_of(r)} for r in found[:500]],
        }
    return render(request, "digests/archive.html", context)


def _weeks(rows: Any) -> list[str]:
    pairs = (
        rows.order_by("-iso_year", "-iso_week").values_list("iso_year", "iso_week").distinct()[:20]
    )
    return [weeks.format_label(pair) for pair in pairs]


def _any_club(request: HttpRequest) -> Club:
    club = Club.objects.visible_to(request.user).first()
    if club is None:
        raise Http404
    return club


def _club(request: HttpRequest) -> Club | None:
    """The club that the user runs, if he runs one."""
    return Club.objects.allowing(request.user, Action.RUN_CLUB).order_by("created_at").first()


@require_GET
def page(request: HttpRequest, digest_id: UUID) -> HttpResponse:
    """One digest as it was sent, in a frame of its own."""
    digest = get_object_or_404(
        Digest.objects.visible_to(request.user).exclude(facts={}), pk=digest_id
    )
    if digest.recipient_id != request.user.pk:
        audit.record(request.user, "digests.read", digest, club_id=digest.club_id)
    letter = emails.render(digest, unsubscribe_url=links.unsubscribe_url(digest.recipient))
    context = {
        "digest": digest,
        "letter": letter,
        "link": getattr(digest, "link", None),
        "frame": reverse("digests:letter", args=[digest.pk]),
    }
    return render(request, "digests/page.html", context)


@require_POST
def end_link(request: HttpRequest, digest_id: UUID) -> HttpResponse:
    """The recipient, or a director of the club, ends the link in the mail."""
    digest = get_object_or_404(
        Digest.objects.visible_to(request.user).exclude(facts={}), pk=digest_id
    )
    services.end_link(actor=request.user, digest=digest)
    messages.success(request, _("The link has ended. The page opens after signing in."))
    return redirect("digests:page", digest.pk)


@require_GET
@xframe_options_sameorigin
@letter_policy
def letter(request: HttpRequest, digest_id: UUID) -> HttpResponse:
    digest = get_object_or_404(
        Digest.objects.visible_to(request.user).exclude(facts={}), pk=digest_id
    )
    return HttpResponse(_framed(request, digest))


def _framed(request: HttpRequest, digest: Digest) -> str:
    """The mail's HTML for a frame: links open in the page round it, inline pictures come from
    their own URLs."""
    html = emails.render(digest, unsubscribe_url=links.unsubscribe_url(digest.recipient)).html
    html = pictures.inside(html, emails.figures_in(emails.parts_of(digest)))
    html = html.replace("<head>", '<head><base target="_top">', 1)
    for part in digest.facts.get("parts", []):
        if part["picture"]:
            delivery_id = part["picture"]["cid"].removeprefix("still-")
            seen = Delivery.objects.visible_to(request.user).filter(pk=delivery_id).exists()
            still = reverse("feedback:delivery-still", args=[delivery_id]) if seen else ""
            html = html.replace(f"cid:{part['picture']['cid']}", still)
    return html


@require_GET
def preview(request: HttpRequest) -> HttpResponse:
    """Who will get a digest, and what it would say now."""
    club = _club_run_by(request)
    week = parse_week(request.GET.get("week", ""), club, timezone.now())
    squads = planning.squad_names(club)
    people = [
        {"to": one, "key": key_of(one), "squad": squads.get(one.subject, "")}
        for one in planning.addressees(club)
    ]
    people.sort(key=lambda row: (str(row["to"].recipient).casefold(), row["squad"]))
    names = dict(Digest.Kind.choices)
    groups = [(names[kind], [row for row in people if row["to"].kind == kind]) for kind in names]
    context = {
        "groups": groups,
        "week": weeks.format_label(week),
        "chosen": request.GET.get("to", ""),
    }
    form = PreviewForm(request.GET, club=club)
    if context["chosen"] and form.is_valid():
        digest = services.preview(
            actor=request.user, club=club, to=form.cleaned_data["to"], week=week
        )
        context["letter"] = emails.render(
            digest, unsubscribe_url=links.unsubscribe_url(digest.recipient)
        )
        context["recipient"] = digest.recipient
        context["frame"] = f"{reverse('digests:preview-letter')}?{request.GET.urlencode()}"
    return render(request, "digests/preview.html", context)


def _club_run_by(request: HttpRequest) -> Club:
    club = _club(request)
    if club is None:
        raise Http404
    return club


@require_GET
@xframe_options_sameorigin
@letter_policy
def preview_letter(request: HttpRequest) -> HttpResponse:
    club = _club_run_by(request)
    form = PreviewForm(request.GET, club=club)
    if not form.is_valid():
        raise Http404
    week = parse_week(request.GET.get("week", ""), club, timezone.now())
    digest = services.preview(actor=request.user, club=club, to=form.cleaned_data["to"], week=week)
    return HttpResponse(_framed(request, digest))


@csrf_exempt
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def unsubscribe(request: HttpRequest, token: str) -> HttpResponse:
    """One click (RFC 8058): a POST acts without signing in; a GET only asks, since mail scanners
    follow links."""
    user = links.addressee_of(token)
    if user is None:
        raise Http404
    if request.method == "POST":
        services.stop_digests(user=user)
    return render(
        request, "digests/unsubscribe.html", {"done": request.method == "POST", "token": token}
    )
