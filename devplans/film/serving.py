"""Answer with a stored media file, once the view has checked the right to it.

`serve_file(request, key, content_type=…, etag=…)`: with S3 a redirect to a short-lived address;
behind nginx (ACCEL_REDIRECT) a header that lets it send the file; else our own ranges, at most
1 MiB an answer, so that slow viewers never hold a worker.
"""

from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.core.files.storage import default_storage
from django.http import (
    FileResponse,
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseNotModified,
    HttpResponseRedirect,
)
from django.utils.http import content_disposition_header, parse_etags

from devplans.film.ranges import Part, Unsatisfiable, choose

ACCEL_PREFIX = "/protected/"
PART_BYTES = 1 << 20


def serve_file(
    request: HttpRequest,
    key: str,
    *,
    content_type: str,
    etag: str = "",
    filename: str = "",
    storage: Any = default_storage,
) -> HttpResponseBase:
    """The stored file `key`, for GET and HEAD.

    `etag` is a strong one, with or without its quotes; without any, nothing is kept in the browser.
    `filename` is what a download is called. Raises Http404 when the file is gone.
    """
    etag = f'"{etag}"' if etag and not etag.startswith('"') else etag
    disposition = content_disposition_header(
        as_attachment=False, filename=filename or Path(key).name
    )
    path = _local_path(storage, key)
    if path is None:
        answer = _elsewhere(storage, key, content_type, disposition)
    elif not path.is_file():
        raise Http404
    elif etag and _is_known(request, etag):
        answer = HttpResponseNotModified()
    elif settings.ACCEL_REDIRECT:
        answer = HttpResponse(headers={"X-Accel-Redirect": ACCEL_PREFIX + quote(key)})
    else:
        answer = _ranged(request, path, etag)
    return _dressed(answer, content_type=content_type, etag=etag, disposition=disposition)


def serve_bytes(
    request: HttpRequest, body: bytes, *, content_type: str, etag: str = ""
) -> HttpResponseBase:
    """A small picture made just now, under the same headers as a stored file."""
    etag = f'"{etag}"' if etag and not etag.startswith('"') else etag
    known = etag and _is_known(request, etag)
    answer = HttpResponseNotModified() if known else HttpResponse(body)
    return _dressed(answer, content_type=content_type, etag=etag, disposition="inline")


def _local_path(storage: Any, key: str) -> Path | None:
    try:
        return Path(storage.path(key))
    except NotImplementedError:
        return None


def _elsewhere(storage: Any, key: str, content_type: str, disposition: str) -> HttpResponse:
    asked = {"ResponseContentType": content_type, "ResponseContentDisposition": disposition}
    return HttpResponseRedirect(storage.url(key, parameters=asked))


def _is_known(request: HttpRequest, etag: str) -> bool:
    known = parse_etags(request.headers.get("If-None-Match", ""))
    return "*" in known or etag in {one.removeprefix("W/") for one in known}


def _ranged(request: HttpRequest, path: Path, etag: str) -> HttpResponseBase:
    size = path.stat().st_size
    chosen = choose(
        size,
        request.headers.get("Range"),
        etag=etag,
        if_range=request.headers.get("If-Range"),
        method=request.method or "GET",
    )
    if isinstance(chosen, Unsatisfiable):
        answer = HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
    elif isinstance(chosen, Part):
        answer = _part(path, chosen, size)
    else:
        answer = _whole(request, path, size)
    answer["Accept-Ranges"] = "bytes"
    return answer


def _part(path: Path, part: Part, size: int) -> HttpResponse:
    """A server may send less than was asked for (RFC 9110, 15.3.7): the player asks on."""
    part = Part(part.first, min(part.last, part.first + PART_BYTES - 1))
    with path.open("rb") as file:
        file.seek(part.first)
        body = file.read(part.length)
    return HttpResponse(body, status=206, headers={"Content-Range": part.content_range(size)})


def _whole(request: HttpRequest, path: Path, size: int) -> HttpResponseBase:
    if request.method == "HEAD":
        return HttpResponse(headers={"Content-Length": str(size)})
    if size <= PART_BYTES:
        return HttpResponse(path.read_bytes())
    return FileResponse(path.open("rb"))


def _dressed(answer: Any, *, content_type: str, etag: str, disposition: str) -> Any:
    if answer.status_code in {200, 206}:
        answer["Content-Type"] = content_type
        answer["Content-Disposition"] = disposition
    if etag and answer.status_code in {200, 206, 304}:
        answer["ETag"] = etag
    # The right to see a film can end: what is kept is asked about each time, a link never is.
    is_kept = etag and answer.status_code != 302
    answer["Cache-Control"] = "private, no-cache" if is_kept else "private, no-store"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Security-Policy"] = "sandbox; default-src 'none'"
    return answer
