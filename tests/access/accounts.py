"""Signing in: open to everybody, or about oneself only."""

from uuid import uuid4

from tests.access import row

OPEN = {"*": 200}
# Whoever is signed in is sent on from the entrance.
ENTRANCE = {"anon": 200, "*": 302}
OWN = {"anon": 302, "*": 200}
ELSEWHERE = {"*": 302}

ROWS = [
    row("get", "account_login", {}, ENTRANCE),
    row(
        "post",
        "account_login",
        {},
        ENTRANCE,
        body={"login": "nobody@people.example", "password": "not-the-password"},
    ),
    row("get", "account_logout", {}, {"anon": 302, "*": 200}),
    row("post", "account_logout", {}, ELSEWHERE),
    row("get", "account_inactive", {}, OPEN),
    row("get", "account_request_login_code", {}, ENTRANCE),
    row(
        "post", "account_request_login_code", {}, ELSEWHERE, body={"email": "nobody@people.example"}
    ),
    row("get", "account_confirm_login_code", {}, ELSEWHERE),
    row("get", "account_reauthenticate", {}, OWN),
    row("get", "account_change_password", {}, OWN),
    row("get", "account_set_password", {}, ELSEWHERE),
    row("get", "account_reset_password", {}, OPEN),
    row(
        "post",
        "account_reset_password",
        {},
        ELSEWHERE,
        body=lambda cast: {"email": f"{uuid4()}@people.example"},
    ),
    row("get", "account_reset_password_done", {}, OPEN),
    row(
        "get",
        "account_reset_password_from_key",
        {"uidb36": lambda cast: "1", "key": lambda cast: "no-key"},
        OPEN,
    ),
    row("get", "account_reset_password_from_key_done", {}, OPEN),
    row("get", "mfa_index", {}, OWN),
    row("get", "mfa_authenticate", {}, ELSEWHERE),
    row("get", "mfa_reauthenticate", {}, ELSEWHERE),
    row("get", "mfa_activate_totp", {}, ELSEWHERE),
    row("get", "mfa_deactivate_totp", {}, {"anon": 302, "*": 404}),
    row("get", "mfa_view_recovery_codes", {}, {"anon": 302, "*": 404}),
    row("get", "mfa_generate_recovery_codes", {}, ELSEWHERE),
]
