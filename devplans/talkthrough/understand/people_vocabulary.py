"""Words of general English and of the trade, in their base forms. Pure."""

GENERAL = """
able absolute absolutely accept access accident account accurate achieve act action active actual
actually adapt add adjust admit advance advantage advice advise affect afford afraid age agenda
aggression aggressive ago agree ahead aim air alarm alert alike alive allow alone aloud alter
alternate amaze amazing amount angle anger angry animal announce annoy answer anticipate appear
apple apply appreciate approach area argue arm arms army arrange arrive arrow art aside ask asleep
assist assistant assume attach attack attempt attend attention attitude audience automatic
available average avoid awake award aware away awesome awful awkward baby back background backward
backwards bad badly bag bait balance ball band bang bank bar bare barely bark base baseline basic
basically basis basket basketball battle beach bear beat beautiful beauty become became bed bee
beer beg begin began begun behave belief believe bell belly belong belt bench bend bent best bet
better big bigger bike bill bird birth bite black blade blame blank blast bleed bless blind blink
block blood bloody blow blew blown blue board boat body bold bolt bomb bone bonus book boom boot
boots bore boring born borrow boss bother bottle bottom bounce bound bow bowl box boy boys brain
brake branch brave bread break broke broken breakdown breath breathe brick bridge brief bright
brilliant bring brought broad brook brother brown brush buck bucket budget buddy build built bull
bullet bump bunch burn burst bury bus bush business busy button buy bought buzz buzzer bye cake
call calm camera camp cap captain capture car card care careful carefully careless carry cart case
cash cast casual cat catch caught cause caution ceiling cell center central centre certain
certainly chain chair challenge champion championship chance change channel chaos character charge
chart chase chat cheap cheat check cheer cheese chest chew chicken chief child children chill chin
chip choice choose chose chosen chop chuck church circle city claim clap clash class classic clay
clean clear clearly clever click cliff climb clip clock clog close closed closely closer clothes
cloud club clue clumsy cluster clutch coach coast coat code coffee coin cold collapse collect
college color colour come came comfort comfortable command comment commit common communicate
communication company compare compete competition complete completely complicated concentrate
concept concern conclude condition confidence confident confuse congratulate connect consider
consistent constant contact contain contest continue contract control convert cook cool copy cord
core corner correct correction cost count country couple courage course court cousin cover cow
crack crash crazy cream create creative credit creep crew crisp critical cross crossover crowd
crucial cruel crush cry cup curl current curve cushion custom cut cute cycle dad daily damage
dance danger dangerous dare dark dash data date daughter dawn day days dead deadly deal dear death
decent decide decision deck declare deep deeper defeat defence defend defender defense defensive
definite definitely degree delay deliberate delight deliver demand denial deny depend depth
describe deserve design desire desk desperate destroy detail determine develop development devil
diagonal dial die diet difference different difficult dig dug dinner dip direct direction dirty
disappear disappoint discipline discover discuss dish disrupt distance distract disturb dive
divide dog dollar door dot double doubt down downhill drag drama draw drawn drew dream dress drift
drill drink drank drive drove driven driver drop drown dry duck due dump during dust duty dying
eager ear early earn ear ears earth ease easily easy eat ate eaten echo edge educate effect
effective effort egg elbow elect electric element elite emergency emotion emphasis empty enable
encourage end ended enemy energy engage engine enjoy enormous enough ensure enter entire entry
environment equal equip error escape especially establish euro evaluate eve even evening event
eventually everyday evidence evil exact exactly examine example excellent except excite exciting
excuse execute execution exercise exhaust exist exit expect expensive experience explain explode
explore explosive expose express extend extra extreme eye eyes face fact factor fade fail failure
faint fair fairly faith fake fall fell fallen false familiar family famous fan fancy fantastic far
farther farm fashion fast faster fat fate father fault favor favorite favour fear feature feed fed
feel felt feeling feet fence fetch fight fought figure file fill film final finally find found
fine finger fingers finish fire firm fish fist fit fix flag flame flap flare flash flat flex flick
flight flip float floor flop flow flower fly flew flown focus fold folk folks follow fond food
fool foot football force forearm foreign forest forever forget forgot forgotten forgive form
former forth fortune forty forward forwards foul foundation frame frank free freedom freeze froze
frozen frequent fresh friend friendly front frustrate frustrated frustrating fruit full fullcourt
fully fun function fundamental fundamentals funnel funny further future gain gallop gamble game
games gap garbage garden gas gate gather gave gear general generally generous gentle gentleman
gently genuine get gets got gotten getting giant gift girl girls give given glad glance glass
glove glue go goes going gone went goal gold golden good goods gosh grab grace grade gradual grand
grant grass grateful gravity gray great greedy green grey grin grind grip ground group grow grew
grown growth guard guess guest guide guilt guilty gun gut guts guy guys gym habit hair half
halfcourt halftime hall halt hammer hand handed handle handoff hands hang hung happen happy hard
harder hardly harm hat hate haul head heads headed health healthy hear heard heart hearts heat
heavy heck hedge heel heels height hell hello help helpful helper helpside here hero hesitate
hesitation hide hid hidden high higher hill hint hip hips hire history hit hold held hole holiday
home honest honestly honor hook hoop hoops hop hope hopefully horn horns horrible horse host hot
hour house huddle huge human humble hungry hunt hunter hurry hurt hustle ice idea ideal identify
idiot ignore ill image imagine immediate immediately impact important importantly impossible
impress impressive improve inch include increase incredible indeed individual influence initial
inbound injure injury insist instance instant instantly instinct intend intense intensity intent
intention interest interesting invite iron island issue item ivory ivy jab jail jam jay jazz
jersey jet job jog join joke joker journey joy judge juice jump jumper junior junk just justice
keep keeping kept key keys kick kid kids kill kind king kiss kitchen knee knees knew knife knock
know known knowledge lack ladder lady lag lane lap large last late later lately latest laugh law
lay lays lazy lead leader led leaf league lean leap learn learnt leave left leg legal legs lesson
let letter level lie lies lay life lift light lightning likely limit line lines lineup link lion
lip list listen listening little live lives load loaded lob local lock logic lonely long longer
look looks loose lord lose loses lost loss lot loud louder love lovely low lower luck lucky lunch
lunge luxury mad magic mail main mainly maintain major make makes made making man manage manner
mark market marry mask mass massive master match mate matter mature max maximum meal mean means
meant measure meat media medical medium meet met meeting member memory men mental mention mess
message met metal method metre meter middle midrange midst mile miles milk mind minimum minus
minute mirror miserable miss missed mistake misunderstand mix mobile mode model modern mom moment
momentum money month mood moon moral morning mostly mother motion motivate mountain mouse mouth
move movement movie mud multiple mum murder muscle music nail naked name names narrow nasty nation
natural naturally nature neat necessary neck need needs needle negative neighbor neighbour nerve
nervous nest net neutral new news next nice nicely night nine nobody nod noise normal normally
north nose note notes nothing notice number numbers nut obvious obviously occasion occur odd
offense offence offensive offer office officer official old open opening operate opinion opponent
opportunity oppose opposite option orange order ordinary organize original overhead overhelp
overplay overload owe own owner pace pack package page paid pain paint pair palm panic paper
parade pardon parent park part partly partner party pass passes passed passer passive past patch
path patience patient pattern pause pay peak pearl peek pen penalty penny people pepper percent
percentage perfect perfectly perform period permit person personal personality phase phone photo
phrase physical pick picked picture piece pile pin pinch pink pipe pitch pivot place plain plan
plane plant plate play player players plays playing pleasant please pleasure plenty plus pocket
point points poison poke pole policy polite pool poor pop popular position positive possess
possession possible possibly post pot potential pound pour power powerful practice practise praise
pray precise predict prefer prepare presence present press pressure pretend pretty prevent
previous price pride priest prime prince principle print prior priority prison private prize pro
probably problem process produce professional program progress promise prompt proof proper
properly protect proud prove provide public pull pump punch punish pure purpose pursue push put
puts putting puzzle quality quarter queen question quick quicker quickly quiet quit quite race
rack rain raise ran range rank rapid rare rate rather raw ray reach react reaction read reading
ready real realise realize really rear reason rebound rebounder receive recent recently recognize
recognise record recover recovery red reduce reed ref refer referee reflect refuse regard regular
relate relax release reliable rely relocate remain remember remind remove repeat replace reply
report represent request require reset respect respond response rest result retreat return reveal
reverse review reward rhythm rich rid ride rode ridden ridiculous right rim ring rip rise rose
risen risk risky river road rob rock role roll roller roof room root rope rotate rotation rough
round route routine row rub rude ruin rule run runs runner running rush sad safe safety sag sail
salt sand save saw say says said saying scale scan scare scatter schedule scheme school science
score scorer scoring scout scramble scrape scrappy scratch scream screen screener screw seal
search season seat second secret section secure see sees seeing seen seem seldom select self
selfish sell sold send sent senior sense sensible separate separation series serious seriously
serve service set sets setting settle several severe shade shadow shake shape share sharp sharpen
shell shelter shift shin shine ship shirt shock shoe shoes shoot shooter shooting shop short
shorter shot shots shoulder shoulders shout shove show shown shower shut shuffle shy sick side
sideline sides sideways sight sign signal silence silly silver similar simple simply sin sing
single sink sister sit sat site situation size skate skill skin skip sky slack slam slap slash
sleep slept slice slide slight slightly slip slot slow slower slowly small smaller smart smash
smell smile smoke smooth snap snatch sneak snow soccer social soft softer solid solution solve
somehow son song soon sooner sorry sort soul sound soup south space spacing spare speak special
specific speed spell spend spent spin spirit spit splendid split spoil sport spot spray spread
spring sprint squad square squeeze stab stack staff stage stagger stair stall stamp stance stand
stood standing star stare start starter starting state statement station stay stays stayed staying
steady steal stole stolen steel steep steer step steps stick stuck stiff sting stir stomach stone
stop stops stopped store storm story straight straightaway strange strategy stream street strength
stress stretch strict stride strike string strip strong stronger structure struggle student study
stuff stunt stupid style sub subject substitute succeed success sudden suddenly suffer sugar
suggest suit summer sun super superb support suppose supposed sure surely surface surprise survive
swap sweep sweet swim swing swung swish switch sword system table tackle tag tail take takes taken
took talent talk talking tall tangle tank tap target task taste teach taught team teammate
teammates tear technical technique teeth television tell told temper tempo tempt tend tennis term
terrible terrific test text thank thanks theme thick thief thin thing things think thinking
thought throat throw threw thrown thumb thunder ticket tie tied tiger tight tighter time timeout
times timing tin tiny tip tire tired title today toe toes together told tomorrow tone tongue
tonight tool tooth top topic torch total totally touch tough tour toward towel tower town toy
track trade traffic trail train trainer trap travel traveling tray treat tree tremendous trick
tricky trigger trim trip triple trouble truck true truly trunk trust truth try tries tried trying
tube tuck tunnel turn turnover turnovers twist type typical ugly ultimate umbrella unable uncle
understand understood unfortunate unfortunately union unit unless unlucky unselfish upper upright
upset urgent use used useful useless usual usually valley valuable value van vary vast version
vertical veteran victory video view village violent vision visit vital voice volleyball volume
wait waiting wake walk walked wall wander want wants warm warn wash waste watch watching water
wave way ways weak weaker weakside wear wore weather week weight weird welcome west wet wheel whip
whisper whistle white whole wide wider wife wild win wins winner won wind window wine wing wings
winter wipe wire wise wish woman women wonder wonderful wood word words wore work worked working
workout world worm worry worse worst worth wow wrap wrist write wrote written wrong yard year
years yell yelling yellow yesterday young youth zip zone zones
"""

