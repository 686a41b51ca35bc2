"""Short forms of first names in many languages. Pure.

One line per family of names: full forms, a colon, short forms.
One line per family of names: A short form may belong to several.
"""

_TABLE = """
alexandra alexandria aleksandra: alex alexa lexi lexie lex sasha sandra xandra
alessandra alejandra oleksandra: alex alexa lexi lexie lex sasha sandra xandra
alexandra alexandria aleksandra: ally allie ali ola olenka sandy alexi dri
alessandra alejandra oleksandra: ally allie ali ola olenka sandy alexi dri
alexander aleksander alejandro alessandro alexandre oleksandr aleksandr: alex al xander sasha alec
alexander aleksander alejandro: alek sandro ale lex zander olek
alessandro alexandre oleksandr aleksandr: alek sandro ale lex zander olek
alexis: lex lexi alex
abigail: abby abbie gail abi
adelaide adeline adelina: addie addy ada della
adebayo: bayo ade
adrian adriana adrienne: adri ade dri
agnieszka agnes: aga agi nessa
aisling: ash
alan allan: al
albert alberto: al bert bertie beto
alfred alfredo: alf alfie fred freddie fredo
alison allison: ali ally allie
alfonso alphonse: al fonzie fonso poncho
amanda: mandy manda
amelia emilia: millie mia mel amy em
anastasia: ana stacy nastya stasia stas tasia ani
andrea: andi andie drea
andrew andreas andre andrei andrzej: andy drew dre andi
angela angelica angelina: angie angel geli
anna ana hannah annika: annie ann ania anya anka anita nan hanna
antonia antonina: toni tosia nia
anthony antonio anton antoni: tony ant toni tonio antek toño
archibald: archie
arthur arturo artur: art artie arty turo
ashley: ash
augustine augustus agustin: gus august gusti
babatunde: tunde baba
barbara: barb barbie babs basia
bartholomew bartosz bartlomiej: bart bartek
beatrice beatriz beatrix: bea bee trixie bia triz
benjamin benedict benedikt: ben benny benji benj
bernard bernardo: bernie nardo
bethany: beth
blessing: bless
bradley bradford: brad
brandon brendan: bran
bridget brigid: bridie biddy bridge
brittany: britt
bronwyn: bron
bogdan bohdan: bodya dan
bukola olubukola: bukky bukki
calvin: cal
cameron: cam
carlos carl karl: charlie carlitos
caroline carolina karolina: caro carrie carol lina karo
cassandra cassidy: cass cassie sandra
catherine katherine kathryn: kate katie kat kathy cathy cat kit kitty kasia
katharine catalina katarzyna: kate katie kat kathy cathy cat kit kitty kasia
katerina ekaterina kateryna: kate katie kat kathy cathy cat kit kitty kasia
katarina kathleen caitlin kaitlyn: kate katie kat kathy cathy cat kit kitty kasia
catherine katherine kathryn: katya katja kaska rina cait kay kath trina caty
katharine catalina katarzyna: katya katja kaska rina cait kay kath trina caty
katerina ekaterina kateryna: katya katja kaska rina cait kay kath trina caty
katarina kathleen caitlin kaitlyn: katya katja kaska rina cait kay kath trina caty
cecilia: ceci celia cece cissy
charles: charlie chuck chaz chas chip
charlotte: charlie lottie lotte char lola
chinedu: nedu edu
chidiebere chidera chidi: chidi dera
chiamaka: amaka chi
chimamanda: amanda chi
christina christine kristina cristina: chris tina chrissy kris kristi
krystyna kristen kristin christiane: chris tina chrissy kris kristi
christina christine kristina cristina: christie tina krysia cris nina
krystyna kristen kristin christiane: christie tina krysia cris nina
christopher kristopher cristobal krzysztof kristof christian cristian: chris kris topher kit
christopher kristopher cristobal krzysztof kristof christian cristian: krzys krzysiek cris christy
clara clarissa: clare
clifford clifton: cliff
constance: connie
cornelius: neil corny
courtney: court
cynthia: cindy cyn
damilola oluwadamilola: dami lola
daniel danilo daniil: dan danny dani
daniela danielle daniella: dani danni ella elle
david davide dawid: dave davey davy dav
deborah: deb debbie debby
declan: dec dex
delilah: lila
demetrius dimitri dmitri dmytro: dima meech mitch demi mitya
denise dennis denis: den denny
diego: didi
dominic dominik dominique domenico: dom dommie nico domi nick
donald: don donny
donovan: don van
dorothy dorota dorothea: dot dotty dolly dora thea
douglas: doug dougie
ebony: eb
edward eduardo edouard edmund eduard: ed eddie ted teddy eddy lalo edu ned
edwin: ed eddie win
eleanor elena eleonora elenora: ellie nell nellie nora lena ella el
elijah elias eliseo: eli lijah
elizabeth elisabeth elzbieta isabel elisabetta elspeth: liz lizzie beth betty eliza liza ellie ela
elizabeth elisabeth elzbieta: libby lisa betsy bess lili lisbeth elise buffy
isabel elisabetta elspeth: libby lisa betsy bess lili lisbeth elise buffy
emily emilie emma emmeline: em emmy millie emmie
emmanuel manuel emanuel manuela emmanuella: manny manu manolo emma
enrique: kike quique ricky rique
erica erika eric erik: ricky rikki
ernesto ernest: ernie neto
esther estefania: essie ess stef fani
ethan: eth
eugene eugenia evgeny yevgeny evgenia: gene zhenya genie jenya
ezekiel: zeke
evelyn evangeline: evie eve eva lyn
fatima fatou: fati tima
felicity felicia: fliss flick fee
fernando fernanda: nando fer nanda fern
florence: flo florrie flossie
folasade: sade fola
frances francesca franziska francisca françoise: fran frankie franny franzi chica paca fanny cesca
francis francisco franciszek francesco françois franz: frank frankie fran paco
francis francisco franciszek francesco françois franz: pancho franek kiko cisco franco
frederick federico frederik fryderyk friedrich: fred freddie freddy fede rick fritz
gabriel gabriela gabriella gabrielle: gabe gabby gabi gaby ella brie
genevieve: gen evie viv ginny
geoffrey jeffrey: geoff jeff
georgia georgina georgiana: george georgie gina
gerald gerard gerardo: gerry jerry ger
gianluca gianluigi giancarlo: gian luca luigi carlo
giovanni giovanna: gio gianni vanni
giuseppe giuseppina: beppe peppe pino
gonzalo: gonza chalo
grace: gracie
gregory grigori grzegorz gregorio: greg gregg grisha grzes goyo
guadalupe: lupe lupita
guillermo: memo guille gui
gustavo gustav: gus tavo
gwendolyn: gwen wendy
hamish seamus james jaime jacques: jim jimmy jamie shay jay jem
harold harrison henry henrik enrico harriet henrietta: harry hal hank hattie etta
hector: tito
helen helena helene: nell lena nel hela
hugo hugh: hughie
humberto: beto
ibrahim: ibby ib brahim ibra
ifeoma ifeanyi: ify ife
ignacio: nacho nacio iggy
ignatius ignacy: iggy
imogen: immy immie imo
ioana ioannis: io jo ana
irina irena irene: ira rina irka
isaac izaak: ike zac zak
isabella isabelle isabel isobel izabela ysabel: izzy bella belle izzie isa bel iza
ismael ismail: ish isma
ivan: vanya
jacob jakub jakob: jake jay jacky kuba cobi jack
jacqueline: jackie jacqui
jadwiga: jadzia iga
jasmine yasmin jazmin: jas jaz jazz jazzy yas min
javier: javi xavi
jeremiah jeremy: jem jerry remy jer
jessica: jess jessie
joanna johanna joanne giovanna: jo joey asia joasia hanna joan
joaquin joachim: quino joaco jo
john juan johannes jan jean ivan jonathan johnathan giovanni johan: jack johnny jon jo hans
john juan johannes jan jean: jonny nathan janek jasiek juanito
ivan jonathan johnathan giovanni johan: jonny nathan janek jasiek juanito
jorge george georg yuri jerzy: coque jurek georgie geo
jose: pepe joe che
joseph josef jozef giuseppe yosef: joe joey jo jos jozek sepp
josephine josefina josefa: jo josie fina posy pepa
joshua josue: josh
judith: judy jude jutta
julia juliana julie juliet giulia julianna: jules julie jul julka juli
julian julius julio: jules jul
kamila camila camille: cami kami millie mila cam
karen karin: kaz
katelyn: kate katie kate
kayode: kay
kenneth: ken kenny
kevin: kev
khadija: dija khadi
kimberly kimberley: kim kimmy
kwame kwabena kwadwo: kwa kobby
krzysztof: krzys krzysiek kris
lawrence laurence lorenzo: larry laurie loz renzo enzo
laura lauren laurel: laurie lori loz lo
leonard leonardo leon leonid leopold: leo len lenny leon
leticia: leti tish
lillian liliana lily lilian: lil lily lilly lili
lindsay lindsey: linds lins
louis luis ludwig luigi lewis ludovic: lou louie lucho ludo lew
louisa louise luisa luise: lou lulu lola
lucas lukas lukasz luca luke: luke luc luka
lucia lucy lucille lucinda: lucy lu luce chia
lucian lucien: lu luc
lyudmila ludmila: mila luda lyuda
magdalena madeleine madeline maddalena madison: maggie maddie lena magda mads lenka maddy magdi
malgorzata margaret margarita: gosia maggie meg peggy margo rita greta
marguerite margarethe margherita: gosia maggie meg peggy margo rita greta
malgorzata margaret margarita: maisie daisy marge margie madge gosha marga
marguerite margarethe margherita: maisie daisy marge margie madge gosha marga
marcus marcos marco marek mark marc: marc marco marky
maria mary marie mariam maryam marija: mia mimi molly mari mae marysia
maria mary marie mariam maryam marija: polly maz masha marusia ria maja manya
mariana marianne: mari ana nana
martin martina marcin: marty mart tina
matilda mathilda mathilde: tilly tilda mattie tillie
matthew mateusz mateo matteo: matt matty mat teo matti thew mati theo
matthias matias mathieu matej: matt matty mat teo matti thew mati theo
maximilian maxim maksim maxwell maxine massimo maximus: max maxi mac maxie
megan meghan: meg megs
melanie melissa melinda: mel lissa mindy melly
mercedes: mercy merche cedes
michael miguel mikhail michal mikael michel michele mihai: mike mick mickey mikey misha
michael miguel mikhail michal mikael michel michele mihai: miki migue mich mischa micky
michaela mikaela michelle michele: shell mika mickey kayla shelly mish
milagros: mila milly
miroslav miroslaw: mirek miro
mohammed muhammad mohamed mohammad mahmoud: mo moe hamada hamoudi moha
monica monika: mon moni
montserrat: montse
moses moshe: mo moe
nadezhda nadia: nadya
natalia natalie nathalie natasha nataliya: nat tasha natty talia nati tash talya
nathan nathaniel: nat nate nathe
neil: neily
ngozi: go
nicholas nicolas mikolaj niklas nikolai nikola nicolo mykola: nick nicky nico nik klaus
nicholas nicolas mikolaj niklas nikolai nikola nicolo mykola: kolya niko miki nic cole
nicole nicola nicoletta nikolina: nicky nikki nic nico coley cole
octavia octavio: tavi tavia
oleksandra: lesya sasha olesia
olga: olya
oliver olivier oliwier: ollie oli olly
olivia: liv livvy livi ollie via
oluwaseun: seun shay olu
oluwatobi oluwatobiloba: tobi tobe
oluwafemi olufemi: femi
oluwatosin: tosin
oluwadamilare: dami dare
oluwakemi: kemi
oluwatoyin: toyin
oluwaseyi: seyi
omotola omolara omolola: tola lara omo
oghenekaro: karo
ifeoluwa: ife
opeyemi: ope yemi
oscar oskar: ozzy oz
osvaldo oswald: ozzy valdo
pamela: pam
patricia patrycja: pat patty tricia trish pati patsy
patrick patricio padraig patryk: pat paddy rick patty packie pato
paul pablo paulo pavel pawel: paulie pauly pasha
paula paulina pauline: pau paulie polly lina
penelope: penny pen nell
peter pedro pierre piotr pieter petr pietro: pete petey piotrek pip pedrito petya
philip phillip felipe filip philippe: phil pip flip pippo lipe
philippa: pippa pip
prudence: pru
rachel raquel: rach rae shelly
rafael raphael raffaele: rafa raf rafi raph
ramon raymond: ray moncho
rebecca rebekah: becky becca beck bex becks
reginald: reg reggie
renata renee: rena
ricardo richard riccardo ryszard: rick ricky rich richie dick ricardinho rysiek
robert roberto roberta: rob bob bobby robbie bert beto berto robby
roderick rodrigo: rod rodri roddy rigo
roland rolando: rolo roly rollie
roman romain romeo: romy rom
ronald: ron ronnie
rosalind rosemary rosario rosa rosalia roisin: rose rosie ros roz charo rosy
roxanne roksana: roxy roxie
ruairi rory: rua
rudolf rodolfo: rudy rolf
samantha: sam sammy sammie
samuel samson: sam sammy
santiago: santi diego chago yago tiago
sarah sara: sal sally sadie
sebastian sebastien: seb bastian bas sebi basti bash
sergio sergei serhiy: serge seryozha checo serhii
shannon: shan
sharon: shaz
siddharth: sid siddhu
simon simone simeon szymon: sim si simmy
sofia sophia sophie zsofia zofia sofie: soph sophie sof zosia fifi sofi zsofi sophy
solomon: sol solly
stanislaw stanislav stanley: stan staszek stas stanny
stephanie estefania stefania: steph steff stef stevie stefi annie
stephen steven esteban stefan steve stefano etienne istvan: steve stevie steph stef pisti
susan susanna susannah zuzanna suzanne: sue susie suzy zuza susy sanna suze
svetlana: sveta lana
tabitha: tabby tab tabs
tamara: tam tammy tamy mara
tatiana: tanya tati tania tata
temitope temitayo: temi tope tayo
terence theresa teresa terrence: terry tess tessa resa tere terri
thaddeus tadeusz: thad tad tadek
theodore theodora teodor teodoro fyodor: theo ted teddy dora thea teo fedya
thomas tomas tomasz tommaso: tom tommy tomek tomo
tiffany: tiff
timothy timofey: tim timmy tima
tomiwa oluwatomiwa: tomi
tristan: tris
tyrone tyler tyrell tyrese: ty
ulrich ulrike: uli ricky
valentina valentine valentin valeria valerie: val vale tina lera valya tino
vanessa: ness nessa van
veronica weronika veronika: vero ronnie nika roni wera vera
victor viktor vittorio: vic vik vito
victoria viktoria wiktoria vittoria: vicky vic tori tory vika toria tor
vincent vincenzo vicente: vin vinny vince enzo chente
violet violeta violetta: vi letty
virginia: ginny gina ginger virgie
vladimir wlodzimierz volodymyr vladislav: vlad vova volodya wlodek
vyacheslav: slava
waldemar: waldek
walter: walt wally
wilhelm william guillaume wilhelmina willem: will bill billy willie liam wim mina wills willy
winifred: winnie freda win
wojciech: wojtek wojo
xavier: xavi zay zave
ximena jimena: xime mena
xiomara: xio mara
yaroslav jaroslav jaroslaw: jarek slava yarik
yolanda: yoli yola
yekaterina: katya
yusuf youssef yosef: yus joe
zachary zachariah zacharias: zach zack zak zac
zbigniew: zbyszek zibi zbyniu
zuzana: zuzka
anjali: anj
aniket: ani
arjun: aj
krishna: kris
siddhartha: sid
priyanka: pri priya
lakshmi: laks
ravindra: ravi
vikram: vik vicky
venkatesh: venky
muhammed: mo
abdullah abdulrahman abdulaziz: abdul abdu abe
abubakar: abu
aminata: ami mina
mamadou: mams doudou
ousmane: ous
seydou: sey
amadou: ama
thierno: titi
chukwuemeka: emeka chuks
chukwudi: chudi chuks
nnamdi: namdi
obinna: obi
olumide: olu mide
ayodele ayomide: ayo dele mide
emmanuela: manu ella
hyacinth: cinta
bartholomeu: bart
joao: jota
thiago: thi
ewelina: ewa
stanislawa: stasia
jagoda: jaga
boguslaw: bogus
szczepan: szczepek
krystian: kris
laszlo: laci
katalin: kati kata
erzsebet: erzsi bozsi
sandor: sanyi
ferenc: feri
gyorgy: gyuri
jozsef: joci jozsi
mihaly: misi
aniko: ani
boglarka: bogi
reka: reki
dorottya: dori
eszter: eszti
gabor: gabi
"""

SHORT: dict[str, frozenset[str]] = {}
# Short forms to full ones that begin alike: Will is William on some tongues.
FULL: dict[str, frozenset[str]] = {}
for _line in _TABLE.strip().splitlines():
    _full, _, _shorts = _line.partition(":")
    for _name in _full.split():
        SHORT[_name] = SHORT.get(_name, frozenset()) | frozenset(_shorts.split())
        for _short in _shorts.split():
            if _name[:2] == _short[:2]:
                FULL[_short] = FULL.get(_short, frozenset()) | {_name}
