"""Signing in as a person does, through the pages."""

import re

from django.core import mail
from django.urls import reverse

from tests.factories import PASSWORD

CODE = "/accounts/login/code/"
CONFIRM = "/accounts/login/code/confirm/"


def sign_in(client, email, password=PASSWORD, **more):
    return client.post(reverse("account_login"), {"login": email, "password": password}, **more)


def code_in(text):
    """The sign-in code of a mail: the indented line."""
    return re.search(r"^ {4}(\S+)$", text, re.MULTILINE)[1]


def ask_for_code(client, email, capture):
    """Ask for a code by mail; the code, or an empty text where no mail went out."""
    before = len(mail.outbox)
    with capture(execute=True):
        answer = client.post(CODE, {"email": email})
    assert (answer.status_code, answer.url) == (302, CONFIRM)
    return code_in(mail.outbox[-1].body) if len(mail.outbox) > before else ""


def is_signed_in(client):
    return "_auth_user_id" in client.session
