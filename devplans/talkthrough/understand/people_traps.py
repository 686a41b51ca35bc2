"""Words around a number that make a count, a score, a scheme or an opponent of it. Pure."""

from devplans.talkthrough.understand.people_parts import words_in

# Behind a number: things that are counted, and talk of schemes and scores.
UNITS = words_in(
    """
zone man men out in up down on of or to by feet foot seconds second minutes minute points point
percent pointer pointers more less times time people guys guy players player girls boys hundred
thousand half halves quarters quarter yards yard inches metres meters steps step dribbles dribble
passes pass shots shot rebounds boards fouls foul turnovers turnover possessions possession stops
stop trips trip games game wins plays play things thing options option ways way years year weeks
days old each apiece plus am pm o'clock high low low-post press trap defense defence offense
offence front box and-one count counts hand hands handed bodies body defenders defender attackers
shooters shooter bigs big guards guard ones other others different good-looks extra straight
consecutive whole full full-court big-time easy bad more-than or v vs versus against man's ball
balls reps rep set sets series drill drills spot spots slots spacing side sides cuts cutters
screens screeners left and-a inside outside is-better fifths thirds pm x by-two degree degrees
dollars bucks pounds tenths kids threes twos fives tries chances cracks looks threats lines lanes
corners baskets buckets layups assists steals blocks free throws throw freethrows open-looks
minutes' seconds' different straight-line legs feet knees eyes arms knows-nothing together quick
little long short
"""
)

# Before a number.
BEFORE_COUNT = words_in(
    """
clip video film possession in by up down scored score least most about of for last first next top
all these those every only just other quarter period game half minute plan play page rule option
step chapter phase point day week grade level another a an the past until till than over under
nearly almost around maybe roughly like exactly another's both any some no one's be make makes
makes-it count to zone press within per plus minus times equals year age room channel number-one
every-other on between under-the been got had have has take took takes another lost won won-by
lead led trail trailed after before ahead into only-the back last-the final second third fourth
not my your his her this that which each spend get gets getting need needs leaves leaving allow
allowed gave give run ran show showed going
"""
)

# Behind "number one": what is counted up.
ENUMERATED = words_in(
    """
thing things rule priority option reason job goal key focus point problem issue concern seed team
enemy fan choice question in on for tip lesson principle habit skill pick cause mistake killer
offense defense target threat scorer spot of one-thing concern thing's message takeaway idea word
note complaint weapon objective emphasis
"""
)

# Things that are counted though somebody may do them, too: three passes, he passes.
COUNTED = words_in(
    """
passes shots cuts screens steps stops turns drives rebounds points plays runs dribbles blocks
steals looks hits fouls throws catches seals rolls pops posts slides switches closeouts helps
moves tries calls counts drops fakes jumps kicks leaks lobs picks pivots reads shows sets skips
spots sprints starts tips touches trips traps walks boards lays bounces hands stunts
"""
)

COLOURS = words_in(
    """
white blue red black green yellow gold grey gray orange purple maroon navy pink silver teal dark
light
"""
)

# Somebody who is guarded, denied or left is not one's own.
GUARDED = words_in(
    """
guarding guard guards guarded deny denying denied mark marking marks cover covering covers on
against stop stopping stopped leave leaving left beaten contain containing checking stay switch
switching tag tagging track tracking trap trapping double doubling chasing chase
"""
)

# Names that are everyday words: what before, and what behind, makes the word of it.
_TRAPS = """
hope: i we they no lost only lives live in | you i that so it we they he she the this everybody for
will: he she it they we you i who that this there ball | you we they he she it i the be not never
miles: for by of hundred two three few ten twenty | away ahead off from an per too of apart better
mark: the my your question first | my it him her them up the your you a out time
chase: to will must they | it him her them the down after that
may: you we they he she it i that this | be have not as well you i we be
grace: saving good | period under
faith: have keep good lost | in that
page: same next first last new | one two three
summer: last this all the next | league camp ball tour we
rose: they it he she who | up above
drew: he she they you it we who | a the two it him her them contact fouls that up
read: to you can must they | the it them him her that your this a
rush: to the a no in | the it to things
pace: the change good more with | of and up
art: the an state of | of
frank: to be | about with
rich: that's that | from coming
pat: a | on
dawn: at | on
guard: to your on off our their point shooting | the your him her them it that a
post: the low high to in | up the entry feed moves
block: the a to good nice great | out the it shot shots
cash: to | it in that
wade: to | through in into
pierce: to | the
grant: to for | you
dash: a to | to for
lance: a | 
"""


def _traps() -> dict[str, tuple[frozenset[str], frozenset[str]]]:
    found = {}
    for line in _TRAPS.strip().splitlines():
        word, _, around = line.partition(":")
        front, _, behind = around.partition("|")
        found[word] = (words_in(front), words_in(behind))
    return found


TRAPS = _traps()

PRAISE = words_in(
    """
good great nice lovely excellent perfect brilliant beautiful super terrific fantastic awesome
amazing wonderful outstanding big hell smart strong
"""
)
