from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.feedback.cliplists import cutting
from devplans.feedback.cliplists.models import NOTE_LENGTH, TITLE_LENGTH, ClipList, ClipListItem
from devplans.feedback.cliplists.times import moved
from devplans.feedback.cutting import LONGEST_MS, clip_span
from devplans.feedback.models import Comment
from devplans.film.models import Film
from devplans.film.services import without_consent
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad

MOST_CLIPS = 60
SHORTEST_MS = 300
# What was taken out can be put back for so long.
KEPT_FOR = timedelta(days=1)


def _checked_title(title: str) -> str:
    title = " ".join(title.split())
    if not title:
        raise DomainError("title.empty", _("Give the list a title."), field="title")
    if len(title) > TITLE_LENGTH:
        message = _("The title may have %(count)s characters at most.") % {"count": TITLE_LENGTH}
        raise DomainError("title.long", message, field="title")
    return title


def _checked_note(note: str) -> str:
    note = " ".join(note.split())
    if len(note) > NOTE_LENGTH:
        message = _("A note may have %(count)s characters at most.") % {"count": NOTE_LENGTH}
        raise DomainError("note.long", message, field="note")
    return note


def _check_span(film: Film, start_ms: int, end_ms: int) -> None:
    if not film.is_ready or film.duration_ms is None:
        message = _("The film is not ready yet: put it on a list when it is.")
        raise DomainError("film.not_ready", message, field="film")
    if end_ms - start_ms < SHORTEST_MS:
        raise DomainError("end_ms.order", _("The end has to be after the start."), field="end_ms")
    if end_ms - start_ms > LONGEST_MS:
        message = _("A clip has 30 seconds at most: make two of it.")
        raise DomainError("end_ms.long", message, field="end_ms")
    if end_ms > film.duration_ms:
        raise DomainError("end_ms.range", _("The film ends before that."), field="end_ms")


def _hold(clip_list: ClipList) -> None:
    """Count a change. The write holds the row until the transaction ends, on every database, so
    that whoever else changes the list waits and then reads what is there."""
    rows = ClipList.objects.filter(pk=clip_list.pk)
    if not rows.update(revision=F("revision") + 1, updated_at=timezone.now()):
        raise DomainError("list.gone", _("This list has been deleted."))


def _note(actor: Any, verb: str, clip_list: ClipList, **detail: Any) -> None:
    club_id = clip_list.squad.season.club_id
    audit.record(actor, f"feedback.{verb}", clip_list, club_id=club_id, **detail)


@transaction.atomic
def add_list(*, actor: Any, squad: Squad, title: str) -> ClipList:
    """An empty clip list of a squad. Raises PermissionDenied, and DomainError "title.*"."""
    access.require(actor, Action.COACH_SQUAD, squad)
    made = ClipList.objects.create(squad=squad, title=_checked_title(title), author=actor)
    _note(actor, "list_added", made)
    return made


@transaction.atomic
def change_list(*, actor: Any, clip_list: ClipList, title: str, shows_words: bool) -> ClipList:
    """Another title, and whether the notes are shown when it is played."""
    access.require(actor, Action.COACH_SQUAD, clip_list.squad)
    clip_list.title = _checked_title(title)
    clip_list.shows_words = shows_words
    _hold(clip_list)
    clip_list.save(update_fields=["title", "shows_words", "updated_at"])
    _note(actor, "list_changed", clip_list)
    return clip_list


@transaction.atomic
def duplicate_list(*, actor: Any, clip_list: ClipList) -> ClipList:
    """A second list with the same clips and notes, open to the coaches only."""
    access.require(actor, Action.COACH_SQUAD, clip_list.squad)
    title = _("%(title)s, again") % {"title": clip_list.title}
    made = ClipList.objects.create(
        squad=clip_list.squad,
        title=title[:TITLE_LENGTH].rstrip(),
        author=actor,
        shows_words=clip_list.shows_words,
    )
    kept = ("film_id", "start_ms", "end_ms", "comment_id", "skill_id", "note")
    ClipListItem.objects.bulk_create(
        ClipListItem(
            clip_list=made,
            position=place,
            added_by=actor,
            **{name: getattr(item, name) for name in kept},
        )
        for place, item in enumerate(clip_list.items.standing().order_by("position", "pk"))
    )
    _note(actor, "list_added", made, duplicate_of=str(clip_list.pk))
    return made


