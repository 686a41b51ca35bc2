# ruff: noqa: E501, SIM905 - lists of words and patterns
"""Who of those named is being judged, and who is only mentioned: by the place in the sentence. Pure."""

import re
from collections.abc import Sequence

from devplans.talkthrough.understand.people_parts import Mention
from devplans.talkthrough.understand.words import Word

# How much a place tells that somebody is judged.
CALLED, SUBJECT, NAMED, WHEN, OBJECT, ASIDE = 3.0, 2.0, 1.5, 1.0, 0.5, 0.0

BEFORE_NAME = frozenset(
    "number our ours the big little young wee jersey shirt mr mrs miss mister old captain that this "
    "poor dear no and um uh er".split()
)
# Behind these a name is what somebody does something to or with.
OBJECT_AFTER = frozenset(
    "to for from on of off with past behind at by around round over under near beside next into onto "
    "against towards toward between leave leaves left leaving leaving's help helps helped helping "
    "hit hits hitting feed feeds feeding guard guards guarding guarded beat beats get gets find "
    "finds found finding screen screens pass passes passing give gives gave giving throw throws "
    "threw hand hands call calls tell tells told ask asks bump bumps free frees let lets hug hugs "
    "hugging lose loses lost than like without miss misses missed replace replaces cover covers "
    "trust trusts sees seeing double trap traps set sets using use send sends kick kicks swing "
    "swings reward rewards show shows follow follows chase chases join joins pull pulls".split()
)
# ... unless what comes before says that the talk is about that one.
ABOUT = re.compile(
    r"(?:(?:question|reminder|note|word|one|thing|job|homework|credit|praise|message|pointer|point"
    r"|comment|task|tip|shout|applause|something|clip|picture|look|lesson|quiz|challenge)(?: here| now"
    r"| out| just| quick| also)? (?:for|to|about|on|with|from|at)"
    r"|(?:well done|good|great|nice|lovely|super|brilliant|excellent|beautiful|fantastic|love|like"
    r"|liked|loved|job|work|effort|stop|read|screen|pass|cut|finish|closeout|rebound|play|stuff|this"
    r"|that|it|that's|board|defence|defense|feet|hands|box|help|rotation|shot|drive|call|instinct)"
    r"(?: there| here| again| work| one| all| is| was| job)? (?:from|by|to|for|on|with|of)"
    r"|(?:look|looking|have a look|start|begin|starting|beginning|stay|staying|stick|back|over|move"
    r"|moving|on|come|coming|switch|turn|go) (?:at|with|to|on to|onto)|(?:what|how) (?:about|of|is|are|does"
    r"|did)|(?:it|ball|it's|pass|swing|rock|action)(?: \w+)? (?:goes|gets|comes|got|came|went|finds|is swung"
    r"|swings|swung|moves|ends up)(?: \w+)? (?:to|with|out to|over to|down to)|(?:say|said) (?:this )?about"
    r"|about|talk (?:about|to)|thank you|thanks|see(?: what| how| that| where)?|find|watch|(?:this|that|it)"
    r"(?:'s| is| was)(?: all| also| just| again)?(?: on| from| for| about)?|here(?:'s| is)|all on|down to"
    r"|proud of|pleased (?:with|for)|happy (?:with|for)|kudos to|hats off to|take|where(?:'s| is| was)"
    r"|why(?: is| does| did)?|call from|voice from|shout from|more from|need from|want from"
    r"|(?:nothing|something|anything) wrong with|no (?:issues?|problems?|complaints?) with"
    r"|(?:which|that|this|and that) leaves|for the \w+ \w+) *$"
)
CONDITION = frozenset("when if as once after before until till while whenever".split())
# What somebody does with the ball makes a receiver of the next name, not the one who is judged.
SENDS = re.compile(
    r"\b(?:(?:get|throw|pass|give|swing|move|kick|feed|dump|send|hand|skip)(?:s|es|ing)?|got|threw"
    r"|gave|sent|swung|fed) (?:it|the ball|that|this|one)(?: \w+)? to *$"
    r"|\b(?:over|up|out|back) it (?:goes|went|comes) to *$"
    r"|\byou (?:\w+ )?(?:see|saw|spot|spotted|seen) *$"
)
# "the one that Mack wants", "where Mack goes", "the spot Mack left".
RELATIVE = re.compile(
    r"\b(?:where|(?:one|girl|guy|kid|lad|woman|man|player|ball|pass|place|spot|thing|way|time) that"
    r"|(?:the|that) (?:guy|girl|man|one|kid|lad|woman)) *$"
)
# Behind "Mack's" these are somebody else than Mack.
KIN = frozenset(
    "mother mum mom mam ma father dad da daddy mummy parents brother sister granny gran grandmother "
    "grandfather grandad uncle aunt cousin wife husband family dog car boyfriend girlfriend".split()
)
THEIRS = frozenset("man girl guy check player woman lad opponent defender mark lass one".split())
# "That's Hope in the corner" tells where somebody is.
STANDING = frozenset("in at on over standing waiting open free alone all".split())
JOINING = frozenset(
    "and & with plus or nor also then number our the um uh both n you too as well together to".split()
)
YOU = frozenset("you you've you're you'd you'll your yours yourself ye you's".split())
PLACES = frozenset(
    "to for from on of off with past behind at by around over under beside between against".split()
)


