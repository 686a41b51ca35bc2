from types import SimpleNamespace

import pytest
import urllib3

from devplans.film.fetching import job, lines
from tests.film.fetching.turns import FILM
from tests.film.film_server import (
    FilmServer,
    Internet,
    certificate,
    film,
    new_authority,
)


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    return new_authority(tmp_path_factory.mktemp("authority"))


@pytest.fixture
def server(authority):
    started = FilmServer(certificate(authority[0], "films.example"))
    started.paths["/game.mp4"] = film(FILM)
    yield started
    started.shutdown()
    started.server_close()


@pytest.fixture(autouse=True)
def internet(server, authority, settings, tmp_path, monkeypatch):
    made = Internet(server)
    monkeypatch.setattr(lines.socket, "getaddrinfo", made.getaddrinfo)
    monkeypatch.setattr(urllib3.util.connection, "create_connection", made.create_connection)
    monkeypatch.setattr(job, "RECONNECT_AFTER_S", 0)
    settings.FILM_ADDRESS_CA = str(authority[1])
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    return made


@pytest.fixture(autouse=True)
def rung(monkeypatch):
    """Nothing runs by itself: what was rung for is told."""
    bells = SimpleNamespace(fetch=[], prepare=[])
    monkeypatch.setattr("devplans.film.tasks.fetch.delay_on_commit", bells.fetch.append)
    monkeypatch.setattr("devplans.film.tasks.fetch.delay", bells.fetch.append)
    monkeypatch.setattr("devplans.film.tasks.prepare.delay", bells.prepare.append)
    return bells
