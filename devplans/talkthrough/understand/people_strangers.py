"""First names that are common where English is spoken: whoever bears one is often not on the
roster, so that a likeness by ear has to be close. Pure."""

from devplans.talkthrough.understand.people_parts import words_in
from devplans.talkthrough.understand.people_short import SHORT

_MORE = words_in(
    """
aaron abigail adam adrian aidan aiden alan alana albert alec alfie alice alicia alison alyssa
amber amelia amy andrea andrew angela angus anita anna annie anthony april archie ariana arthur
ashley ashton audrey austin ava avery bailey barbara barry beau becky bella ben bernard beth betty
beverly billy blake bob bobby bonnie brad bradley brandon brenda brendan brett brian bruce bryan
bryce caleb callum calvin cameron cara carl carla carly carmen carol caroline casey cassie
catherine chad charlie charlotte chelsea cheryl chloe chris christine cindy claire clara clare
clark claudia clive clyde cody colin colleen connor conor corey craig crystal curtis cynthia daisy
dale damian dan dana daniel danielle danny darcy daren darren darryl daryl dave david dawn dean
debbie deborah debra denise dennis derek diana diane dominic don donald donna doris dorothy doug
douglas duncan dustin dwayne dylan earl eddie edgar edith edward eileen elaine eleanor eli
elizabeth ella ellen ellie elliot emily emma eric erica erin ethan eugene eva evan evelyn fiona
florence floyd frances francis frank fred freddie gareth gary gavin gemma george georgia gerald
geraldine gilbert gina glenn glenda gloria gordon grace graham grant greg gwen hailey hannah
harold harriet harry harvey hayden hayley hazel heather hector heidi helen henry holly howard hugh
ian irene iris isaac isabel ivan jack jackie jackson jacob jade jake james jamie jane janet janice
jared jasmine jason jay jean jeff jenkins jenna jennifer jenny jeremy jerry jesse jessica jill jim
joan joanna joanne jodie joe joel john johnny jonathan jordan joseph josh joshua joy joyce juan
judith judy julia julian julie june justin kara karen kate katherine kathleen kathy katie kayla
keira keith kelly kelsey ken kenneth kerry kevin kim kirk kirsten kirsty kyle lance larry laura
lauren laurie lawrence leah lee leo leon leonard leslie lewis liam linda lindsay lindsey lisa liz
logan lois lorna lorraine louis louise lucas lucy luke lydia lynn mabel maggie malcolm mandy
marcus margaret maria marian marie marilyn marion mark marlene marshall martha martin marvin mary
mason matt matthew maureen max maxine megan mel melanie melissa melvin michael michelle mick mike
mildred mitch mitchell molly monica morgan muriel nancy naomi natalie natasha nathan neil nicholas
nick nicola nicole nigel noah noel nora norma norman olive oliver olivia oscar owen pamela pat
patricia patrick paul paula pauline peggy penny perry pete peter phil philip phoebe phyllis
preston rachel ralph randy ray raymond rebecca reggie rhonda ricardo richard rick ricky rita
robert roberta robin rodney roger roland ron ronald rory rosie ross roy ruby russell ruth ryan
sabrina sally sam samantha sandra sandy sara sarah scott sean sebastian shane shannon sharon shaun
shawn sheila shelley sherry shirley sid simon sophie spencer stacey stan stanley stella stephen
steve steven stewart stuart sue susan suzanne sylvia tamara tammy tanya tara taylor ted terence
teresa terry theresa thomas thompson tiffany tim timothy tina todd tom tommy toni tony tracey
tracy travis trevor tristan troy tyler valerie vanessa vera vernon veronica vicky victor victoria
vincent viola violet virginia vivian wade wallace walter wanda warren wayne wendy whitney wilfred
william willie winston wyatt yvonne zach zachary zoe
"""
)

STRANGERS = _MORE | frozenset(name for name, shorts in SHORT.items() if len(shorts) >= 3)
