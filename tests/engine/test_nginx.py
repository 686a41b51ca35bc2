"""deploy/nginx.conf in a real nginx, before a stand-in for the web server."""

import http.client
import shutil
import subprocess
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from tests.services import free_port

pytestmark = [
    pytest.mark.once,
    pytest.mark.skipif(shutil.which("nginx") is None, reason="nginx is not on this machine"),
]

CONFIG = Path(__file__).resolve().parents[2] / "deploy" / "nginx.conf"
FILM = bytes(range(256)) * 16


class Web(BaseHTTPRequestHandler):
    """Allows the film at /allowed, refuses it elsewhere, and notes when an upload's bytes come."""

    arrivals: list[tuple[float, int]] = []
    forwarded: list[str] = []

    def log_message(self, *_args):
        pass

    def do_GET(self):
        allowed = self.path == "/allowed"
        self.forwarded.append(self.headers["X-Forwarded-For"])
        self.send_response(200 if allowed else 404)
        self.send_header("Content-Length", "0")
        if allowed:
            self.send_header("X-Accel-Redirect", "/protected/clips/a.mp4")
            self.send_header("Content-Type", "video/mp4")
            self.send_header("Cache-Control", "private, no-store")
            self.send_header("Content-Security-Policy", "sandbox; default-src 'none'")
        self.end_headers()

    def do_POST(self):
        left = int(self.headers["Content-Length"])
        while left and (part := self.rfile.read1(65536)):
            left -= len(part)
            self.arrivals.append((time.monotonic(), len(part)))
        self.send_response(201)
        self.send_header("Content-Length", "0")
        self.end_headers()


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """Port of an nginx with our configuration; only places and addresses are exchanged."""
    folder = tmp_path_factory.mktemp("nginx")
    folder.chmod(0o755)
    media = folder / "media" / "clips"
    media.mkdir(parents=True)
    (media / "a.mp4").write_bytes(FILM)
    web = ThreadingHTTPServer(("127.0.0.1", 0), Web)
    threading.Thread(target=web.serve_forever, daemon=True).start()
    port = free_port()
    text = CONFIG.read_text()
    for old, new in {
        "server web:8000": f"server 127.0.0.1:{web.server_address[1]}",
        "listen 8080": f"listen 127.0.0.1:{port}",
        "/var/lib/portal/media/": f"{folder}/media/",
        "/tmp/nginx": f"{folder}/nginx",
        "pid ": "daemon off; master_process off; pid ",
    }.items():
        assert old in text
        text = text.replace(old, new)
    config = folder / "nginx.conf"
    config.write_text(text)
    subprocess.run(["nginx", "-t", "-c", str(config)], check=True, capture_output=True)
    popen = subprocess.Popen(["nginx", "-c", str(config)])
    deadline = time.monotonic() + 10
    while ask(port, "GET", "/")[0] != 404:
        assert time.monotonic() < deadline
        time.sleep(0.05)
    yield port
    popen.terminate()
    popen.wait()
    web.shutdown()


def ask(port, method, path, *, body=None, **headers):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    sent = {name.replace("_", "-"): text for name, text in headers.items()}
    try:
        connection.request(method, path, body=body, headers=sent)
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read()
    except ConnectionError:
        return 0, {}, b""
    finally:
        connection.close()


def test_the_film_is_reached_only_through_the_view(served):
    status, headers, body = ask(served, "GET", "/allowed")
    assert (status, body) == (200, FILM)
    assert headers["Content-Type"] == "video/mp4"
    assert headers["Cache-Control"] == "private, no-store"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert ask(served, "GET", "/protected/clips/a.mp4")[0] == 404
    assert ask(served, "GET", "/refused")[0] == 404


@pytest.mark.parametrize(
    ("asked", "status", "told", "body"),
    [
        ("bytes=0-1", 206, "bytes 0-1/4096", FILM[:2]),
        ("bytes=100-199", 206, "bytes 100-199/4096", FILM[100:200]),
        ("bytes=-10", 206, "bytes 4086-4095/4096", FILM[-10:]),
        ("bytes=4000-", 206, "bytes 4000-4095/4096", FILM[4000:]),
        ("bytes=0-0,2-2,4-4,6-6,8-8", 200, None, FILM),
        ("bytes=5000-", 416, "bytes */4096", None),
    ],
)
def test_parts_of_the_film(served, asked, status, told, body):
    found, headers, content = ask(served, "GET", "/allowed", Range=asked)
    assert (found, headers["Content-Range"]) == (status, told)
    if body is not None:
        assert content == body


def test_a_large_upload_streams_through(served):
    """The first bytes are with the web server while the last have not been sent."""
    size, half = 8 * 1024 * 1024, 4 * 1024 * 1024
    Web.arrivals.clear()
    connection = http.client.HTTPConnection("127.0.0.1", served, timeout=20)
    connection.putrequest("POST", "/upload")
    connection.putheader("Content-Length", str(size))
    connection.endheaders(b"x" * half)
    deadline = time.monotonic() + 10
    while sum(count for _, count in Web.arrivals) < half // 2:
        assert time.monotonic() < deadline
        time.sleep(0.01)
    connection.send(b"x" * (size - half))
    assert connection.getresponse().status == 201
    assert sum(count for _, count in Web.arrivals) == size
    connection.close()


def test_who_asks_is_told_to_the_web_server(served):
    ask(served, "GET", "/who")
    assert Web.forwarded[-1] == "127.0.0.1"
    ask(served, "GET", "/who", X_Forwarded_For="203.0.113.9")
    assert Web.forwarded[-1] == "203.0.113.9, 127.0.0.1"
