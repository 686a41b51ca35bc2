"""Everything that one person can read: pages breadth-first from his own, the API, his mails."""

import re
from collections import deque
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urldefrag, urljoin, urlsplit

from tests.e2e.people import Person

LINKING = {
    "href",
    "src",
    "poster",
    "action",
    "hx-get",
    "data-read",
    "data-url",
    "send-to",
    "frames",
}
SPOKEN = {"alt", "title", "aria-label", "placeholder", "value", "content", "label", "marks"}
LEFT_ALONE = re.compile(r"^/(static/|accounts/|digests/stop/)")
LABEL = r"(?:#|№|\b(?:numbers?|num|nos?|nrs?|jerseys?|shirts?|players?)\b[.:]?\s*#?)\s*"
MOST_PAGES = 300


class Reading(HTMLParser):
    """The words of a page as eyes, ears and those who look under the hood get them."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.links, self.words = [], []

    def handle_starttag(self, tag, attrs):
        found = {name: value or "" for name, value in attrs}
        # A form that only writes is no page.
        if tag == "form" and found.get("method", "").lower() == "post":
            found.pop("action", None)
        self.links += [value for name, value in found.items() if name in LINKING and value]
        self.words += [value for name, value in found.items() if name in SPOKEN]

    def handle_data(self, data):
        self.words.append(data)


@dataclass
class Seen:
    """What one person got: by address, the raw answer and the words of it."""

    raw: dict[str, str] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)

    def add(self, where: str, raw: str, words: str) -> None:
        self.raw[where], self.words[where] = raw, words

    def naming(self, names: tuple[str, ...], number: str) -> list[tuple[str, str]]:
        """Where another child is named, or his number stands, and the words around it."""
        name = re.compile("|".join(map(re.escape, names)), re.I)
        labelled = re.compile(rf"{LABEL}{number}\b|\"number\":\s*\"{number}\"", re.I)
        alone = re.compile(rf"(?<![\w.,:/-]){number}(?![\w.,:/%-]|\s*%)")
        found = []
        for where, raw in self.raw.items():
            for pattern, text in (
                (name, raw), (name, self.words[where]),
                (labelled, raw), (labelled, self.words[where]), (alone, self.words[where]),
            ):  # fmt: skip
                found += [(where, _around(text, match)) for match in pattern.finditer(text)][:1]
        return found


def _around(text: str, match: re.Match) -> str:
    return " ".join(text[max(0, match.start() - 60) : match.end() + 60].split())


def pages(person: Person, seen: Seen, *starts: str) -> None:
    """Follow every link, fragment and file of this portal, from `starts`."""
    waiting, known = deque(starts), set(starts)
    while waiting:
        path = waiting.popleft()
        assert len(known) < MOST_PAGES, "the pages of one person do not end"
        answer = person.api("GET", path)
        assert answer.status < 500, path
        landed = answer.url.removeprefix(person.address)
        kind = answer.headers.get("content-type", "")
        heads = "\n".join(f"{name}: {value}" for name, value in answer.headers.items())
        if not kind.startswith(("text/", "application/json")):
            seen.add(path, heads, heads)
            continue
        body = answer.text()
        reading = Reading()
        if "html" in kind:
            reading.feed(body)
        seen.add(path, f"{heads}\n{body}", " ".join(reading.words) or body)
        for link in reading.links:
            parts = urlsplit(urldefrag(urljoin(person.address + landed, link)).url)
            inside = f"{parts.scheme}://{parts.netloc}" == person.address
            onward = parts.path + (f"?{parts.query}" if parts.query else "")
            # Steps through weeks have no end; a chosen drill is on the page without it too.
            endless = re.search(r"[?&](until|month|from|drill)=", onward)
            if inside and onward not in known and not endless and not LEFT_ALONE.match(parts.path):
                known.add(onward)
                waiting.append(onward)


def api(person: Person, seen: Seen, values: dict[str, list[str]]) -> set[str]:
    """Every GET of the schema with every value that fits; the patterns that answered 200."""
    schema = person.api("GET", "/api/v1/schema/?format=json").json()
    answered = set()
    for pattern, methods in schema["paths"].items():
        if "get" not in methods:
            continue
        for path in _filled(pattern, methods["get"], values):
            answer = person.api("GET", path)
            assert answer.status in {200, 400, 403, 404, 409}, (path, answer.status)
            if answer.status == 200:
                answered.add(pattern)
            kind = answer.headers.get("content-type", "")
            if "json" in kind or kind.startswith(("text/vtt", "text/csv")):
                seen.add(path, answer.text(), answer.text())
    return answered


def _filled(pattern: str, method: dict, values: dict[str, list[str]]) -> list[str]:
    paths = [pattern]
    for name in re.findall(r"{(\w+)}", pattern):
        paths = [path.replace(f"{{{name}}}", one) for path in paths for one in values[name]]
    asked = [row["name"] for row in method.get("parameters", []) if row["in"] == "query"]
    more = [
        f"{path}?{name}={one}" for path in paths for name in asked for one in values.get(name, [])
    ]
    return paths + more
