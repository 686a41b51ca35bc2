"""Whether the words around speak for a name: who is addressed, who does something. Pure."""

from collections.abc import Sequence
from functools import lru_cache

from devplans.talkthrough.understand.people_parts import words_in
from devplans.talkthrough.understand.people_traps import PRAISE, TRAPS
from devplans.talkthrough.understand.words import Word

BREAK_MS = 450

_NOUN_BEFORE = words_in(
    """
a an the my your his its their our every each no any some another this these those that which what
whose more less most much many few several bad hard quick extra
"""
)
_AFFECTION = words_in("big little young old poor dear clever lovely wee")
_SHOWING = words_in("here's there's it's heres theres its")
_VERB_BEFORE = words_in(
    """
i we you they he she who will would can could should shall must may might gonna wanna gotta let's
lets don't dont didn't doesn't not never always won't wouldn't can't cannot cant couldn't
shouldn't i'd i'll we'll you'll they'll he'll she'll you'd we'd they'd to did does do i'm we're
you're they're youre theyre
"""
)
_OPENERS = words_in(
    """
okay ok alright right good great nice well job done hey yes yeah yep no nope sorry so and but now
here look watch see then because when if where while as again thanks listen please oh ah love
perfect excellent beautiful lovely brilliant superb fantastic terrific bravo since once unless
until though although whether how that's is was like than only even maybe still just today
sometimes says say said tell told ask asked remember uh um guys alright-then congratulations kudos
super wow come credit also cheers hmm actually first second finally next or
"""
)
_PREPOSITIONS = words_in(
    """
by for with from behind between of against around near past off beside before after under over on
at about without through into
"""
)
_GIVING = words_in(
    """
pass passes passed kick kicks kicked swing swings swung over back out it ball out ahead inside
dump dumps give gives gave throw throws threw skip skips skipped dish dishes credit lob lobs talk
talks talking listen shout up down message closer thanks gets get got goes go went comes come came
belongs back listen happens happened next goes next
"""
)
_THIRD = words_in(
    """
is was has had does did isn't wasn't hasn't hadn't doesn't didn't goes got went came made took saw
gave lost found stayed let knew kept ran sat stood threw caught fell drove shot beat hit cut
stepped jumped turned looked left should could would can will must might needs wants who who's
who'll never always just also still really almost nearly already herself himself ought can't won't
cannot couldn't shouldn't wouldn't didnt doesnt isnt wasnt hasnt cant wont ends begins sees steps
tried comes gets makes takes keeps knows sets puts reads waits runs stays
"""
)
_YOU = words_in("you your you're you've you'll you'd youre youve yours yourself u")
_ADDRESSED = words_in(
    """
supposed wide open alone caught stuck beaten unguarded good great nice well lovely excellent
perfect brilliant beautiful late early please again look stay get go keep don't dont come watch
that's thats this here i we what why how there see stop be when where if because no yes not and or
but so with too now then more love hands feet head eyes remember next better same today terrific
superb fantastic super wow okay ok
"""
)
_OBJECT = words_in(
    """
the a an it him her them me us that this his my their our those these down after back through up
somebody someone anybody
"""
)
_VERBS = words_in(
    """
accelerate admire advance airball allow anchor angle appear ask attack back bail ball-watch bang
bank battle be begin believe bend bite block blow bobble body bother bounce box break brick bring
bruise brush build bump burst bury buy call carry carve catch challenge change chase check choose
chuck circle clap close collapse come communicate concede consider contain contest convert cost
crack crash creep cross cruise crumple curl cut dance decelerate decide deny deserve die dig
direct dish dive do double doze drain dribble drift drive drop duck earn end expect explode fade
fake fall feed feel fetch fight fill find finish fire fix flare flash flick fling float fly follow
force forget foul front fumble funnel gamble gather get ghost give glide go grab grow guard hack
handle hang happen hate have hear heave hedge help herd hesitate hide hit hits hoick hold hope hug
hunt hurry hustle ignore jab jog juke jump keep kick kill knock know lag land launch lay lead leak
lean leap learn leave let lift like listen live load lob look loop lose love lunge make mean meet
miss move nail need nod notice offer open organise organize owe own panic pass pay penetrate pick
pin pinch pivot plant play point poke pop post pound probe protect pull push put race raise reach
react read rebound recover reject relax relocate remember retreat return reverse ring rip rise
roll rotate run rush sag save say scamper scoot scream screen seal see seem sell send serve set
settle shade shift shoot shout show shuffle signal sink sit skip slap sleep slide slip snake
snatch sneak soar space speak spend spin spot spot-up sprint squeak squeeze stand stare start stay
steal steer step stick stop stumble stunt stutter surrender swing swipe switch tag take talk tap
tell think three-quarter throw tie tilt tip toss track trail trap travel trip try turn use wait
walk wall wander want watch widen win wish work write yell
"""
)

