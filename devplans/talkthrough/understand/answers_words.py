# ruff: noqa: E501, SIM905 - lists of words and patterns
"""How coaches say what to do instead: words and openings, folded. Pure data."""

import re

# Verbs that, without a subject, tell somebody what to do.
DO = frozenset(
    "lead aim pin offer favour favor trap squeeze shut block bang crack drag flick float grind lure pop reel rim sneak get stay keep be go come move run sprint turn find hit hold box put take make give use let "
    "cut drive pass throw swing shift set sit stand step slide bend land jump plant catch shoot "
    "finish stop start talk call point yell shout say tell show fake sell push pull pick drop roll "
    "pop seal post flash fill space spread slip slow speed attack read react help tag bump rotate "
    "recover close contest wall chop load lift lower raise open square face pivot sweep rip protect "
    "swap switch hedge chase fight bounce dribble drag bring feed relocate drift crash tip grab "
    "rebound secure chin outlet advance kick reverse skip trust breathe relax focus commit decide "
    "own lean feel beat meet deny front snap lock hustle leave stick hang tuck spin explode touch "
    "track guard cover work trap press reset change mix vary avoid play do shuffle scan check "
    "communicate wait look have clear sink crouch squat stretch release follow arrive force send "
    "continue carry defend dig drop duck delay pause poke peel retreat backpedal backpedal hunt hustle lengthen shorten widen loosen tighten soften slide clear dodge escape explode finish follow free freeze glide grow hammer hide hug hurry hustle invert isolate jog juggle keep kneel knock land lean let lie lock loop mirror mix nudge occupy offer order organise organize own pace paint pat peek pitch place position prepare pretend pump quicken race rise rock rub sacrifice sail score scream scoop separate settle shade share shift shorten shrug sidestep signal sniff soften stabilise stagger steal steer straighten strike strip support surprise swivel tilt toss travel tuck twist unlock walk warn whisper widen wiggle win work yield funnel angle anticipate absorb gather extend reach split spot sag shade stunt jab probe "
    "explore drill shape shake swim swallow join punch whip zip fire rifle lob float lay tap "
    "save cradle cup clap wrap wedge anchor root nail glue carry count try learn remember think "
    "forget haud dinnae gie shove stamp brake hop curl flare dive screen zone man match level "
    "time return simplify sprint punish respect ask demand accept allow invite steer herd".split()
)
# ... save where they only ask to look on, or are no order at all.
LOOKING = re.compile(
    r"(?:have a (?:wee |little |quick |good |proper |close )?(?:think|look$|look (?!at|up|over|for))|help yourself|enjoy|be my guest|take a (?:seat|bow|picture|photo|number|look|breather|moment)|say (?:hello|hi|goodbye|thank)|ask (?:coach|him|her|your|yourself|me)|share (?:the|this) screen|travel$|walk$|place$|race$|position$|pace$|score$|order$|support$|win$|freeze it|steal$|free$|free (?:throw|throws|shot)|paint$|rock$|own$|put (?:that|it|this) (?:on|in) (?:a|the) (?:poster|wall|frame)|put a pin|get off|(?:let's|let us) (?:come back|leave|park|talk|discuss|find|ask|not)|look (?:at|how|here|what|where|who|it|this|that|and|$)|look$|have (?:a )?(?:think|look$|look (?!at|up|over|for))"
    r"|see(?! if you| whether)|watch|think|count (?:them|how|it|the|that|again)|count$|remember|tell me|let me|let us see|let's (?:see|watch|look|have a look"
    r"|move on|go on|be honest|say|face it|carry on|keep going|all|just (?:watch|admire))|try that"
    r"|hang on|hold on|wait a|bear with|bless|thank|forget (?:the|it|that)|never mind|mind you|have"
    r" (?:you|we|i|they)|do (?:you|we|i|they)|check (?:it|this|that)|call (?:it|that|me)|do the maths"
    r"|say what|talk me|tip of|front of|close (?:to|enough|one)|set (?:play|the|again)?$|time$|come on"
    r"|stop (?:it )?(?:here|there)|pause|play (?:it|that)|good|hit (?:the )?pause|go on|here we|pick"
    r" (?:and|of)|post (?:up|entry)?$|space$|front$|man$|match$|zone$|screen$|show of|point of|press$"
    r"|be (?:honest|fair)|make no|take your time|keep (?:doing|that up|this up|it up|it going)|stay (?:on|with) (?:me|this|the (?:same|picture|clip))"
    r"|give (?:him|her|them) credit|find (?:me )?(?:dee|\w+ for me)|get (?:beat|beaten|in here)$"
    r"|frame it|read (?:it|that)$|open (?:shot|look|man|player|floor|lane)|front (?:foot|row)|back )"
)
WISH = re.compile(
    r"(?:(?:i )?(?:really |just |only |do |would |much )*(?:(?:i'd|i would)(?: really| just| much"
    r"| have| still)*(?: rather| like(?: to see)?| love(?: to see)?| love| prefer| want| have| much"
    r"| take| see)\b|i (?:just |really |only |do )?(?:want|need)\b(?! to (?:ask|say|show|know|think|see if"
    r"|talk|point|thank|give|start)| you to (?:see|tell|look|think|notice|know|watch|count))|i'd (?:just )?want\b|i want\b(?! to (?:ask|say|show|know|talk))"
    r"|i'll need|i like to see you|i like you to)"
    r"|(?:what if|how about|what about|why not|why don't you|next time|instead|the answer(?:'s| is)?"
    r"|the fix(?:'s| is)?|the cure(?:'s| is)?|my advice|(?:it |here |that )*(?:would|'d|is|will) be better|(?:it is |it's |is )?better(?: is| would| to| if| when)|if (?:you'd|you had|he'd|he had|she'd|she had|you'd've)|best to|easier"
    r" (?:to|if)|see if you|see whether|make sure|let's|let us|try(?: to| and| not)?|please"
    r"|ideally|from now on|in future|be sure|all you (?:have|need)|all i (?:want|ask|need)|your job"
    r"|the job|we'd (?:like|love|rather|want)|(?:the )?(?:first thing|trigger|trick|rule|cue|key)(?:'s| is)|remember to|don't forget|focus on|think (?:feet|hands|low|sprint)"
    r"|same (?:breath|routine|bounces)|first (?:you|hit|find|three|step))\b)"
)
MUST = re.compile(
    r"^(?!if you )(?!.*\b(?:to|gotta|must|should) (?:admire|love|laugh|ask|wonder|hand|feel for|be kidding|"
    r"be joking|know|give (?:him|her|them|you) credit|say|see it|enjoy|like)\b).*?\b(?:(?:have|has|had|got|ought|need|needs|needed|want|wants) to\b|gotta\b|must\b|should\b"
    r"(?!n't)|needs? (?:a|your|his|her|the|more|less|two|both)\b|need you|had better|'d better"
    r"|better (?:get|be|go|stay|off)|(?:has|have) got to|would (?:like|rather|love)|'s got to|'ve got"
    r" to|wants? (?:to be|getting|to get)|could (?:just|do with|try|go|use)|would (?:do|help|work|be (?:plenty|enough|nice|better|good))$|can (?:just|also"
    r" just|simply))"
)
PAST = re.compile(
    r"\b(?:had to|\w+n't (?:have|had|got|need|want)|who must|that must|(?:that|this|it) has to be (?:the|a)|should see|could have|could've|needed to|(?:should|ought to)(?:'ve| have| of)|must have|must've|have to say)\b"
)
NOT_DO = re.compile(
    r"(?:don't|do not|dont|never|no more|not so|stop|quit|no need to|you don't (?:have|need) to"
    r"|dinnae|not to)\b"
)
NOT_ASKED = re.compile(
    r"(?:(?:i|we|you|they|he|she|it|that) (?:don't|do not|never) |(?:don't|do not) (?:know|mind|care|think|hate"
    r"|get me|say|tell|worry|ask|look now|let me|you|we|i|they|believe)|never (?:mind"
    r"|seen|once|looked|a |saw|in|the|took|lost|had|got|gave|let him breathe)|stop (?:it )?(?:here"
    r"|there|me|that)|not to (?:mention|be|worry)|no more than|not so (?:good|bad|much|sure))"
)
ASKS = re.compile(
    r"(?:(?:do|have|can|could|would|will|did) (?:you|we|i|they|he|she|it|any|some|our|the)|did|does|are"
    r"|is|was|were|am|has|why(?! (?:not|don't you))|where|where's|who|who's|which|what's|what (?!if"
    r"|about)|how (?!about)|isn't|aren't|wasn't|didn't|don't (?:you|we|they)) "
)
# A clause that begins like this tells what is or was.
TELLS = re.compile(
    r"(?:(?:i|i'm|i've|i'd|i'll|he|he's|she|she's|they|they're|it|it's|that|that's|this|there|there's"
    r"|we|we're|we've|you're|you|you've|nobody|everybody|somebody|their|his|her|my|our|these|those"
    r"|here|because|cause|which|who|as|well|yeah|yes|oh|okay|ok|alright|right|good|great|nice|now) )"
)
# May stand before what is said to do.
# Orders to look or to think more than to do.
SOFT = re.compile(
    r"(?:have a (?:look|think|go)|look (?:up|for|over)|remember|think|ask|tell|count|check)\b"
)
# What one says one would do in somebody's place, or what somebody might.
WOULD = re.compile(
    r"(?:(?:could|can|would|will) (?:you|we|someone|somebody)(?: please| just| maybe| at least)*|i'd"
    r"|i would|you might|you may|you can|you could|one of you|both of you|you two)"
    r"(?: just| also| both| maybe| even| try to)? (\w+)"
)
NO_WISH = frozenset(
    "see hear tell imagine say think like be have ask know understand feel watch".split()
)
# The past is spelt like the order.
SAME_PAST = frozenset(
    "put cut hit set let shut read split beat spread rid burst cost hurt cast".split()
)
LEADING = frozenset(
    "so but and okay ok alright right well now then uh um er ah oh please buddy mate hen pal kid son "
    "man hey yeah yes just only also or listen big fella lassie bud sir dude brother sister love "
    "darling there basically maybe perhaps simply honestly eh aye och ach wee here dear no".split()
)
# Parts of the body and of time in verbless orders: "Brakes on, hips down."
POSTURE = frozenset(
    "hips hand hands foot feet bum bottom chest knees knee head chin eyes shoulder shoulders arms arm "
    "lower earlier sooner later harder softer quicker louder higher wider tighter closer slower body "
    "nose elbow elbows wrist stance patience two-foot brakes swings swing heels toes thumb palm tummy "
    "backside voice seat legs balance candle tree statue target".split()
)
SUBORDINATE = re.compile(
    r"\b(?:before|when|as soon as|as|once|until|till|after|while|so that|if)\b.*$"
)
FINITE = re.compile(
    r"\b(?:is|are|was|were|am|be(?:en)|has|have|had|does|do|did|will|would|can|could|i|you|he|she|we"
    r"|they|it|'s|'re|'ve|i'm|\w+'(?:s|re|ve|ll|d|m)|goes|gets|got|went|comes|came|gone|scored|takes"
    r"|took|makes|made|stands|stood|runs|ran|sees|saw|turns|turned|catches|caught|gives|gave|\w+n't"
    r"|dead|not|no|nobody|never|nothing|without|none|too|late|what|such|perfect|beautiful|finally|lovely|good|great|nice|well|super)\b"
)
# Before a verb that is no order: its subject, its helping verb, an article.
SUBJECTS = frozenset(
    "i you he she we they it who that this to will would can could should must may might do does did "
    "don't doesn't didn't can't won't gonna gotta wanna a an the his her their your my our its no some "
    "any every each of in at for with by from not never always also guys people and or help helps let "
    "lets make makes made see sees saw watch hear which us them nobody everybody big little good nice "
    "great bad second next own is are was were be been both all each gon finna him wide ball just "
    "really even kind like how what where when you've we've they've ain't n have has had could've dude "
    "dudes folks kids one-on-one early late full half hand-off side weak strong".split()
)
# Nouns more often than orders, where no sign tells.
NOUNISH = frozenset(
    "time speed space man match level zone screen front post cup box cut drive pass shot point step "
    "hand ball help press trap switch guard play work race pace position place order score support win "
    "shade rock paint pump trail roll pop ice hedge release stunt tag contact finish plant".split()
)
# Orders more often than not, whatever follows.
PLAIN = frozenset(
    "get stay keep put give find take use trust lift land turn start throw send sit bring sprint rip "
    "stop hold move swing finish release drop slide lead look count go come pull push step".split()
)
# Behind a word that is a noun after all ("the wall is slow").
IS = frozenset("is was are were has had isn't wasn't would will of get gets got goes comes".split())
# Behind a verb that is an order.
OBJECTS = frozenset(
    "it a an the your that up down out on off in to through him her them both wide low early high "
    "back over under yourself there two somebody someone some your square straight around across "
    "him first with for into before until till when as soon low that home where what hand hands yourself moving by your".split()
)
# Behind these a clause says when.
WHEN = frozenset("moment time second when before until till soon as if".split())
