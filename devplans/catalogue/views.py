from collections.abc import Callable
from itertools import groupby
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import Prefetch
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.catalogue import services
from devplans.catalogue.forms import DrillForm, SkillForm
from devplans.catalogue.models import Drill, Skill
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Club

DRILL_FIELDS = [
    "name", "skill", "counts", "sides", "default_sets", "default_per_set", "minutes",
    "players_needed", "needs", "how",
]  # fmt: skip


@require_GET
def catalogue_list(request: HttpRequest) -> HttpResponse:
    """Skills by family, each with its cues and drills; for everybody who is signed in."""
    asked = request.GET.get("q", "").strip()[:80]
    drills = Drill.objects.visible_to(request.user).in_use().select_related("club")
    skills = Skill.objects.visible_to(request.user).in_use().matching(asked, drills)
    skills = skills.select_related("club").prefetch_related(
        Prefetch("drills", drills, to_attr="shown_drills")
    )
    keeping = Club.objects.allowing(request.user, Action.KEEP_CATALOGUE).order_by("name")
    families = [(name, list(rows)) for name, rows in groupby(skills, key=lambda row: row.family)]
    page = {
        "families": families,
        "asked": asked,
        "keeping": keeping,
        "kept": {club.pk for club in keeping},
        "retired_skills": Skill.objects.retired_of(keeping),
        "retired_drills": Drill.objects.retired_of(keeping),
    }
    return render(request, "catalogue/catalogue_list.html", page)


def _saved(form: Form, write: Callable[..., Any], **fixed: Any) -> Any:
    """What `write` returns, or None with the reasons on the form."""
    if not form.is_valid():
        return None
    try:
        return write(**fixed, **form.cleaned_data)
    except DomainError as error:
        form.add_error(error.field, str(error))
        return None


def _back_to(row: Skill | Drill) -> HttpResponse:
    slug = row.slug if isinstance(row, Skill) else row.skill.slug
    return redirect(f"{reverse('catalogue:list')}#{slug}")


def _keepable_club(request: HttpRequest, club_id: UUID) -> Club:
    club: Club = get_object_or_404(Club.objects.visible_to(request.user), pk=club_id)
    access.require(request.user, Action.KEEP_CATALOGUE, club)
    return club


def _keepable_skill(request: HttpRequest, skill_id: UUID) -> Skill:
    skill: Skill = get_object_or_404(Skill.objects.visible_to(request.user), pk=skill_id)
    services.require_keeper(actor=request.user, row=skill)
    return skill


def _keepable_drill(request: HttpRequest, drill_id: UUID) -> Drill:
    rows = Drill.objects.visible_to(request.user).select_related("skill")
    drill: Drill = get_object_or_404(rows, pk=drill_id)
    services.require_keeper(actor=request.user, row=drill)
    return drill


@require_http_methods(["GET", "POST"])
def skill_add(request: HttpRequest, club_id: UUID) -> HttpResponse:
    club = _keepable_club(request, club_id)
    form = SkillForm(request.POST or None, user=request.user)
    if request.method == "POST" and (
        skill := _saved(form, services.add_skill, actor=request.user, club=club)
    ):
        messages.success(request, _("Added: %(name)s.") % {"name": skill.name})
        return _back_to(skill)
    return _skill_page(request, form, club=club)


@require_http_methods(["GET", "POST"])
def skill_edit(request: HttpRequest, skill_id: UUID) -> HttpResponse:
    skill = _keepable_skill(request, skill_id)
    initial = {name: getattr(skill, name) for name in ("name", "family", "opportunity")}
    initial["cues"] = "\n".join(skill.cues)
    form = SkillForm(request.POST or None, initial=initial, user=request.user)
    if request.method == "POST" and _saved(
        form, services.change_skill, actor=request.user, skill=skill
    ):
        messages.success(request, _("Saved."))
        return _back_to(skill)
    return _skill_page(request, form, club=skill.club, skill=skill)


def _skill_page(request: HttpRequest, form: SkillForm, **page: Any) -> HttpResponse:
    page["families"] = Skill.objects.visible_to(request.user).families()
    status = 422 if form.errors else 200
    return render(request, "catalogue/skill_form.html", {"form": form, **page}, status=status)


@require_http_methods(["GET", "POST"])
def drill_add(request: HttpRequest, club_id: UUID) -> HttpResponse:
    club = _keepable_club(request, club_id)
    initial = {"skill": _asked_skill(request)}
    form = DrillForm(request.POST or None, initial=initial, user=request.user, club=club)
    if request.method == "POST" and (
        drill := _saved(form, services.add_drill, actor=request.user, club=club)
    ):
        messages.success(request, _("Added: %(name)s.") % {"name": drill.name})
        return _back_to(drill)
    return _drill_page(request, form, club=club)


def _asked_skill(request: HttpRequest) -> UUID | None:
    """The skill whose "add a drill" link was followed."""
    slug = request.GET.get("skill", "")
    return Skill.objects.visible_to(request.user).in_use().pk_of(slug)


@require_http_methods(["GET", "POST"])
def drill_edit(request: HttpRequest, drill_id: UUID) -> HttpResponse:
    drill = _keepable_drill(request, drill_id)
    initial = {name: getattr(drill, name) for name in DRILL_FIELDS} | {"skill": drill.skill_id}
    form = DrillForm(request.POST or None, initial=initial, user=request.user, club=drill.club)
    if request.method == "POST" and _saved(
        form, services.change_drill, actor=request.user, drill=drill
    ):
        messages.success(request, _("Saved."))
        return _back_to(drill)
    return _drill_page(request, form, club=drill.club, drill=drill)


def _drill_page(request: HttpRequest, form: DrillForm, **page: Any) -> HttpResponse:
    status = 422 if form.errors else 200
    return render(request, "catalogue/drill_form.html", {"form": form, **page}, status=status)


def _told(request: HttpRequest, done: str, write: Callable[..., Any], **rows: Any) -> HttpResponse:
    try:
        write(actor=request.user, **rows)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, done)
    return redirect("catalogue:list")


@require_POST
def skill_retire(request: HttpRequest, skill_id: UUID) -> HttpResponse:
    skill = _keepable_skill(request, skill_id)
    done = _("Retired: %(name)s. Earlier comments keep it.") % {"name": skill.name}
    return _told(request, done, services.retire_skill, skill=skill)


@require_POST
def skill_restore(request: HttpRequest, skill_id: UUID) -> HttpResponse:
    skill = _keepable_skill(request, skill_id)
    done = _("In use again: %(name)s.") % {"name": skill.name}
    return _told(request, done, services.restore_skill, skill=skill)


@require_POST
def drill_retire(request: HttpRequest, drill_id: UUID) -> HttpResponse:
    drill = _keepable_drill(request, drill_id)
    done = _("Retired: %(name)s. What was logged with it stays.") % {"name": drill.name}
    return _told(request, done, services.retire_drill, drill=drill)


@require_POST
def drill_restore(request: HttpRequest, drill_id: UUID) -> HttpResponse:
    drill = _keepable_drill(request, drill_id)
    done = _("In use again: %(name)s.") % {"name": drill.name}
    return _told(request, done, services.restore_drill, drill=drill)
