"""Parts of uploads in a bucket, against a server that speaks S3."""

import hashlib
import os
import random
import subprocess
import sys
import textwrap
from contextlib import suppress
from datetime import UTC, datetime, timedelta

import pytest
from django.core.cache.backends.locmem import LocMemCache
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from devplans.film.uploads import s3_parts
from devplans.film.uploads.parts import BadChecksum, Held, PartGone
from devplans.film.uploads.s3_parts import S3Parts, StoreAway
from tests.film import bucket as buckets
from tests.film.bucket import NAME, body, keys

pytestmark = [pytest.mark.once, pytest.mark.long]
MIB = 1024 * 1024
KEY = "films/one/original"
SMALL = 1000


class CutOff(Exception):
    """Stands for a sender whose network went away."""


def pieces(content, size=300_000):
    for place in range(0, len(content), size):
        yield content[place : place + size]


def cut_off(content):
    yield from pieces(content)
    raise CutOff


@pytest.fixture
def store(bucket):
    return S3Parts(bucket, NAME, LocMemCache(f"locks-{random.random()}", {}))


@pytest.fixture
def small(monkeypatch):
    """Parts of 1,000 bytes, here and there."""
    monkeypatch.setattr(s3_parts, "PART_BYTES", SMALL)
    monkeypatch.setattr("moto.s3.models.S3_UPLOAD_PART_MIN_SIZE", SMALL)


def put(store, handle, given, **more):
    with store.hold(handle):
        return store.append(handle, given, **more)


def test_a_file_arrives_in_real_parts_and_nothing_is_left_over(store, bucket):
    content = random.Random(1).randbytes(17 * MIB)
    handle = store.create("one", len(content))
    for begin, end in ((0, 5), (5, 17)):
        assert store.size(handle) == begin * MIB
        assert put(store, handle, pieces(content[begin * MIB : end * MIB])) == end * MIB
    assert store.head(handle, 64) == content[:64]
    listed = bucket.list_parts(Bucket=NAME, Key=KEY, UploadId=handle.split()[0])["Parts"]
    assert [part["Size"] for part in listed] == [8 * MIB, 8 * MIB]
    store.finish(handle, KEY, len(content))
    assert hashlib.sha256(body(bucket, KEY)).digest() == hashlib.sha256(content).digest()
    assert keys(bucket) == [KEY]
    store.finish(handle, KEY, len(content))


SENDING = st.lists(
    st.tuples(st.integers(0, 3500), st.sampled_from(["whole", "cut off", "damaged"])), max_size=5
)


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sending=SENDING)
def test_however_it_is_cut_off_the_bytes_are_those_that_were_sent(small, store, bucket, sending):
    content = random.Random(2).randbytes(sum(count for count, _how in sending) + 700)
    handle = store.create("one", len(content))
    there = 0
    for count, how in sending:
        part = content[there : there + count]
        if how == "cut off":
            with pytest.raises(CutOff):
                put(store, handle, cut_off(part))
            there += count
        elif how == "damaged":
            with pytest.raises(BadChecksum):
                put(store, handle, [b"?" * count], intact=lambda: False)
        else:
            there += count
            assert put(store, handle, [part], intact=lambda: True) == there
        assert store.size(handle) == there
        assert store.head(handle, 64) == content[:there][:64]
    put(store, handle, pieces(content[there:], 333))
    store.finish(handle, KEY, len(content))
    assert body(bucket, KEY) == content
    assert keys(bucket) == [KEY]


class Killed(BaseException):
    pass


def mortal(patched, client, after, turn):
    """From the `turn`th call of `after` on, nothing reaches S3 any more."""
    calls = []

    def watched(name, real):
        def call(**asked):
            if calls.count(after) == turn:
                raise Killed
            answer = real(**asked)
            calls.append(name)
            if calls.count(after) == turn:
                raise Killed
            return answer

        return call

    for name in ("put_object", "upload_part", "delete_object"):
        patched.setattr(client, name, watched(name, getattr(client, name)))


@pytest.mark.parametrize("after", ["put_object", "upload_part", "delete_object"])
@pytest.mark.parametrize("turn", [1, 2, 3])
def test_killed_after_any_step_what_is_there_reads_right(
    small,
    store,
    bucket,
    monkeypatch,
    after,
    turn,
):
    """What S3 took counts, what it did not is asked for again; the end is the same."""
    content = random.Random(3).randbytes(5 * SMALL + 77)
    handle = store.create("one", len(content))
    put(store, handle, [content[:700]])
    with monkeypatch.context() as patched:
        mortal(patched, bucket, after, turn)
        with suppress(Killed):
            put(store, handle, pieces(content[700:], 501))
    there = store.size(handle)
    assert 700 <= there <= len(content)
    put(store, handle, [content[there:]])
    store.finish(handle, KEY, len(content))
    assert body(bucket, KEY) == content
    assert keys(bucket) == [KEY]


