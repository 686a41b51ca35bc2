"""A server that speaks S3, on this machine, as an HTTP peer; a portal that keeps films there."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import pytest

from portal import env
from tests.services import free_port

NAME = "films"
KEYS = {
    "AWS_ACCESS_KEY_ID": "club",
    "AWS_SECRET_ACCESS_KEY": "not-a-secret",
    "AWS_DEFAULT_REGION": "eu-central-1",
    "AWS_EC2_METADATA_DISABLED": "true",
}


@contextmanager
def running() -> Iterator[str]:
    """The server's address."""
    from moto.server import ThreadedMotoServer

    port = free_port()
    server = ThreadedMotoServer("127.0.0.1", port, verbose=False)
    server.start()
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.stop()


def client(address):
    import boto3
    from botocore.config import Config

    return boto3.client(
        "s3",
        endpoint_url=address,
        region_name=KEYS["AWS_DEFAULT_REGION"],
        aws_access_key_id=KEYS["AWS_ACCESS_KEY_ID"],
        aws_secret_access_key=KEYS["AWS_SECRET_ACCESS_KEY"],
        config=Config(s3={"addressing_style": "path"}, retries={"max_attempts": 1}),
    )


def emptied(address):
    """A client of the server, whose bucket is there and empty."""
    made = client(address)
    place = {"LocationConstraint": KEYS["AWS_DEFAULT_REGION"]}
    # The server forgets nothing when it stops, as long as this process runs.
    with suppress(made.exceptions.BucketAlreadyOwnedByYou):
        made.create_bucket(Bucket=NAME, CreateBucketConfiguration=place)
    clear(made)
    return made


def clear(made):
    for upload in made.list_multipart_uploads(Bucket=NAME).get("Uploads", []):
        made.abort_multipart_upload(Bucket=NAME, Key=upload["Key"], UploadId=upload["UploadId"])
    for key in keys(made):
        made.delete_object(Bucket=NAME, Key=key)


def keys(made, prefix=""):
    listed = made.list_objects_v2(Bucket=NAME, Prefix=prefix)
    return [found["Key"] for found in listed.get("Contents", [])]


def storages(address, public_url=""):
    """STORAGES with the media in the bucket."""
    return {
        "default": {
            "BACKEND": "portal.bucket.Bucket",
            "OPTIONS": env.bucket(f"s3://{NAME}", address, public_url),
        },
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }


def body(made, key):
    return made.get_object(Bucket=NAME, Key=key)["Body"].read()


@pytest.fixture(scope="module")
def s3():
    """The address of a server, with the keys for it in the environment."""
    before = {name: os.environ.get(name) for name in KEYS}
    os.environ.update(KEYS)
    with running() as address:
        emptied(address)
        yield address
    for name, value in before.items():
        if value is None:
            os.environ.pop(name)
        else:
            os.environ[name] = value


@pytest.fixture
def bucket(s3):
    """A client for an empty bucket."""
    made = client(s3)
    clear(made)
    return made


@pytest.fixture
def films_in_bucket(s3, bucket, settings):
    settings.STORAGE_URL = f"s3://{NAME}"
    settings.STORAGES = storages(s3)
    return bucket
