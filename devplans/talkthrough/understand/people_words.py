"""Words of general English and of the trade, so that they are not taken for names. Pure.

Base forms; the regular inflections are worked out.
"""

from functools import lru_cache

from devplans.talkthrough.understand.people_parts import words_in
from devplans.talkthrough.understand.people_vocabulary import GENERAL, MORE, TRADE

# Words that hold sentences together: they are never a misheard name.
FUNCTION = words_in(
    """
a an the this that these those some any no none every each either neither both all half such what
which whose who whom whoever whatever where when why how whenever wherever while until till since
because although though unless if whether than then as so and or but nor yet for of in on at by to
from with without within into onto upon over under above below behind beside besides between
beyond through throughout across along around about against among during before after off out up
down near toward towards past per via like unlike except despite inside outside there here now not
never ever always often sometimes again also too very just only even still already almost really
quite rather maybe perhaps i me my mine myself you your yours yourself yourselves he him his
himself she her hers herself it its itself we us our ours ourselves they them their theirs
themselves one ones someone somebody something anyone anybody anything everyone everybody
everything nobody nothing nowhere somewhere anywhere everywhere am is are was were be been being
have has had having do does did doing done will would shall should can could may might must ought
gonna wanna gotta cannot isn't aren't wasn't weren't haven't hasn't hadn't don't doesn't didn't
won't wouldn't can't couldn't shouldn't mustn't ain't let's i'm i've i'll i'd you're you've you'll
you'd he's he'll he'd she's she'll she'd it's it'll it'd we're we've we'll we'd they're they've
they'll they'd that's that'll there's here's what's who's where's how's when's why's who'll y'all
yes yeah yep no nope okay ok oh uh um er ah hmm hey hi well right im ive youre youve hes shes
thats theyre theyve weve dont doesnt didnt isnt wasnt cant wont couldnt shouldnt wouldnt arent
havent hasnt lets gimme lemme kinda sorta cause cos cuz 'em em whats whos heres theres dunno
alright alrighty yup nah zero one two three four five six seven eight nine ten eleven twelve
thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty
seventy eighty ninety hundred first second third fourth fifth sixth once twice other others
another own same much many more most less least few fewer lot lots bit else ourself themself
whichever thereof therefore however whereas otherwise instead meanwhile anyway anyways
"""
)


# Endings that make a new word out of a base form; those of the second row leave it less everyday.
_INFLECTIONS = ("s", "es", "ed", "d", "ing", "in'", "'s")
_DERIVATIONS = ("er", "ers", "r", "est", "ly", "ness", "able", "y", "ish", "less", "ful", "ment")

# Names that are everyday words of the trade: they are names only where nothing else is possible.
TRADE_NAMES = words_in(
    """
block post page pace guard rush help press play ball shot pass cut point hand man step stop score
roll screen switch box mark hope may long young best white lane love day chance close read win
free right high low short strong check drive sprint tip steal
"""
)

# Names that are everyday words, yet seldom said over film: an exact one is a name unless the
# grammar around says otherwise.
SELDOM = words_in(
    """
hunter brook brooks faith rose roses dawn grace summer art jay ivy ruby pearl lily daisy olive
violet iris jade amber autumn sky river rivers heath clay cliff dale glen forest wood woods banks
wells bell bishop knight winter winters joy angel melody harmony destiny journey trinity prince
duke earl noble blaze jet storm wolf fox robin jack bill bob nick sue gene chip rusty dusty sandy
penny ginger holly hazel laurel basil reed ford cash colt dean wade pierce grant lance carol jean
kitty cook cooks mason baker taylor carter parker walker fisher butler potter porter turner miller
archer ray pat frank christian august april june eve ava dash ace max sonny sterling justice stone
king queen lion tiger bear birch ash ferry may sunny misty chuck stew rob peg dot bee pam ham west
north baily church hill marsh moss lake ocean rain raven wren star phoenix sage willow clover
rowan berry maverick ranger hero legend creed cross barber mercer sawyer spencer cooper gardner
shepherd hudson denver austin dallas london paris brooklyn jordan madison sydney india asia kenya
troy rod buck cat curry kobe mikan bailey case casey tory rory nova luna aurora
"""
)

_BASES = FUNCTION | words_in(f"{GENERAL} {MORE} {TRADE}")


def _bases(word: str, endings: tuple[str, ...]) -> list[str]:
    found: list[str] = []
    for ending in endings:
        sibilant = word.endswith(("ses", "xes", "zes", "ches", "shes", "oes", "ies"))
        if ending == "es" and not sibilant:
            continue
        if word.endswith(ending) and len(word) - len(ending) >= 2:
            stem = word[: -len(ending)]
            found.append(stem)
            if ending[0] in "edir":
                found.append(f"{stem}e")
            if stem.endswith("i"):
                found.append(f"{stem[:-1]}y")
            if len(stem) > 3 and stem[-1] == stem[-2]:
                found.append(stem[:-1])
    return found


@lru_cache(maxsize=60_000)
def everyday(word: str) -> bool:
    """Whether a folded word is one that everybody uses, as it stands or inflected."""
    if word in _BASES or word.replace("-", "") in _BASES:
        return True
    if len(word) <= 3:
        return False
    return any(base in _BASES for base in _bases(word, _INFLECTIONS))


@lru_cache(maxsize=60_000)
def plain_english(word: str) -> bool:
    """Whether a folded word is plain English, also as a longer word built on a plain one."""
    if everyday(word) or word.isdigit() or any(sign.isdigit() for sign in word):
        return True
    if "-" in word and all(part in _BASES or everyday(part) for part in word.split("-")):
        return True
    if word.startswith(("un", "re", "over", "under", "out", "mis")):
        for front in ("un", "re", "over", "under", "out", "mis"):
            if (
                word.startswith(front)
                and len(word) > len(front) + 2
                and everyday(word[len(front) :])
            ):
                return True
    return len(word) > 4 and any(base in _BASES for base in _bases(word, _DERIVATIONS))
