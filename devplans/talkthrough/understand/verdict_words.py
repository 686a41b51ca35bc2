# ruff: noqa: E501 - lists of words and patterns
"""Plain praise and blame: patterns over folded words, by what they tell. Pure data.

Each match of a group is one trait for the model in verdict.py, which learns from examples how much
it weighs.
"""

import re


def _any(*patterns: str) -> re.Pattern[str]:
    return re.compile(r"\b(?:" + "|".join(patterns) + r")\b")


_GOOD = (
    r"great|excellent|brilliant|fantastic|superb|perfect(?:ly)?|awesome|outstanding|wonderful"
    r"|beautiful(?:ly)?|lovely|terrific|tremendous|magnificent|gorgeous|smashing|cracking|class"
    r"|magic|mint|ripper|beauty|bravo|super|chapeau|lekker|deadly|immense|immaculate|textbook"
    r"|marvellous|marvelous|delightful|splendid|sensational|unreal|elite|filthy|stunning"
)
GROUPS: dict[str, re.Pattern[str]] = {
    "praise": _any(_GOOD),
    "praise-plain": _any(
        r"good|nice|nicely|smart|clever|tidy|solid|clean|strong|sharp|patient|calm|mature|composed"
        r"|disciplined|crisp|fine|well|right"
    ),
    "praise-phrase": _any(
        r"well (?:done|played|in|worked|held|timed|spotted)|nice one|spot on|bang on|dead on|on point"
        r"|(?:good|great|nice|super|big|hell of a|heck of a|fine|some) (?:job|work|effort|stuff|play"
        r"|shout|hands|feet|legs|eyes|lad|girl|man|stop|decision|read|habit|instinct|discipline)",
        r"(?:i|we|coach|you gotta|got to|have to|really|just|absolutely|do) (?:really |just |do )?"
        r"(?:love|like|liked|loved|enjoyed?|enjoying|appreciate|admire)"
        r"(?! you (?:to|lower)| (?:to|him to|her to|them to))",
        r"(?:love|loved|like|liked) (?:it|that|this|how|the way|what|your|her|his|those)",
        r"exactly (?:what|this|that|right|it|how|where|the)|precisely (?:what|that|how|where)"
        r"|that's (?:exactly|precisely|just|really)? ?(?:it|the one|the stuff|the way|how|what|us"
        r"|a stop|the standard|the job|the habit|the play|the difference|money|gold|winning|big)",
        r"that is (?:exactly|precisely|just|really)? ?(?:it|the one|how|what|why|the way|the stuff)",
        r"(?:talking|talkin) about|keep (?:doing|that|it) (?:that|this|up|going)|more of (?:that"
        r"|this|the same|those)|every (?:single )?(?:time|night|day) please|same again please",
        r"fair play|hats? off|credit(?: to)?|proud of|pleased with|happy with|happy (?:days|to see)"
        r"|way to|there (?:you|we|he|she) (?:go|goes)|there it is|at(?:ta|ta )(?:girl|boy)"
        r"|at a ?(?:girl|boy)|good (?:on|for) (?:you|ya|her|him)|thank you for|big time|boom|bum|money",
        r"no (?:complaints|notes|fault|problem|faults|criticism)|nothing (?:wrong|to fix|to add"
        r"|to say|i would change|i'd change)|(?:can't|couldn't|cannot|could not) (?:ask|have asked"
        r"|fault|do it any|do any|teach|coach|draw|be better|want)|wouldn't change|don't change",
        r"(?:much|way|so much|far|lot|already|even|getting) better|better (?:now|this time|already"
        r"|again)|improve(?:d|ment)|come on a (?:lot|long)|shows?(?:ing)? (?:me|up)|pay(?:s|ing) off",
        r"all day|any (?:day|league|team|coach)|grown (?:man|woman)|without (?:being asked|a foul"
        r"|fouling|reaching|a reach|anybody|anyone|panic|panicking|thinking|a whistle|looking)",
        r"i'll take|i would take|take (?:that|this|it) (?:all|any|every)|for free|for nothing"
        r"|out of (?:jail|trouble)|bails?|saves? (?:us|me|a)|saved|earned|rewards?|deserves?"
        r"|pure|job done|top (?:marks|drawer|class|stuff)|first class|world class|ten out of ten",
        r"one of (?:my|the) (?:favou?rites?|best)|best (?:one|thing|play|clip|i)|clip of|everybody"
        r" (?:watch|look at) (?:this|that|him|her)|favou?rite|that'll do|that will (?:do|play)"
        r"|works? (?:for me|every)|easy (?:basket|bucket|two|points?|game|layup)|wide open because",
        r"nobody (?:asked|told)|before (?:anybody|anyone|they've|the ball|she's even|he's even|it"
        r" (?:arrived|arrives|gets there|comes))|first (?:one )?(?:back|home|there)|already",
        r"soft as|smooth|like (?:a )?(?:wall|rock|train|rocket|whippet|pro|veteran|glue|silk|butter)",
        r"doesn't budge|does not move|didn't bite|doesn't bite|stays? (?:down|home|with|in front)",
        r"(?:straight|hands?|arms?) (?:to the sky|up and down|straight up)|no (?:foul|swat|reach|"
        r"panic|banana|fuss)|hold(?:s|ing)? (?:it|her|him|the follow)|both (?:feet|hands)",
    ),
    "fault-plain": _any(
        r"late|slow(?:ly)?|lazy|flat|upright|asleep|sleep(?:ing|y)?|lost|wrong|bad(?:ly)?|poor(?:ly)?"
        r"|terrible|awful|shocking|sloppy|soft|casual|careless|loose|weak(?!-| hand| side)|tired|stiff"
        r"|silent|quiet|dead|stuck|trapped|crowded|panic(?:ked|s|king)?|rushed?|hurr(?:y|ied|ies)"
        r"|forced?|forcing|hopeless|dreadful|horrible|rubbish|nonsense|ugly|messy|mess|shame|pity"
        r"|problem|mistake|error|issue|trouble|fail(?:s|ed)?|disappoint(?:ed|ing|s)?|unlucky|silly"
    ),
    "fault-doing": _any(
        r"stand(?:s|ing)?|stood|watch(?:es|ing)? (?:the (?:ball|flight|shot|show)|it|him|her)"
        r"|ball.?watching|ball.?watches|admir(?:e|es|ing|ed)|jog(?:s|ging|ged)?|walk(?:s|ing|ed)?"
        r"|reach(?:es|ing|ed)?|gambl(?:e|es|ing|ed)|swip(?:e|es|ing|ed)|lung(?:e|es|ing|ed)"
        r"|drift(?:s|ing|ed)?|float(?:s|ing|ed)|lob(?:s|bed)?|telegraph(?:s|ed|ing)?|wav(?:e|es|ing)"
        r"|hug(?:s|ging)|turn(?:s|ed)? (?:your|his|her) (?:back|head)|back (?:is )?to (?:the|your)",
        r"(?:fl(?:y|ies|ew|ying)|sail(?:s|ed|ing)?|run(?:s|ning)?|ran|r[au]n|jump(?:s|ed|ing)?)"
        r"(?: \w+)? (?:past|by)|blow(?:s|n)?.by|fly.?by|(?:gets?|got|been|getting|is|was|are) (?:beat"
        r"|beaten|burned|burnt|caught|picked|stripped|poked|stolen|blocked|lost|screened|hit|bumped"
        r"|swatted|crushed|sealed)|(?:goes|gone|went|walks?|steps?|drives?|blows?|runs?) (?:right |"
        r"straight |all the way )?(?:round|around|past|by|over|through) (?:you|her|him|us|the top)",
        r"(?:forg[eo]t(?:s|ten)?|miss(?:es|ed)? (?:the|your|her|his) (?:tag|rotation|cutter|box|help"
        r"|screen|man|check|assignment|pass)|gives? (?:it|the ball|her|him|up)|g[ai]ve (?:it|him|her)"
        r"|gift(?:s|ed)?|los(?:e|es|t|ing) (?:your|her|his|the|sight|track|vision|him|it))",
        r"travel(?:s|led|ed|ling)?|double dribble|turnover|foul(?:s|ed)?|and one|plus one|whistle"
        r"|stolen|steals? it|into (?:traffic|three|two|the crowd|four|a wall|trouble|the trap)"
        r"|hands? (?:down|by (?:your|his|her)|are falling|on (?:your|his|her)|low)|on your heels"
        r"|flat.?footed|straight legs|legs (?:are )?straight|leaning|falling|fad(?:e|ing)|off.?balance"
        r"|same (?:spot|square|place)|on top of|on .{2,14} toes|bunched|crowd(?:s|ing|ed)?",
        r"only (?:sees?|looks?|see his|see her)|head (?:is )?down|eyes (?:on the floor|down)|too"
        r" (?:late|slow|high|upright|flat|deep|far|early|quick|much|many|wide|narrow|easy|tight|soft"
        r"|long|close|fast|loose|casual|short|low|comfortable|polite|nice|shallow|busy)",
        r"(?:went|goes|going|gone|started|starts?|set off|leaves?|left|jump(?:s|ed)?|commits?) (?:too"
        r" )?(?:early|late|before)|hold(?:s|ing)? (?:on to it|it too|it for|the ball)|stop(?:s|ped)?"
        r" (?:playing|moving|running|your feet)|pick(?:s|ed)? (?:it |the ball |your dribble )up",
    ),
    "absent": _any(
        r"no (?:box|call|talk|help|body|hands?|contact|communication|movement|rotation|idea|clue|use"
        r"|need|one|pressure|angle|sense|urgency|bump|tag|voice|screen|follow|balance|look|vision)"
        r"|nobody|noone|nothing|none|never|not a (?:word|sound|peep|soul|single)|without (?:looking"
        r"|a look|checking|a box|a call|talking|seeing)|neither|nowhere|hardly|barely|zero|any(?:body"
        r"|one)"
    ),
    "negated": _any(
        r"isn't|aren't|wasn't|weren't|doesn't|don't|didn't|haven't|hasn't|hadn't|won't|wouldn't"
        r"|couldn't|can't|cannot|not|ain't|no no|nae|didnae|doesnae"
    ),
    "negated-good": _any(
        r"(?:not|isn't|wasn't|ain't|aren't|never|hardly|no) (?:\w+ )?(?:good|great|enough|ideal|there"
        r"|quite|happy|right|the (?:one|shot|pass|time|way)|what (?:we|i)|our|how|bad idea|clever"
        r"|smart|ready|set|close|your best|acceptable|a shot|screening|defen[cs]e)|not yet|don't (?:like"
        r"|love|want)|didn't (?:like|love)"
    ),
    "fault-phrase": _any(
        r"can't (?:have|happen|be|keep|do|let|give|afford|just|go|stand)|(?:kill|hurt|cost)(?:s|ing)?"
        r" (?:us|me|you)|drives? me|not good enough|supposed to|(?:should|could|would|ought to)(?:'ve"
        r"| have| of|a)|needed to|had to be|would've|how many times|one more time i|we('ve)? talked"
        r" about|told you|i('ve)? said|we('ve)? said|half.?(?:hearted|way|asleep)|instead of|rather than"
        r"|only half|almost|nearly|so close|not quite|a (?:bit|touch|tad|little|fraction|shade|hair"
        r"|beat|second|step|stride) (?:too|late|behind|short|slow|early|off|high|deep)|wrong time",
        r"before (?:it|the screen|she|he|the wall) (?:arrived|is (?:built|set)|was set|got there)"
        r"|(?:window|door|road|gate) (?:is|has|was) (?:shut|closed|gone)|has (?:shut|closed|gone)"
        r"|they score|easy (?:layup|one|two|bucket|basket) for|at the other end|the other way"
        r"|wide open (?:three|shot|layup)|and now (?:he's|she's|it's) (?:not|gone)|(?:free|open) (?:a"
        r" full|one|for) ",
    ),
    "irony": _any(
        r"oh (?:lovely|brilliant|great|good|wonderful|perfect|nice|beautiful|fantastic|super)|if you"
        r" (?:like|enjoy|want|fancy|support|are (?:the|on))|for the other (?:team|side)|straight to"
        r" (?:the other|them|their|the opposition|nobody|the bench)|(?:nice|kind|good|generous|decent"
        r"|sweet|big) of (?:you|her|him|us|them)|very (?:generous|kind|polite|thoughtful|considerate)"
        r"|thanks? (?:for|very)|thank you very|christmas|birthday|present|gift.?wrapped|red carpet"
        r"|hold(?:s|ing)? the door|open(?:s|ed)? the door|matador|statue|spectators?|tourist|best seat"
        r"|front row|ticket|popcorn|picnic|holiday|vacation|the view|programmes|traffic (?:cone|light)"
        r"|lamp ?post|turnstile|revolving door|welcome mat|cup of tea|tea (?:bar|break|party)"
        r"|sightseeing|window shopping|wave goodbye|round of applause|congratulations|genius|clever"
        r" clever|just (?:wonderful|great|lovely|perfect|brilliant)|always works|yeah right|of course"
        r" (?:it|he|she|this|they)|row (?:z|three)|into the (?:stands|crowd|seats)|at the (?:bus"
        r"|bank|mall|museum|beach|zoo|cinema|museum)|library|church|museum|funeral|lottery|casino|cruise"
        r"|grandmother|grandma|nan|granny|beach|deck ?chair|sofa|couch|armchair|television|telly|tv"
        r"|cinema|movie|netflix|phone|bus|tram|taxi|queue|parking|furniture|wallpaper|invisible|ghost"
        r"|mannequin|scarecrow|garden gnome|snowman|pigeon|fireworks|fourth of july|night off|day off"
        r"|sandwich|nap|pillow|bed|duvet|invitation|invited?|free sample|charity|donat(?:e|ed|ion)"
        r"|oscar|magic trick|yoga|ballet|danc(?:e|ing)|selfie|photo|autograph|lovely if|great if"
        r"|beautiful if|brilliant if|fantastic if|perfect if|wonderful if",
        r"let's (?:all )?(?:just )?(?:watch|admire|wait|stand)|lucky (?:them|her|him)|bless (?:him|her"
        r"|you)|as (?:though|if) (?:you|he|she|it|they)|like (?:you're|he's|she's|it's|you are|he is"
        r"|she is|we're) |(?:do|did) (?:own|enjoy|know)|it's allowed|not illegal|doesn't bite",
    ),
    "wish": _any(
        r"(?:you|he|she|they|we|one of you|both of you|somebody|someone)(?:'ve| have|'s| has)?(?: just|"
        r" really| all)* (?:got to|gotta|have to|has to|need to|needs to|must|should|ought to|have got"
        r" to|want to|need|needs|better|can)|'ve got to|gotta|i(?:'d| would)(?: just| really| much)?"
        r" (?:rather|like|love|prefer|want)|i (?:want|need) (?:you|her|him|it|that|your|to see|both|a"
        r"|the|more)|i'd have|next time|try(?: to| and)|instead|what if|how about|why not|let's|see if"
        r"|make sure|don't|do not|stop (?!it here)|just (?:\w+)|please|(?:be|get|stay|keep) (?:\w+er"
        r"|low|wide|big|there|your|it|the|in|on|back|down|up|early|ready|loud)|has to be|must (?:be|to)"
    ),
    "asks": _any(
        r"why(?: are| is| do| did| does| not| you| we| he| she| this| that)?|where(?:'s| is| are| was)"
        r" (?:your|her|his|the|my|our|you|that)|what (?:are|is|was|were) (?:you|we|he|she|they|that"
        r"|this)|what's (?:he|she|that|this|this)|how (?:many|come|long|often)|who(?:'s| is| has|'s got)"
        r" (?:got|guarding|with|on|boxing|helping|talking)|are we|is (?:he|she|anybody|anyone|that)"
        r"|was (?:this|that|it)|do (?:we|you) (?:really|even)|did (?:we|you|he|she|anyone|anybody)"
    ),
    "note-phrase": _any(
        r"have a (?:think|look|watch|go)|think about|thinking about|i (?:only|just|would|was|am) (?:wonder"
        r"|wondering|ask|asking|curious)|i(?:'d|'m|'m just|'m only|'m gonna| just| only) (?:be )?(?:ask"
        r"|asking|wonder|wondering|curious|interested)|i wonder|wonder(?:ed|ing)?|curious|question for|a"
        r" question|remind(?:er|ing)?|to remind|remember|bear in mind|keep in mind|worth (?:knowing|noting"
        r"|a look|thinking|remembering|a thought)|just so you know|for (?:your )?information|fyi|no"
        r" judg(?:e)?ment|not (?:a )?criticism|not criti\w+|nothing (?:went )?wrong|i'm not (?:mad|cross"
        r"|angry|fussed|saying|blaming|telling)|i don't (?:mind|hate|know|have an? answer)|i'm not sure"
        r"|not sure|no opinion|neither|either (?:way|one|is)|up to you|your (?:call|choice|decision|view"
        r"|thoughts|opinion)|your take|what do you (?:think|see|notice|reckon|make)|what did you (?:see"
        r"|think|notice|feel)|what would you|tell me|let me know|talk (?:to|with) me|we'll talk|we can"
        r" talk|come (?:and )?(?:see|find|talk)|maybe (?:yes|no|nothing|you)|hard to (?:say|tell|see)"
        r"|can't (?:tell|see|say)|i have no answer|no answer|as we (?:said|agreed)|we(?:'d)? agreed|the"
        r" rule|what we said|keep an eye|interesting|notice|noticed|observation|for the record|on video"
        r"|what (?:was|is|were) (?:free|open|there|over)|see (?:it|where|what)|which (?:one|foot|hand|side)"
        r"|what (?:happens|else|could)|is there|was there|were there|don't know|discuss|food for thought"
        r"|homework|no right|i'm easy|doesn't matter|not a big (?:deal|thing)|just (?:see|look|notice)"
        r"|neutral|look (?:this|at this) (?:picture|clip) and|where (?:do|would|could|did) you|do you"
    ),
    "despite": _any(
        r"miss(?:es|ed)?(?: it| the shot)? but|doesn't (?:go|drop|fall)|didn't (?:go|drop|fall)|rims? out"
        r"|in and out|(?:don't|do not|didn't|not) (?:care|mind|worry|bothered|fussed)(?: about| that| if"
        r"| whether)?|never mind|forget the|even though|even if|i'll live|live with|no matter|whether it"
        r" (?:goes|went)|result|won't (?:always|drop)|doesn't matter|ball (?:didn't|doesn't|won't)|either way"
    ),
    "but-good-bad": _any(
        r"(?:good|great|nice|lovely|strong|right|brilliant|fine) (?:\w+ )?(?:\w+ )?(?:but|wrong|except"
        r"|only|shame|pity|however|though)|(?:idea|intent|intention|thought|effort) (?:is|was)? ?(?:good"
        r"|right|fine|there|but)|half (?:right|of it|the job|a)|first (?:half|part|bit)"
    ),
    "bright": _any(
        r"advanced|alert|alive|aware|balanced|brave|bright|careful|composed|confiden(?:t|ce)|control(?:led)?"
        r"|cool|courage(?:ous)?|creative|decisive|deserve[sd]?|determined|dominat\w+|effective|efficient"
        r"|elegant|energy|engaged|enjoy(?:ed)?|fearless|flawless|focus(?:ed)?|fun|gem|glad|glue|grit|gutsy"
        r"|happy|hero|ideal|impress\w*|instinct|intelligent|joy|keen|leader|locked|loyal|neat|nifty|nailed"
        r"|patien(?:t|ce)|poise|polished|precise\w*|pride|professional|proper|quality|relentless|reliable"
        r"|reward\w*|sealed|secure|selfless|sensible|settled|shine[sd]?|silky|slick|smile[sd]?|spotless|steady"
        r"|stubborn|surgical|sweet|tenacious|terrier|timely|tough(?:ness|est)?|unselfish|vision|warrior"
        r"|willing|win(?:s|ning|ner)?|wise|works?|worked|wow|savage|insane|unreal|stoked|finally|at last"
        r"|campeona?|ol[eé]|high five|what a|genius|hustle[sd]?|fought|fights?|battl\w+|champion|special"
    ),
    "dark": _any(
        r"absent|afraid|aimless|awful|awkward|blind|bother\w*|broken|chaos|cheap|clumsy|confus\w+|cost\w*"
        r"|daydream\w*|delay|disaster|disappear\w*|distracted|doubt|dozing|drag\w*|drown\w*|empty|exposed"
        r"|fault|fluster\w*|fooled|forgot\w*|frozen|frustrat\w+|guess\w*|half.?hearted|helpless|hesitat\w+"
        r"|hid(?:e|es|ing|den)|hole|horror|ignor\w+|idle|impatient|leak\w*|leisure\w*|limp|mess\w*|mute|muddle"
        r"|nightmare|nuisance|overrun|painful|passenger|passive|penalty|pointless|punish\w*|rash|reckless"
        r"|ruin\w*|scared|scrambl\w*|shambles|shocker|shrug\w*|sinking|sluggish|snooz\w*|sorry|spill\w*|stale"
        r"|stall\w*|stranded|stroll\w*|stumbl\w*|surrender\w*|switch(?:ed)? off|tangle\w*|tentative|timid"
        r"|unaware|unbalanced|wander\w*|wast(?:e|es|ed|ing)|wild|wonky|worr\w+|worse|worst|yawn\w*|trucked"
        r"|walkabout|zip code|postcode|nowhere|open gate|so open|undressed|cooked|toast|burnt|roasted|mugged"
        r"|robbed|pickpocket\w*|dispossessed|bundled|smother\w*|swallow\w*|outmuscled|outworked|second best"
    ),
    "others-bad": _any(
        r"(?:defenders?|defen[cs]e|kid|guy|dude|girl|man|lad|lassie|they|(?:any|every)(?:one|body) else|their"
        r" \w+|trap|press|zone|shooter|fellow|big|guard) (?:\w+ ){0,3}?(?:late|asleep|falls asleep|sleep\w*"
        r"|turns? (?:\w+ ){1,2}(?:head|back)|lean\w*|chasing|standing|watching|stuck|lost|beaten|no (?:idea"
        r"|chance|way)|nowhere|stands? up|looking at|g[ai]ves? up|shook|frozen|bites?|bit on|behind|couldn't"
        r"|can't|cannot|never|(?:gets?|got|has|had) (?:nothing|no look|no shot)|had to (?:give|throw|shoot"
        r"|put|pass|reset)|bounces? off|falls? apart|trying to|off (?:his|her) feet)",
        r"before (?:any(?:one|body)|they|she's|he's|the (?:pass|ball|defence|defense|trap|shooter))|in his lap"
        r"|in her lap|(?:gives?|gave) (?:it|the ball) (?:up|away) because|(?:makes?|made) (?:him|her|them)",
    ),
    "others-good": _any(
        r"(?:they|their \w+|she|he|shooter|the (?:girl|guy|man|kid|big|boy|shooter)|your (?:one|girl|man|oke"
        r"|player|guy)|number \w+) (?:\w+ ){0,2}?(?:scores?|scored|lays? it|laid it|walks? (?:in|past|right"
        r"|by)|goes (?:round|past|by|around|where)|steps? (?:round|around|past)|stepped (?:round|around|past|to)"
        r"|ducks? under|gone|open|alone|free|swats?|steals?|strolls?|says? thank|runs? (?:past|by|free)"
        r"|knocks? it|puts? it (?:back|in)|helps? (?:him|her)self)",
        r"(?:layup|lay-up|basket|bucket|three|three points|dunk|put ?back) for (?:them|him|her|their)|they"
        r" score|goes? (?:past|by|round|around) you|over (?:your|the) back|second (?:bite|chance|shot)|free"
        r" lay-?up|all alone at our|wide open (?:three|shot|layup|look) for",
    ),
}
