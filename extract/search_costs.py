"""What each step of the search over an utterance costs.

In the currency of number readings: 0 is plain, 1 needs a reason, 3 is a last resort. Tuned on the bench
talk of ``tests/extract/data``.
"""

from __future__ import annotations

#: Ways kept at each word, and how much dearer than the cheapest they may be. Forty lose a list of five
#: places, 4 lost readings; 6 gave the same records on 24 jobs as 5 does, slower.
BEAM = 60
WORST = 5.0
#: A value left unread.
UNFILED = 2.4
#: The same where an item was named and the number is of its kind.
UNFILED_BESIDE_ITEM = 4.5
#: The same where its position was named right before it and its unit is the item's kind.
UNFILED_AT_POSITION = 6.5
#: What it costs more to leave a number that touches one that is read: it may be the rest of it.
UNFILED_REST = 2.0
#: Two values made of one number ("one" and "eighty thou" of "one eighty thou").
TORN = 3.0
EACH_VALUE = 0.3
#: A value whose position has not come yet.
WAITING = 0.1
FOREIGN_POSITION = 1.5
UNFILED_ONE = 0.5
FROM_EARLIER = 0.4
FROM_KIND = 1.7
SECOND_VALUE = 1.3
NO_POSITION = 1.5
#: A last decimal that is the number of the place behind it, told by nothing else.
PLACE_AS_DIGIT = 2.0
#: What a bare number is the likelier a position for counting on from the last one.
COUNTING_ON = 0.55
UNUSED_POSITION = 0.35
#: A bare number taken for a position that no value comes for.
UNUSED_NUMBER = 1.8
#: A position named in full and dropped for a bare number right behind it ("vane two one eighty").
OVERRULED = 4.0
UNEVEN = 2.5
#: How much likelier an item is for a unit where a word of its own name is said ("air test … ten minutes").
WORD_OF_ITEM = 0.8
#: What a verb of measuring behind the part takes off the cost of naming only the part ("sleeve mikes …").
VERB_OF_MEASURING = 0.6
#: … and once more where the item is a size.
SIZE_MEASURED = 0.8
#: An item that nobody named, where another of its kind was named just before.
NAMED_ANOTHER = 1.0
#: An item that nobody named, for a value outside its limits.
KIND_OUTSIDE = 1.0
#: An item named right before a value that is taken for one named behind it.
NAMED_IN_VAIN = 2.0
