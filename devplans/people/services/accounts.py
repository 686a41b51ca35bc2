from dataclasses import dataclass

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people.checks import clean_address
from devplans.people.models import MailChoice, User


@dataclass(frozen=True)
class NewAccount:
    """Who is to get an account. Without a password he signs in by e-mailed code."""

    email: str
    first_name: str
    last_name: str = ""
    password: str = ""


def make_account(*, account: NewAccount, user: User | None = None) -> User:
    """Make the account. Only accepted invitations come here.

    user: a child's account of phones only, which gets an address now and stays what it is.

    Raises DomainError "email.taken", "password.weak" or "name.missing".
    """
    email = clean_address(account.email)
    first_name = account.first_name.strip()
    if not first_name:
        raise DomainError("name.missing", _("Please give your first name."), field="first_name")
    is_new = user is None
    user = user or User()
    user.email, user.first_name, user.last_name = email, first_name, account.last_name.strip()
    if account.password:
        try:
            validate_password(account.password, user)
        except ValidationError as error:
            message = " ".join(error.messages)
            raise DomainError("password.weak", message, field="password") from None
    user.set_password(account.password or None)
    try:
        with transaction.atomic():
            user.save(force_insert=is_new)
    except IntegrityError:
        message = _("There is an account with this address already: sign in with it first.")
        raise DomainError("email.taken", message, field="email") from None
    return user


@transaction.atomic
def change_name(*, actor: User, first_name: str, last_name: str) -> User:
    """Change one's own name as others read it."""
    if not first_name.strip():
        raise DomainError("name.missing", _("Please give your first name."), field="first_name")
    actor.first_name = first_name.strip()
    actor.last_name = last_name.strip()
    actor.save(update_fields=["first_name", "last_name"])
    audit.record(actor, "people.name_changed", actor)
    return actor


@transaction.atomic
def stop_mails(*, user: User, kind: str) -> MailChoice:
    """Write down that `user` wants no mails of `kind`; saying it twice changes nothing.

    A link in a mail does this too, so there is no actor: whoever holds the link is the reader.
    """
    choice, made = MailChoice.objects.get_or_create(user=user, kind=kind)
    if made:
        audit.record(user, "people.mails_stopped", choice, kind=kind)
    return choice


@transaction.atomic
def resume_mails(*, user: User, kind: str) -> None:
    """Send `user` mails of `kind` again."""
    if MailChoice.objects.filter(user=user, kind=kind).delete()[0]:
        audit.record(user, "people.mails_resumed", user, kind=kind)