MORE = """
admire admiring adore ache afternoon tummy aeroplane apology apologise apologize argument assembly
athlete aunt aunty babble bail banana barrel bash bathroom bawl behold bin biscuit blanket
blindfold blur boil boiler bonkers boo booth bouncy boundary brag broom brunch budge buffet
bulldoze bumper bunk burger butcher butter butterfly cab cabbage cabin cable cafe cage calculate
calendar cancel candle candy canteen carpet carrot castle caterpillar cave cement cereal chalk
chapter chapel chef cherry chocolate chore cinema circus clamp claw clinic cloak clone clown
comedy concert concrete cone confess confetti congratulations convince cordial corridor cough
couch counter coupon coverage crab cradle crawl crease creek cricket cripple crisis croak cruise
crumb crumble cuddle cupboard curb cure curious curtain daft dart dawdle dazzle debate debt deed
deer deli den dentist desert dessert diary dictionary dignity dim dine dinosaur director disaster
disgrace disguise disgust dismiss divorce dizzy dodge doorstep doorway dose dove dozen dragon
drain drawer dread drum drunk dummy dumb duo dwell elastic elephant elevator embarrass engineer
envelope essay exam excess exchange export eyebrow fabulous faculty fairy fairytale fascinate
fasten fella fellow festival fever fiction fiddle fierce flavor flavour fling flinch flirt flood
flour flu fluff flush fluent foil folder footprint foreground fork fort fortnight fountain
fraction fragile fraud fringe frog frown frustration fudge funeral funky furniture fuss galaxy
gallon garage gash gasp geography geometry ghost giggle giraffe glide glimpse glitter gloomy glory
goalpost god goat goose gossip govern graduate graft grain grandma grandmother grandpa grandfather
grandad granny grape graph gravel graze grease grenade grief grill grim grocery grumble guarantee
guitar gulp gum gutter hail halfway halo halves hamster handbag handbrake handful handshake handy
hanger harness harvest haste hatch haunt hay hazard headache headband headlight headline headset
heap heal helicopter helmet herd hesitant hiccup highlight highway hike hinge hitch hobby hoick
hood hoodie horizon horror hospital hostage hotel hound hover howl hug hum humour hush hut hydrate
hymn hype icecream idle ignite illegal imitate immense impatient impulse infant inform inherit inn
innocent insane insect insult insurance interrupt interview invent invisible itch jacket janitor
jealous jeans jelly jerk jewel jigsaw jolly jug juggle jungle jury kangaroo keen kettle kettles
kidding kidney kilo kit kite kitten knack knot lab label laces lamp lamppost language lasagna
laser latch launch laundry lawn lawyer leak leash leather lecture lemon lemonade lend length
lettuce liar liberty library licence license lick lid lightbulb limb limp lipstick liquid litter
liver lizard loaf loan lobby lobster lodge lollipop loop lottery lounge loyal lumber lump lurk
magazine magnet magnificent maid mammoth manager mango mansion manual map maple marathon marble
margin marine marvellous marvelous mash mat math maths material maze mayor meadow medal melt menu
mercy merge merry microphone microwave midnight milkshake mill mime mince mineral mingle mint
miracle mischief missile mist moan mob mock modest moist mole monkey monster monument moose mop
mortgage mosquito moth motor motorway mould mount mow muck mug mumble museum mushroom mustard
mutter mystery myth nag nap napkin narrate nan nanny navy nerd nightmare noodle noon nostril
nowadays nude nuisance numb nurse nursery oak oar obey object oblige obstacle octopus offend oil
onion opera operator optional orbit orchard orchestra organ outfit oven owl oxygen oyster pact
paddle paddock pal palace pan pancake pancakes panda pant pants paperwork parachute paradise
paragraph parcel parking parrot participate passenger passport pasta paste pastry pasture patrol
pavement paw pea peach peanut pear pebble pedal pedestrian peel pencil penguin pension perfume
petal petrol petty phantom physics piano pickle picnic pie pier pig pigeon pill pillow pilot pine
pint pioneer pirate pistachio pizza pizzas planet plank plaster plastic platform plead pledge
pliers plop plot plough plow pluck plug plum plumber plunge poem poet polish pollute pond pony
popcorn porch porridge portrait postcard poster postman potato pouch poultry powder pram prawn
preach pregnant prey priceless prick primary prisoner probe profile profit profound prominent
prone pronounce propel property proportion prosper prune pub pudding puddle pulse pumpkin punctual
pupil puppet puppy purchase purple purse pyjamas quack quake quest queue quilt quiz quote rabbit
radar radio raft rag rage raid railway rainbow ranch random rant rash rat ravine razor receipt
recipe reckless reckon recite recommend recruit recycle reel refresh refrigerator refund regret
rehearse reign rein reindeer rejoice relief religion reluctant remark remedy remote rent repair
repent reptile rescue resemble reserve resign resist resolve resort restaurant resume retire
reunion revenge revise revolve rhyme ribbon rice riddle rifle rinse riot ripple ritual roar roast
robot robust rocket rogue roomy rooster rot rotten roundabout rubber rubbish rug rugby rumble
rumor rumour sabotage sack saddle saint salad salary salmon salon salute sandal sandwich sarcastic
satellite satisfied sauce saucer sausage savage scaffold scandal scar scarf scenario scene scenery
scenic scent scoop scooter scorch scorn scrap scribble script scroll scrub sculpture seagull
seaside seatbelt seed seesaw seize semester seminar sensational sentence servant session sew shaky
shallow shame shampoo shark shave shed sheep sheer sheet shelf sheriff shield shiver shoelace
shoplift shore shorts shovel shrimp shrink shrug siege sightsee sigh silent silk sincere singlet
sip siren skateboard skeleton sketch ski skid skim skinny skull slate slave sledge sleeve slender
slid slim slime sling slipper slit slogan slope sloppy slouch slug slump smack smear smelly smith
smoothie snack snail snake snarky sneeze sniff snore snuggle soak soap soar sob sock sofa soil
soldier sole solo sore sour souvenir spade spaghetti spank spark sparkle spat spawn spear
spectacle spectacular spectator sphere spice spider spike spill spiral splash spoon spouse sprain
sprinkle sprout spruce spur spy squash squeak squirrel squirt stable stadium stain stake stale
stalk stammer stapler starve static stationary statue steak steam stereo stern stickybeak stink
stitch stock stool stoop stopwatch stove stray streak streetlight strive stroke stroll stubborn
stubby stud studio stumble stump stun stupendous sturdy submarine submit suburb subway suck
suitcase sulk sum sunglasses sunrise sunset sunshine supermarket supper supply surf surge surgeon
surgery surrender surround suspect suspend swallow swamp swan swarm swat swear sweat sweater swell
swerve swift swoop sympathy symptom syrup tablet tact tape tar tart tasty tattoo taxi tea teapot
tease telephone telly temple tenant tender tense tent terminal terrain terrify territory terror
textbook theatre theater theft theory therapy thermal thermostat thirst thorn thorough thread
threat thrill thrive throne thug tickle tide tidy tights tile tilt timber timid tissue toast
toaster toddler toffee toilet tolerate toll tomato ton tonsil toothbrush tornado tortoise torture
toss tournament tow trace tractor tradition tragedy tram tramp trampoline transfer translate
transport trash traveller tread treasure tremble trench trend trial tribe tribute trickle trifle
trolley troop tropical trot trousers trout trumpet tub tug tulip tumble tuna tune turkey turtle
tutor tweak twig twin twirl twitch tyre uniform universe university unlock update upload uproar
usher utter vacant vacation vacuum vague vain vanilla vanish vapor vault vegetable vehicle veil
vein velvet vendor verb verdict verse vessel vest vet veto vibrate vicious victim villain vine
vinegar virtual virus visible vitamin vivid vocabulary volcano volunteer vomit vote vow vowel
voyage vulture wag wage waggle wagon wail waiter wallet wallpaper walnut waltz wand ward wardrobe
warehouse warrior wasp watermelon wax weapon weary website wedding weed weekend weekday weep weigh
wellies werewolf whack whale wheat wheelchair whine whippet whirl wicked widow wig wiggle wink
wisdom wit witch wither witness wizard wool workshop worldwide worship wrath wreck wrestle wriggle
wring wrinkle yarn yawn yoga yogurt yoghurt zebra zigzag zoo cheeky dodgy knackered mates blimey
crikey cheerio telling brill lush gutted chuffed faff waffle natter banter dreadful ghastly
smashing marvel cracking cracker belter corker stunner ripper beaut heaps dinkum arvo bloke blokes
sheila mozzie barbie brekkie ute skerrick squiz g'day crook yakka hooroo stoked bummed gnarly
sheesh bruh fam finna tryna boutta ima imma aint ya yall y'alls gon aight ight yessir dawg homie
bros hella lowkey highkey deadass wee aye lassie lassies laddie och dinnae cannae didnae doesnae
wasnae wouldnae haud fussed greet bairn outwith craic eejit yous youse feck nae naw hen mum's
dad's nan's righto ach ah-ha tut hoo eh hm hmph ooh-la oi alas amen ew eek gah meh nuh pfft psst
shh shush tsk voila woo woohoo yay yippee bam zing whoosh wham pow swoosh ting ding dong kaboom
splat thud clang clunk snip zap physio referee's linesman statistician minibus coachbus carpool
gymnasium sportshall leisure assessment evaluation objective syllabus curriculum module cannon
torpedo lightspeed traffic-cone cones bib bibs pinnie pinnies gatorade caffeine hydration protein
calorie gluten oats muffin donut doughnut bagel taco burrito sushi noodles ramen
"""

