import pytest
from django.db import connection, connections

from tests import cast as people
from tests import factories as make
from tests.workouts import handset
from tests.workouts.phone import phone_of


@pytest.fixture
def phone(cast):
    return phone_of(cast)


@pytest.fixture
def shared_database(transactional_db, tmp_path):
    """A database that several threads may write to as they do in service: SQLite in memory locks
    whole tables without waiting, so they are copied into a file for the length of the test."""
    if connection.vendor != "sqlite":
        yield
        return
    path = tmp_path / "shared.sqlite3"
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(path)])
    kept, name = connection.connection, connections["default"].settings_dict["NAME"]
    connection.connection = None
    connections.settings["default"]["NAME"] = connection.settings_dict["NAME"] = str(path)
    try:
        yield
    finally:
        connection.close()
        connections.settings["default"]["NAME"] = connection.settings_dict["NAME"] = name
        connection.connection = kept


@pytest.fixture
def spots_phone(transactional_db, live_server, browser):
    """A phone that logs one drill of makes; at the end it may not have complained."""
    cast = people.build()
    make.make_drill(slug="spots", name="Five spots", how="Feet set.", **handset.SPOTS)
    opened = handset.Phone(browser, live_server.url, cast)
    yield opened
    faults = list(opened.faults)
    opened.context.close()
    assert faults == []
