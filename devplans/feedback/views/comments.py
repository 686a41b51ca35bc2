import json
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import trigger_client_event

from devplans.core.errors import DomainError
from devplans.feedback import reading, services
from devplans.feedback.forms import CommentForm, PhraseForm, comment_form
from devplans.feedback.models import Comment, Phrase
from devplans.film.models import Film
from devplans.people import access, lookups
from devplans.people.access import Action


def seen_film(request: HttpRequest, film_id: UUID) -> Film:
    films = Film.objects.visible_to(request.user).select_related("squad__season__club", "event")
    return get_object_or_404(films, pk=film_id)


def coached_film(request: HttpRequest, film_id: UUID) -> Film:
    """The film, for its squad's coaches; 403 for others who see it."""
    film = seen_film(request, film_id)
    access.require(request.user, Action.COACH_SQUAD, film.squad)
    return film


def own_comment(request: HttpRequest, comment_id: UUID) -> Comment:
    """The comment, for whoever may change it; 403 for others who see it."""
    comment = get_object_or_404(reading.comments_for(request.user), pk=comment_id)
    if not comment.is_open_to(request.user):
        raise PermissionDenied
    return comment


@require_GET
def film_comments(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    if not Film.objects.for_staff(request.user).contains(film):
        raise PermissionDenied
    comments = reading.comments_for(request.user).of_film(film)
    lines = reading.with_lines(film, comments.order_by("start_ms", "pk"))
    drafts = [one for one in lines if one.sent_at is None]
    for one in lines:
        one.may_change = one.is_open_to(request.user)  # type: ignore[attr-defined]
    to_send = [one for one in drafts if not one.is_handed_over_by(request.user)]
    found = {
        "film": film,
        "drafts": to_send,
        "given": [one for one in drafts if one.is_handed_over_by(request.user)],
        "own": sum(one.author_id == request.user.pk for one in to_send),
        "other_coaches": others(film, request.user),
        "sent": [one for one in lines if one.sent_at is not None],
        "draft_players": len({player.pk for one in to_send for player in one.players.all()}),
        "lacking": sum(one.lacks_answer for one in to_send),
        "marks": json.dumps(
            [{"ms": c.start_ms, "verdict": c.verdict, "id": str(c.pk)} for c in lines]
        ),
        "may_coach": access.allows(request.user, Action.COACH_SQUAD, film.squad),
    }
    template = "_film_comments" if request.htmx else "film_comments"
    return render(request, f"feedback/{template}.html", found)


def others(film: Film, user: Any) -> list[str]:
    """The squad's other coaches, by the names that they call each other."""
    return [one.first_name for one in lookups.coaches_of(film.squad) if one.pk != user.pk]


def form_page(
    request: HttpRequest, form: CommentForm, *, status: int = 200, saved: bool = False
) -> HttpResponse:
    comment = form.comment
    found = {
        "film": form.film,
        "form": form,
        "comment": comment,
        "action": _address(form.film, comment),
        "phrases": Phrase.objects.visible_to(request.user).select_related("skill"),
        "still_ms": comment.start_ms if comment else None,
        "saved": saved,
        "next": "check" if "check" in _wished(request) else "",
        "versions": comment.versions.select_related("skill") if comment else (),
    }
    template = "_comment_form" if request.htmx else "comment_form"
    return render(request, f"feedback/{template}.html", found, status=status)


def _wished(request: HttpRequest) -> set[str | None]:
    return {request.GET.get("next"), request.POST.get("next")}


def _address(film: Film, comment: Comment | None) -> str:
    if comment is None:
        return reverse("feedback:comment-add", args=[film.pk])
    return reverse("feedback:comment", args=[comment.pk])


@require_http_methods(["GET", "POST"])
def comment_add(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = coached_film(request, film_id)
    if request.method == "GET":
        return form_page(request, comment_form(film))
    form = comment_form(film, request.POST)
    if form.is_valid():
        try:
            services.add_comment(actor=request.user, film=film, **form.cleaned_data)
        except DomainError as error:
            form.refuse(error.field, str(error))
        else:
            return saved_page(request, film, _("Draft kept."))
    return form_page(request, form, status=422)


def saved_page(request: HttpRequest, film: Film, words: str) -> HttpResponse:
    """Back to the film; an open page gets an empty form and hears that there is news."""
    if not request.htmx:
        messages.success(request, words)
        return redirect("film:detail", film.pk)
    answer = form_page(request, comment_form(film), saved=True)
    return trigger_client_event(answer, "film:comments", {})


@require_http_methods(["GET", "POST"])
def comment(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    """A draft to edit, or a sent comment to correct."""
    found = own_comment(request, comment_id)
    if request.method == "GET":
        return form_page(request, comment_form(found.film, comment=found))
    form = comment_form(found.film, request.POST, comment=found)
    if form.is_valid():
        save = services.edit_comment if found.sent_at is None else services.correct_comment
        try:
            save(actor=request.user, comment=found, **form.cleaned_data)
        except DomainError as error:
            form.refuse(error.field, str(error))
        else:
            if request.POST.get("next") == "check":
                return redirect(check_address(found))
            is_draft = found.sent_at is None
            words = (
                _("Draft changed.") if is_draft else _("Corrected: everybody reads the new words.")
            )
            return saved_page(request, found.film, words)
    return form_page(request, form, status=422)


def check_address(found: Comment) -> str:
    return reverse("feedback:check", args=[found.film_id])


def back_to(request: HttpRequest, found: Comment) -> HttpResponse:
    """To the page that the button was on."""
    if request.POST.get("next") == "check":
        return redirect(check_address(found))
    if request.htmx:
        return trigger_client_event(HttpResponse(status=204), "film:comments", {})
    return redirect("film:detail", found.film_id)


def change_comment(
    request: HttpRequest, comment_id: UUID, service: Any, words: str
) -> HttpResponse:
    """One button on a comment: do it, say so, and go back to where it was pressed."""
    found = own_comment(request, comment_id)
    try:
        service(actor=request.user, comment=found)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        if not request.htmx:
            messages.success(request, words)
    return back_to(request, found)


@require_POST
def comment_delete(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    return change_comment(request, comment_id, services.delete_draft, _("Draft deleted."))


@require_POST
def comment_take_back(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    words = _("Taken back: nobody can read it or watch it any more.")
    return change_comment(request, comment_id, services.take_back, words)


@require_POST
def comment_team_mate(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    words = _("The words now say “a team-mate”.")
    return change_comment(request, comment_id, services.write_team_mate, words)


@require_POST
def phrase_keep(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """Keep words for "Next time"; answers with the list of phrases."""
    film = coached_film(request, film_id)
    form = PhraseForm(request.POST)
    problem = ""
    if form.is_valid():
        skills = reading.skills_for(film.squad.season.club)
        named = (one for one in skills if one.name == form.cleaned_data["skill"])
        try:
            text = form.cleaned_data["do_instead"]
            services.keep_phrase(actor=request.user, text=text, skill=next(named, None))
        except DomainError as error:
            problem = str(error)
    else:
        problem = _("There are no words to keep, or too many: 200 characters at most.")
    return phrases_page(request, film, problem)


def phrases_page(request: HttpRequest, film: Film, problem: str = "") -> HttpResponse:
    if not request.htmx:
        if problem:
            messages.error(request, problem)
        return redirect("film:detail", film.pk)
    phrases = Phrase.objects.visible_to(request.user).select_related("skill")
    found = {"film": film, "phrases": phrases, "problem": problem}
    status = 422 if problem else 200
    return render(request, "feedback/_phrases.html", found, status=status)


@require_POST
def phrase_drop(request: HttpRequest, film_id: UUID, phrase_id: UUID) -> HttpResponse:
    film = coached_film(request, film_id)
    phrase = get_object_or_404(Phrase.objects.visible_to(request.user), pk=phrase_id)
    services.drop_phrase(actor=request.user, phrase=phrase)
    return phrases_page(request, film)