TRADE = """
airball alley alleyoop andone backboard backcourt backcut backdoor backpedal backside ballhandler
ballside baller banger bankshot bench blitz blockout bodyup bonus boxout bricklayer bunny catch
catcher chuck closeout closeouts coaching cutter cutting cuts deadball deflect deflection denying
doubleteam downscreen dribble dribbler dribbling dribbled drop dunk dunker elbow elbows eurostep
fadeaway fastbreak finisher flagrant flare floater floppy footwork forecourt freethrow frontcourt
fronting giveandgo giver goaltend guarding gunner hammer handoffs hardwood hedging highpost hoist
icing iso isolation jab jumpball jumpshot jumpstop kickout layin layup layups lowman lowpost
mismatch motion nail nba ncaa offball offhand onball outlet outlets overcommit overrotate overtime
palming passing penetrate penetration perimeter pickandroll pindown pistol playbook playmaker
pointguard postup pullup putback reballing rebounding rebounds rescreen reposition rimrun rollman
rotations sagging scissor scorekeeper screening scrimmage shotclock shuffle sidepick sidestep
skyhook slasher slipscreen snug spacing splitter stepback stepup strongside stutter sweeper
swingman switching tagger takedown threepointer threes tipin tipoff topside trailer transition
trapping triplethreat turnaround twos underhand undersize unguarded upfake walkup wedge weave
windmill wraparound zipper xout teenager hashmark hash baseline midcourt halfcourt sideout blob
slob ato eob pnr dho shootaround walkthrough scrum stat stats statline rep reps rewind replay
pregame postgame warmup lineup rollout subbing crosscourt crossmatch chest overhead underneath
spain iverson mikan princeton kobe steph curry lebron jordan euro horns flex chin hawk tandem
diamond matchup triangle pinch shell diagram whiteboard clipboard laptop monitor screenshot zoom
playback teamwork leadership sportsmanship footspeed bodyline eyeline sightline bodyweight
fingertip fingertips wrong-footed flatfooted tiptoe kneecap ankle ankles calf shin thigh thighs
hamstring quad butt bum backside chest forehead jaw spine pelvis torso waist weightroom gameplan
gameday homecourt momma papa bro dude sir ma'am lads lad lass ladies gals gentlemen mister miss
coach coaches refs umpire scorer opponents homework schoolwork boxing wrestling skiing hockey
baseball soccer texting youtube internet iphone wifi app pdf google tiktok instagram hudl monday
tuesday wednesday thursday friday saturday sunday january february march april june july august
september october november december christmas easter english american british french german
spanish italian european africa america canada england ireland australia london paris tic tac toe
blah yada ish umm uhh erm mhm aha whoa woah oops ouch ooh wow jeez geez gosh damn dang heck yikes
bingo bravo ugh phew hooray cheers ciao thx pls vs etc bla lol haha unbelievable undisciplined
uncontested undecided undercut underestimate overthink overthought overrun oversize standstill mid
midair midway semi non anti pre re ex co backline goodness sake bless lord lordy heaven
"""
