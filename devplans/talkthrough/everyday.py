"""Words that everybody says: none of them becomes a player's name without a coach's word. Pure."""

from devplans.feedback.naming import EVERYDAY as NAMES_TOO
from devplans.feedback.naming import PARTICLES, TENS, UNITS
from devplans.talkthrough.understand.words import folded

_PLAIN = """
a about above across after again against ago all almost along already alright also always am among
an and another any anybody anyone anything anyway are around as ask at away back bad be because
become been before began begin behind being believe below beside best better between big bit both
break bring brought but by call came can cannot care carry change clean clear clip close come
comes coming could couple cut day did do does doing done down draw drop each early easy eight eleven
else end enough even ever every everybody everyone everything exactly far fast feel few find fine
first five follow for forget four from full game gave get gets getting give gives go goes going
gone gonna good got gotta great guard guys had half happen happens hard has have having he hear
help her here hers herself him himself his hit hold how i idea if in inside instead into is it its
itself job just keep kept kick kid kids kind knew know knows land last late later lead leave left
less let level like line little live long look looks lose lost lot lots low made make makes man
many matter may maybe me mean meant might mind mine minute miss moment more most move much must my
myself name near need needs never new next nice no nobody none nope not note nothing notice now
number of off often oh okay old on once one only open or other others our ours out outside over own
part people perfect person pick place plan plus put quick quite ran rather read ready real really
right run running said same saw say says second see seen set seven several shall she short should
show side since sit six small so some somebody someone something soon sort spot stand start stay
step still stop story strong such sure take taken takes taking talk tell ten than thank that the
their theirs them then there these they thing things think third this those though thought three
through time times to today together told too took top toward towards tried true try trying turn
twelve twice two under until up upon us use used very wait walk want wants was watch watched way we
week well went were what whatever when where whether which while who whole whose why will with
without word work works would wrong yeah year yes yet you young your yours yourself
aggressive angle arc arm arms assist attack ball balls baseline basket battle bench blocked block
body bounce box boards board boxing call called catch catches center chest chin close closeout
closer coach collapse contact contain contest control corner count court cover crash cross
crossover curl cuts cutter cutting deep defence defend defender defense deny diagonal dive double
drag dribble dribbles drift drive drives driving drop dunk elbow elbows energy eyes fade fake fakes
fast feed feet finish finishing flare flash float floater floor foot footwork force forward foul
fouls free front gap glass guarding hands handle handoff hard hedge height help helper helping
high hip hips hook hop horns hustle inbound jab jump jumper key knees lane lanes layup layups lift
lob loose mark match middle midrange motion net offence offense opponent outlet pace paint pass
passed passer passes passing patience patient pin pivot play player players playing plays pocket
point points position possession post pressure pull punch push quarter rebound rebounds recover
referee release rhythm rim ring roll rolls rotate rotation score scorer scoring screen screener
screens seal shoot shooter shooting shots shoulder shoulders show shuffle skip slide slides slip
slot space spacing speed spin spots sprint stance steal step stops stride strip stunt switch tag
team teammate three threes throw timing tip touch track trail trailer transition trap trapping
travel turnover two wall weak wide wing wings zone
"""
EVERYDAY = NAMES_TOO | PARTICLES | set(UNITS) | set(TENS) | frozenset(_PLAIN.split())


def is_everyday(heard: str) -> bool:
    """Is each of the words one that everybody says, or a figure?"""
    words = folded(heard).replace("-", " ").split()
    return all(_plain(word) in EVERYDAY or word.lstrip("#").isdecimal() for word in words)


def _plain(word: str) -> str:
    return word.removesuffix("'s").removesuffix("'")
