from io import BytesIO
from random import Random

import pytest
from django.core.files.storage import default_storage
from django.http import Http404
from django.test import RequestFactory

from devplans.film.serving import PART_BYTES, serve_bytes, serve_file

pytestmark = pytest.mark.once

KEY = "films/one/playable.mp4"
CONTENT = Random(1).randbytes(1234)
BIG = Random(2).randbytes(PART_BYTES * 5 // 2)


class Bucket:
    """A storage without local files, as S3 is one."""

    def path(self, name):
        raise NotImplementedError

    def url(self, name, parameters=None):
        return f"https://bucket.example.org/{name}?type={parameters['ResponseContentType']}"


def keep(content, key=KEY):
    default_storage.save(key, BytesIO(content))


def ask(method="GET", key=KEY, etag="v1", storage=default_storage, filename="", **headers):
    request = RequestFactory().generic(method, "/media/", headers=headers)
    return serve_file(
        request, key, content_type="video/mp4", etag=etag, storage=storage, filename=filename
    )


def body(response):
    return b"".join(response) if response.streaming else response.content


@pytest.mark.parametrize(
    ("header", "status", "content_range", "wanted"),
    [
        (None, 200, None, CONTENT),
        ("bytes=0-499", 206, "bytes 0-499/1234", CONTENT[:500]),
        ("bytes=500-999", 206, "bytes 500-999/1234", CONTENT[500:1000]),
        ("bytes=500-", 206, "bytes 500-1233/1234", CONTENT[500:]),
        ("bytes=-500", 206, "bytes 734-1233/1234", CONTENT[-500:]),
        ("bytes=0-0", 206, "bytes 0-0/1234", CONTENT[:1]),
        ("bytes=0-1", 206, "bytes 0-1/1234", CONTENT[:2]),
        ("bytes=0-9999", 206, "bytes 0-1233/1234", CONTENT),
        ("bytes=-5000", 206, "bytes 0-1233/1234", CONTENT),
        ("bytes=1234-", 416, "bytes */1234", b""),
        ("bytes=-0", 416, "bytes */1234", b""),
        ("bytes=499-0", 200, None, CONTENT),
        ("bytes=abc", 200, None, CONTENT),
        ("items=0-1", 200, None, CONTENT),
        ("bytes=0-0,-1", 200, None, CONTENT),
    ],
)
def test_each_row_of_the_table_of_ranges(header, status, content_range, wanted):
    keep(CONTENT)
    response = ask(**({"Range": header} if header else {}))
    assert response.status_code == status
    assert response.get("Content-Range") == content_range
    assert body(response) == wanted
    assert response["Accept-Ranges"] == "bytes"
    if status != 416:
        assert response["ETag"] == '"v1"'
        assert response["Content-Type"] == "video/mp4"


def test_a_stale_if_range_gets_all_of_it():
    keep(CONTENT)
    stale = ask(**{"Range": "bytes=0-499", "If-Range": '"v0"'})
    assert (stale.status_code, body(stale)) == (200, CONTENT)
    assert "Content-Range" not in stale
    same = ask(**{"Range": "bytes=0-499", "If-Range": '"v1"'})
    assert (same.status_code, body(same)) == (206, CONTENT[:500])


def test_head_has_the_length_and_no_body_whatever_the_range():
    keep(CONTENT)
    for headers in ({}, {"Range": "bytes=0-9"}):
        response = ask("HEAD", **headers)
        assert response.status_code == 200
        assert response["Content-Length"] == "1234"
        assert response["Accept-Ranges"] == "bytes"
        assert body(response) == b""


def test_a_long_part_is_capped_and_the_next_request_goes_on_from_there():
    keep(BIG)
    got = b""
    while len(got) < len(BIG):
        response = ask(Range=f"bytes={len(got)}-")
        assert response.status_code == 206
        assert not response.streaming
        last = len(got) + len(response.content) - 1
        assert response["Content-Range"] == f"bytes {len(got)}-{last}/{len(BIG)}"
        assert 0 < len(response.content) <= PART_BYTES
        got += response.content
    assert got == BIG


# Closing a response lets go of database connections.
@pytest.mark.django_db
@pytest.mark.django_db  # closing the answer looks after the connections
def test_without_a_range_a_large_file_is_streamed_whole():
    keep(BIG)
    response = ask()
    assert (response.status_code, response.streaming) == (200, True)
    assert response["Content-Length"] == str(len(BIG))
    assert response["Content-Type"] == "video/mp4"
    assert body(response) == BIG
    response.close()


def test_every_answer_keeps_the_browser_from_guessing_and_sharing(settings):
    keep(CONTENT)
    answers = [ask(), ask("HEAD"), ask(Range="bytes=0-9"), ask(Range="bytes=9999-")]
    answers += [ask(**{"If-None-Match": '"v1"'}), ask(storage=Bucket()), ask(etag="")]
    settings.ACCEL_REDIRECT = True
    answers.append(ask())
    for response in answers:
        assert response["X-Content-Type-Options"] == "nosniff"
        assert response["Content-Security-Policy"] == "sandbox; default-src 'none'"
        assert response["Cache-Control"].startswith("private, no-")
    assert ask()["Cache-Control"] == "private, no-cache"
    assert ask(etag="")["Cache-Control"] == "private, no-store"
    assert ask(storage=Bucket())["Cache-Control"] == "private, no-store"


def test_what_the_browser_already_has_is_not_sent_again():
    keep(CONTENT)
    for known in ('"v1"', 'W/"v1"', '"v0", "v1"', "*"):
        response = ask(**{"If-None-Match": known})
        assert (response.status_code, response["ETag"], body(response)) == (304, '"v1"', b"")
    assert ask(**{"If-None-Match": '"v0"'}).status_code == 200
    assert ask(etag="", **{"If-None-Match": "*"}).status_code == 200


def test_a_file_that_is_gone_is_not_found(settings):
    for settings.ACCEL_REDIRECT in (False, True):
        with pytest.raises(Http404):
            ask(key="films/none/playable.mp4")


def test_behind_nginx_the_file_is_left_to_it(settings):
    settings.ACCEL_REDIRECT = True
    keep(CONTENT, "films/one/final game.mp4")
    response = ask(key="films/one/final game.mp4", Range="bytes=0-9")
    assert response.status_code == 200
    assert response["X-Accel-Redirect"] == "/protected/films/one/final%20game.mp4"
    assert response["Content-Type"] == "video/mp4"
    assert response.content == b""


def test_a_bucket_is_asked_by_a_short_lived_address():
    response = ask(storage=Bucket())
    assert response.status_code == 302
    assert response["Location"] == f"https://bucket.example.org/{KEY}?type=video/mp4"
    assert "ETag" not in response


def test_the_name_of_a_download_cannot_break_the_header():
    keep(CONTENT)
    assert ask()["Content-Disposition"] == 'inline; filename="playable.mp4"'
    response = ask(filename='Final "Å"\r\nX-Evil: 1.mp4')
    assert "\r" not in response["Content-Disposition"]
    assert "X-Evil" not in response


def test_a_picture_made_just_now():
    request = RequestFactory().get("/still/")
    response = serve_bytes(request, b"jpeg", content_type="image/jpeg", etag="s1")
    assert (response.status_code, response.content) == (200, b"jpeg")
    assert (response["Content-Type"], response["ETag"]) == ("image/jpeg", '"s1"')
    assert response["X-Content-Type-Options"] == "nosniff"
    again = RequestFactory().get("/still/", headers={"If-None-Match": '"s1"'})
    assert serve_bytes(again, b"jpeg", content_type="image/jpeg", etag="s1").status_code == 304
