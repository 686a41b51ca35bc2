"""An invented talk of any length over a squad of thirty: what speed is measured on."""

import random

from devplans.talkthrough.understand.parts import Cue, RosterPlayer

FIRST = [
    "Maeve",
    "Tamsin",
    "Priya",
    "Ingrid",
    "Saoirse",
    "Chloe",
    "Agnes",
    "Temi",
    "Kasia",
    "Zainab",
    "Eleri",
    "Mbali",
    "Georgia",
    "Faith",
    "Rose",
    "Niamh",
    "Imogen",
    "Charlotte",
    "Hope",
    "Grace",
    "Lakshmi",
    "Amara",
    "Bridget",
    "Ngozi",
    "Courtney",
    "Vesna",
    "Isla",
    "Emi",
    "Dilnoza",
    "Tilly",
]
LAST = [
    "Okonjo",
    "Reed",
    "Raman",
    "Sorensen",
    "Delaney",
    "Papadakis",
    "Nwosu",
    "Bello",
    "Nowak",
    "Hussain",
    "Vaughan",
    "Dube",
    "Fenwick",
    "Adeyemi",
    "Whitlock",
    "Gallagher",
    "Ashworth",
    "Pemberton",
    "Waller",
    "Moretti",
    "Iyer",
    "Tamihana",
    "Farrell",
    "Eze",
    "Sze",
    "Horvat",
    "Strand",
    "Nakagawa",
    "Karimova",
    "Crane",
]
ROSTER = [
    RosterPlayer(str(number), str(number), first, last)
    for number, (first, last) in enumerate(zip(FIRST, LAST, strict=True), 1)
]
SAID = (
    "{name}, you fly past her there. I want you to stay low on two feet.",
    "But {name} has a foot in the key already, lovely.",
    "Number {number} waits for the screen and turns the corner, brilliant.",
    "{name} and {other} both stand and watch it. Find a body first.",
    "Their number nine hits another three from the corner.",
    "We are up by six and playing about half of it properly.",
    "okay next one {name} gets it on the wing and puts the head down into three of them",
    "{name}, what did you see there? Have a think, no right answer.",
)


def talk(minutes: int) -> list[Cue]:
    """Cues up to that many minutes; the same ones each time."""
    chance = random.Random(3)
    cues: list[Cue] = []
    clock = 1_000
    while True:
        first, second = chance.sample(ROSTER, 2)
        text = chance.choice(SAID).format(name=first.first, number=first.number, other=second.first)
        end = clock + 330 * len(text.split())
        if end > minutes * 60_000:
            return cues
        cues.append(Cue(clock, end, text))
        clock = end + chance.choice((300, 600, 3_000))
