from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.core.mail import queue_message
from devplans.core.models import Message
from devplans.digests import emails, facts, links, opening, pictures, planning
from devplans.digests.models import LINK_LIFE, Digest, DigestLink
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Club, User
from devplans.people.services.accounts import stop_mails
from devplans.stats import weeks

FORGOTTEN_AT_ONCE = 500


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
    call did. Who has left since it was planned gets none: its row goes."""
    rows = Digest.objects.select_for_update().select_related("club", "recipient")
    digest = rows.filter(pk=digest_id).first()
    if digest is None or digest.message_id is not None:
        return False
    if not planning.is_addressee(digest):
        digest.delete()
        return False
    digest.facts = facts.collect(digest)
    secret = opening.new_secret()
    link = DigestLink(
        digest=digest,
        token_hash=opening.hash_of(secret),
        expires_at=timezone.now() + LINK_LIFE,
    )
    letter = emails.render(
        digest, unsubscribe_url=links.unsubscribe_url(digest.recipient), link=link, secret=secret
    )
    pictures.keep(digest, letter.figures)
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
    link.save()
    return True


@transaction.atomic
def end_link(*, actor: User, digest: Digest) -> bool:
    """End the link in a digest's mail: its recipient, or who runs the club. False where none is
    open."""
    if digest.recipient_id != actor.pk:
        access.require(actor, Action.RUN_CLUB, digest.club)
    ended = _end(digest, by=actor)
    if ended:
        audit.record(actor, "digests.link_ended", digest, club_id=digest.club_id)
    return ended


def close_link(*, link: DigestLink) -> bool:
    """End a link from the page that it opens: whoever holds the secret may."""
    return _end(link.digest, by=None)


def _end(digest: Digest, *, by: User | None) -> bool:
    open_ones = DigestLink.objects.filter(digest=digest, revoked_at=None)
    now = timezone.now()
    return bool(open_ones.update(revoked_at=now, revoked_by=by, updated_at=now))


def forget_links() -> int:
    """Take the secrets and the files of the charts out of the mails that are sent; the number of
    mails. Runs with the tick."""
    found = DigestLink.objects.told_of_in_old_mails().select_related("digest__message")
    links_ = list(found[:FORGOTTEN_AT_ONCE])
    for link in links_:
        _forget(link)
    return len(links_)


@transaction.atomic
def _forget(link: DigestLink) -> None:
    message = link.digest.message
    message.text = opening.without_secret(message.text, link.digest)
    message.html = opening.without_secret(message.html, link.digest)
    message.inline = pictures.drop(message.inline)
    message.save(update_fields=["text", "html", "inline", "updated_at"])
    link.is_in_outbox = False
    link.save(update_fields=["is_in_outbox", "updated_at"])


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
