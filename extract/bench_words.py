"""Words that stand between readings and mean nothing by themselves.

A bare number goes on with the item named before only where nothing else is talked about in its
clause: "outboard again one point seven" does, "we won three two" does not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from extract.heard import Heard
from extract.numbers import is_number_word

_GLUE = frozenset(
    "a an the and or is was are were be been 's 're 've 'm it that this these those there here now then so well okay ok "
    "right alright um uh er erm ah oh hmm eh yeah yes yep no not at on in for of to from with by as i we you they my our "
    "me us got get getting gets have has had having make making makes made call calling called say says said saying read "
    "reads reading come comes came coming out up down go goes going went give gives gave given take took taken see seeing "
    "look looks looking about around roughly just only still also even again once more next first second third last same "
    "other another one ones each all both every same side end ends bit little touch hair tad dead spot bang exactly "
    "precisely exact nice good great fine lovely perfect happy better tight loose snug slack high low higher lower over "
    "under above below between than less very quite pretty really too much way enough near nearly almost maybe limit limits "
    "max maximum minimum spec tolerance nominal inside outside within book number position value figure measure measured "
    "measuring measures measurement check checked checking feeler feelers gauge gage gauges dial indicator clock clocks mic "
    "mics mike micrometer micrometers caliper calipers calliper callipers vernier depth height gun thermometer tach "
    "wrench needle face mag base digital display screen think reckon guess would could should can 'd 'll will let do did "
    "does done doing its it's that's there's what's i've i'm we've we're he's let's reading's , . ! ; : - — ... \" ' ( ) "
    "total full final now's please yes mate lads alright sorry hang wait hold sec second minute moment zero zeroed zeroing "
    "back forth round around way same turn keyway start starting starting finish finally then's where which who thing "
    "settled settles steady holds holding held sits sitting sat runs running up's stays stayed puts put set sets setting "
    "torque torqued pulled pull tightened clicked click clicks across them him her too off through thru after before "
    "inch inches thou thous thousandths mil mils mm micron microns millimetre millimetres millimeter degrees degree bar psi "
    "pounds half quarter quarters halves third thirds pound foot feet newton newtons metre metres meter meters rpm grams gram minutes seconds".split()
)


#: Talk of figures on a plate, never of a reading.
_IDENTIFYING = frozenset({"digit", "digits", "serial", "nameplate", "invoice", "phone", "letter", "letters"})


def strange_words(
    heard: Heard, start: int, end: int, meant: Iterable[tuple[int, int]] = (), known: Collection[str] = ()
) -> int:
    """Count the words of a run that neither belong to a reading nor are named by sheet or trade."""
    covered = {i for a, b in meant for i in range(a, b)}
    for mention in heard.mentions.all:
        if mention.kind in ("item", "position", "cue"):
            covered.update(range(mention.start, mention.end))
    if _IDENTIFYING & set(heard.norms(start, end)):
        return 99
    strange = 0
    for i in range(start, end):
        token = heard.tokens[i]
        if (
            i in covered
            or token.norm in _GLUE
            or token.norm in known
            or token.norm.removesuffix("s") in known
            or is_number_word(token)
            or not token.norm[0].isalpha()
        ):
            continue
        strange += 1
    return strange
