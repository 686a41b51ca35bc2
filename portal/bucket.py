"""Films and clips in a bucket, with links that a browser can follow."""

from typing import Any

import boto3
from storages.backends.s3 import S3Storage
from storages.utils import clean_name


class Bucket(S3Storage):
    """A private bucket. Its links are signed, short-lived, and for the address that browsers use.

    public_url: where browsers reach it, if that differs from where the portal does.
    """

    def __init__(self, *, public_url: str = "", **settings: Any) -> None:
        self.public_url = public_url
        self._outside: Any = None
        super().__init__(**settings)

    def url(
        self,
        name: str,
        parameters: dict[str, Any] | None = None,
        expire: int | None = None,
        http_method: str | None = None,
    ) -> str:
        """A link to read `name` for some minutes, by whoever has it."""
        if not self.public_url:
            return str(super().url(name, parameters, expire, http_method))
        if self._outside is None:
            # A link is signed for one host name, so another client signs it; it connects nowhere.
            self._outside = boto3.client(
                "s3",
                endpoint_url=self.public_url,
                region_name=self.connection.meta.client.meta.region_name,
                config=self.client_config,
            )
        asked = {"Bucket": self.bucket_name, "Key": self._normalize_name(clean_name(name))}
        link = self._outside.generate_presigned_url(
            "get_object",
            Params={**asked, **(parameters or {})},
            ExpiresIn=expire or self.querystring_expire,
            HttpMethod=http_method,
        )
        return str(link)