def places(
    words: Sequence[Word], mentions: Sequence[Mention], first: int, last: int
) -> list[float]:
    """For each mention, all of them within words [first, last) of one sentence, how much its place
    tells that this one is judged."""
    told: list[float] = []
    for at, mention in enumerate(mentions):
        before = mentions[at - 1] if at else None
        if before is not None and joined(words, before, mention):
            told.append(told[-1])
            continue
        told.append(_place(words, mention, first, last))
    return told


def joined(words: Sequence[Word], one: Mention, other: Mention) -> bool:
    """Named in one breath as if they were one: "Maeve and Tamsin", "eleven, Maeve"."""
    between = words[one.last : other.first]
    if len(between) > 4 or any(word.ends_sentence for word in words[one.last - 1 : other.first]):
        return False
    if not between:
        return bool(words[one.last - 1].after) or not set(one.keys).isdisjoint(other.keys)
    return all(word.folded in JOINING for word in between) and between[0].folded not in (
        "to",
        "you",
    )


def _place(  # noqa: C901 - the places in a sentence, one after another
    words: Sequence[Word], mention: Mention, first: int, last: int
) -> float:
    start = mention.first
    while start > first and words[start - 1].folded in BEFORE_NAME:
        start -= 1
    behind = words[mention.last].folded if mention.last < last else ""
    signs = words[mention.last - 1].after
    ends = mention.last >= last or words[mention.last - 1].ends_sentence
    before = words[start - 1].folded if start > first else ""
    apart = start > first and any(sign in words[start - 1].after for sign in ",.!?;:–—-")
    ahead = words[mention.last].folded if mention.last < len(words) else ""
    if ahead in YOU and not signs.strip(", "):
        return CALLED
    if (start == first or apart) and (ends or "," in signs):
        return CALLED
    owns = words[mention.last - 1].folded.endswith(("'s", "s'"))
    if owns and behind in KIN:
        return ASIDE
    text = " ".join(word.folded for word in words[max(first, start - 6) : start])
    if SENDS.search(text) or (owns and behind in THEIRS and start > first and not apart):
        return OBJECT
    if RELATIVE.search(
        " ".join(w.folded for w in words[max(first, mention.first - 3) : mention.first])
    ):
        return WHEN
    if text.endswith("there's") or (text.endswith("that's") and behind in STANDING):
        return OBJECT
    if ABOUT.search(text) or apart:
        return SUBJECT
    return _after(before, alone=ends and start > first)


def _after(before: str, *, alone: bool) -> float:
    """The place of a name by the word before it; alone: nothing follows, something stands before."""
    if before in OBJECT_AFTER:
        return OBJECT
    if before in CONDITION:
        return WHEN
    return NAMED if alone or before in ("because", "since") else SUBJECT


def speaks_to(words: Sequence[Word]) -> bool:
    """Is somebody spoken to ("you") as the one who acts?"""
    for at, word in enumerate(words):
        if word.folded not in YOU:
            continue
        before = words[at - 1].folded if at else ""
        behind = words[at + 1].folded if at + 1 < len(words) else ""
        if behind in ("know", "see") or before in ("how", "thank"):
            continue
        if before == "of" and at > 1 and words[at - 2].folded in ("pair", "two", "both", "one"):
            return True
        if before not in PLACES and before not in (
            "mind",
            "thank",
            "tell",
            "told",
            "show",
            "see",
            "and",
            "ask",
        ):
            return True
    return False