def test_killed_while_it_is_put_together_it_is_done_again(small, store, bucket, monkeypatch):
    content = random.Random(4).randbytes(2 * SMALL + 5)
    handle = store.create("one", len(content))
    put(store, handle, [content])
    with monkeypatch.context() as patched:
        patched.setattr(bucket, "complete_multipart_upload", away)
        with pytest.raises(StoreAway):
            store.finish(handle, KEY, len(content))
    assert store.size(handle) == len(content)
    store.finish(handle, KEY, len(content))
    assert body(bucket, KEY) == content


def away(**_asked):
    raise s3_parts.BotoCoreError


def test_a_whole_file_may_go_elsewhere_without_being_fetched(small, store, bucket, monkeypatch):
    content = random.Random(5).randbytes(3 * SMALL + 5)
    handle = store.create("two", len(content))
    put(store, handle, [content])
    monkeypatch.setattr(s3_parts, "_MOST_COPIED_AT_ONCE", 2 * SMALL)
    store.finish(handle, "films/one/original-2", len(content))
    assert body(bucket, "films/one/original-2") == content
    assert keys(bucket) == ["films/one/original-2"]


def test_one_sender_at_a_time(small, store, bucket):
    other = S3Parts(bucket, NAME, store.locks)
    handle = store.create("one", 10)
    with store.hold(handle):
        with pytest.raises(Held), other.hold(handle):
            pass
        store.locks.clear()
        with other.hold(handle):
            with pytest.raises(Held):
                store.append(handle, [b"late"])
            assert other.append(handle, [b"first"]) == 5
    assert store.size(handle) == 5


def test_what_is_thrown_away_is_gone(small, store, bucket):
    handle = store.create("one", 5000)
    put(store, handle, [bytes(2500)])
    store.abort(handle)
    store.abort(handle)
    assert keys(bucket) == []
    for ask in (store.size, lambda handle: store.finish(handle, KEY, 5000)):
        with pytest.raises(PartGone):
            ask(handle)
    with pytest.raises(PartGone), store.hold(handle):
        pass


def test_strays_are_those_nobody_knows_for_a_day(small, store, bucket, monkeypatch):
    known, stray = store.create("one", 5), store.create("two", 5)
    put(store, known, [b"known"])
    lost = store.create("three", 5)
    put(store, lost, [b"lost"])
    bucket.abort_multipart_upload(**store._place(lost))
    # This server's uploads all say that they are old; its objects say when they were written.
    assert store.strays({known}) == [stray]
    assert len(keys(bucket)) == 2

    class Tomorrow(datetime):
        @classmethod
        def now(cls, zone=None):
            return datetime.now(UTC) + timedelta(days=1, minutes=1)

    monkeypatch.setattr(s3_parts, "datetime", Tomorrow)
    assert store.strays({known}) == [stray]
    assert store.size(known) == 5
    assert len(keys(bucket)) == 1


CHILD = """
    import os, random, sys
    from django.core.cache.backends.redis import RedisCache
    from devplans.film.uploads.s3_parts import S3Parts
    from tests.film import bucket

    address, locks, handle, how = sys.argv[1:]
    content = random.Random(6).randbytes(30 * 1024 * 1024)
    store = S3Parts(bucket.client(address), bucket.NAME, RedisCache(locks, {}))
    with store.hold(handle):
        there = store.size(handle)
        if how == "dies":
            send = store.client.upload_part
            def dies(**asked):
                send(**asked)
                os._exit(9)
            store.client.upload_part = dies
        ahead = content[there : there + 12 * 1024 * 1024]
        print(store.append(handle, (ahead[i : i + 262144] for i in range(0, len(ahead), 262144))))
"""


def test_processes_take_turns_and_one_killed_before_its_answer_loses_no_part(
    bucket,
    s3,
    redis_url,
    monkeypatch,
):
    """Each turn is a process of its own; every other one dies between a part and its answer."""
    from django.core.cache.backends.redis import RedisCache

    content = random.Random(6).randbytes(30 * MIB)
    store = S3Parts(bucket, NAME, RedisCache(redis_url, {}))
    handle = store.create("one", len(content))
    sizes = []
    for turn in range(8):
        how = "dies" if turn % 2 == 0 else "ends"
        told = subprocess.run(
            [sys.executable, "-c", textwrap.dedent(CHILD), s3, redis_url, handle, how],
            env={**os.environ, **buckets.KEYS}, capture_output=True, text=True, check=False,
        )  # fmt: skip
        expected = 9 if how == "dies" else 0
        if store.size(handle) < len(content):
            assert told.returncode == expected, told.stderr
        # A killed holder's lock ends by itself after a while; here at once.
        store.locks.clear()
        sizes.append(store.size(handle))
        if sizes[-1] == len(content):
            break
    assert sizes[0] == 8 * MIB, "the part counts, though nobody was told"
    store.finish(handle, KEY, len(content))
    assert hashlib.sha256(body(bucket, KEY)).digest() == hashlib.sha256(content).digest()