@transaction.atomic
def delete_list(*, actor: Any, clip_list: ClipList) -> None:
    """Throw a list away with the files cut for it. Films and comments stay."""
    access.require(actor, Action.COACH_SQUAD, clip_list.squad)
    _note(actor, "list_deleted", clip_list)
    cutting.drop(clip_list)
    clip_list.delete()


@transaction.atomic
def open_list(*, actor: Any, clip_list: ClipList, open_to: str) -> ClipList:
    """Let the whole squad and its guardians watch a list, or its coaches only again.

    open_to: a Film.OpenTo. Its spans are cut into files of their own, since the families may watch
    these and not the films. Raises PermissionDenied, and DomainError "consent.missing", which
    names the players without a consent to be filmed.
    """
    access.require(actor, Action.COACH_SQUAD, clip_list.squad)
    if open_to == Film.OpenTo.SQUAD:
        missing = without_consent(actor=actor, squad=clip_list.squad)
        if missing:
            message = _(
                "Without a consent to be filmed: %(names)s. Ask their guardians, or a director "
                "records it from paper. Then the list can be opened to the squad."
            )
            raise DomainError("consent.missing", message % {"names": ", ".join(missing)})
    _hold(clip_list)
    clip_list.open_to = Film.OpenTo(open_to)
    clip_list.save(update_fields=["open_to", "updated_at"])
    if clip_list.is_open:
        cutting.order(clip_list)
    else:
        cutting.drop(clip_list)
    _note(actor, "list_opened", clip_list, open_to=str(open_to))
    return clip_list


def _append(actor: Any, clip_list: ClipList, items: list[ClipListItem]) -> list[ClipListItem]:
    _hold(clip_list)
    rows = clip_list.items.order_by("-position", "-pk")
    if clip_list.items.standing().count() + len(items) > MOST_CLIPS:
        message = _("A list takes %(count)s clips at most: begin another one.")
        raise DomainError("list.full", message % {"count": MOST_CLIPS})
    last = rows.values_list("position", flat=True).first()
    first_free = 0 if last is None else last + 1
    for place, item in enumerate(items, start=first_free):
        item.clip_list, item.position, item.added_by = clip_list, place, actor
        item.save(force_insert=True)
    if ClipList.objects.filter(pk=clip_list.pk, open_to=Film.OpenTo.SQUAD).exists():
        cutting.order(clip_list)
    return items


@transaction.atomic
def add_comments(
    *, actor: Any, clip_list: ClipList, comments: Iterable[Comment]
) -> list[ClipListItem]:
    """Put the clips of comments at the end of a list, in the order given: drafts or sent.

    Only their spans and skills; none of their words. Raises PermissionDenied, and DomainError
    "comment.squad", "film.not_ready" or "list.full".
    """
    access.require(actor, Action.COACH_SQUAD, clip_list.squad)
    items = []
    for comment in comments:
        film = comment.film
        if film.squad_id != clip_list.squad_id:
            message = _("That comment is on a film of another squad.")
            raise DomainError("comment.squad", message, field="comment")
        first, last = clip_span(comment.start_ms, comment.end_ms, film.duration_ms or 0)
        _check_span(film, first, last)
        items.append(
            ClipListItem(
                film=film, start_ms=first, end_ms=last, comment=comment, skill=comment.skill
            )
        )
    if not items:
        raise DomainError("comment.none", _("Choose at least one clip."), field="comment")
    return _append(actor, clip_list, items)


@transaction.atomic
def add_span(
    *, actor: Any, clip_list: ClipList, film: Film, start_ms: int, end_ms: int, note: str = ""
) -> ClipListItem:
    """Put a bare span of a film at the end of a list.

    start_ms, end_ms: from the first frame, 30 s apart at most. Raises PermissionDenied and
    DomainError.
    """
    access.require(actor, Action.COACH_SQUAD, clip_list.squad)
    if film.squad_id != clip_list.squad_id:
        message = _("That film is of another squad.")
        raise DomainError("film.squad", message, field="film")
    _check_span(film, start_ms, end_ms)
    item = ClipListItem(film=film, start_ms=start_ms, end_ms=end_ms, note=_checked_note(note))
    return _append(actor, clip_list, [item])[0]


