"""The minutes of one practice: drills for the skills that need it most, one behind the other. Pure.

A plan is written into the address as "drill:minutes,drill:minutes", so that it outlives a reload
and goes along when the address is sent to somebody.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

Plan: TypeAlias = list[tuple[str, int]]

MOST_SKILLS, MOST_DRILLS = 3, 3
MOST_ITEMS, MOST_MINUTES = 30, 180
ITEM = re.compile(r"([\w-]{1,64}):(\d{1,3})")


@dataclass(frozen=True)
class Offer:
    """A drill as it may be put into a practice. players: how many it takes at least."""

    key: str
    minutes: int
    players: int


def fill(skills: Sequence[Sequence[Offer]], *, minutes: int, players: int) -> Plan:
    """Drills for the first skills, each in its turn, until the minutes are full.

    skills: by need, each with its drills. At most three skills and three drills of each: more is
    not remembered. A drill that takes more players than are there, or that does not fit into what
    is left, is passed over.
    """
    plan: Plan = []
    left = minutes
    queues = [
        [offer for offer in offers if offer.players <= players] for offers in skills if offers
    ][:MOST_SKILLS]
    for turn in range(MOST_DRILLS):
        for offers in queues:
            if turn < len(offers) and offers[turn].minutes <= left:
                plan.append((offers[turn].key, offers[turn].minutes))
                left -= offers[turn].minutes
    return plan


def parse(text: str) -> Plan:
    """The plan of an address; what cannot be one is passed over."""
    found = [ITEM.fullmatch(part.strip()) for part in text.split(",")[:MOST_ITEMS]]
    return [(m[1], int(m[2])) for m in found if m and 0 < int(m[2]) <= MOST_MINUTES]


def write(plan: Plan) -> str:
    """What `parse` reads."""
    return ",".join(f"{key}:{minutes}" for key, minutes in plan)
