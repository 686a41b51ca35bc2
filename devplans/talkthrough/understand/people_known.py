"""Names that English ears hear quite unlike their letters. Pure.

A name, then spellings that an English speaker (or a speech recogniser) would give its sounds.
"""

_TABLE = """
siobhan: shivon shivawn chevonne; saoirse: sersha seersha sorsha searsha; niamh: neve neev;
caoimhe: keeva kweeva kiva; aoife: eefa eefah; eoin: owen; eoghan: owen; sinead: shinade shinaid;
roisin: rosheen rowsheen; grainne: gronya grawnya; tadhg: tige tyg; oisin: osheen usheen; cillian:
killian; ciaran: keeran kieran; ciara: keera kiera; dearbhla: dervla; dervla: dervla; aisling:
ashling ashleen; aislinn: ashlin; maebh: mave; meabh: mave; meadhbh: mave; maedhbh: mave; orlaith:
orla; orlagh: orla; padraig: pawdrig podrick pawrick; ruairi: rory; ruaidhri: rory; eilis: ailish
aylish; eilish: ailish; sorcha: surka sorka soraka; cathal: kahal cahill; donnchadh: donna-ka
dunaka; daithi: dahee dawhee; fiadh: feea; naoise: neesha; laoise: leesha; muireann: mwirrin
murrin; blathnaid: blawnid blahnid; bronagh: brona; clodagh: cloda; eimear: eemer; emer: eemer;
fionn: fyun finn; odhran: oran odran; darragh: darra; seamus: shaymus; eamon: aymon; eamonn:
aymon; aodhan: aidan; cian: keean kean; kian: keean; ailbhe: alva; sadhbh: sive; muirne: murna;
bebhinn: bevin; caoilfhionn: keelin kaylin; fionnuala: finnoola; fionnghuala: finnoola; roise:
rosha; mairead: muhraid mared; maire: moira maura; aine: anya awnya; eithne: ethna enya; aidhne:
ayna; treasa: trassa; proinsias: pronsheeas; conchobhar: connor crohor; diarmuid: dermot deermid;
diarmaid: dermot deermid; lorcan: lorkan; cormac: cormack; ultan: ultan; beibhinn: bayvin; oonagh:
oona; una: oona; sian: sharn shahn; ceri: kerry; rhys: reece; ieuan: yayan yuhyan; llewellyn:
lewellin hlewellin; angharad: ang-harrad; gwenllian: gwenlian; myfanwy: muvanwee; dafydd: davith;
ffion: feeon; siwan: shoe-an; carys: carris; catrin: catrin; geraint: gerraint; iain: ian; mhairi:
vahree varry; eilidh: aylee ailey; catriona: catreena; ruaridh: rory; hamish: haymish; isla:
eyela; graeme: graham; nguyen: win nwin newyen nooyen gwen; huynh: win hwin; tran: tran chan tron;
pham: fam fom; phan: fan; phuong: fong fung; duong: dwong zong yong; vuong: vong; truong: trong
chong; ngoc: nock; ngo: no go; nghi: nee; nhi: nee; nhung: nyoong; thuy: twee; thao: tao tow;
quynh: quin kwin win; khanh: con kahn; linh: lin; minh: min; anh: on ahn; hieu: hew; hien: heen;
trinh: trin chin; dung: yoong zoong; duc: duke dook; bao: bow; thanh: tahn tan; xochitl: sochi
sochil soshee zochil sochitle; xiomara: seeomara zeomara syomara; ximena: himena heemena zimena
semena; xavier: zavier savior havier exavier; joaquin: wakeen hwakeen; jorge: horhay hor-hey
hoarhay; guillermo: giyermo geeyermo gilermo; guadalupe: wadaloopay gwadaloop; jesus: haysoos;
javier: havier havi-air; jaime: himay hymay; julio: hoolio; julian: hoolian julian; juan: wan;
jose: hosay hozay; josue: hoswei hoss-way; joao: jwow jowow juan; itzel: eetsel itsell; citlali:
sitlali seetlali; yahir: yaheer; eusebio: yousebio; quetzal: ketsal; nayeli: nigh-elly nayelly;
belen: belen beh-len; iñigo: eenigo; inigo: eenigo; angel: anhel angel; hector: ector hector;
hugo: oogo hugo; ignacio: ignasio; cielo: see-ello; yesenia: jessenia yessenia; yareli: yarelly;
zoila: soyla; thibodeaux: tibido tibodo tibbadoe; thibault: tebow teebo; boudreaux: boodro;
arceneaux: arseno; robichaux: robisho; hebert: aybear; benoit: benwa; francois: fronswa;
beauchamp: beecham boshom; desrosiers: derozier dayrosiay; leblanc: leblonk; fontaine: fontane;
beaulieu: bowlyer bolew; rousseau: rooso; moreau: moro; gauthier: gotiay goatee-ay; dubois:
doobwah; lefebvre: lefev lefever; guillaume: geeyome; etienne: etyen aytien; thierry: terry;
aurelie: orelly; anais: anayees; solene: solen; noemie: no-emmy; maelys: my-elise; elodie: elodee;
loic: loweek; wojciech: voycheck voytek wojack; katarzyna: katarzhina catarshina; agnieszka:
agnyeshka agneeshka; grzegorz: gzhegosh gregosh; zbigniew: zbignyev; krzysztof: kshishtof krishtof
kristoff; malgorzata: mawgozhata malgorzata; jacek: yatsek yacheck; jadwiga: yadviga; jerzy: yezhi
jersey; lukasz: lookash; tomasz: tomash; mateusz: matayoosh matush; bartosz: bartosh; szymon:
shimon; wiktor: victor; andrzej: andzhay andrey; pawel: pavel; michal: mihow mikhal; kasia: kasha;
basia: basha; gosia: gosha; zosia: zosha; wojtek: voytek; przemyslaw: pshemiswav shemislav;
stanislaw: stanislav; zofia: zofia sofia; zsofia: sophia zhofia sofia; zsuzsanna: zhuzhana
susanna; zsolt: zholt jolt; gyorgy: jorge dyordy george; gyula: dyula jula; laszlo: lasslow lazlo;
istvan: ishtvan; szilvia: silvia; csaba: chaba; katalin: catalin; erzsebet: erzhebet; agoston:
agoshton; bence: bentseh bensay; mate: mahtay; mihaly: mihigh meehigh; dorottya: dorotcha; eszter:
ester; tunde: toonday; reka: rayka; dvorak: dvorzhak; jiri: yeerzhi yuri; ondrej: ondray; matej:
mattay; bjorn: byorn bjork; bjork: byerk; soren: soren; kjell: shell chell; sjoerd: shoord; mats:
mats; jorgen: yorgen yurgen; jurgen: yurgen; johan: yohan; johannes: yohannes; joost: yoast;
joris: yoris; thijs: tice; gijs: geese highs; matthijs: matice; anneke: annika; femke: femka;
lieke: leeka; maaike: mica mike-a; xander: zander; wouter: wowter; hannes: hannes; heike: hika;
anja: anya; katja: katya; tanja: tanya; sonja: sonya; nadja: nadya; mirja: mirya; jana: yana;
jelena: yelena; jovana: yovana; jasna: yasna; luka: luka; nikola: nikola; djordje: jorja george;
dorde: jorja; sasa: sasha; dusan: dushan; milos: milosh; misa: misha; zeljko: zhelko; zoran:
zoran; aleksandar: alexander; oluwaseun: oshawn oluwashayoon oluwashawn olu-way-shay-oon oluwasheun;
seun: shayoon shawn sean; seyi: shayee; sola: shola; sade: sharday shaday; folasade: folashaday;
shanice: shaneece; ngozi: en-gozi gozi; nkechi: en-kechi kechi; nkiru: en-kiru; nnamdi: namdi;
nneka: neka; nwosu: woe-sue en-wosu; okonkwo: okonkwo; okafor: ocafor okafour; chukwu: chukwu;
ifeoma: ifyoma ee-fay-oma; ikechukwu: ikaychuku; uche: oochay; chidi: cheedy; ikenna: ikenna;
obiageli: obi-a-jelly; adaeze: ada-ezay; amarachi: amaratchy; kwame: kwahmay; kwabena: kwabna;
yaw: yow; kofi: coffee kofi; akosua: akosuah; afua: afwa; efua: efwa; abena: abenna; kweku: quaku;
nyarko: nyarko; mbeki: em-beki; mbappe: em-bappay; diallo: jallow diallo; djeneba: jeneba; cheikh:
shake sheck; fatou: fatoo; moussa: moosa; ousmane: usman oosman; seydou: saydoo; aissatou:
eye-satoo; aicha: eye-sha; khadija: kadeeja; hadija: hadeeja; youssef: yusef; yusuf: yusuf;
hussein: hussain; aaliyah: aleeya alia; aliyah: aleeya; aisha: eye-eesha isha; zaynab: zaynab
zaneb; maryam: miriam mariam; noor: nor nur; nour: nor nur noor; layla: laila leila; rania: ranya;
yasmine: yasmeen jasmine; ghada: gada rada; khaled: kaled haled; khalil: kaleel halil;
abdulrahman: abdul-raman; xu: shoe; xiao: shao show; xin: shin; xinyi: shinyee; xing: shing; qian:
chien chen; qing: ching; qiu: chew; zhang: jang chang; zhao: jow; zhou: joe; zhu: jew; cai: tsai
sigh; cui: tsway; yue: you-way; yu: you; hui: hway; jie: jay jee-eh; jun: june; rui: ray; siyu:
see-you; wei: way; hyun: hyun; jiyeon: jeeyon; seo: so; choi: choy chay; rhee: ree; nguyễn: win;
siddharth: sidart; dhruv: droov; aarav: arav; saoirce: sersha; anjali: anjelly; vaishnavi:
vyshnavi; shreya: shraya; jhanvi: janvi; mridula: murdula; leilani: laylani; kealoha: kayaloha;
kaimana: kymana; makoa: makoa; tevita: teveeta; sione: see-oh-nay; losa: losa; mele: mellay;
tuilagi: two-ee-lungi; aotearoa: outarowa; hemi: hemmy; anahera: anahera; ngaire: nyree; whetu:
fetu; tane: tarnay; mana: marna; deja: dayja; dejah: dayja; nevaeh: nevaya; tyrese: tyreece;
tyreek: tireek; dwayne: dwane; dquan: da-kwan; tanisha: taneesha; tawana: tawana; la'keisha:
lakeesha; lakeisha: lakeesha; quaneisha: kwaneesha; jaquan: jakwan; deshawn: deshawn; marquis:
markeese markwis; andre: ondray; antoine: antwan; dontae: dontay; dante: dontay; leticia:
leteesha; jhonny: johnny; geovanni: jovanni; giannis: yannis; giovanni: jovanni; giulia: julia;
giorgia: georgia; gianna: jianna; ciro: chiro; lucia: loochia loosia lusha; beatrice: beeatris;
chiara: keyara; ilaria: ilaria; guido: gweedo; schuyler: skyler; skylar: skyler; kaia: kya; caia:
kya; kya: kaia; thea: thea theeya; elea: elaya; leah: leeya; lea: leeya laya; raquel: rackell;
aurora: arora; eugene: youjean; zoe: zoey; phoebe: feebee; penelope: penelopee; persephone:
persefanee; hermione: hermioney; calliope: kalieopee; ptolemy: tolemy; xanthe: zanthee; xenia:
zenia; psyche: sykee; ione: eyeony; thaddeus: thadius; beauregard: bowregard; stjohn: sinjin;
leigh: lee; cholmondeley: chumley; featherstonehaugh: fanshaw; marjoribanks: marchbanks; siddique:
sidiek; worcester: wooster; coyle: koil; keough: kyo; mcgrath: magraw; mcmahon: makman; gallagher:
galaher; geoghegan: gaygan; o'shaughnessy: oshawnessy; oshaughnessy: oshawnessy; o'rourke: orork;
mahoney: mahoney mahney; meagher: mar maher; monaghan: monahan; callaghan: callahan; hughes: hews;
houghton: hoton howton; vaughan: vawn; vaughn: vawn; leicester: lester; lachlan: locklan;
colquhoun: cahoon; menzies: mingis; dalziel: deeyell
"""

KNOWN: dict[str, tuple[str, ...]] = {}
for _line in _TABLE.split(";"):
    _name, _, _spellings = _line.partition(":")
    KNOWN[_name.strip()] = tuple(_spellings.split())
