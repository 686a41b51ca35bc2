from copy import copy
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.people import lookups, roster, services
from devplans.people.forms import ClubForm, InviteStaffForm
from devplans.people.models import Membership
from devplans.people.views.steps import attempt, club_to_run, form_page, posted, told


@require_http_methods(["GET", "POST"])
def club(request: HttpRequest) -> HttpResponse:
    club = club_to_run(request)
    # The form checks shapes on a copy: the service compares with what is stored.
    form = ClubForm(posted(request), instance=copy(club))
    if form.is_valid() and attempt(
        form, services.change_club, actor=request.user, club=club, **form.cleaned_data
    ):
        messages.success(request, _("Saved."))
        return redirect("people:club")
    status = 422 if form.is_bound else 200
    return render(request, "people/club.html", {"club": club, "form": form}, status=status)


@require_GET
def staff(request: HttpRequest) -> HttpResponse:
    club = club_to_run(request)
    invitations = roster.invitations_to_staff(request.user, club)
    context = {"club": club, "members": lookups.staff_of(club), "invitations": invitations}
    return render(request, "people/staff.html", context)


@require_http_methods(["GET", "POST"])
def invite_staff(request: HttpRequest) -> HttpResponse:
    club = club_to_run(request)
    form = InviteStaffForm(posted(request))
    if form.is_valid() and attempt(
        form, services.invite, actor=request.user, club=club, **form.cleaned_data
    ):
        return redirect("people:staff")
    return form_page(
        request,
        form,
        title=_("Invite a director or welfare officer"),
        action=_("Send the invitation"),
        back=reverse("people:staff"),
        lead=_("Coaches are invited from the page of their squad."),
    )


@require_POST
def membership_end(request: HttpRequest, membership_id: UUID) -> HttpResponse:
    rows = Membership.objects.visible_to(request.user).current().select_related("club", "user")
    row = get_object_or_404(rows, pk=membership_id)
    told(
        request,
        services.end_membership,
        _("The role of %(name)s has ended.") % {"name": row.user.full_name},
        actor=request.user,
        membership=row,
    )
    return redirect("people:staff")
