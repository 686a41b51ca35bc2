"""Comments as Web Annotations (W3C Web Annotation Data Model, JSON-LD), and back. Pure.

Each part of a comment is a body with a purpose of its own: what happened is `commenting`, what to
do instead `editing`, the verdict is a tag that is `assessing`, the skill one that is
`classifying`, each player one that is `identifying`, a drawing is SVG that is `highlighting`, and
its shapes as JSON that are `describing`. The target is the film with a media fragment. A single
moment is the one millisecond that begins there, and says so: it is `bookmarking` too.
"""

import json
from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

from devplans.feedback import fragments
from devplans.feedback.noted import (
    MOST_BYTES,
    MOST_COMMENTS,
    VERDICTS,
    Noted,
    Problem,
    Reading,
    who,
)

CONTEXT = "http://www.w3.org/ns/anno.jsonld"
Json = dict[str, Any]
URN = "urn:uuid:"
JSON = "application/json"


def _text(value: str, *purposes: str) -> Json:
    purpose = purposes[0] if len(purposes) == 1 else list(purposes)
    return {"type": "TextualBody", "purpose": purpose, "value": value, "format": "text/plain"}


def annotation(comment: Noted, *, source: str) -> Json:
    """One comment. source: the film's address. The id of the comment is a UUID."""
    bodies = []
    if comment.happened:
        bodies.append(_text(comment.happened, "commenting"))
    if comment.do_instead:
        bodies.append(_text(comment.do_instead, "editing"))
    bodies.append(_text(comment.verdict, "tagging", "assessing"))
    if comment.skill:
        bodies.append(_text(comment.skill, "tagging", "classifying"))
    bodies += [_text(player.label, "tagging", "identifying") for player in comment.players]
    if comment.drawing:
        drawing = _text(comment.drawing, "highlighting")
        bodies.append({**drawing, "format": "image/svg+xml"})
    if comment.shapes:
        bodies.append({**_text(comment.shapes, "describing"), "format": JSON})
    is_moment = comment.end_ms is None
    end_ms = comment.start_ms + 1 if comment.end_ms is None else comment.end_ms
    found: Json = {
        "id": f"{URN}{UUID(comment.id)}",
        "type": "Annotation",
        "motivation": ["commenting", "bookmarking"] if is_moment else "commenting",
        "body": bodies,
        "target": {
            "type": "SpecificResource",
            "source": source,
            "selector": {
                "type": "FragmentSelector",
                "conformsTo": fragments.CONFORMS_TO,
                "value": fragments.written(comment.start_ms, end_ms),
            },
        },
    }
    if comment.sent_at:
        found["created"] = comment.sent_at
    return found


def collection(comments: Iterable[Noted], *, address: str, label: str, source: str) -> Json:
    """All comments as an AnnotationCollection whose only page is in it.

    address: where the collection itself is served; source: the film.
    """
    ordered = sorted(comments, key=lambda comment: (comment.start_ms, comment.id))
    return {
        "@context": CONTEXT,
        "id": address,
        "type": "AnnotationCollection",
        "label": label,
        "total": len(ordered),
        "first": {
            "id": f"{address}#page-1",
            "type": "AnnotationPage",
            "startIndex": 0,
            "items": [annotation(one, source=source) for one in ordered],
        },
    }


def written(comments: Iterable[Noted], *, address: str, label: str, source: str) -> str:
    found = collection(comments, address=address, label=label, source=source)
    return json.dumps(found, ensure_ascii=False, indent=1) + "\n"


# --- reading ---------------------------------------------------------------


def read_bytes(content: bytes) -> Reading:
    """The comments of a file. Never raises: what cannot be used is named in the result."""
    if len(content) > MOST_BYTES:
        return Reading(problems=[Problem(0, "large")])
    try:
        return read(json.loads(content.decode("utf-8-sig")))
    except (ValueError, RecursionError):
        return Reading(problems=[Problem(0, "json")])


def read(value: Any) -> Reading:
    """The comments of one annotation, a list, a page or a collection. Never raises.

    `line` of what is found is its place in the list, from 1.
    """
    reading = Reading()
    found = _annotations(value)
    if found is None:
        reading.problems.append(Problem(0, "annotations"))
        return reading
    if len(found) > MOST_COMMENTS:
        reading.problems.append(Problem(0, "many"))
        return reading
    for place, one in enumerate(found, start=1):
        comment = _comment_of(one, place)
        if isinstance(comment, Problem):
            reading.problems.append(comment)
        else:
            reading.comments.append(comment)
    return reading


def _annotations(value: Any) -> list[Any] | None:
    if isinstance(value, list):
        return value
    if not isinstance(value, dict):
        return None
    kinds = _list(value.get("type"))
    if "Annotation" in kinds:
        return [value]
    if "AnnotationCollection" in kinds:
        first = value.get("first")
        if first is None and not value.get("total"):
            return []
        return _annotations(first) if isinstance(first, dict) else None
    items = value.get("items")
    return items if "AnnotationPage" in kinds and isinstance(items, list) else None


def _list(value: Any) -> list[Any]:
    if value is None:
        return []
    return value if isinstance(value, list) else [value]


def _comment_of(value: Any, place: int) -> Noted | Problem:
    if not isinstance(value, dict) or "Annotation" not in _list(value.get("type")):
        return Problem(place, "annotation")
    part = _part_of(value.get("target"))
    if part is None or part.start_ms is None:
        return Problem(place, "no_time")
    is_moment = "bookmarking" in _list(value.get("motivation"))
    end_ms = None if is_moment else part.end_ms
    found = _list(value.get("body"))
    shapes = [_as_body(body)[1] for body in found if _is_shapes(body)]
    bodies = [_as_body(body) for body in found if not _is_shapes(body)]
    words = {name: _values(bodies, name) for name in ("assessing", "classifying", "identifying")}
    verdict = next((word for word in words["assessing"] if word in VERDICTS), "note")
    key = value.get("id") if isinstance(value.get("id"), str) else ""
    created = value.get("created")
    return Noted(
        str(key).removeprefix(URN),
        part.start_ms,
        end_ms,
        tuple(who(label) for label in words["identifying"]),
        next(iter(words["classifying"]), ""),
        verdict,
        "\n".join(_values(bodies, "commenting", "describing", "")),
        "\n".join(_values(bodies, "editing")),
        created if isinstance(created, str) else "",
        next(iter(_values(bodies, "highlighting")), ""),
        next(iter(shapes), ""),
        line=place,
    )


def _part_of(target: Any) -> fragments.Fragment | None:
    """The part of the film: that of a selector, else that of the address itself."""
    for words in _fragments_of(_list(target)):
        found = fragments.parse(words)
        if found.has_time:
            return found
    return None


def _fragments_of(targets: list[Any]) -> Iterator[str]:
    for one in targets:
        if isinstance(one, str):
            yield one.partition("#")[2]
        elif isinstance(one, dict):
            for selector in _list(one.get("selector")):
                if isinstance(selector, dict) and "FragmentSelector" in _list(selector.get("type")):
                    yield str(selector.get("value"))
            yield str(one.get("id") or one.get("source")).partition("#")[2]


def _as_body(body: Any) -> tuple[list[Any], str]:
    """Its purposes and its text; a body without purpose says what happened."""
    if isinstance(body, dict) and isinstance(body.get("value"), str):
        return _list(body.get("purpose")) or [""], body["value"]
    return [], ""


def _is_shapes(body: Any) -> bool:
    is_json = isinstance(body, dict) and body.get("format") == JSON
    return is_json and "describing" in _list(body.get("purpose"))


def _values(bodies: list[tuple[list[Any], str]], *purposes: str) -> list[str]:
    return [text for found, text in bodies if any(one in purposes for one in found)]
