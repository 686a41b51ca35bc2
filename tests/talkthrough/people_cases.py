"""What is said and who is certainly meant by it: invented squads."""

from devplans.talkthrough.understand.parts import RosterPlayer


def squad(text: str) -> list[RosterPlayer]:
    """Lines of `number first last`, a nickname behind `=`, what was heard behind `~`."""
    players = []
    for line in text.strip().splitlines():
        line, _, heard = line.partition("~")
        line, _, nick = line.partition("=")
        number, first, *last = line.split()
        players.append(
            RosterPlayer(
                number,
                number,
                first.replace("_", " "),
                " ".join(last),
                (nick.strip(),) if nick.strip() else (),
                tuple(one.strip() for one in heard.split(";") if one.strip()),
            )
        )
    return players


ROSTERS = {
    "ear": squad(
        """
        3 Siobhan Duffy
        4 Saoirse Kettle
        5 Niamh Brady
        7 Caoimhe Lund
        8 Thu Nguyen
        9 Wojciech Baran
        10 Zsofia Halasz
        11 Andre Thibodeaux
        12 Xochitl Reyes
        14 Joaquin Vega
        15 Jorge Medina
        20 Siomara Quist
        21 Tamsin Okonjo
        22 Katarzyna Zielinska
        23 Guillermo Soto
        24 Oluwaseun Bright
        """
    ),
    "many": squad(
        """
        1 Aoife Brennan
        2 Ruairi Tobin
        3 Sinead Whyte
        4 Dearbhla Keane
        5 Agnieszka Wolska
        6 Grzegorz Szczepanski
        7 Bjorn Halvorsen
        8 Thandiwe Dlamini
        9 Nkechi Obi
        10 Ifeoma Eze
        11 Chukwuemeka Adu
        12 Khadija Saleh
        13 Aaliyah Fox
        14 Javier Ruiz
        15 Giannis Papadopoulos
        16 Laszlo Nagy
        17 Phuong Dang
        18 Xinyi Zhao
        19 Priyanka Sethi
        20 Leilani Kahale
        21 Makoa Ikaika
        22 Etienne Beaulieu
        23 Genevieve Rousseau
        24 Margaux Petit
        25 Tevita Fonua
        26 Anneke DeVries
        27 Hamza Qureshi
        28 Sebastian Lindgren
        29 Tatum Okafor
        30 Delphine Achterberg
        """
    ),
    "words": squad(
        """
        1 Chase Ibarra
        2 Reed Halvorsen
        4 Miles Dantzler
        5 Hope Sorensen
        6 Will Petrakis
        10 Grace Umarov
        11 Mark Dlamini
        12 Hunter Brooks
        13 Faith Lindholm
        21 Drew Castellan
        22 Summer Prakash
        30 Cole Ndiaye
        33 Art Vukovic
        """
    ),
    "numbers": squad(
        """
        0 Ines Farah
        00 Pilar Osei
        2 Dana Kirsch
        3 Lotte Meier
        4 Bea Sandoval
        5 Yara Haddad
        6 Kim Tran
        11 Noor Aziz
        12 Ola Berg
        14 Ruth Mensah
        21 Vera Novak
        23 Ana Lopes
        24 Suki Mori
        32 Gwen Parry
        """
    ),
    "twins": squad(
        """
        3 Ella Novak
        8 Ella Marsh
        10 Alex Dunne
        11 Alexandra Petit
        12 Maeve Rourke
        13 Tamsin Cho
        14 Terrence Jackson =TJ
        15 Jamal James
        20 Marquise Oyelowo
        21 Dashawn Moreau
        22 Isabella Ferrante =Bells
        23 Eun-ji Park ~ungee; on gee
        """
    ),
}

