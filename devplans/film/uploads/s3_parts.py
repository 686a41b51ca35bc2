"""Parts of uploads in a bucket, so that any machine can receive the next piece.

A part is a multipart upload of S3 to the very key that the whole file will have: completing it
copies nothing. S3 takes nothing smaller than 5 MiB but as the last one, so what is left over lies
beside it in a small object, the tail, named by how many numbered parts it follows. How much is
there is asked of S3's own list of parts, and of the tail that fits it: a process killed anywhere
leaves a state that reads right. No Django here.
"""

import hashlib
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Protocol
from uuid import uuid4

from botocore.exceptions import BotoCoreError, ClientError

from devplans.film.uploads.parts import IDLE_S, STRAY_AFTER_S, BadChecksum, Held, PartGone

# Between S3's least (5 MiB) and what a process may hold in memory for each sender.
PART_BYTES = 8 * 1024 * 1024
MOST_PARTS = 10_000
HEAD_BYTES = 4096
KEEP_EVERY_S = 5.0
NOTES = "parts"
FILMS = "films/"
_GONE = {"NoSuchUpload", "NoSuchKey", "404", "NotFound"}
_MOST_COPIED_AT_ONCE = 1024**3


class StoreAway(OSError):
    """The bucket does not answer, or not as it should; it may later."""


class Locks(Protocol):
    """What all machines see: a cache of theirs. Names stand for `seconds`, then they are free."""

    def add(self, name: str, value: str, timeout: float) -> bool: ...
    def get(self, name: str) -> Any: ...
    def touch(self, name: str, timeout: float) -> bool: ...
    def delete(self, name: str) -> bool: ...


@dataclass(frozen=True)
class State:
    """What S3 says is there: numbered parts with their ETags, their bytes, the tail's bytes."""

    etags: tuple[tuple[int, str], ...]
    in_parts: int
    in_tail: int

    @property
    def count(self) -> int:
        return len(self.etags)

    @property
    def size(self) -> int:
        return self.in_parts + self.in_tail


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what S3's library raises into PartGone or StoreAway."""
    try:
        yield
    except ClientError as error:
        if error.response.get("Error", {}).get("Code") in _GONE:
            raise PartGone from error
        raise StoreAway(str(error)) from error
    except BotoCoreError as error:
        raise StoreAway(str(error)) from error


