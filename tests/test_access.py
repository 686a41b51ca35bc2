"""Runs the access table of tests/access."""

import hashlib
import importlib
import pkgutil
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.db import connection, transaction
from django.test import Client, override_settings
from django.urls import URLPattern, URLResolver, get_resolver, reverse

import tests.access
from tests import cast as people
from tests.access import ROLES, Row
from tests.conftest import media_in

MODULES = [
    importlib.import_module(f"tests.access.{module.name}")
    for module in pkgutil.iter_modules(tests.access.__path__)
]
ROWS: list[Row] = [row for module in MODULES for row in module.ROWS]
# Written by looking at a page, not by the thing that was refused.
NOT_COMPARED = {"core.auditentry"}


def named_routes(resolver: URLResolver, prefix: str = "") -> Iterator[str]:
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLResolver):
            inner = f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix
            yield from named_routes(pattern, inner)
        elif isinstance(pattern, URLPattern):
            yield f"{prefix}{pattern.name}" if pattern.name else f"unnamed {pattern.pattern}"


def fingerprint() -> dict[str, str]:
    """A hash of the rows of each table of ours."""
    found = {}
    for model in apps.get_models(include_auto_created=True):
        if model.__module__.startswith("devplans.") and model._meta.label_lower not in NOT_COMPARED:
            rows = sorted(str(values) for values in model._base_manager.values_list())
            found[model._meta.label_lower] = hashlib.sha256("\n".join(rows).encode()).hexdigest()
    return found


def value(source: Any, cast: Any) -> Any:
    return source(cast) if callable(source) else source


def url_of(row: Row, cast: Any) -> str:
    arguments = {}
    for name, source in row.arguments.items():
        found = source(cast) if callable(source) else getattr(cast, source)
        arguments[name] = getattr(found, "pk", found)
    query = value(row.query, cast)
    return reverse(row.route, kwargs=arguments) + (f"?{query}" if query else "")


class Writes:
    """Counts the statements that write to tables of ours, from an execute_wrapper."""

    STATEMENT = re.compile(r'\s*(?:INSERT INTO|UPDATE|DELETE FROM|REPLACE INTO)\s+"?(\w+)', re.I)

    # What is neither a known read nor a known write counts as a write.
    READS = re.compile(r"\s*(?:SELECT|SAVEPOINT|RELEASE|ROLLBACK|EXPLAIN|PRAGMA|SET|WITH)\b", re.I)

    def __init__(self) -> None:
        kept = {apps.get_model(label)._meta.db_table for label in NOT_COMPARED}
        models = apps.get_models(include_auto_created=True)
        self.ours = {
            m._meta.db_table for m in models if m.__module__.startswith("devplans.")
        } - kept
        self.count = 0

    def __call__(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        found = self.STATEMENT.match(sql)
        if (not found and not self.READS.match(sql)) or (found and found[1] in self.ours):
            self.count += 1
        return execute(sql, params, many, context)


def answer_of(row: Row, client: Client, cast: Any) -> int:
    more = {"content_type": "application/json"} if row.json else {}
    response = getattr(client, row.method)(url_of(row, cast), value(row.body, cast) or None, **more)
    if getattr(response, "streaming", False):
        response.close()
    return response.status_code


def ask(row: Row, role: str, cast: Any) -> int:
    client = Client(raise_request_exception=False)
    if role != "anon":
        client.cookies[settings.SESSION_COOKIE_NAME] = cast.session_keys[role]
    place = transaction.savepoint()
    writes = Writes()
    with connection.execute_wrapper(writes):
        status = answer_of(row, client, cast)
    refused = status in {403, 404} or (role == "anon" and status == 302)
    if row.method != "get" and refused and writes.count:
        # Something was written: asked once more, with every row looked at before and after.
        transaction.savepoint_rollback(place)
        before = fingerprint()
        assert answer_of(row, client, cast) == status
        assert fingerprint() == before, f"{row} as {role}: refused, and yet rows changed"
    return status


def build_everything() -> Any:
    cast = people.build()
    for module in MODULES:
        if hasattr(module, "things"):
            module.things(cast)
    cast.session_keys = {role: signed_in(getattr(cast, role)) for role in ROLES if role != "anon"}
    return cast


def signed_in(user: Any) -> str:
    client = Client()
    client.force_login(user)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


@pytest.fixture(autouse=True)
def own_media() -> None:
    """The files of this table's things are made once, so they may not move from test to test."""


@pytest.fixture(scope="module")
def everything(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Any:
    """The cast with all things, made once; each role's turn is rolled back to it."""
    folder = tmp_path_factory.mktemp("access")
    storages = media_in(folder / "media")
    with (
        override_settings(MEDIA_ROOT=folder / "media", MAIL_DIR=folder / "mail", STORAGES=storages),
        django_db_blocker.unblock(),
        transaction.atomic(),
    ):
        yield build_everything()
        transaction.set_rollback(True)


def test_a_changed_row_is_noticed(cast: Any) -> None:
    before = fingerprint()
    assert fingerprint() == before
    cast.kid.first_name = "Another"
    cast.kid.save(update_fields=["first_name"])
    assert fingerprint() != before


def test_a_written_row_is_counted(cast: Any) -> None:
    writes = Writes()
    with connection.execute_wrapper(writes):
        list(type(cast.kid).objects.all())
        assert writes.count == 0
        cast.kid.save(update_fields=["first_name"])
        assert writes.count == 1
        cast.squad.films.create(title="Game")
        cast.squad.films.all().delete()
        assert writes.count >= 3


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_each_role_gets_its_answer(row: Row, everything: Any) -> None:
    answers = {}
    for role in ROLES:
        with transaction.atomic():
            answers[role] = ask(row, role, everything)
            transaction.set_rollback(True)
    assert answers == row.statuses


def test_every_route_is_in_the_table() -> None:
    listed = {row.route for row in ROWS}
    routes = set(named_routes(get_resolver()))
    assert routes - listed == set(), "routes without a row in tests/access"
    assert listed - routes == set(), "rows without a route"


@pytest.mark.parametrize(
    "role", [r for r in ROLES if r not in {"anon", "stranger", "ex_guardian", "outsider"}]
)
def test_each_role_can_do_something(role: str) -> None:
    """A table of nothing but refusals would prove nothing."""
    good = [row for row in ROWS if row.statuses[role] == 200]
    assert len(good) >= 5
