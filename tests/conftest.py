from types import SimpleNamespace

import hypothesis
import pytest
from django.db import connection

from tests import cast as people
from tests.services import browser, chromium, empty_cache, redis_url  # noqa: F401

# A busy machine makes a slow example, not a wrong one.
hypothesis.settings.register_profile("tests", deadline=None)
hypothesis.settings.load_profile("tests")


# A browser on a busy machine may miss what a person would see. One more try for a journey, told in
# the summary with what went wrong; more of them in one round are a fault of ours.
MOST_TRIED_AGAIN = 3


def pytest_collection_modifyitems(items):
    for item in items:
        if item.get_closest_marker("e2e"):
            item.add_marker(pytest.mark.flaky(reruns=1))


def tried_again(config):
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    return reporter.stats.get("rerun", []) if reporter else []


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session):
    if len(tried_again(session.config)) > MOST_TRIED_AGAIN:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter, config):
    found = tried_again(config)
    if not found:
        return
    terminalreporter.section(f"Tried again: {len(found)}, at most {MOST_TRIED_AGAIN} are allowed")
    for report in found:
        terminalreporter.line(report.nodeid)
        terminalreporter.line(report.longreprtext)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """PostgreSQL's autovacuum sees no row of a test's open transaction: it would tell the planner
    that full tables are empty, and a query of milliseconds may then run for minutes."""
    with django_db_blocker.unblock():
        if connection.vendor != "postgresql":
            return
        with connection.cursor() as cursor:
            for table in connection.introspection.table_names():
                cursor.execute(f'ALTER TABLE "{table}" SET (autovacuum_enabled = off)')


@pytest.fixture
def cast(db: None) -> SimpleNamespace:
    """One club and outsiders; see tests/cast.py."""
    return people.build()


def media_in(folder):
    """STORAGES with the media in `folder`."""
    return {
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": folder},
        },
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }


@pytest.fixture(autouse=True)
def own_media(settings, tmp_path):
    """Each test keeps its files to itself."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.MAIL_DIR = tmp_path / "mail"
    settings.STORAGES = media_in(settings.MEDIA_ROOT)