# (roster, what is said, the players who are certainly meant in order)
NAMES = [
    # spelled by ear, several ways
    ("ear", "shivon you're late on the closeout", "3"),
    ("ear", "and chevonne stays with her", "3"),
    ("ear", "good hands sersha", "4"),
    ("ear", "look at surcha here", "4"),
    ("ear", "neve has to talk", "5"),
    ("ear", "now keeva is on the ball", "7"),
    ("ear", "kweeva drives baseline", "7"),
    ("ear", "win you need to box out", "8"),
    ("ear", "newin is open in the corner", "8"),
    ("ear", "voycheck sets a great screen", "9"),
    ("ear", "Sophia gets back in transition", "10"),
    ("ear", "tibido with the skip pass", "11"),
    ("ear", "sochi cuts too early", "12"),
    ("ear", "wakeen has to see that", "14"),
    ("ear", "watch horhay on the weak side", "15"),
    ("ear", "see oh mara is wide open", "20"),
    ("ear", "tam sin gets her feet set", "21"),
    ("ear", "that's oh con joe on the glass", "21"),
    ("ear", "Tempson is a step slow", "21"),
    ("ear", "kasia rotates", "22"),
    ("ear", "memo has to get lower", "23"),
    ("ear", "shayoon's closeout is short", "24"),
    ("ear", "and seun never sees the cutter", "24"),
    ("ear", "tams needs to be louder", "21"),
    ("ear", "tamsins help is early", "21"),
    ("ear", "tamsin's help is early", "21"),
    # names of many languages, and people who are none of them
    ("many", "aoifa gets around the screen", "1"),
    ("many", "rory pushes it up", "2"),
    ("many", "shin aid is open", "3"),
    ("many", "shinade hits the roller", "3"),
    ("many", "dervla keep your hands up", "4"),
    ("many", "nice seal by agneska", "5"),
    ("many", "gregosh is early", "6"),
    ("many", "stepanski kicks it out", "6"),
    ("many", "be yorn slides", "7"),
    ("many", "byorn is in the gap", "7"),
    ("many", "tandy way has inside position", "8"),
    ("many", "and then tandiwe just stands there", "8"),
    ("many", "kechi should be lower", "9"),
    ("many", "n kechi denies", "9"),
    ("many", "if oma sprints back", "10"),
    ("many", "ifeyoma sprints back", "10"),
    ("many", "emeka has to finish that", "11"),
    ("many", "kadeeja takes the charge", "12"),
    ("many", "aleah skips it", "13"),
    ("many", "havier looks off the defender", "14"),
    ("many", "yannis doesn't see the cutter", "15"),
    ("many", "laslow steps through", "16"),
    ("many", "fong is ball watching", "17"),
    ("many", "shin yee takes a good angle", "18"),
    ("many", "preanka is on the nail", "19"),
    ("many", "lay lani loses her player", "20"),
    ("many", "macoa hedges too far", "21"),
    ("many", "eddie n gets his shoulders square", "22"),
    ("many", "etien gets his shoulders square", "22"),
    ("many", "bolio is late to the rim", "22"),
    ("many", "jenna veev floats it over", "23"),
    ("many", "russo sets the screen", "23"),
    ("many", "margo has to go earlier", "24"),
    ("many", "te vita rolls hard", "25"),
    ("many", "annika needs to fake first", "26"),
    ("many", "hamsa stays attached", "27"),
    ("many", "bastian stays attached", "28"),
    ("many", "seb stays attached", "28"),
    ("many", "tate um that is lovely", "29"),
    ("many", "o'kafor fronts the post", "29"),
    ("many", "del fine is alone", "30"),
    ("many", "octor berg is alone", "30"),
    ("many", "the parents from springfield were loud", ""),
    ("many", "we watched a documentary on gravity", ""),
    ("many", "their point guard jenkins is quick", ""),
    ("many", "coach ramirez runs the clock", ""),
    ("many", "that's the princeton cut", ""),
    ("many", "spain pick and roll", ""),
    ("many", "he used a eurostep", ""),
    ("many", "thompson for them is a shooter", ""),
    ("many", "look at the scoreboard", ""),
    ("many", "like stephanie always says talk early", ""),
    ("many", "we played hamilton last week", ""),
    ("many", "big thanks to the boosters", ""),
    ("many", "saturday against riverside", ""),
    ("many", "that's a moving screen", ""),
    ("many", "i said to melissa in the car", ""),
    ("many", "andrew from the other club told me", ""),
    # everyday words that are no names
    ("words", "chase it down and go", ""),
    ("words", "he has to chase over the top", ""),
    ("words", "I hope you saw that", ""),
    ("words", "reed the defence", ""),
    ("words", "you will see it again", ""),
    ("words", "will you please box out", ""),
    ("words", "we're miles away from the ball", ""),
    ("words", "mark your player", ""),
    ("words", "he drew a foul there", ""),
    ("words", "have some faith in the pass", ""),
    ("words", "all summer we worked on it", ""),
    ("words", "that's a work of art", ""),
    ("words", "a little grace under pressure", ""),
    ("words", "I hope. Anyway, mark up.", ""),
    # and that are
    ("words", "good job chase", "1"),
    ("words", "chase is late", "1"),
    ("words", "chase you have to stay down", "1"),
    ("words", "nice find reed", "2"),
    ("words", "reed you need to jump to the ball", "2"),
    ("words", "miles gets caught ball watching", "4"),
    ("words", "hope has her back to the play", "5"),
    ("words", "Okay, Will, get a hand up.", "6"),
    ("words", "So then Will has it on the wing.", "6"),
    ("words", "grace is in the gap", "10"),
    ("words", "hunter goes under", "12"),
    ("words", "brooks sees the mismatch", "12"),
    ("words", "here faith is open", "13"),
    ("words", "drew is standing straight up", "21"),
    ("words", "summer needs to call the screen", "22"),
    ("words", "cole and art are both on the block", "30 33"),
    ("words", "kick it to miles in the corner", "4"),
    ("words", "We ran Chase off the line, then Mark came late.", "1 11"),
    # nicknames, short forms, pieces, letters
    ("twins", "t j has to be stronger", "14"),
    ("twins", "T.J. never looks", "14"),
    ("twins", "tee jay is early", "14"),
    ("twins", "quise just watches", "20"),
    ("twins", "izzy pump fakes", "22"),
    ("twins", "bells that's a great read", "22"),
    ("twins", "da shawn gets beat", "21"),
    ("twins", "good job ungee", "23"),
    ("twins", "on gee is late", "23"),
    # two of one name
    ("twins", "ella is late", ""),
    ("twins", "ella novak is late", "3"),
    ("twins", "Ella Marsh is open. Ella should shoot that.", "8 8"),
    ("twins", "ella number eight you stop", "8"),
    ("twins", "jackson boxes out", "14"),
    # taken back
    ("twins", "Maeve, no sorry, Tamsin is late", "13"),
    ("twins", "maeve i mean tamsin is late", "13"),
    ("twins", "that's not Maeve, that's Tamsin", "13"),
    ("twins", "Tamsin, not Maeve, has to rotate", "13"),
    # strangers and opponents
    ("twins", "their Maeve hits the three", ""),
    ("twins", "thanks to Coach Maeve for the film", ""),
    ("ear", "Petrillo hits the three", ""),
    ("ear", "watch the ref here", ""),
]

