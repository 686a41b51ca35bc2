"""Identifiers."""

import secrets
import time
import uuid


def uuid7() -> uuid.UUID:
    """A version 7 UUID: 48 bits of Unix milliseconds, then random bits. Source: RFC 9562, 5.7."""
    milliseconds = time.time_ns() // 1_000_000
    value = (milliseconds & (1 << 48) - 1) << 80 | secrets.randbits(80)
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return uuid.UUID(int=value)
