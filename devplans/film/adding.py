"""What every way of getting a film in shares: its title, its date, its turn to be prepared."""

from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.film.models import Film
from devplans.people.models import Squad
from devplans.schedule.models import Event


def checked_title(title: str) -> str:
    """The title as it is kept; raises DomainError "title.empty" or "title.long"."""
    title = " ".join(title.split())
    if not title:
        raise DomainError("title.empty", _("Give the film a title."), field="title")
    most = Film._meta.get_field("title").max_length or 0
    if len(title) > most:
        message = _("The title may have %(count)s characters at most.") % {"count": most}
        raise DomainError("title.long", message, field="title")
    return title


def require_event_of(squad: Squad, event: Event | None) -> None:
    """Raise DomainError "event.squad" for another squad's date."""
    if event is not None and event.squad_id != squad.pk:
        raise DomainError("event.squad", _("That date belongs to another squad."), field="event")


def queue(film: Film) -> None:
    """Have a waiting film prepared, once the transaction is through."""
    from devplans.film import tasks

    tasks.prepare.delay_on_commit(str(film.pk))
