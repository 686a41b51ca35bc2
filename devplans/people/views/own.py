from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from devplans.people import lookups, roster, services
from devplans.people.forms import NameForm
from devplans.people.views.steps import attempt, posted

# Kinds of mail that a person may do without; invitations and codes are asked for.
MAIL_KINDS = [
    ("notice", gettext_lazy("When there is something new from film")),
    ("reply", gettext_lazy("When somebody answers in a thread")),
    ("question", gettext_lazy("When a player or guardian asks a question")),
    ("digest", gettext_lazy("The weekly digest")),
]


@require_http_methods(["GET", "POST"])
def me(request: HttpRequest) -> HttpResponse:
    user = request.user
    given = {"first_name": user.first_name, "last_name": user.last_name}
    form = NameForm(posted(request), initial=given)
    if form.is_valid() and attempt(form, services.change_name, actor=user, **form.cleaned_data):
        messages.success(request, _("Saved."))
        return redirect("people:me")
    context = {
        "form": form,
        "roles": lookups.held_roles(user),
        "players": roster.played_by(user),
        "children": lookups.players_behind(user),
        "mails": [(kind, label, lookups.wants_mail(user, kind)) for kind, label in MAIL_KINDS],
        "has_second_factor": lookups.has_second_factor(user),
    }
    return render(request, "people/me.html", context, status=422 if form.is_bound else 200)


@require_POST
def mail_choices(request: HttpRequest) -> HttpResponse:
    wanted = set(request.POST.getlist("mails"))
    for kind, _label in MAIL_KINDS:
        change = services.resume_mails if kind in wanted else services.stop_mails
        change(user=request.user, kind=kind)
    messages.success(request, _("Saved."))
    return redirect("people:me")
