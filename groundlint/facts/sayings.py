"""What people say in a step's words that only a step of its own can say, a row each; common practice, no source.

A clause is held against each row in small letters, with the plan's own names replaced by their kinds (`PLACE`, `WIRE`,
`MAN` and so on), so that a row about a structure is about those of the plan and no other number.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

PLACE, HERE, WIRE, GATE, FEED, GROUND, MAN, UP = "PLACE", "HERE", "WIRE", "GATE", "FEED", "GROUND", "MAN", "UP"
"""What stands for a structure, one where somebody is, a conductor, an open point, a source, a lead, bar or rod,
somebody who is not up and whom no later step takes up, and somebody who is up."""

_DESK = r"(?:dispatch(?:er)?|(?:the )?(?:control(?: room| centre| center)?|desk|system operator)|scada|supervisory)"
_ONE = (
    r"(?:(?:the|each|a|one|both|all|three|two|old|new|phase|conductor) )*"
    r"(?:WIRE|conductors?|phases?|wires?(?! ties?\b)|neutral|static|shield wires?|earthwire)"
    r"\b(?!'s|-| (?:ties?|guards?|pins?|insulators?|clamps?|grips?|clevis|spool|string|loose|free|to length))"
)
_LINE = r"(?<!hand )(?<!tag )(?<!bull )(?<!load )(?<!winch )"
_LINE += r"\b(?:line|feeder|circuit|section|lateral)\b(?! hose| guard| post)"
_HOISTS = (
    r"\b(?:crane|winch|hoist|derrick|digger|boom|jib|slings?|hook|blocks?|rope|hand ?line|arm|pole|truck|trailer)\b"
)
_OPEN_POINTS = r"(?:GATE|switch|blades?|breaker|recloser|disconnects?|cutouts?)"


class Saying(NamedTuple):
    """One way to say a thing; not where ``but`` is said in the clause too."""

    means: str
    shape: str
    but: str | None = None

    def said_in(self, clause: str) -> bool:
        """Whether a clause says it."""
        said = _compiled(self.shape).search(clause.strip()) is not None
        return said and (self.but is None or _compiled(self.but).search(clause) is None)


@cache
def _compiled(shape: str) -> re.Pattern[str]:
    # when a plan has words to be asked about: most have few, and all of these would take a tenth of a review's start
    return re.compile(shape)


def _row(means: str, *shapes: str, but: str | None = None) -> Saying:
    return Saying(means, "|".join(shapes), but)


SAYINGS = (
    # the line is given back, or what keeps it from being closed is
    _row(
        "unlocking",
        (
            rf"\b(?:tells?|told|reports?|reported|calls?|called|radios?|gives?|gave|has|have|signs?"
            rf"|signed)\b.*\b{_DESK}\b.*\b(?:clear(?! of\b)|back)\b"
        ),
        (
            rf"\b{_DESK}\b.*\b(?:all clear|(?:crew|men|people|we|line) (?:is|are) (?:in the )?clear|is told .*clear"
            rf"|our word)\b"
        ),
        rf"\b(?:reports?|calls?)\b.*\bclear\b.*\b{_DESK}\b",
        r"\bsigns? (?:off|out)\b(?! on\b)",
        r"\b(?:reports?|reported|calls?|called) (?:the line |in |all )?(?:clear|off)$",
        r"\ball clear (?:is )?given\b",
        rf"{_LINE} (?:\w+ ){{0,2}}(?:go|goes|given|handed|taken|put|turned) back\b",
        rf"{_LINE} is (?:yours|theirs)\b",
        rf"\b(?:takes?|took|taken) (?:back )?(?:the )?{_LINE}(?: back)?$",
        r"\bready to (?:go(?: back)?|close|heat)\b",
        r"\bgood to go\b",
        rf"\b(?:lets?|gives?|gave|hands?|handed|turns?) (?:{_DESK}|the \w+|FEED|them) (?:have )?(?:the )?{_LINE}",
        (
            rf"\b(?:hands?|handed|gives?|given|gave) (?:FEED|the {_LINE}|the clearance|the permit|it)? ?(?:over"
            rf"|back)(?: the {_LINE}| to (?:{_DESK}|FEED))"
        ),
        rf"\b{_DESK} has (?:the )?{_LINE}",
        r"\bfinished with (?:the line|it)\b",
    ),
    _row(
        "unlocking",
        (
            r"\b(?:clearance|permit|sanction|hold-?off|hold[- ](?:card|tag|order)|work order|hot-?line (?:tag|order)"
            r"|one-?shot)\b(?: \w+){0,3}? ?\b(?:clos|cancel|expir|laps|return|lift|pull|surrender|renew|void|ends\b"
            r"|off\b|comes? down)\w*"
        ),
        but=r"\b(?:before|after) the\b",
    ),
    _row(
        "unlocking",
        (
            r"\b(?:cancel|surrender|return|clear|pull|renew|clos)(?:s|e|es|ed)? (?:out )?(?:the |his |her "
            r"|our )?(?:clearance|permit|sanction|hold-?off|hold[- ](?:card|tag)|work order)\b"
        ),
        r"\b(?:reclos\w+|auto(?:matic)?|one-?shot)\b.*\b(?:normal|back|on again|restored)\b",
        (
            r"\b(?:keys?|lock-?box(?:es)?|(?:pad)?locks?|tags?)\b.*\b(?:handed|given|swapped|changed|renewed|home"
            r"|no longer|opened|transferred)\b"
        ),
        r"\b(?:takes?|took|swaps?|changes?|exchanges?) (?:his|her|their|the) (?:(?:pad)?locks?|keys?|tags?)\b",
        r"\b(?:locks|tags) (?:go|come|go, .* come)\b",
        r"\b(?:pad)?lock is \w+'s\b",
        r"\bno longer ours\b",
        r"\b(?:rubber(?: goods)?|cover-?up|hoods?|ducks?|line hose)\b.*\boff\b",
    ),
    # something closes, or is tried
    _row(
        "closing",
        rf"\b(?:operat|exercis|cycl|tri|throw|trip|test|try)(?:e|es|s|ed|ing|-tests?)?\b.*\b{_OPEN_POINTS}(?!'s)\b",
        but=r"\b(?:gap|lamp|box|door|bracket|control wires?)\b",
    ),
    _row(
        "closing",
        r"\b(?:work|swing|throw|try|free)(?:s|ies|ed)? (?:up )?(?:the )?(?:blades?|handle)\b",
        r"\bblades? .*\b(?:in|freed|tried|worked|opened|closed)\b",
        r"\b(?:bring|kick|put|commission)s? (?:in |up |on )?the (?:tie$|regulator|new (?:switch|recloser))",
        r"\b(?:throw|cycle|operate|exercise|try)s? (?:it|them)\b",
        r"\bfunction(?:al)? test\b",
        r"\btrips$",
        r"\btest-operates?\b",
        r"\bslams? (?:the )?(?:door|barrel|fuse)",
        r"\b(?:re-?)?fuses? (?:it|the (?:tap|lateral|line)|WIRE|GATE)\b",
        r"\bfuses? up\b",
        r"\b(?:makes?|closes?|completes?|breaks?) (?:up )?(?:the )?(?:parallel|loop)\b",
        r"\bparallels? (?:the|made|with)\b",
        r"\bloop (?:is )?(?:made|closed)\b",
        r"\bswings? the bypass\b",
        r"\bbypass\w* (?:is )?(?:closed|in)\b",
        r"\b(?:leave|leaves|put|puts|kick|kicks|slam) (?:GATE|the (?:blades|barrels?|regulator)) in\b",
        r"\bhas (?:his|her|the) fuses in\b",
        (
            r"\bGATE (?:is|was|stays?|stayed|remains) (?:found |left |back |still )*(?:in(?= (?:again|now|already|yet"
            r"|still|since|too|when|while|by|at)\b|$)|shut\b|made\b)"
        ),
        r"\b(?:controller|time ?clock|timer)\b.*\b(?:times|closes|switches|comes|goes|cuts) (?:it |them )?in\b",
    ),
    _row(
        "closing",
        (
            rf"\b(?:{_DESK}|relay (?:men|man|crew)|station crew)\b.*\b(?:closes?|tests?|tries|operates?|switches|rolls?"
            rf"|exercises|cycles|trips?|trip-tests?|roll it)\b"
        ),
        but=r"\bradio\b",
    ),
    _row(
        "closing",
        rf"\b(?:put|cut|switched|brought|thrown) (?:back )?in by {_DESK}",
        rf"\b{_DESK} (?:needs|wants|takes) (?:FEED|GATE)\b",
        r"\bGATE(?:'s control)? (?:\w+ )?(?:is |gets |was |be )(?:operated|exercised|tried|cycled|worked|tested)\b",
        r"^trips?$",
    ),
    _row(
        "closing",
        r"\bsectionali[sz]\w+",
        r"\bswitching (?:order|step|sheet)\b",
        r"\b(?:normal )?open point\b.*\b(?:moves?|moved|swapped)\b",
        r"\bmoves? the (?:normal )?open point\b",
        r"\bnormal open is swapped\b",
        r"\btransfer bus\b",
        r"\bmobile (?:\w+ )?is (?:hooked|cut|tied)\b",
        r"\bjumper(?:s|ed)?\b.*\b(?:around|round|across) GATE\b",
        r"\bresets? (?:GATE|his|her|the|its) ?(?:breaker|main)?\b",
        but=r"\breset the (?:jack|dig|pole|tool|press|counter|meter|clock|timer)",
    ),
    # voltage comes on
    _row(
        "energizing",
        (
            r"\b(?:pick|take|carr)(?:s|ed|ing|y|ies)? (?:up )?(?:the |its |our |some )?(?:load(?! off| from| to| on)"
            r"|customers?|school|feeder|lateral)\b"
        ),
        r"\bdrops? load\b",
        r"\bloads? (?:it|the (?:line|feeder|section)) ?(?:up)?$",
        r"\bloads? the (?:line|feeder|section)\b",
        r"\bload is (?:transferred|shifted|swapped|picked)\b",
        but=_HOISTS + r"|\bload reading\b.*\bnot\b",
    ),
    _row(
        "energizing",
        (
            rf"\b(?:restor|return|bring|normali[sz]|commission)\w*\b.*(?:{_LINE}|\b(?:customers?|supply|service|power"
            rf"|normal|PLACE back)\b)"
        ),
        r"\bcustomers?\b.*\b(?:restored|back|fed|lights)\b",
        r"(?<!trailer )(?<!truck )(?<!work )(?<!warning )(?<!head)\b(?:lights|lamps) (?:are|is|come|go)(?: back)? on\b"
        r"(?! the (?:truck|boom))",
        r"\bturns? the lights on\b",
        rf"{_LINE} (?:\w+ ){{0,3}}(?:normal|alive|hot) again\b",
        rf"{_LINE} is (?:back|normal)\b",
        r"\bsection .* normal again\b",
        r"\b(?:alive|hot|live) again\b",
        r"\bback to normal switching\b",
        r"\breturn to normal\b",
        but=r"\b(?:tools?|arm|rope|sag|tension|post|span)\b",
    ),
    _row(
        "energizing",
        r"\b(?:hot|live)[- ]taps?\b",
        (
            r"\b(?:mak|tap|ti|cut|work|phas|roll|burn)(?:e|es|s|ing|ed)?\b.*\b(?:hot|live|alive)\b(?! sticks?|[- ]line"
            r"| arms?)"
        ),
        r"\bheats? (?:it|the|them)\b",
        r"\bburns? (?:it|WIRE|them) in\b",
        r"\blivens?\b",
        r"\blivening\b",
        but=r"\bhot-?line clamps? (?:off|on)\b",
    ),
    _row(
        "energizing",
        (
            r"\b(?:puts?|gives?) (?:some |it |the (?:line|feeder|tap|cable) |WIRE )*(?:potential|juice|voltage|volts"
            r"|a kick|a shot|a try|[0-9.]+ ?k?v)\b"
        ),
        r"\b[0-9.]+ ?(?:kv|v|volts) (?:on|to|into) ",
        r"\bsoaks? the line\b",
        r"\b(?:is|are) (?:now )?(?:fed|backed up)\b",
        r"\b(?:fed|hot|alive) from\b",
        r"\bGATE (?:shows?|reads?|carries) (?!0 )[0-9.]+ ?(?:a|WIRE|amps?|amperes)\b",
        r"\b(?:pick|take)s? up PLACE(?!')\b",
        r"\bbridges? the (?:neutral|phase) (?:section|break)\b",
        r"\brolls? the line\b",
        r"\bfeeds? (?:the )?(?:school|customers?|town|village|section|PLACE|from\b)",
        r"\bat full voltage\b",
    ),
    _row(
        "testing",
        r"\b(?:insulation|dielectric|withstand|ratio|polarity|resistance) (?:test|check)\b",
        r"\bpolarity\b",
        r"\b(?:vlf|tdr|hi-?pot\w*)\b",
        r"\bthump\w*",
        r"\b(?:megs?|megger|meggers|surges?|pings?|flash|flashes) (?:WIRE|the (?:cable|line|fault))\b",
        r"\binjects?\b",
        r"\brings? out the\b",
        r"\btones? the\b",
        r"\btest set\b",
        r"\bproves the secondar",
        r"\bburns? the fault\b",
        r"\bphas(?:e|es|ing)(?: is| are)? (?:out|across|check\w*|proven)\b",
        r"\bcheck\w* (?:the )?(?:phasing|rotation)\b",
        r"\brotation (?:check|test)\b",
        r"\bload reading\b",
        r"\bvoltage is checked\b",
    ),
    _row(
        "energizing",
        (
            r"\b(?:goes|go|is|are|runs?|switch\w*|puts?|put|comes?) (?:\w+ )?(?:on|onto|over to) (?:the |its |their "
            r"|his |a )?(?:\w+ )?(?:generators?|gensets?|inverters?|own)\b"
        ),
        r"\bislands?\b",
        r"\bsync\w*",
        r"\bstandby set\b",
        r"\bemergency generator\b",
        r"\binverter come\w* back\b",
        (
            r"\b(?:inverters?|array|panels|genset|generator|turbines?|plant|battery)\b.*\b(?:left|stays?|still) (?:on"
            r"|in|up|running)\b(?! the )"
        ),
        r"\b(?:inverters?|array|genset|generator|turbines?) (?:is|are|was) (?:running|producing|on$)",
        r"\bplugs? (?:\w+ )*(?:set|genset|generator) (?:in|into)\b",
        r"\b(?:genset|generator) (?:takes|feeds|is shifted)\b",
        r"\bwelder plugged in\b",
        r"\bfrom the truck inverter\b",
        r"\binto the truck inverter\b",
        (
            r"\b(?:customer|house|barn|mill|farm|school|clinic|shop)\b.*\b(?:generator|genset|has power|own set"
            r"|set is up|on its own|switches over|stays? in|has run)\b"
        ),
        but=r"\b(?:locked|tagged|off|out|disconnected|open)\b|\blights? in\b",
    ),
    # what protects comes off
    _row(
        "taking-off",
        r"\bstrip(?:s|ping|ped)? (?:out\b|the (?:pole|set|grounds|chain|structure)|PLACE)",
        r"\bstrip out\b",
        r"\bun-?(?:ground|earth)(?:s|ed|ing)?\b",
        r"\bfloats? WIRE\b",
        r"\bunmakes? the\b",
        (
            r"\b(?:free|isolate|take|clear|lift)s? (?:WIRE|the (?:wire|conductor|phase|neutral)) (?:from|out of|off"
            r"|clear of) (?:the |its )?(?:set|bar|chain|grounds?|clamps?|GROUND)\b"
        ),
    ),
    _row(
        "taking-off",
        (
            r"\b(?<!side )(?:chains?|shunts?|ppgs?|t-shorts|safeties|equipotential zone|epz)\b.*\b(?:off|dropped|down"
            r"|drops|undone|comes?|shifted|out|broken)\b"
        ),
        (
            r"\b(?:drop|strip|break|undo|pull|shift|lift|take|unmake|open)(?:s|es|ped)? (?:off "
            r"|down )?(?:the )?(?:chains?|shunts?|ppgs?|t-shorts|safeties|epz)\b"
        ),
        r"\bprotection\b.*\b(?:off|shifted|moved|dropped)\b",
        r"\bjumpers? of the set\b",
        but=r"\bchain ?(?:saw|block|fall|jack|binder|dogs?)s?\b"
        r"|\b(?:come-?along|hoist|winch|load|strain|slings?|butt)\b",
    ),
    _row(
        "taking-off",
        r"\b(?:shift|move|slide|lift|pull)s? the mat\b",
    ),
    _row(
        "energizing",
        r"\bruns? the tap changer\b",
        r"\bsteps? the regulator\b",
        r"\b(?:FEED|GATE) is (?:picked|brought) up\b",
    ),
    _row(
        "taking-off",
        r"\b(?:bump|kick|knock|shake|jiggle|jog)(?:s|ed|ing)? (?:the )?(?:clamps?|sets?|leads?|tail)\b",
        (
            r"\b(?:bring|take|drag|carr|mov)(?:s|y|ies|e|es)? (?:the|its|his|her|their|our) (?:whole )?(?:set|chain"
            r"|outfit|grounds)\b(?! (?:of tools|hoist|saw|sling|binder))"
        ),
        (
            r"\bGROUND(?:'s \w+)? (?:has |have |had )?(?:fell|fallen|falls|slipped|slips|slides|blew|blown|dropped"
            r"|drops|worked loose|(?:is |was |hangs )(?:found )?(?:missing|gone|loose|stolen|finger))\b"
        ),
        r"\bfinger[- ]tight\b",
        r"\bbreaks? the ground on\b",
        r"\bset is (?:shifted|rearranged)\b",
        r"\bgrounds are rearranged\b",
        (
            r"\b(?:cut|saw|part|peel|renew|open)(?:s|ting)? (?:the |through the )?(?:down[- ]?lead|pole ground"
            r"|ground wire|moulding|butt ground)\b"
        ),
        r"\bpeels? the ground wire\b",
    ),
    # a conductor is parted
    _row(
        "parting",
        rf"\b(?:cut|snip|chop|saw|nip|slice|sever|part|break|open|burn)s? (?:out |off |through |up |open )?{_ONE}",
        but=r"\b(?:slack|brush)\b",
    ),
    _row(
        "parting",
        r"\brolls? the phases\b",
        r"\b(?:transpose|swap|roll)s? WIRE\b",
        r"\bcuts? all three\b",
        (
            r"\b(?:press|crimp|make|put|insert|install)(?:es|s)? .*\b(?:sleeves?|splices?|openers?|disconnects?"
            r"|recloser|break|strain insulators?|dead-?ends?) (?:in|into) (?:the line|the air|each|WIRE"
            r"|(?:the )?(?:neutral|static|conductor))\b"
        ),
        r"\bpress(?:es)? a sleeve\b",
        r"\b(?:put|install|cut|insert|press)s? .*\bin-?line\b",
        r"\bputs? (?:a|two) (?:splices?|dead-?ends?) in\b",
        r"\bcuts? in (?:a|an|the|two|new|dead-?ends)\b(?! (?:new )?(?:bell|disc|disk)\b)",
        r"\bmakes? the splice\b",
        (
            r"\b(?:cut|saw|take)s? out the (?:bad|burn|burnt|damaged)\b"
            r"(?! (?:insulators?|strings?|bells?|discs?|pins?|arms?))"
        ),
        r"\btakes? the (?:burnt|bad|damaged) piece out\b",
        r"\bdouble dead-?ends? the\b",
        r"\bcut (?:it|the tail|the sock)\b",
        r"\bpulls? out the old sleeve\b",
        (
            r"\b(?:cut|drop|open|float|roll|undo|unbolt|lift|remove|break|loosen|burn|swap)(?:s|es|ped)? (?:off |up "
            r"|open )?(?:(?:the|a|old|both|all|three|terminal|stirrup) )*(?:loops?|bails?|stirrups?|taps?|pads?)\b"
        ),
        r"\bcuts? the tails\b",
        r"\bunpins? .*\bdead-?end\b",
        r"\bpulls? (?:the )?(?:neutral|static|WIRE) apart\b",
    ),
    # people go where no step takes them
    _row(
        "moving",
        r"^(?:jump|nip|slip|pop|skip|run|lean|stretch|reach)(?:s|es)? (?:\w+ )*(?:to|at) PLACE\b",
        r"^rides? (?:the )?(?:line|wire|conductor|hook|ball|bucket to|cart)\b",
        r"\bcart out\b",
        r"\bout on the (?:wire|line|conductor)\b",
        r"\bladder at mid-?span\b",
        (
            r"\b(?:reach|lean|stretch)(?:es)? (?:out |over |across |down )*(?:to )?the (?:underbuild|street ?light"
            r"|phone|old pole|lower circuit|other circuit)\b"
        ),
        r"\bsteps? off the mat\b",
        r"\bsteps? (?:onto|on) the (?:neutral|mat|guy)\b",
        r"\bstands? on the (?:\w+ )?(?:guy|neutral|transformer|new pole|strand|messenger|cable)\b",
    ),
    _row(
        "moving on",
        r"\b(?:at|on) PLACE\b",
        r"\bto the next (?:pole|tower|structure)\b",
    ),
    _row(
        "moving",
        r"\b(?:work|tie|bond|pick|jumper|clamp|open|take)s? .*\b(?:other|lower|upper) circuit\b",
    ),
    _row(
        "climbing",
        (
            r"\bMAN (?:\w+ ){0,2}(?:stands|sits|leans|waits|hold|holds|grabs|steadies) (?:at|by|on|of"
            r"|to)? ?(?:the )?(?:rod|GROUND|truck|guy|pole|tower|bar|winch|load)\b"
        ),
    ),
    _row(
        "moving",
        r"\bahead (?:at|to|on) PLACE\b",
        (
            r"\b(?:MAN|UP) (?:\w+ ){0,3}(?:works|does|takes|readies|preps|prepares|trims|helps|starts|strips|dresses"
            r"|frames|rigs|bolts|drills|climbs|ahead|meanwhile)\b.*\bPLACE\b"
        ),
        r"\bMAN does PLACE\b",
        r"\b(?:second man|somebody|another) takes PLACE\b",
    ),
    _row(
        "climbing",
        (
            r"\bMAN (?:\w+ ){0,3}(?:comes? (?:up|over)|goes up|lends a hand up|is (?:also |already )?(?:up"
            r"|on the (?:pole|arm|tower)))\b"
        ),
        r"\bMAN (?:joins|spells|relieves|takes over from|helps) UP\b(?!.*\b(?:line|rope|from below|from the ground)\b)",
        r"\bMAN\b.*\binside the barricade\b",
        r"\b(?:sets|lands|drops|lifts|flies|puts|takes) MAN (?:off )?(?:on|onto|at|to|up)\b",
        r"\bMAN is (?:set|landed|dropped|lifted|flown) (?:on|onto|at|to|up)\b",
        r"\bMAN and \w+ are up\b",
        (
            r"\b(?:visitor|inspector|apprentice|second man|painters?|(?:cable|phone|telephone) man"
            r"|tree crew)\b.*\b(?:up|on the (?:pole|tower|strand)|takes|clamp|at PLACE|at HERE)\b"
        ),
    ),
    # a rope or a conductor is pulled along or across
    _row(
        "stringing",
        (
            r"\b(?:pull|string|run|fly|shoot|throw|sling)s? (?:in |out |over )?(?:(?:the|a|new|pull|pulling"
            r"|lead) )*(?:ropes?|wires?|line|conductors?|WIRE)\b.*\b(?:to PLACE|over the|across the|with the old)\b"
        ),
        r"\bstrings? PLACE to PLACE\b",
        r"\bpulls? (?:wire|rope in)\b",
        r"\b(?:run|pull)s? in the new\b",
        r"\bpulls? the new (?:WIRE|wire)\b",
        r"\bwrecks? out\b",
        r"\blets? it run out\b",
    ),
    # voltage is felt, heard or seen
    _row(
        "shock",
        r"\b(?:gets?|got|is|was) (?:bit|bitten|buzzed|nipped|lit up)\b",
        r"\b(?:a )?(?:buzz|bite|nip) (?:off|from)\b",
        r"\bgets? a (?:buzz|bite|nip|poke)\b",
        (
            r"\b(?:neutral|static|WIRE|guy|arm) (?:is (?:warm|lively|alive)|bites|nips|sparks|hums|spits|buzzes"
            r"|crackles)\b"
        ),
        r"\bstatic bites\b",
        r"\bjumps back from\b",
        r"\bsparks? (?:when|as|to|at|off)\b",
        r"\bthere is a spark\b",
        r"\bspits a little\b",
        r"\barc drawn\b",
        r"\btransformer\b.*\bhums\b",
        r"\bcorona on\b",
    ),
    _row(
        "voltage",
        r"\bsome (?:voltage|potential|volts)\b",
        r"\b(?:detector|indicator|glow|d[0-9]*)\b.*\b(?:blinks|chirps|beeps|flickers|glows|sounds)\b",
        r"\breads? [0-9.]+ ?k?v\b",
        r"\bonly (?:static|induc\w+)\b",
    ),
    # a wire or a pole is down
    _row(
        "breaking",
        (
            r"\b(?:wire|conductor|pole|line|span|WIRE|static|neutral)(?: PLACE)? (?:is |has come |came |comes )?(?:down"
            r"|broken) (?:at|beyond|in|near|past|on the (?:ground|road)|behind)\b"
        ),
        r"\bwires? (?:is|are) down\b",
        (
            r"\b(?:tree|limb|branch|car|truck) (?:\w+ ){0,2}(?:across|onto|into|hits?|leans on) (?:the )?(?:line|pole"
            r"|PLACE|WIRE|wires?)\b"
        ),
    ),
    # time in which nobody is there
    _row(
        "pausing",
        r"\b(?:weekend|daylight|dawn|sunrise|(?:morning|night|day|relief|next) (?:crew|shift))\b",
        r"\b[0-9]+ ?[ap]m\b",
    ),
    _row(
        "waiting",
        r"\b(?:rain|fog|wind|snow) (?:is over|stops|lifts|eases|has passed)\b",
        r"\bit is dry\b",
        r"\bshift change\b",
        r"\brelief\b",
    ),
)
