"""Bytes of a file as lines of text, in whatever encoding an editor has written them. Pure."""

import codecs
import re

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_LOOKED_AT = 65_536
_ENDS = re.compile(r"\r\n|\r|\n")
# Everything below the space that no text holds, halves of signs, and the marks of `wording`.
_NO_SIGN = re.compile("[\x00-\x08\x0e-\x1f\x7f\ud800-\udfff\ue000\ue001]")


def lines_of(content: bytes | str) -> list[str] | None:
    """The lines without their ends; None where it is no text (a film, a picture)."""
    text = content.removeprefix("﻿") if isinstance(content, str) else _decoded(content)
    if text is None or _is_noise(text):
        return None
    return _ENDS.split(_NO_SIGN.sub("", text))


def _is_noise(text: str) -> bool:
    start = text[:_LOOKED_AT]
    return len(_NO_SIGN.findall(start)) * 50 > len(start)


def _decoded(content: bytes) -> str | None:
    for mark, encoding in _BOMS:
        if content.startswith(mark):
            return content[len(mark) :].decode(encoding, "replace")
    if (wide := _wide(content[:_LOOKED_AT])) is not None:
        return content.decode(wide, "replace")
    if content[:_LOOKED_AT].count(0) > 4:
        return None
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        # Line by line: files that were put together hold both.
        return "\n".join(_line(line) for line in content.split(b"\n"))


def _wide(start: bytes) -> str | None:
    """UTF-16 without its mark: every second byte of Western text is 0, and hardly another."""
    even, odd = start[0::2].count(0), start[1::2].count(0)
    half = len(start) // 2
    if half >= 4 and odd > half * 0.7 and even < half * 0.1:
        return "utf-16-le"
    if half >= 4 and even > half * 0.7 and odd < half * 0.1:
        return "utf-16-be"
    return None


def _line(line: bytes) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", "replace")