NUMBERS = [
    ("numbers", "number twelve is late", "12"),
    ("numbers", "#12 is late", "12"),
    ("numbers", "our twelve is late", "12"),
    ("numbers", "twelve you have to talk", "12"),
    ("numbers", "good job twenty one", "21"),
    ("numbers", "number oh is open", "0"),
    ("numbers", "number zero is open", "0"),
    ("numbers", "double zero is late", "00"),
    ("numbers", "number one one gets beat", "11"),
    ("numbers", "number two three gets beat", "23"),
    ("numbers", "twenty-three is late", "23"),
    ("numbers", "Two, you have to see your man.", "2"),
    ("numbers", "three is late", ""),
    ("numbers", "twelve is late. twenty one is late. three is late", "12 21 3"),
    ("numbers", "twelve and fourteen both ball watch", "12 14"),
    ("numbers", "five and fourteen, a reminder for you", "5 14"),
    # traps
    ("numbers", "they come out in a two three zone", ""),
    ("numbers", "we see a three two", ""),
    ("numbers", "three on two the other way", ""),
    ("numbers", "four out one in", ""),
    ("numbers", "the number one thing is talk", ""),
    ("numbers", "number two thing today", ""),
    ("numbers", "Number one, we don't talk. Number two, we don't box out.", ""),
    ("numbers", "their twenty one is a shooter", ""),
    ("numbers", "fourteen in white beats us", ""),
    ("numbers", "the blue twelve is open", ""),
    ("numbers", "we're up by six with 24 seconds left", ""),
    ("numbers", "five out spacing", ""),
    ("numbers", "it's six to five", ""),
    ("numbers", "that's a three-pointer with two feet in", ""),
    ("numbers", "one of you two guys takes it", ""),
    ("numbers", "quarter three at 3:24", ""),
    ("numbers", "they trade twos for threes all day", ""),
    ("numbers", "the five sets it for the two", ""),
    ("numbers", "14-12 to them with 0.6 on it", ""),
    ("numbers", "twelve turnovers in the half", ""),
    ("numbers", "you're guarding number fourteen there", ""),
    ("numbers", "don't leave twelve open", ""),
    ("numbers", "take two dribbles and three steps", ""),
    ("numbers", "on three we go", ""),
    ("numbers", "count to three", ""),
    ("numbers", "fourteen year olds don't do that", ""),
    ("numbers", "hold it for five", ""),
    ("numbers", "twelve drives and kicks to twenty one", "12 21"),
    ("numbers", "we're in a one three one and twelve is at the top", "12"),
    ("numbers", "good hands fourteen", "14"),
    ("numbers", "fourteen good hands", "14"),
    ("numbers", "nice cut by twenty four", "24"),
    ("numbers", "that's twenty four setting the screen", "24"),
    ("numbers", "we give up a two on two", ""),
    ("numbers", "thirty two's late", "32"),
    ("numbers", "now twenty three and twenty one switch", "23 21"),
    ("numbers", "they hit twelve threes", ""),
    ("numbers", "they shot twelve for thirty two", ""),
    ("numbers", "we were down eleven", ""),
    ("numbers", "eleven down with two to play", ""),
    ("numbers", "it's a twelve point game", ""),
    ("numbers", "in the last twelve seconds", ""),
    ("numbers", "eleven on the left wing has to lift", "11"),
    ("numbers", "hit twelve in the corner", "12"),
    ("numbers", "three you're late again", "3"),
    ("numbers", "come on six", "6"),
    ("numbers", "their center number thirty two seals", ""),
    ("numbers", "number twelve in white goes by you", ""),
    ("numbers", "white twelve gets it", ""),
    ("numbers", "sprint to the three", ""),
    ("numbers", "play the two side", ""),
    ("numbers", "ball goes to the four man", ""),
    ("numbers", "five guys back", ""),
    ("numbers", "all five of you", ""),
    ("numbers", "three of you ball watching", ""),
    ("numbers", "on the count of two", ""),
    ("numbers", "one two three and up", ""),
    ("numbers", "i count one two three four passes", ""),
    ("numbers", "the score is twelve eleven", ""),
    ("numbers", "it was 12 11 at that point", ""),
    ("numbers", "22 24 on the clock", ""),
    ("numbers", "eleven minutes left", ""),
    ("numbers", "twenty four is the help", "24"),
    ("numbers", "where is twelve supposed to be", "12"),
    ("numbers", "11 has to tag", "11"),
    ("numbers", "6 has to tag", "6"),
    ("numbers", "2 has to tag the roller", "2"),
    ("numbers", "we need 2 more stops", ""),
    ("numbers", "pass to 11 early", "11"),
    ("numbers", "it is 2 against 3", ""),
    ("numbers", "first five minutes", ""),
    ("numbers", "number eleven sorry number twelve is late", "12"),
    ("numbers", "double teams at the half", ""),
    ("numbers", "zero help there", ""),
    ("numbers", "oh no oh man", ""),
    ("numbers", "oh that's good", ""),
    ("numbers", "three quarter court press", ""),
    ("numbers", "our six sees it", "6"),
    ("numbers", "six sees it early and tags", "6"),
    ("numbers", "number six sees it early", "6"),
    ("numbers", "page twelve of the playbook", ""),
    ("numbers", "rule number two", ""),
    ("numbers", "one more time", ""),
    ("numbers", "a ten two run", ""),
    ("numbers", "ten oh run to start", ""),
    ("numbers", "she has twelve points and eleven boards", ""),
    ("numbers", "we want twelve to shoot that", "12"),
    ("numbers", "let's watch twenty four", "24"),
    ("numbers", "watch number four here", "4"),
    ("numbers", "21 and 24 trap the corner", "21 24"),
    ("numbers", "this is 21 again", "21"),
    ("numbers", "at 12:24 we have a mistake", ""),
    ("numbers", "clip 14 next", ""),
    ("numbers", "possession number three", ""),
    ("numbers", "set number two for us", ""),
]
