"""The server of tus 1.0. Bodies are read from the connection in pieces, never as a whole."""

from collections.abc import Callable
from threading import BoundedSemaphore
from typing import Any
from uuid import UUID

from django.conf import settings
from django.http.request import UnreadablePostError
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from devplans.core.edges import NarrowedKeyField
from devplans.core.errors import DomainError
from devplans.core.rest import exception_handler
from devplans.film.api import AlwaysJson
from devplans.film.models import Film, Upload
from devplans.film.uploads import protocol, services
from devplans.people.models import Squad
from devplans.schedule.models import Event

STATUS = {
    "file.size": 413,
    "file.quota": 413,
    "uploads.many": 413,
    "upload.past_end": 413,
    "file.room": 507,
    "upload.offset": 409,
    "upload.busy": 423,
    "upload.checksum": 460,
    "upload.gone": 410,
}
# Slow senders hold a thread each; the rest of the portal needs some too.
at_once = BoundedSemaphore(settings.UPLOADS_AT_ONCE)


class NewUpload(serializers.Serializer):
    """What `Upload-Metadata` says of a film."""

    filename = serializers.CharField(max_length=300, default="", allow_blank=True)
    title = serializers.CharField(max_length=120, default="", allow_blank=True)
    squad = NarrowedKeyField(queryset=Squad.objects)
    event = NarrowedKeyField(queryset=Event.objects, required=False, allow_null=True, default=None)
    files = serializers.IntegerField(default=1)
    fingerprint = serializers.CharField(max_length=200, default="", allow_blank=True)


class NextUpload(serializers.Serializer):
    """What it says of a further file of a film that is on its way."""

    film = NarrowedKeyField(queryset=Film.objects)
    position = serializers.IntegerField(min_value=0, max_value=1000)
    filename = serializers.CharField(max_length=300, default="", allow_blank=True)
    fingerprint = serializers.CharField(max_length=200, default="", allow_blank=True)


class UploadSerializer(serializers.ModelSerializer):
    """One's own file on its way."""

    film = serializers.UUIDField(source="file.film_id")
    title = serializers.CharField(source="file.film.title")
    filename = serializers.CharField(source="file.filename")
    position = serializers.IntegerField(source="file.position")

    class Meta:
        model = Upload
        fields = [
            *("id", "film", "title", "filename", "position", "length", "fingerprint"),
            "expires_at",
        ]


def refusal(error: Exception, context: dict[str, Any]) -> Response | None:
    """As in the rest of the API, with the statuses that clients of the protocol know."""
    if isinstance(error, protocol.Malformed):
        return Response({"detail": str(error)}, status=400)
    answer = exception_handler(error, context)
    if answer is not None and isinstance(error, DomainError):
        answer.status_code = STATUS.get(error.code, answer.status_code)
    return answer


class Untouched(BaseParser):
    """REST framework asks for a form when it looks for the CSRF token; the body stays unread."""

    media_type = "*/*"

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> None:
        return None


