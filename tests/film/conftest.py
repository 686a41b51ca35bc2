import tempfile

import pytest

from tests.film import films
from tests.film.bucket import bucket, films_in_bucket, s3  # noqa: F401


@pytest.fixture(scope="session")
def numbered(tmp_path_factory):
    """Films with numbered frames: `[(kind, path), …]`, one of each kind."""
    folder = tmp_path_factory.mktemp("films")
    return [(kind, films.write(folder, kind)) for kind in films.kinds()]


@pytest.fixture
def of_kind(numbered):
    return {kind.name: (kind, path) for kind, path in numbered}


@pytest.fixture
def workplace(tmp_path, monkeypatch):
    """The folder in which jobs make their own folders; to be found empty after each."""
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder
