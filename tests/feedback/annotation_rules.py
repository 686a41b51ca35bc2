"""What the Web Annotation Data Model demands, as far as our own outputs use it.

COLLECTION and ANNOTATION are JSON schemas of our own for its MUSTs. `load_context` serves, offline
and in place of the published context document, a subset with the terms that the outputs use; each
term maps to the IRI that the recommendation's vocabulary gives it.
"""

from typing import Any

CONTEXT_ADDRESS = "http://www.w3.org/ns/anno.jsonld"
MOTIVATIONS = (
    "assessing", "bookmarking", "classifying", "commenting", "describing", "editing",
    "highlighting", "identifying", "linking", "moderating", "questioning", "replying", "tagging",
)  # fmt: skip
CONTEXT: dict[str, Any] = {
    "@context": {
        "oa": "http://www.w3.org/ns/oa#",
        "dc": "http://purl.org/dc/elements/1.1/",
        "dcterms": "http://purl.org/dc/terms/",
        "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
        "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
        "as": "https://www.w3.org/ns/activitystreams#",
        "xsd": "http://www.w3.org/2001/XMLSchema#",
        "id": {"@type": "@id", "@id": "@id"},
        "type": {"@type": "@id", "@id": "@type"},
        "Annotation": "oa:Annotation",
        "TextualBody": "oa:TextualBody",
        "SpecificResource": "oa:SpecificResource",
        "FragmentSelector": "oa:FragmentSelector",
        "AnnotationCollection": "as:OrderedCollection",
        "AnnotationPage": "as:OrderedCollectionPage",
        "motivation": {"@type": "@vocab", "@id": "oa:motivatedBy"},
        "purpose": {"@type": "@vocab", "@id": "oa:hasPurpose"},
        "body": {"@type": "@id", "@id": "oa:hasBody"},
        "target": {"@type": "@id", "@id": "oa:hasTarget"},
        "source": {"@type": "@id", "@id": "oa:hasSource"},
        "selector": {"@type": "@id", "@id": "oa:hasSelector"},
        "conformsTo": {"@type": "@id", "@id": "dcterms:conformsTo"},
        "value": "rdf:value",
        "format": "dc:format",
        "label": "rdfs:label",
        "created": {"@id": "dcterms:created", "@type": "xsd:dateTime"},
        "items": {"@type": "@id", "@id": "as:items", "@container": "@list"},
        "first": {"@type": "@id", "@id": "as:first"},
        "total": {"@id": "as:totalItems", "@type": "xsd:nonNegativeInteger"},
        "startIndex": {"@id": "as:startIndex", "@type": "xsd:nonNegativeInteger"},
        **{one: f"oa:{one}" for one in MOTIVATIONS},
    }
}


def load_context(address: str, _options: Any) -> dict[str, Any]:
    assert address == CONTEXT_ADDRESS
    return {
        "contentType": "application/ld+json",
        "contextUrl": None,
        "documentUrl": address,
        "document": CONTEXT,
    }


MOTIVATION = {"enum": list(MOTIVATIONS)}
ONE_OR_MORE = {"anyOf": [MOTIVATION, {"type": "array", "items": MOTIVATION, "minItems": 1}]}
BODY = {
    "type": "object",
    "required": ["type", "value"],
    "properties": {
        "type": {"const": "TextualBody"},
        "value": {"type": "string"},
        "format": {"enum": ["text/plain", "image/svg+xml", "application/json"]},
        "purpose": ONE_OR_MORE,
    },
}
TARGET = {
    "type": "object",
    "required": ["source"],
    "properties": {
        "source": {"type": "string", "pattern": "^https?://"},
        "selector": {
            "type": "object",
            "required": ["type", "value"],
            "properties": {
                "type": {"const": "FragmentSelector"},
                "value": {"type": "string", "pattern": r"^t=\d+(\.\d+)?,\d+(\.\d+)?$"},
                "conformsTo": {"type": "string", "format": "uri"},
            },
        },
    },
}
ANNOTATION: dict[str, Any] = {
    "type": "object",
    "required": ["id", "type", "target"],
    "properties": {
        "id": {"type": "string", "pattern": "^(urn:uuid:[0-9a-f-]{36}|https?://)"},
        "type": {"const": "Annotation"},
        "motivation": ONE_OR_MORE,
        "body": {"anyOf": [BODY, {"type": "array", "items": BODY}]},
        "target": TARGET,
        "created": {
            "type": "string",
            "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d.*(Z|[+-]\d\d:\d\d)$",
        },
    },
}
COLLECTION: dict[str, Any] = {
    "type": "object",
    "required": ["@context", "id", "type", "label", "total", "first"],
    "properties": {
        "@context": {"const": CONTEXT_ADDRESS},
        "id": {"type": "string", "pattern": "^https?://"},
        "type": {"const": "AnnotationCollection"},
        "total": {"type": "integer", "minimum": 0},
        "first": {
            "type": "object",
            "required": ["id", "type", "items"],
            "properties": {
                "type": {"const": "AnnotationPage"},
                "startIndex": {"type": "integer", "minimum": 0},
                "items": {"type": "array", "items": ANNOTATION},
            },
        },
    },
}