class S3Parts:
    """client: of boto3, for S3; locks: shared by all machines. See `Parts` for the rest."""

    def __init__(self, client: Any, bucket: str, locks: Locks) -> None:
        self.client, self.bucket, self.locks = client, bucket, locks
        self._held: dict[str, str] = {}

    # A handle is "ID-OF-THE-MULTIPART-UPLOAD KEY".

    def create(self, name: str, length: int, key: str = "") -> str:
        target = key or f"{FILMS}{name}/original"
        with told_plainly():
            made = self.client.create_multipart_upload(Bucket=self.bucket, Key=target)
        return f"{made['UploadId']} {target}"

    def _place(self, handle: str) -> dict[str, str]:
        upload_id, _space, key = handle.partition(" ")
        return {"Bucket": self.bucket, "Key": key, "UploadId": upload_id}

    def _notes(self, handle: str) -> str:
        return f"{NOTES}/{hashlib.sha256(handle.encode()).hexdigest()[:40]}"

    def _tail(self, handle: str, count: int) -> str:
        return f"{self._notes(handle)}/tail-{count}"

    def _state(self, handle: str) -> State:
        etags: list[tuple[int, str]] = []
        total, marker = 0, 0
        with told_plainly():
            while True:
                page = self.client.list_parts(**self._place(handle), PartNumberMarker=marker)
                for part in page.get("Parts", []):
                    # Numbers without a gap from 1; what lies behind a gap is not there.
                    if part["PartNumber"] == len(etags) + 1:
                        etags.append((part["PartNumber"], part["ETag"]))
                        total += part["Size"]
                if not page.get("IsTruncated"):
                    break
                marker = page["NextPartNumberMarker"]
        return State(tuple(etags), total, self._object_size(self._tail(handle, len(etags))) or 0)

    def _object_size(self, key: str) -> int | None:
        try:
            with told_plainly():
                found = self.client.head_object(Bucket=self.bucket, Key=key)
        except PartGone:
            return None
        return int(found["ContentLength"])

    def _read(self, key: str, count: int | None = None) -> bytes:
        some = {"Range": f"bytes=0-{count - 1}"} if count else {}
        try:
            with told_plainly():
                body = self.client.get_object(Bucket=self.bucket, Key=key, **some)["Body"]
                return bytes(body.read())
        except PartGone:
            return b""

    def size(self, handle: str) -> int:
        return self._state(handle).size

    def head(self, handle: str, count: int) -> bytes:
        """Of the first 4 KiB; numbered parts cannot be read before all are there."""
        state = self._state(handle)
        note = f"{self._notes(handle)}/head" if state.count else self._tail(handle, 0)
        return self._read(note, count)[:count]

    @contextmanager
    def hold(self, handle: str) -> Iterator[None]:
        """A lock that ends by itself where nothing came through for a while."""
        self._state(handle)
        name, token = self._lock_name(handle), uuid4().hex
        if not self.locks.add(name, token, IDLE_S):
            raise Held
        self._held[handle] = token
        try:
            yield
        finally:
            self._held.pop(handle, None)
            if self.locks.get(name) == token:
                self.locks.delete(name)

    @staticmethod
    def _lock_name(handle: str) -> str:
        return f"part-{hashlib.sha256(handle.encode()).hexdigest()[:40]}"

    def _require_held(self, handle: str) -> None:
        """Keep the lock up; raises Held where somebody else took it meanwhile."""
        name, token = self._lock_name(handle), self._held.get(handle)
        if token is None or self.locks.get(name) != token:
            raise Held
        self.locks.touch(name, IDLE_S)

    def append(
        self, handle: str, pieces: Iterable[bytes], *, intact: Callable[[], bool] | None = None
    ) -> int:
        if intact is None:
            return self._append(handle, pieces)
        # A numbered part cannot be taken back, so all is looked at before any of it is sent on.
        with tempfile.SpooledTemporaryFile(max_size=2 * PART_BYTES) as whole:
            for piece in self._kept_up(handle, pieces):
                whole.write(piece)
            if not intact():
                raise BadChecksum
            whole.seek(0)
            return self._append(handle, iter(lambda: whole.read(1024 * 1024), b""))

    def _kept_up(self, handle: str, pieces: Iterable[bytes]) -> Iterator[bytes]:
        kept_at = time.monotonic()
        for piece in pieces:
            if time.monotonic() - kept_at > KEEP_EVERY_S:
                self._require_held(handle)
                kept_at = time.monotonic()
            yield piece

    def _append(self, handle: str, pieces: Iterable[bytes]) -> int:
        state = self._state(handle)
        count, done, is_new = state.count, state.in_parts, False
        waiting = bytearray(self._read(self._tail(handle, count)) if state.in_tail else b"")
        try:
            for piece in self._kept_up(handle, pieces):
                waiting += piece
                is_new = True
                while len(waiting) >= PART_BYTES:
                    self._send(handle, count + 1, bytes(waiting[:PART_BYTES]))
                    count, done = count + 1, done + PART_BYTES
                    del waiting[:PART_BYTES]
        finally:
            # Also where the sender went away: what came is not sent twice.
            if is_new and waiting:
                self._note(handle, self._tail(handle, count), bytes(waiting))
            if count > state.count and state.in_tail:
                self._forget(self._tail(handle, state.count))
        return done + len(waiting)

    def _send(self, handle: str, number: int, body: bytes) -> None:
        if number > MOST_PARTS:
            raise StoreAway(f"more than {MOST_PARTS} parts")
        if number == 1:
            self._note(handle, f"{self._notes(handle)}/head", body[:HEAD_BYTES])
        self._require_held(handle)
        with told_plainly():
            self.client.upload_part(**self._place(handle), PartNumber=number, Body=body)

    def _note(self, handle: str, key: str, body: bytes) -> None:
        self._require_held(handle)
        with told_plainly():
            self.client.put_object(Bucket=self.bucket, Key=key, Body=body)

    def _forget(self, key: str) -> None:
        with told_plainly():
            self.client.delete_object(Bucket=self.bucket, Key=key)

    def finish(self, handle: str, key: str, length: int) -> None:
        place = self._place(handle)
        try:
            self._complete(handle, place, length)
        except PartGone:
            if length not in {self._object_size(key), self._object_size(place["Key"])}:
                raise
        if place["Key"] != key and self._object_size(key) != length:
            self._copy(place["Key"], key, length)
        if place["Key"] != key:
            self._forget(place["Key"])
        self._clear_notes(self._notes(handle))

    def _complete(self, handle: str, place: dict[str, str], length: int) -> None:
        state = self._state(handle)
        if state.size != length:
            raise StoreAway(f"{state.size} bytes of {length} are there")
        etags = list(state.etags)
        with told_plainly():
            if state.in_tail:
                tail = self._read(self._tail(handle, state.count))
                number = state.count + 1
                sent = self.client.upload_part(**place, PartNumber=number, Body=tail)
                etags.append((number, sent["ETag"]))
            listed = [{"PartNumber": number, "ETag": etag} for number, etag in etags]
            self.client.complete_multipart_upload(**place, MultipartUpload={"Parts": listed})

    def _copy(self, source: str, key: str, length: int) -> None:
        """Within the bucket, by S3 itself: nothing is fetched."""
        from_there = {"Bucket": self.bucket, "Key": source}
        with told_plainly():
            made = self.client.create_multipart_upload(Bucket=self.bucket, Key=key)
            place = {"Bucket": self.bucket, "Key": key, "UploadId": made["UploadId"]}
            listed = []
            for number, first in enumerate(range(0, length, _MOST_COPIED_AT_ONCE), start=1):
                last = min(first + _MOST_COPIED_AT_ONCE, length) - 1
                sent = self.client.upload_part_copy(
                    **place,
                    PartNumber=number,
                    CopySource=from_there,
                    CopySourceRange=f"bytes={first}-{last}",
                )
                listed.append({"PartNumber": number, "ETag": sent["CopyPartResult"]["ETag"]})
            self.client.complete_multipart_upload(**place, MultipartUpload={"Parts": listed})

    def abort(self, handle: str) -> None:
        try:
            with told_plainly():
                self.client.abort_multipart_upload(**self._place(handle))
        except PartGone:
            pass
        self._clear_notes(self._notes(handle))

    def _clear_notes(self, prefix: str) -> None:
        for key, _changed in self._listed(f"{prefix}/"):
            self._forget(key)

    def _listed(self, prefix: str) -> Iterator[tuple[str, datetime]]:
        with told_plainly():
            pages = self.client.get_paginator("list_objects_v2")
            for page in pages.paginate(Bucket=self.bucket, Prefix=prefix):
                for found in page.get("Contents", []):
                    yield found["Key"], found["LastModified"]

    def has_room(self, size_bytes: int, reserve_bytes: int) -> bool:
        """A bucket does not fill up; what a club may keep is bounded elsewhere."""
        return True

    def strays(self, known: set[str]) -> list[str]:
        """Handles of uploads begun more than a day ago that nobody knows.

        Tails that belong to no upload at all, of a process killed while it forgot one, are removed.
        """
        oldest = datetime.now(UTC) - timedelta(seconds=STRAY_AFTER_S)
        open_ones: dict[str, datetime] = {}
        with told_plainly():
            pages = self.client.get_paginator("list_multipart_uploads")
            for page in pages.paginate(Bucket=self.bucket, Prefix=FILMS):
                for found in page.get("Uploads", []):
                    open_ones[f"{found['UploadId']} {found['Key']}"] = found["Initiated"]
        mine = {self._notes(handle) for handle in {*open_ones, *known}}
        for key, changed in list(self._listed(f"{NOTES}/")):
            if key.rpartition("/")[0] not in mine and changed < oldest:
                self._forget(key)
        return sorted(
            handle for handle, begun in open_ones.items() if handle not in known and begun < oldest
        )
