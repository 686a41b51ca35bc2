"""A film's server behind TLS on this machine, and an internet that leads to nothing but it."""

import contextlib
import http.server
import socket
import ssl
import threading
import time

import trustme

PUBLIC = "93.184.216.34"
OTHER_PUBLIC = "151.101.1.1"
NAMES = ["films.example", "other.example", "rebind.example", PUBLIC, "127.0.0.1", "nas.lan"]


class Answers(http.server.BaseHTTPRequestHandler):
    """Answers by what the test put into `server.paths`: path -> function(handler)."""

    protocol_version = "HTTP/1.1"

    def do_GET(self):
        self.server.asked.append((self.path, dict(self.headers)))
        with contextlib.suppress(OSError):
            self.server.paths[self.path.partition("?")[0]](self)
        self.close_connection = True

    def say(self, status, body=b"", **headers):
        self.send_response(status)
        headers.setdefault("Content_Length", len(body))
        for name, value in headers.items():
            if value is not None:
                self.send_header(name.replace("_", "-"), str(value))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_args):
        pass


class FilmServer(http.server.ThreadingHTTPServer):
    """`taken` counts connections that reached the listening socket, `asked` the requests."""

    daemon_threads = True

    def __init__(self, context):
        super().__init__(("127.0.0.1", 0), Answers)
        self.context, self.paths, self.asked, self.taken = context, {}, [], 0
        threading.Thread(target=self.serve_forever, args=(0.05,), daemon=True).start()

    def get_request(self):
        taken, address = self.socket.accept()
        self.taken += 1
        taken.settimeout(20)
        return taken, address

    def finish_request(self, request, client_address):
        with contextlib.suppress(OSError):
            secured = self.context.wrap_socket(request, server_side=True)
            super().finish_request(secured, client_address)
            secured.close()

    def handle_error(self, *_args):
        pass


def film(content, *, etag='"one"', ranges=True, cut_after=None):
    """A page of a server that gives `content`; cut_after: bytes, then each line breaks."""

    def answer(handler):
        start, asked = 0, handler.headers.get("Range")
        same = handler.headers.get("If-Range") in {None, etag}
        if asked and ranges and same:
            start = int(asked.removeprefix("bytes=").removesuffix("-"))
        body = content[start:]
        handler.send_response(206 if start else 200)
        handler.send_header("Content-Length", str(len(body)))
        handler.send_header("Content-Type", "video/mp4")
        if etag:
            handler.send_header("ETag", etag)
        if start:
            handler.send_header("Content-Range", f"bytes {start}-{len(content) - 1}/{len(content)}")
        handler.end_headers()
        handler.wfile.write(body[:cut_after])
        handler.wfile.flush()
        if cut_after is not None and cut_after < len(body):
            handler.connection.shutdown(socket.SHUT_RDWR)

    return answer


def redirect(to, status=302):
    return lambda handler: handler.say(status, Location=to)


def trickle(first, piece, pause_s, **headers):
    """Sends `first`, and then `piece` after each pause, without an end."""

    def answer(handler):
        handler.say(200, first, **{"Content_Length": 10**9, **headers})
        for _number in range(10_000):
            time.sleep(pause_s)
            handler.wfile.write(piece)
            handler.wfile.flush()

    return answer


class Internet:
    """Stands for the resolver and for every other machine: all lines end at `server`.

    `names`: host -> answers, one for each time it is asked, the last one again and again.
    `lines` holds the IP addresses and ports that a connection was asked for.
    """

    def __init__(self, server):
        self.server, self.lines, self.looked_up = server, [], []
        self.names = {name: [[PUBLIC]] for name in ("films.example", "other.example")}

    def getaddrinfo(self, host, port, *_args, **_kwargs):
        self.looked_up.append(host)
        if host not in self.names:
            raise socket.gaierror(socket.EAI_NONAME, "no such name")
        answers = self.names[host]
        found = answers.pop(0) if len(answers) > 1 else answers[0]
        family = {False: socket.AF_INET, True: socket.AF_INET6}
        return [
            (family[":" in ip], socket.SOCK_STREAM, socket.IPPROTO_TCP, "", (ip, port))
            for ip in found
        ]

    def create_connection(self, address, timeout=None, **_kwargs):
        self.lines.append(address)
        if timeout is not None and not isinstance(timeout, int | float):
            timeout = 10
        line = socket.socket()
        line.settimeout(timeout)
        line.connect(self.server.server_address)
        return line


def certificate(authority, *names):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.issue_cert(*names).configure_cert(context)
    return context


def new_authority(folder):
    """An authority of the test's own, and the file with its certificate."""
    authority = trustme.CA()
    path = folder / "authority.pem"
    authority.cert_pem.write_to_path(str(path))
    return authority, path
