from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.core.mail import queue_message
from devplans.core.models import Message
from devplans.digests import emails, facts, links, planning
from devplans.digests.models import Digest
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Club, User
from devplans.people.services.accounts import stop_mails
from devplans.stats import weeks


def plan_due(*, now: datetime) -> int:
    """Plan every digest that is due in any club; the number of those that have no mail yet.

    Safe to run late, twice, or at once.
    """
    made = 0
    for club in Club.objects.order_by("created_at"):
        for week in planning.due_weeks(club, now):
            made += len(plan_week(club=club, week=week))
    return made


def plan_week(*, club: Club, week: weeks.Week) -> list[UUID]:
    """Write the rows of one club's week that are not there yet; ring for each without a mail."""
    from devplans.digests import tasks

    year, number = week
    rows = [
        Digest(
            club=club,
            recipient=to.recipient,
            kind=to.kind,
            subject=to.subject,
            iso_year=year,
            iso_week=number,
        )
        for to in planning.addressees(club)
    ]
    Digest.objects.bulk_create(rows, ignore_conflicts=True)
    waiting = Digest.objects.filter(club=club, iso_year=year, iso_week=number, message=None)
    open_ids = list(waiting.values_list("pk", flat=True))
    for digest_id in open_ids:
        tasks.build.delay_on_commit(str(digest_id))
    return open_ids


@transaction.atomic
def build_digest(*, digest_id: UUID) -> bool:
    """Collect the facts of one digest, keep them, and put its mail into the outbox; True if this
    call did."""
    digest = (
        Digest.objects.select_for_update().select_related("club", "recipient").get(pk=digest_id)
    )
    if digest.message_id is not None:
        return False
    digest.facts = facts.collect(digest)
    letter = emails.render(digest, unsubscribe_url=links.unsubscribe_url(digest.recipient))
    digest.message = queue_message(
        key=links.key_of(digest),
        kind=planning.MAIL_KIND,
        address=digest.recipient.email,
        recipient=digest.recipient,
        subject=letter.subject,
        text=letter.text,
        html=letter.html,
        headers=links.headers(digest.recipient),
        inline=letter.inline,
        club_id=digest.club_id,
        player_id=letter.player_id,
    )
    digest.save(update_fields=["facts", "message", "updated_at"])
    return True


@transaction.atomic
def stop_digests(*, user: User) -> None:
    """No digest for this person any more, the ones that wait in the outbox neither. Other mails
    still come."""
    stop_mails(user=user, kind=planning.MAIL_KIND)
    waiting = Message.objects.filter(
        recipient=user, kind=planning.MAIL_KIND, state=Message.State.PENDING
    )
    waiting.update(state=Message.State.WITHDRAWN, updated_at=timezone.now())


def preview(*, actor: User, club: Club, to: planning.Addressee, week: weeks.Week) -> Digest:
    """The digest that somebody would get for `week` if it went out now, not saved. Directors only;
    nothing is
    written but the audit line. Raises DomainError "digest.addressee"."""
    access.require(actor, Action.RUN_CLUB, club)
    if to not in planning.addressees(club):
        raise DomainError("digest.addressee", _("This person gets no such digest."))
    digest = facts.draft(club=club, to=to, week=week)
    audit.record(actor, "digests.previewed", digest, club_id=club.pk, kind=to.kind)
    return digest
