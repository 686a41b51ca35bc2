"""Whatever order a client does things in: what the server says is there, is there."""

import base64
import hashlib
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from devplans.film.uploads.parts import BadChecksum, LocalParts, PartGone
from devplans.film.uploads.protocol import Body, checksum, metadata, number

pytestmark = pytest.mark.once
SIZES = st.integers(0, 700_000)


def bytes_of(seed: int, count: int) -> bytes:
    return (hashlib.sha256(str(seed).encode()).digest() * (count // 32 + 1))[:count]


class Uploading(RuleBasedStateMachine):
    """Against a plain list of bytes."""

    def __init__(self):
        super().__init__()
        self.folder = TemporaryDirectory()
        place = Path(self.folder.name)
        self.store = LocalParts(place / "parts", place / "media")
        self.names = 0

    def teardown(self):
        self.folder.cleanup()

    @initialize()
    def first(self):
        self.begin()

    @rule()
    def begin(self):
        self.names += 1
        self.handle = self.store.create(str(self.names), 10**9)
        self.there, self.state = b"", "open"

    def body(self, content: bytes, arrives: int) -> Body:
        left = bytearray(content[:arrives])

        def read(count):
            piece = bytes(left[:count])
            del left[:count]
            return piece

        return Body(read, len(content))

    @precondition(lambda self: self.state == "open")
    @rule(seed=st.integers(0, 9), count=SIZES, arrives=SIZES)
    def send(self, seed, count, arrives):
        """Also where the line breaks: what arrived stays."""
        content = bytes_of(seed, count)
        body = self.body(content, arrives)
        with self.store.hold(self.handle):
            size = self.store.append(self.handle, body)
        self.there += content[:arrives]
        assert size == len(self.there)
        assert body.is_whole == (arrives >= count)

    @precondition(lambda self: self.state == "open")
    @rule(
        seed=st.integers(0, 9),
        count=SIZES,
        lost=st.integers(0, 3),
        algorithm=st.sampled_from(["sha1", "sha256"]),
    )
    def send_checked(self, seed, count, lost, algorithm):
        """All of it or nothing."""
        content = bytes_of(seed, count)
        told = base64.b64encode(hashlib.new(algorithm, content).digest()).decode()
        claim = checksum(f"{algorithm} {told}")
        pieces = claim.over(self.body(content, count - lost))
        with self.store.hold(self.handle):
            if lost and count:
                with pytest.raises(BadChecksum):
                    self.store.append(self.handle, pieces, intact=claim.holds)
            else:
                self.store.append(self.handle, pieces, intact=claim.holds)
                self.there += content

    @precondition(lambda self: self.state == "open")
    @rule(seed=st.integers(0, 9), count=SIZES)
    def killed(self, seed, count):
        """A process that ends in the middle holds nothing afterwards."""

        def pieces():
            yield bytes_of(seed, count)
            raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt), self.store.hold(self.handle):
            self.store.append(self.handle, pieces())
        self.there += bytes_of(seed, count)

    @precondition(lambda self: self.state == "open")
    @rule()
    def stop(self):
        self.store.abort(self.handle)
        self.store.abort(self.handle)
        self.state = "gone"

    @precondition(lambda self: self.state == "open")
    @rule(again=st.booleans())
    def finish(self, again):
        key = f"films/{self.handle}/original"
        for _ in range(1 + again):
            self.store.finish(self.handle, key, len(self.there))
        assert (self.store.media / key).read_bytes() == self.there
        self.state = "gone"

    @invariant()
    def the_server_tells_the_truth(self):
        if not hasattr(self, "state"):
            return
        if self.state == "open":
            assert self.store.size(self.handle) == len(self.there)
            assert self.store.head(self.handle, 64) == self.there[:64]
        else:
            with pytest.raises(PartGone):
                self.store.size(self.handle)
            assert not list(self.store.folder.glob(f"{self.handle}*"))


Uploading.TestCase.settings = settings(
    max_examples=25,
    stateful_step_count=15,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
TestUploading = Uploading.TestCase


KEYS = st.text("abcdefgh_-", min_size=1, max_size=8)


@st.composite
def told(draw):
    return draw(st.dictionaries(KEYS, st.text(max_size=30), max_size=6))


def test_metadata_is_read_as_it_was_written():
    from hypothesis import given

    @given(told())
    def check(words):
        text = ", ".join(f"{k} {base64.b64encode(v.encode()).decode()}" for k, v in words.items())
        assert metadata(text) == words

    check()


@pytest.mark.parametrize("text", ["a !", "a AAAA,a AAAA", "ä AAAA", "a /w==", "a " + "A" * 9000])
def test_metadata_that_says_nothing(text):
    with pytest.raises(ValueError, match="Upload-Metadata"):
        metadata(text)


@pytest.mark.parametrize("text", [None, "", "-1", "1.5", "x", "9" * 19, "٣"])
def test_a_number_that_is_none(text):
    with pytest.raises(ValueError, match="whole number"):
        number(text, "Upload-Offset")
