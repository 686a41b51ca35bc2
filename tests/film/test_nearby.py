"""With films in a bucket a machine fetches each file once, within its share of the disk."""

import os
import time
from concurrent.futures import ThreadPoolExecutor
from threading import Lock

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from devplans.film import nearby, storing

pytestmark = pytest.mark.once


@pytest.fixture(autouse=True)
def own_place(films_in_bucket, settings, tmp_path):
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    settings.FILM_CACHE_BYTES = 2500


@pytest.fixture
def fetched(monkeypatch):
    """The keys that were fetched, in order."""
    found, lock, fetch = [], Lock(), storing._fetch

    def noted(key, copy):
        with lock:
            found.append(key)
        time.sleep(0.05)
        fetch(key, copy)

    monkeypatch.setattr(storing, "_fetch", noted)
    return found


@pytest.fixture
def folder(tmp_path):
    made = []

    def another():
        made.append(tmp_path / f"caller-{len(made)}")
        made[-1].mkdir()
        return made[-1]

    return another


def stored(film, size=1000):
    key = f"films/{film}/original"
    default_storage.save(key, ContentFile(film.encode() * (size // len(film))))
    return key


def test_the_second_one_fetches_nothing(fetched, folder):
    key = stored("aaaa")
    for _ in range(2):
        assert storing.on_disk(key, folder()).read_bytes() == b"aaaa" * 250
    assert fetched == [key]


def test_many_at_once_fetch_once(fetched, folder):
    key = stored("aaaa")
    with ThreadPoolExecutor(6) as pool:
        found = list(
            pool.map(lambda place: storing.on_disk(key, place), [folder() for _ in "123456"])
        )
    assert {path.read_bytes() for path in found} == {b"aaaa" * 250}
    assert fetched == [key]


def test_the_least_used_goes_first_and_stays_with_who_reads_it(fetched, folder):
    first, second, third = stored("aaaa"), stored("bbbb"), stored("cccc")
    reader = storing.on_disk(first, folder())
    storing.on_disk(second, folder())
    storing.on_disk(first, folder())
    storing.on_disk(third, folder())
    assert fetched == [first, second, third]
    storing.on_disk(first, folder())
    assert fetched == [first, second, third]
    storing.on_disk(second, folder())
    assert fetched == [first, second, third, second]
    storing.on_disk(first, folder())
    storing.on_disk(third, folder())
    assert reader.read_bytes() == b"aaaa" * 250


def test_a_file_beyond_the_share_is_fetched_for_its_caller_alone(fetched, folder):
    kept, big = stored("aaaa"), stored("bbbb", 3000)
    storing.on_disk(kept, folder())
    for _ in range(2):
        assert storing.on_disk(big, folder()).stat().st_size == 3000
    storing.on_disk(kept, folder())
    assert fetched == [kept, big, big]


def test_a_broken_fetch_leaves_nothing(monkeypatch, folder):
    key, fetch = stored("aaaa"), storing._fetch

    def broken(key, copy):
        copy.write_bytes(b"half")
        raise OSError("the line broke")

    monkeypatch.setattr(storing, "_fetch", broken)
    with pytest.raises(OSError, match="the line broke"):
        storing.on_disk(key, folder())
    monkeypatch.setattr(storing, "_fetch", fetch)
    assert storing.on_disk(key, folder()).read_bytes() == b"aaaa" * 250


def test_a_deleted_film_and_an_unused_one_go(fetched, folder):
    gone, old, fresh = stored("aaaa", 400), stored("bbbb", 400), stored("cccc", 400)
    for key in (gone, old, fresh):
        storing.on_disk(key, folder())
    storing.remove_files("aaaa")
    place = nearby._place()
    left = time.time() - nearby.UNUSED_S - 60
    os.utime(place / "films-bbbb-original", (left, left))
    nearby.sweep()
    assert {path.name for path in place.iterdir() if path.suffix != ".lock"} == {
        "films-cccc-original"
    }
