from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.people import rosterfile, services
from devplans.people.access import Action
from devplans.people.forms import RosterConfirmForm, RosterUploadForm
from devplans.people.models import Squad
from devplans.people.views.squads import squad_for
from devplans.people.views.steps import attempt, posted


@require_GET
def roster_template(request: HttpRequest) -> HttpResponse:
    response = HttpResponse(rosterfile.TEMPLATE, content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = 'attachment; filename="roster.csv"'
    return response


@require_http_methods(["GET", "POST"])
def roster_import(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad = squad_for(request, squad_id, Action.KEEP_ROSTER)
    form = RosterUploadForm(posted(request), request.FILES or None)
    if not form.is_valid():
        return _upload_page(request, squad, form, [])
    # One byte more than allowed tells that there is more, however large the file is.
    content = form.cleaned_data["file"].read(rosterfile.MAX_BYTES + 1)
    return _preview(request, squad, rosterfile.read_roster(content))


def _upload_page(
    request: HttpRequest, squad: Squad, form: RosterUploadForm, faults: list[str]
) -> HttpResponse:
    context = {
        "squad": squad,
        "form": form,
        "faults": faults,
        "columns": rosterfile.COLUMNS,
        "most": rosterfile.MAX_ROWS,
    }
    status = 422 if form.is_bound or faults else 200
    return render(request, "people/roster_import.html", context, status=status)


def _preview(request: HttpRequest, squad: Squad, file: rosterfile.RosterFile) -> HttpResponse:
    if file.faults:
        return _upload_page(request, squad, RosterUploadForm(), file.faults)
    plan = services.plan_import(actor=request.user, squad=squad, file=file)
    form = RosterConfirmForm(initial={"text": file.text, "send_invitations": False})
    context = {"squad": squad, "plan": plan, "form": form}
    status = 422 if plan.problems else 200
    return render(request, "people/roster_preview.html", context, status=status)


@require_POST
def roster_confirm(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad = squad_for(request, squad_id, Action.KEEP_ROSTER)
    form = RosterConfirmForm(request.POST)
    if not form.is_valid():
        return _upload_page(request, squad, RosterUploadForm(), [_("Please choose a file.")])
    file = rosterfile.read_roster(form.cleaned_data["text"].encode())
    wanted = form.cleaned_data["send_invitations"]
    plan = attempt(
        form,
        services.import_roster,
        actor=request.user,
        squad=squad,
        file=file,
        send_invitations=wanted,
    )
    if plan is None:
        return _preview(request, squad, file)
    count = len(plan.rows)
    message = ngettext(
        "%(count)s player is on the roster as in the file.",
        "%(count)s players are on the roster as in the file.",
        count,
    )
    messages.success(request, message % {"count": count})
    return redirect("people:squad", squad.pk)
