"""How a name of whichever language may sound to English ears. Pure.

Each family of languages has its own spelling rules; a name is read by those whose marks it shows,
and always by the English ones.
"""

import re
from functools import lru_cache
from itertools import product

from devplans.talkthrough.understand.people_known import KNOWN
from devplans.talkthrough.understand.people_sounds import ear, squeezed

MOST_SOUNDS = 16

# Vowels as most languages write them.
_PURE = (
    "ai:Y ay:Y ei:A ey:A au:W ou:u oo:u ee:i aa:a ia:ix ie:ye io:io ua:wa ue:we uo:wo ui:wi "
    "y(?=[aeiou]):y a:a e$:A|e e:e i:i o:o u:u y:i"
)
_FAMILIES: dict[str, tuple[str, str]] = {
    "irish": (
        r"[bmdgtfc]h|ao|aoi|eoi|oi|ei|ea|ia|ui|^[eo]|^si|^se|s[ei]|is",
        "bhf:w bh:v mh:v|w dh$:,|i dh: gh: th$: th:h|t fh: sh:h|S ch:k|h aoi:i aio:i ao:A|i eoi:o "
        "eo:o oi:O|I oid:OJ ui:I uai:u ua:ux ia:ix iu:u io:I|i ea:a ei:e|A ai:a|O s(?=[ei]):S "
        "(?<=i)s:S c:k nn:n ll:l rr:r e$:x a$:x a:a|O e:e i$:i i:I|i o:o|O u:u|x",
    ),
    "polish": (
        r"[csrd]z|^w|w[aeioy]|wn|w$|sk[ia]$|[csz]i[aeou]|(?<!^)j|^j.*(a|ek|ko)$|ch|y[nsz]"
        r"|[lr]k|ek$|nk[ao]$|nia$",
        "szcz:SC szc:SC sz:S cz:C rz:Z|S dzi:J dz:J|dz ch:h|k ci(?=[aeou]):C si(?=[aeou]):S "
        "zi(?=[aeou]):Z ni(?=[aeou]):ny ck:tsk|k c:ts|k w$:f|v w:v j:y|J l:l|w ie:ye ia:ya y:I|i "
        "o:o|O a$:x a:a e:e i:i u:u z:z|Z",
    ),
    "hungarian": (
        r"zs|sz|cs|gy|ny|ly|ty|os$|as$|es$|y$|s[aeio]|i$",
        "zs:Z sz:s cs:C gy:J|dy ny:ny|ni ly:y|li ty:C|ti c:ts s:S j:y a:O|a e$:A|e e:e i:i o:o u:u "
        "y:i",
    ),
    "spanish": (
        r"(j|g[ei]|ll|qu|x|z|h|v|ch|ñ|gu).*([aeozlnr]|ez|tl)$|[aeo][aeiou]?$|ez$|^x|tl$",
        "ch:C ll:y|l qu(?=[ei]):k gu(?=[ei]):g hua:wa hue:we h: j:h g(?=[ei]):h c(?=[ei]):s z:s "
        "^x:s|h|z x:s|h|ks v:v|b rr:r tl$:l|tl|, uai:wY ui:wi ua:wa ue:we ia:ix|ya ie:ye io:io "
        "ai:Y "
        "ei:A ay:Y au:W y(?=[aeiou]):y|J y:i a$:x a:a e$:A e:e|A i:i o:o u:u c:k",
    ),
    "portuguese": (
        r"ao$|nh|lh|x|oes$|inho",
        "ao$:Wn|W nh:ny lh:ly ch:S x:S j:Z c(?=[ei]):s ^r:h|r qu:k ei:A ou:o a$:x a:a e$:i|A "
        "e:e i:i "
        "o$:o|u o:o u:u y:i",
    ),
    "french": (
        r"eau|aux|ou|oi|ille|ch|gn|qu|[eai]n[eo]?$|ier|et$|ot$|ard$|ault|eu|ette$|elle$|^[dl]e|is$"
        r"|ois$|ert$|y$|ge$|ine$|ie$|[aeiou]x$|[aeiou]t$|^j|^g[ei]",
        "eaux$:o eau:o aux$:o ault:o aud$:o au:o ouille:uy oux$:u ou:u oin:wan oi[sxt]?$:wa oi:wa "
        "ille:iy|il ier$:yA er$:A ez$:A et$:A ette$:et ai:A|e ain$:an ein:an ieu:yu|yx eux$:u|x "
        "eu:u|x "
        "ch:S j:Z|J g(?=[eiy]):Z|J gu(?=[ei]):g gn:ny qu:k th:t h: [xtsdpz]$:, c(?=[eiy]):s "
        "e[s]?$:,|A e:e|x in$:an an:On|an en:on|an i:i|I o:o u:u y:i a:a",
    ),
    "vietnamese": (
        r"^ng|^nh|^ph|^th|^tr|^kh|^qu|uong|uyen|uy|inh$|anh$|^d|ieu|^x|^gi|oan|^v",
        "^ngh:n ng$:N ^ng:n nh$:n ^nh:ny ph:f th:t tr:tr|C ^d:d|z|y kh:k ^gi:z|y qu:kw x:s "
        "uyen:wIn|uyen "
        "uong:UN|oN uo:o ieu:u uy:wi oa:wa ai:Y ay:Y ao:W au:W oi:OY a:a e:e i:i o:o u:u y:i c$:k",
    ),
    "chinese": (
        r"^x|^q|^zh|^z|^c[^h]|uan|iang|ui$|iu$|ao$|ei$|ou$|ang$|ong$|^y",
        "x:S q:C zh:J ^z:z|dz ch:C c(?!h):ts uang:waN iang:yaN ang:aN|oN ong:UN|oN uan:wan "
        "ian:yen ing:IN "
        "ui:wA iu:yu ao:W ou:o ei:A ai:Y ie:ye ue:we uo:wo ia:ya ua:wa y(?=[aeiou]):y j:J a:a "
        "e:x|e i:i "
        "o:o u:u",
    ),
    "african": (
        r"[aeiou]$|^n[^aeiou]|^m[^aeiou]|gb|kp|kw|nw|ny|dj|ou|tsh|^o|mb|nk|nd|ng|seun|deji",
        "gb:b|gb kp:p|kp ^nn:n ^nk:nk|k ^ng:ng|g ^nw:nw|w ^mb:mb|b ^nd:nd|d tsh:C ch:C dj:J "
        "ou:u ny:ny "
        "seun:SeUn|SOn seyi:Seyi sho:So ai:Y ei:A au:W ay:Y oy:OY y(?=[aeiou]):y a$:x|a a:a "
        "e$:A|e e:e "
        "i:i o:o u:u c:C",
    ),
    "eastern": (
        r"kh|gh|dh|bh|q|aa|ee|ou|ei|[aeiou]h|^y|ah$|[aiu]$|sh|jh|ay|im$|ir$|an$|ad$|ed$|am$|al$",
        "kh:k|h gh:g|, q:k dh:d bh:b th:t|T sh:S ch:C jh:J zh:Z ph:f aa:a ee:i oo:u ou:u ai:Y|A "
        "ay:A|Y ei:A "
        "au:W (?<=[aeiou])h: y(?=[aeiou]):y a$:x a:a e:e i:i o:o u:u|x y:i",
    ),
    "slavic": (
        r"i[ck]$|ic$|sk[iy]|sk[ao]$|ov|ev|slav|(?<!^)j|^j.*(a|ek|ko|ic|o)$|ko$|k[ao]$|nk"
        r"|ck|c$|cek|[csz][aeiou]|kh|zh|sh|yn$|yk$",
        "shch:SC sch:S sh:S zh:Z kh:k|h ch:C|h|k ck:tsk|k c$:C|k c:ts|C dj:J dz:J lj:ly nj:ny "
        "j:y s:s|S z:z|Z "
        "w:v ya:ya yu:yu iy$:i ii$:i yy$:i h:h y(?=[aeiou]):y y:i a$:x a:a e$:e|A e:e|ye i:i "
        "o:o u:u",
    ),
    "germanic": (
        r"sch|ei|^w|w[aeiou]|^v|(?<!^)j|^j.*(a|en|es|an|s)$|ij|ie|eu|ch|tz|z|ck|th|aa|oe"
        r"|[ou]e?r|^st|^sp|e$|sen$|gaard|kj|[aeou]$",
        "sch:S skj:S sj:S kj:C|S hj:y tz:ts z:ts|z ^st:St|st ^sp:Sp|sp ch:k|h ck:k th:t ij:Y "
        "eij:A ei:Y|A "
        "ie:i eu:OY aeu:OY oe:o|u|x ue:u ae:e aa:a|o oo:o uu:u ^v:f|v v:v w:v j:y qu:kv ng:N "
        "ph:f gh:g "
        "e$:x a:a e:e i:I|i o:o u:u y:i",
    ),
    "italian": (
        r"c[eih]|g[eihnl]|zz|z|[aeio]$|cc|sc",
        "sci(?=[aou]):S sc(?=[ei]):S cci(?=[aou]):C cc(?=[ei]):C ci(?=[aou]):C c(?=[ei]):C ch:k "
        "gh:g "
        "gli:ly|gli ggi(?=[aou]):J gi(?=[aou]):J gg(?=[ei]):J g(?=[ei]):J gn:ny zz:ts z:ts|z "
        "qu:kw h: "
        "uo:wo ia:ix io:io ie:ye ai:Y au:W c:k a$:x a:a e$:A|e e:e i:i o:o u:u",
    ),
    "welsh": (
        r"dd|ll|ff|w[^aeiou]|wy|yn$|[^f]f[^f]|rh|ys$|^gw|fan",
        "dd:T ll:l|hl ff:f f:v ch:k|h rh:r si(?=[aeo]):S th:T wy:wi|uY w(?=[aeiou]):w w:u ae:Y "
        "ai:Y ei:A eu:Y "
        "au:Y y$:i y:I|x u:i|I a:a e:e i:i o:o c:k",
    ),
    "turkish": (
        r"c[aeiu]|yl|oz|g[lu]|[uo]k|cu$|c$|ay$|^s|ul$",
        "c:J|C s:s|S g(?=[^aeiou]): y(?=[aeiou]):y ay:Y ey:A a:a e:e i:i|I o:o u:u y:y",
    ),
    "pure": (r"[aeiou]", f"ch:C sh:S th:T|t ph:f ck:k c(?=[eiy]):s c:k qu:kw x:ks j:J {_PURE}"),
}  # fmt: skip


