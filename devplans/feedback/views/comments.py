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
from devplans.film.lookups import coached_film, seen_film
from devplans.film.marks import game_clock
from devplans.film.models import Film
from devplans.people import access, lookups
from devplans.people.access import Action


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
    found = listed_comments(request, film)
    template = "_film_comments" if request.htmx else "film_comments"
    return render(request, f"feedback/{template}.html", found)


def listed_comments(request: HttpRequest, film: Film) -> dict[str, Any]:
    """The list beside the film; with `?only=` the heads are of all, and the rows of that one."""
    user = request.user
    rows = list(reading.comments_for(user).of_film(film).order_by("start_ms", "pk"))
    drafts = [one for one in rows if one.sent_at is None]
    to_send = [one for one in drafts if not one.is_handed_over_by(user)]
    given = [one for one in drafts if one.is_handed_over_by(user)]
    sent = [one for one in rows if one.sent_at is not None]
    only = request.GET.get("only")
    shown = [one for one in rows if only is None or str(one.pk) == only]
    lines = reading.with_lines(film, shown)
    game = game_clock(film)
    for one in lines:
        one.may_change = one.is_open_to(user)  # type: ignore[attr-defined]
        one.clock = game.label(one.start_ms)  # type: ignore[attr-defined]
    keys = {one.pk for one in lines}
    return {
        "film": film,
        "drafts": [one for one in to_send if one.pk in keys],
        "given": [one for one in given if one.pk in keys],
        "sent": [one for one in sent if one.pk in keys],
        "draft_count": len(to_send),
        "given_count": len(given),
        "sent_count": len(sent),
        "own": sum(one.author_id == user.pk for one in to_send),
        "other_coaches": others(film, user),
        "draft_players": len({player.pk for one in to_send for player in one.players.all()}),
        "lacking": sum(one.lacks_answer for one in to_send),
        "clock_shown": bool(game.marks),
        "marks": json.dumps(
            [{"ms": c.start_ms, "verdict": c.verdict, "id": str(c.pk)} for c in rows]
        ),
        "may_coach": access.allows(user, Action.COACH_SQUAD, film.squad),
    }


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
            added = services.add_comment(actor=request.user, film=film, **form.cleaned_data)
        except DomainError as error:
            form.refuse(error.field, str(error))
        else:
            return saved_page(request, added, _("Draft kept."))
    return form_page(request, form, status=422)


def saved_page(request: HttpRequest, saved: Comment, words: str) -> HttpResponse:
    """Back to the film; an open page gets an empty form and hears that there is news."""
    if not request.htmx:
        messages.success(request, words)
        return redirect("film:detail", saved.film_id)
    answer = form_page(request, comment_form(saved.film), saved=True)
    return trigger_client_event(answer, "film:comments", {"id": str(saved.pk)})


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
            return saved_page(request, found, words)
    return form_page(request, form, status=422)


def check_address(found: Comment) -> str:
    return reverse("feedback:check", args=[found.film_id])


def back_to(request: HttpRequest, found: Comment, comment_id: UUID) -> HttpResponse:
    """To the page that the button was on."""
    if request.POST.get("next") == "check":
        return redirect(check_address(found))
    if request.htmx:
        news = {"id": str(comment_id)}
        return trigger_client_event(HttpResponse(status=204), "film:comments", news)
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
    return back_to(request, found, comment_id)


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