def _held_item(actor: Any, item: ClipListItem) -> ClipListItem:
    """The item as it is now, with its list held."""
    access.require(actor, Action.COACH_SQUAD, item.clip_list.squad)
    _hold(item.clip_list)
    found = ClipListItem.objects.filter(pk=item.pk).select_related("film", "skill").first()
    if found is None:
        raise DomainError("item.gone", _("This clip is on the list no more."))
    found.clip_list = item.clip_list
    return found


@transaction.atomic
def remove_item(*, actor: Any, item: ClipListItem) -> ClipListItem:
    """Take a clip out; it can be put back for a day, at its old place."""
    access.require(actor, Action.COACH_SQUAD, item.clip_list.squad)
    found = _held_item(actor, item)
    found.removed_at = timezone.now()
    found.save(update_fields=["removed_at", "updated_at"])
    cutting.drop(item.clip_list, [found])
    item.clip_list.items.filter(removed_at__lt=timezone.now() - KEPT_FOR).delete()
    return found


@transaction.atomic
def restore_item(*, actor: Any, item: ClipListItem) -> ClipListItem:
    """Put back what was taken out."""
    access.require(actor, Action.COACH_SQUAD, item.clip_list.squad)
    found = _held_item(actor, item)
    if found.removed_at is None:
        return found
    if item.clip_list.items.standing().count() >= MOST_CLIPS:
        message = _("A list takes %(count)s clips at most: take another one out first.")
        raise DomainError("list.full", message % {"count": MOST_CLIPS})
    found.removed_at = None
    found.save(update_fields=["removed_at", "updated_at"])
    if item.clip_list.is_open:
        cutting.order(item.clip_list)
    return found


@transaction.atomic
def move_item(*, actor: Any, item: ClipListItem, after: UUID | None) -> UUID | None:
    """Put a clip directly behind `after`, or first; answers with whom it stood behind before.

    `after` may have been taken out meanwhile: it keeps its place. Raises DomainError "after.gone".
    """
    access.require(actor, Action.COACH_SQUAD, item.clip_list.squad)
    _held_item(actor, item)
    rows = list(item.clip_list.items.order_by("position", "pk"))
    order = [row.pk for row in rows]
    place = order.index(item.pk)
    before = order[place - 1] if place else None
    try:
        new = moved(order, item.pk, after)
    except ValueError:
        message = _("The list has changed meanwhile: look at it again.")
        raise DomainError("after.gone", message) from None
    positions = {key: position for position, key in enumerate(new)}
    changed = [row for row in rows if row.position != positions[row.pk]]
    for row in changed:
        row.position = positions[row.pk]
    ClipListItem.objects.bulk_update(changed, ["position"])
    return before


@transaction.atomic
def step_item(*, actor: Any, item: ClipListItem, by: int) -> UUID | None:
    """Move a clip up (-1) or down (+1) past its neighbour; as `move_item`."""
    access.require(actor, Action.COACH_SQUAD, item.clip_list.squad)
    _held_item(actor, item)
    rows = item.clip_list.items.standing().order_by("position", "pk")
    order = list(rows.values_list("pk", flat=True))
    if item.pk not in order:
        raise DomainError("item.gone", _("This clip is on the list no more."))
    rest = [key for key in order if key != item.pk]
    place = min(len(rest), max(0, order.index(item.pk) + (1 if by > 0 else -1)))
    after = rest[place - 1] if place else None
    return move_item(actor=actor, item=item, after=after)


@transaction.atomic
def change_item(
    *, actor: Any, item: ClipListItem, note: str, start_ms: int, end_ms: int
) -> ClipListItem:
    """Another note for the team, another span of the film. Raises PermissionDenied, DomainError."""
    access.require(actor, Action.COACH_SQUAD, item.clip_list.squad)
    found = _held_item(actor, item)
    found.note = _checked_note(note)
    if (start_ms, end_ms) != (found.start_ms, found.end_ms):
        if found.film is None:
            raise DomainError("film.gone", _("The film has been deleted."), field="start_ms")
        _check_span(found.film, start_ms, end_ms)
        found.start_ms, found.end_ms = start_ms, end_ms
    found.save(update_fields=["note", "start_ms", "end_ms", "updated_at"])
    if item.clip_list.is_open:
        cutting.order(item.clip_list)
    return found