def _compiled(rules: str) -> list[tuple[re.Pattern[str], tuple[str, ...]]]:
    found = []
    for rule in rules.split():
        cut = rule.rindex(":")
        sounds = tuple("" if one == "," else one for one in rule[cut + 1 :].split("|"))
        found.append((re.compile(rule[:cut]), sounds))
    return found


_READERS = {
    name: (re.compile(marks), _compiled(rules)) for name, (marks, rules) in _FAMILIES.items()
}
_DOUBLED = re.compile(r"([bcdfgkmnprstvz])\1")
_SILENT_OR_SAME = set("bdfghklmnprstvwyz")


def _read(
    name: str, rules: list[tuple[re.Pattern[str], tuple[str, ...]]], most: int = 6
) -> list[str]:
    parts: list[tuple[str, ...]] = []
    place = 0
    while place < len(name):
        for pattern, sounds in rules:
            match = pattern.match(name, place)
            if match and match.end() > place:
                parts.append(sounds)
                place = match.end()
                break
        else:
            sign = {"c": "k", "q": "k", "j": "J", "x": "ks"}.get(name[place], name[place])
            parts.append((sign,) if sign in _SILENT_OR_SAME or len(sign) > 1 else ("",))
            if sign in "kJ":
                parts[-1] = (sign,)
            place += 1
    found: list[str] = []
    for choice in product(*parts):
        sounds_of = squeezed("".join(choice))
        if sounds_of and sounds_of not in found:
            found.append(sounds_of)
        if len(found) == most:
            break
    return found


@lru_cache(maxsize=4_000)
def said(name: str) -> tuple[str, ...]:
    """Strings of sounds that a folded name (one word) may be said with, the likeliest first."""
    bare = re.sub(r"[^a-z]", "", name)
    if not bare:
        return ()
    found: list[str] = []
    for spelling in KNOWN.get(name, ()) or KNOWN.get(bare, ()):
        found.append(squeezed("".join(ear(part)[0] for part in spelling.split("-"))))
    found.extend(ear(bare))
    for name_of, (marks, rules) in _READERS.items():
        if name_of in ("italian", "spanish", "hungarian") or not _DOUBLED.search(bare):
            text = bare
        else:
            text = _DOUBLED.sub(r"\1", bare)
        if marks.search(bare):
            found.extend(_read(text, rules, 3))
    return tuple(dict.fromkeys(found))[:MOST_SOUNDS]
