"""Runs the access table of tests/access."""

import hashlib
import importlib
import pkgutil
from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import transaction
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


def ask(row: Row, role: str, cast: Any) -> int:
    client = Client(raise_request_exception=False)
    if role != "anon":
        client.force_login(getattr(cast, role))
    before = fingerprint() if row.method != "get" else {}
    more = {"content_type": "application/json"} if row.json else {}
    response = getattr(client, row.method)(url_of(row, cast), value(row.body, cast) or None, **more)
    if getattr(response, "streaming", False):
        response.close()
    refused = response.status_code in {403, 404} or (role == "anon" and response.status_code == 302)
    if row.method != "get" and refused:
        assert fingerprint() == before, f"{row} as {role}: refused, and yet rows changed"
    return response.status_code


def build_everything() -> Any:
    cast = people.build()
    for module in MODULES:
        if hasattr(module, "things"):
            module.things(cast)
    return cast


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