class TusView(APIView):
    """What both addresses share: versions, and that a refusal reaches who is still sending."""

    content_negotiation_class = AlwaysJson
    parser_classes = [Untouched]

    def dispatch(self, request: Any, *args: Any, **kwargs: Any) -> Any:
        override = request.headers.get("X-HTTP-Method-Override", "").upper()
        if request.method == "POST" and override in {"PATCH", "DELETE", "HEAD"}:
            request.method = override
        return super().dispatch(request, *args, **kwargs)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        raw = request._request
        length = raw.META.get("CONTENT_LENGTH") or "0"
        self.body = protocol.Body(raw.read, int(length), UnreadablePostError)

    def get_exception_handler(self) -> Callable[..., Response | None]:
        return refusal

    def finalize_response(self, request: Any, response: Any, *args: Any, **kwargs: Any) -> Any:
        answer = super().finalize_response(request, response, *args, **kwargs)
        answer["Tus-Resumable"] = protocol.VERSION
        if answer.status_code >= 400 and answer.status_code != 503 and hasattr(self, "body"):
            self.body.drain()
        return answer

    @extend_schema(exclude=True)
    def options(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        words = {
            "Tus-Version": protocol.VERSION,
            "Tus-Extension": protocol.EXTENSIONS,
            "Tus-Max-Size": str(settings.FILM_MAX_BYTES),
            "Tus-Checksum-Algorithm": ",".join(protocol.ALGORITHMS),
        }
        return Response(status=204, headers=words)

    def wrong_version(self, request: Request) -> Response | None:
        if request.headers.get("Tus-Resumable") == protocol.VERSION:
            return None
        words = {"detail": _("This address speaks tus %(version)s.") % {"version": "1.0.0"}}
        return Response(words, status=412, headers={"Tus-Version": protocol.VERSION})

    def received(self, request: Request, upload: Upload, offset: int) -> int:
        """Take the body of a request into an upload; how much is there then."""
        checksum = protocol.checksum(request.headers.get("Upload-Checksum"))
        size = services.receive(
            actor=request.user,
            upload=upload,
            offset=offset,
            announced=self.body.announced,
            pieces=checksum.over(self.body) if checksum else self.body,
            intact=checksum.holds if checksum else None,
        )
        if not self.body.is_whole:
            message = _("The connection broke off. What has arrived is kept.")
            raise DomainError("upload.broken", message)
        return size


def is_part(request: Request) -> bool:
    return request.headers.get("Content-Type", "") == protocol.CONTENT_TYPE


def busy() -> Response:
    words = {"detail": _("Many films are arriving at once. Yours goes on in a moment.")}
    return Response(words, status=503, headers={"Retry-After": "2"})


class Uploads(TusView):
    """Begin an upload (tus 1.0, creation), and list one's own that are not complete."""

    @extend_schema(responses={200: UploadSerializer(many=True)})
    def get(self, request: Request) -> Response:
        mine = Upload.objects.of_user(request.user).open()
        rows = UploadSerializer(mine, many=True).data
        for row, upload in zip(rows, mine, strict=True):
            row["offset"] = services.peek(actor=request.user, upload=upload)
        return Response(rows)

    @extend_schema(
        request=None,
        responses={201: OpenApiResponse(description="Location: where to send the file")},
    )
    def post(self, request: Request) -> Response:
        """`Upload-Length`, and `Upload-Metadata` with `filename`, `title`, `squad`; or, for a
        further file, `film` and `position`. The film exists once its files are complete."""
        if wrong := self.wrong_version(request):
            return wrong
        length = protocol.number(request.headers.get("Upload-Length"), "Upload-Length")
        if is_part(request) and self.body.announced > length:
            raise protocol.Malformed("The body is longer than Upload-Length.")
        told = protocol.metadata(request.headers.get("Upload-Metadata"))
        upload = self.begun(request, told, length)
        headers = {
            "Location": reverse("upload-detail", args=[upload.pk]),
            "Upload-Expires": protocol.expires(upload.expires_at),
        }
        if is_part(request) and self.body.announced:
            headers["Upload-Offset"] = str(self.first_part(request, upload))
        return Response(status=201, headers=headers)

    def begun(self, request: Request, told: dict[str, str], length: int) -> Upload:
        kind = NextUpload if "film" in told else NewUpload
        asked = kind(data=told, context={"request": request})
        asked.is_valid(raise_exception=True)
        words = {**asked.validated_data, "length": length}
        if kind is NextUpload:
            return services.begin_next(actor=request.user, **words)
        words["title"] = words["title"] or words["filename"].rpartition(".")[0][:120]
        return services.begin_upload(actor=request.user, **words)

    def first_part(self, request: Request, upload: Upload) -> int:
        """creation-with-upload; what does not fit at once is sent on by PATCH."""
        if not at_once.acquire(blocking=False):
            return 0
        try:
            return self.received(request, upload, 0)
        finally:
            at_once.release()


class OneUpload(TusView):
    """One's own upload (tus 1.0): how much is there, send on, stop it."""

    def upload(self, request: Request, pk: str) -> Upload:
        return get_object_or_404(Upload.objects.of_user(request.user), pk=UUID(pk))

    @extend_schema(
        request=None,
        responses={200: OpenApiResponse(description="Upload-Offset, Upload-Length")},
    )
    def head(self, request: Request, pk: str) -> Response:
        upload = self.upload(request, pk)
        if wrong := self.wrong_version(request):
            return wrong
        offset = services.offset_of(actor=request.user, upload=upload)
        headers = {
            "Upload-Offset": str(offset),
            "Upload-Length": str(upload.length),
            "Cache-Control": "no-store",
        }
        if upload.complete_at is None:
            headers["Upload-Expires"] = protocol.expires(upload.expires_at)
        return Response(status=200, headers=headers)

    @extend_schema(
        request={protocol.CONTENT_TYPE: OpenApiTypes.BINARY},
        responses={204: OpenApiResponse(description="Upload-Offset: how much is there now")},
    )
    def patch(self, request: Request, pk: str) -> Response:
        """Send on at `Upload-Offset`; `Upload-Checksum` is optional (sha1, sha256)."""
        upload = self.upload(request, pk)
        if wrong := self.wrong_version(request):
            return wrong
        if not is_part(request):
            return Response({"detail": f"Content-Type: {protocol.CONTENT_TYPE}"}, status=415)
        if not request.META.get("CONTENT_LENGTH"):
            return Response({"detail": "Content-Length is needed."}, status=411)
        offset = protocol.number(request.headers.get("Upload-Offset"), "Upload-Offset")
        if not at_once.acquire(blocking=False):
            return busy()
        try:
            size = self.received(request, upload, offset)
        finally:
            at_once.release()
        upload.refresh_from_db()
        headers = {
            "Upload-Offset": str(size),
            "Upload-Expires": protocol.expires(upload.expires_at),
        }
        return Response(status=204, headers=headers)

    @extend_schema(request=None, responses={204: None})
    def delete(self, request: Request, pk: str) -> Response:
        """Stop it: nothing of the file is kept."""
        upload = self.upload(request, pk)
        if wrong := self.wrong_version(request):
            return wrong
        services.stop_upload(actor=request.user, upload=upload)
        return Response(status=204)