_OF_THINGS = words_in("a an the their his her your these those some every each any")
_WEIGHTS = (
    (_PREPOSITIONS, 0.4),
    (_OPENERS, 0.8),
    (_VERB_BEFORE, -1.8),
    (_NOUN_BEFORE, -2.0),
    (words_in("that this no which what"), -0.5),
    (_SHOWING, 1.1),
)
_BEFORE = {word: value for group, value in _WEIGHTS for word in group}


@lru_cache(maxsize=20_000)
def third_person(word: str) -> bool:
    """drives, goes, watched: what somebody does or did."""
    if word in _THIRD:
        return True
    for ending in ("es", "s", "ed", "d"):
        stem = word[: -len(ending)]
        if word.endswith(ending) and (stem in _VERBS or f"{stem}e" in _VERBS):
            return True
    doubled = word.endswith("ed") and len(word) > 5 and word[-3] == word[-4]
    return doubled and word[:-3] in _VERBS


def doing(word: str) -> bool:
    """setting, driving, talking."""
    stem = word.removesuffix("ing")
    if stem == word or len(stem) < 2:
        return False
    return stem in _VERBS or f"{stem}e" in _VERBS or (stem[-1] == stem[-2] and stem[:-1] in _VERBS)


def is_verb(word: str) -> bool:
    return word in _VERBS


def breaks(words: Sequence[Word], index: int) -> bool:
    """Whether a pause or a sign parts the word before `index` from the one there."""
    if index <= 0 or index >= len(words):
        return True
    sign = words[index - 1].after
    return any(one in sign for one in ".,;:!?…—–") or words[index].gap_ms >= BREAK_MS


def starts_sentence(words: Sequence[Word], index: int) -> bool:
    return index <= 0 or words[index - 1].ends_sentence


def has_case(words: Sequence[Word]) -> bool:
    """Whether capitals in this talk tell anything: some, and not on every word."""
    letters = [word.text for word in words if word.text[:1].isalpha()]
    high = sum(text[0].isupper() and text.casefold() != "i" for text in letters)
    return bool(letters) and 0.02 <= high / len(letters) <= 0.5


def before(words: Sequence[Word], first: int) -> float:
    """What stands before speaks for (> 0) or against a name."""
    if breaks(words, first):
        return 0.5
    last = words[first - 1].folded
    over = words[first - 2].folded if first >= 2 and not breaks(words, first - 1) else ""
    if last == "to":
        return 0.9 if over in _GIVING else -1.2
    if last in _AFFECTION:
        return -2.0 if over in _OF_THINGS else 0.6
    if over in PRAISE and last not in _BEFORE:
        return 0.8
    return _BEFORE.get(last, -0.1 if last.endswith(("'s", "ing")) else 0.0)


def after(words: Sequence[Word], last: int, *, verb: bool) -> float:
    """What follows speaks for (> 0) or against a name; verb: the word itself may be one."""
    here = words[last].folded if last < len(words) else ""
    if breaks(words, last):
        return 1.0 if here in _YOU and words[last - 1].after == "," else 0.5
    if here in _YOU:
        beyond = words[last + 1].folded if last + 1 < len(words) else ""
        return -1.0 if verb and beyond in ("down", "off", "out", "up", "around") else 1.4
    if third_person(here):
        return 1.2
    if verb and here in _OBJECT:
        return -1.6
    if here in ("and", "or"):
        return 0.2
    if here in ("in", "on", "at") and last + 1 < len(words) and words[last + 1].folded == "the":
        return 0.4
    if here in _ADDRESSED or here in _VERBS:
        return 0.6
    return 0.2 if here.endswith("'s") else 0.4 if doing(here) else 0.0


def evidence(words: Sequence[Word], first: int, last: int, *, verb: bool = False) -> float:
    """How much the words around [first, last) make a name of it: about -3..3, 1.2 is clear."""
    front, behind = before(words, first), after(words, last, verb=verb)
    total = front + behind
    if breaks(words, first) and breaks(words, last):
        total += 0.4
    if front < -1 and behind > 1:
        total -= 0.6
    if "'s" in words[last - 1].folded:
        total += 0.6
    return total - (2.0 if _trapped(words, first, last) else 0.0)


def _trapped(words: Sequence[Word], first: int, last: int) -> bool:
    """Whether a name that is an everyday word stands where only the word can."""
    if last - first != 1 or words[first].folded not in TRAPS:
        return False
    front, behind = TRAPS[words[first].folded]
    return (not breaks(words, first) and words[first - 1].folded in front) or (
        not breaks(words, last) and words[last].folded in behind
    )
