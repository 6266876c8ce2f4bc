"""One behaviour of the reader of talk at a time, in words and as a printing recogniser shows them.

Labels are those of ``bench_jobs.py``; a builder of its own hears each case, the last utterance is judged.
"""

# ruff: noqa: E501
from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.speech import Utterance
from tests.extract.bench_jobs import labels_of_last

END = "wash-water-end-suction"
SPLIT = "wash-water-split-case"
STAGES = "booster-multistage"
FRONT = "front clearance vane one eighteen"

#: What it shows; sheet; utterances before; words; print; labels.
RULES: list[tuple[str, str, list[str], str, str, set[str]]] = [
    ("what it was coming apart is as found", END, [], "shim pack coming apart was forty four thou",
     "Shim pack coming apart was 44 thou.", {"shim_pack#as_found=0.044"}),
    ("both ends of a range on the sheet are limits", END, [], "front clearance vane one twelve to twenty four thou on the sheet",
     "Front clearance, vane one, 12 to 24 thou on the sheet.", set()),
    ("a single shim taken out measures no pack", END, ["shim pack forty thou"], "took out a shim of five thou",
     "Took out a shim of 5 thou.", {"act shims:removed"}),
    ("another machine by its place", SPLIT, ["discharge pressure six bar"], "that blower behind the shed never made but three bar",
     "That blower behind the shed never made but 3 bar.", set()),
    ("something is to be changed, and what it is now", END, ["impeller bolt seventy foot pounds"],
     "i need to change something that impeller bolt went to seventy two", "I need to change something. That impeller bolt went to 72.",
     {"fix impeller_bolt_torque#as_left=72"}),
    ("one has to be fixed", END, [FRONT, "vane two twenty thou"], "i've got to fix one vane two was nineteen thou not twenty",
     "I've got to fix one. Vane two was 19 thou, not 20.", {"fix front_clearance@2#as_left=0.019"}),
    ("what was called out ought to be another", END, ["sleeve o d one eight seven four"],
     "that sleeve o d i called out ought to be one eight seven two", "That sleeve OD I called out ought to be 1.872.",
     {"fix sleeve_diameter#as_found=1.872"}),
    ("what it ought to be alone is a limit", END, [], "sleeve o d ought to be one eight seven five",
     "Sleeve OD ought to be 1.875.", set()),
    ("a hedge before the next item leaves this one sure", STAGES, [], "test pressure twelve bar held for ten minutes pressure drop somewhere around point one",
     "Test pressure 12 bar, held for 10 minutes, pressure drop somewhere around 0.1.", {"test_pressure#as_left=12", "hold_time#as_left=10", "?pressure_drop"}),
    ("a remark behind which changes no value", END, [], "front clearance vane one eighteen vane two thirty which tells you a lot",
     "Front clearance, vane one 18, vane two 30, which tells you a lot.", {"front_clearance@1#as_left=0.018", "front_clearance@2#as_left=0.03"}),
    ("a hole is not its bolt", END, [], "casing's corroded round the bolt holes", "Casing's corroded round the bolt holes.",
     {"cond casing:corroded"}),
    ("what is skipped stands behind the verb", END, [], "locked out and tagged skipped the air test", "Locked out and tagged, skipped the air test.",
     {"step isolation_verified", "noStep leak_test"}),
    ("thousandths are talk of the bench whatever they measure", END, [], "shin bat is fifty eight thousandths now", "Shin bat's 58 thousandths now.", set()),
    ("a place named in full keeps its number", END, [FRONT], "vane two one eighty thou",
     "Vane 2, one eighty thou.", {"?front_clearance@2"}),
    ("places counted on cut the numbers, an or makes a question", END, [],
     "front clearance vane one thirty two fourteen three twelve or fourteen and a half",
     "Front clearance, vane one thirty-two fourteen three twelve or fourteen and a half.",
     {"front_clearance@1#as_left=0.03", "front_clearance@2#as_left=0.014", "?front_clearance@3"}),
    ("hold on is no hold time", STAGES, ["neck ring clearance stage one point three", "stage two point four"],
     "hold on stage two i called out point four it was point three five",
     "Hold on, stage 2 I called out 0.4, it was 0.35.", {"fix neck_ring_clearance@2#as_found=0.35"}),
    ("what was read out wrongly is put right", END, [FRONT, "vane two twenty"],
     "i read out twenty for vane two it's nineteen", "I read out 20 for vane 2, it's 19.",
     {"fix front_clearance@2#as_left=0.019"}),
    ("the original pack is as found", END, [], "the original shim pack mics forty four thou",
     "The original shim pack mics 44 thou.", {"shim_pack#as_found=0.044"}),
    ("an old clearance is as found though the sheet wants it as left", END, [], "old front clearance vane one thirty thou",
     "Old front clearance, vane 1, 30 thou.", {"front_clearance@1#as_found=0.03"}),
    ("an item named as it was before waits for its value", SPLIT, ["wear ring clearance before i touch anything"],
     "drive end point seven", "Drive end 0.7.", {"worn_ring_clearance@drive_end#as_found=0.7"}),
    ("a judgement behind a value takes nothing from it", END, ["sleeve o d next"],
     "one thousand eight hundred and seventy four thousandths that's gone", "1.874 inches. That's gone.",
     {"sleeve_diameter#as_found=1.874"}),
    ("measured again and too tight may be a difference", END, [FRONT], "vane one again eight thou too tight",
     "Vane 1 again 8 thou too tight.", {"?front_clearance@1"}),
    ("more or less is asked about", END, [FRONT], "vane two twenty more or less the needle jumps",
     "Vane 2, 20 more or less, the needle jumps.", {"?front_clearance@2"}),
    ("measured again goes back past the shims", END, [FRONT, "vane two thirty", "took a shim out behind vane two"],
     "vane two now nineteen thou", "Vane 2 now 19 thou.", {"front_clearance@2#as_left=0.019"}),
    ("a plan ends where the next item begins", SPLIT, [], "we line him up next week coupling gap is three millimetres",
     "We line him up next week coupling gap is 3 millimetres.", {"coupling_gap#as_left=3"}),
    ("a unit put right in the breath", SPLIT, [], "coupling gap three inches sorry millimetres",
     "Coupling gap 3 inches, sorry, millimetres.", {"fix coupling_gap#as_left=3"}),
    ("a no with a reason puts right what it does not name", END, [FRONT, "vane two twenty"],
     "no i had the feeler in crooked it's eighteen", "No, I had the feeler in crooked. It's 18.", {"?front_clearance@2"}),
    ("what the paper says is no reading", END, ["sleeve o d one eight seven four", "what's the low end on that"],
     "one eight seven oh says here", "1.870, says here.", set()),
    ("moving shims in passing names no shim pack", END, ["front clearance vane one thirty thou vane two twenty", "took two thou out of the shim pack"],
     "vane one now nineteen thou", "Vane 1 now 19 thou.", {"front_clearance@1#as_left=0.019"}),
    ("a number without a place after both is asked about", END, ["sleeve o d one eight seven four", "shim pack forty thou"],
     "forty four thou now", "44 thou now.", {"shim_pack#as_left=0.044"}),
    ("an item named as it was before waits without a twin", END, ["front clearance before i touch it"],
     "vane one thirty thou that's shot", "Vane 1, 30 thou. That's shot.", {"front_clearance@1#as_found=0.03"}),
    ("behind what came out no question stands", END, ["shim pack next"], "what came out was forty four thou",
     "What came out was 44 thou.", {"shim_pack#as_found=0.044"}),
    ("a plan that ends on a weekday", SPLIT, [], "gotta load it on the truck friday coupling gap is three millimetres",
     "Gotta load it on the truck Friday, coupling gap is 3 millimetres.", {"coupling_gap#as_left=3"}),
    ("a torque unit put right by a bare no", SPLIT, [], "coupling gap three inches no millimetres",
     "Coupling gap 3 inches, no, millimetres.", {"fix coupling_gap#as_left=3"}),
    ("measured again with words that nobody knows is asked about", END, ["shim pack forty four thou"],
     "there was grit under the plunger again forty three thou", "There was grit under the plunger, again 43 thou.", {"?shim_pack"}),
    ("a wait that opens what was measured again", END, [FRONT], "wait there was dirt on the feeler vane one again sixteen",
     "Wait, there was dirt on the feeler, vane 1 again 16.", {"front_clearance@1#as_left=0.016"}),
    ("a place said to be wrong tells which reading is meant", END, [FRONT, "vane two twenty"],
     "did i say vane one that was vane three", "Did I say vane 1? That was vane 3.", {"fix front_clearance@3#as_left=0.018"}),
    ("a value and its place taken back", END, [FRONT, "vane two twenty"],
     "i said twenty vane two it was vane three", "I said 20 vane 2, it was vane 3.", {"fix front_clearance@3#as_left=0.02"}),
    ("a value taken back at the place it names", END, [FRONT, "vane two twenty"],
     "did i say eighteen vane one i meant sixteen vane one", "Did I say 18 vane 1? I meant 16 vane 1.", {"fix front_clearance@1#as_left=0.016"}),
    ("the old one put back", END, [], "put the old shim pack back forty four thou",
     "Put the old shim pack back, 44 thou.", {"shim_pack#as_left=0.044", "act shims:reused"}),
    ("an item named behind a plan is asked about", SPLIT, [], "must ring the wife coupling gap three millimetres",
     "Must ring the wife, coupling gap 3 millimetres.", {"?coupling_gap"}),
    ("a value said to be wrong tells which place it was at", END, [FRONT, "vane two twenty"],
     "i called out eighteen it was seventeen", "I called out 18, it was 17.", {"fix front_clearance@1#as_left=0.017"}),
    ("a value said to be wrong that nobody said", END, [FRONT, "vane two twenty"],
     "i called out fifteen it was seventeen", "I called out 15, it was 17.", {"?front_clearance@2"}),
    ("a place behind i put down is no value", END, [FRONT, "vane two twenty"],
     "i logged vane one as eighteen it should be sixteen", "I logged vane 1 as 18, it should be 16.",
     {"fix front_clearance@1#as_left=0.016"}),
    ("two places put down are two values", END, [FRONT, "vane two twenty"],
     "i put eighteen on vane one and it was twenty on vane two", "I put 18 on vane 1 and it was 20 on vane 2.",
     {"front_clearance@1#as_left=0.018", "front_clearance@2#as_left=0.02"}),
    ("which one it was, said behind the value", END, [], "shim pack forty four thou that's the one that came out",
     "Shim pack 44 thou. That's the one that came out.", {"shim_pack#as_found=0.044"}),
    ("the new one, said behind the value", END, [], "shim pack forty thou and that's the new one",
     "Shim pack 40 thou, and that's the new one.", {"shim_pack#as_left=0.04"}),
    ("the old one that goes back", END, [], "old shim pack's going back in at forty four thou",
     "Old shim pack's going back in at 44 thou.", {"shim_pack#as_left=0.044", "act shims:reused"}),
    ("old bolts are torqued as left", END, [], "old impeller bolt seventy foot pounds",
     "Old impeller bolt, 70 foot-pounds.", {"impeller_bolt_torque#as_left=70"}),
    ("new parts beside a name tell nothing of it", END, [], "new lip seals in shim pack is forty four thou before the strip",
     "New lip seals in. Shim pack is 44 thou before the strip.", {"shim_pack#as_found=0.044", "act lip_seals:renewed"}),
    ("figures heard as other words make a value doubtful", SPLIT, [], "coupling gap three point four pull i've nine six",
     "Coupling gap 3.4 pull I've nine six.", {"?coupling_gap"}),
    ("a number right behind another item's name is not the first one's", STAGES, [],
     "hold time we get it tight next week vibration's at two", "Hold time, we get it tight next week, vibration's at two.",
     {"?vibration"}),
    ("decimals are no score", END, [], "it's scored and the sleeve o d is one point eight seven four",
     "It's scored and the sleeve OD is 1.874.", {"sleeve_diameter#as_found=1.874"}),
    ("thou and a half without its one", END, [], "shaft runout at the seal thou and a half", "Shaft runout at the seal, thou and a half.",
     {"shaft_runout@seal_area#as_found=0.0015"}),
    ("a team that got flogged", END, ["bearings are out"], "did you see the match they got flogged by forty points",
     "Did you see the match? They got flogged by 40 points.", set()),
    ("must correct", END, [FRONT, "vane two twenty"], "i must correct vane two was nineteen not twenty",
     "I must correct, vane 2 was 19, not 20.", {"fix front_clearance@2#as_left=0.019"}),
    ("what is measured while it is taken apart is as found", END, ["impeller's off and it's worn"],
     "shim pack forty one thou", "Shim pack, 41 thou.", {"shim_pack#as_found=0.041"}),
    ("another machine told without an article", END, [FRONT], "last one had thirty thou",
     "Last one had 30 thou.", set()),
    ("another machine by its own name", END, [FRONT], "the other pump had thirty one on vane two",
     "The other pump had 31 on vane 2.", set()),
    ("before with nothing behind it is as found", END, [FRONT], "vane one before was thirty one thou",
     "Vane 1 before was 31 thou.", {"front_clearance@1#as_found=0.031"}),
    ("the other gauge is no other end", END, ["journals inboard one seven seven two one outboard one seven seven one nine"],
     "went back on the outboard with the other mike one seven seven two oh",
     "Went back on the outboard with the other mike, 1.7720.", {"bearing_journal@outboard#as_found=1.772"}),
    ("what is said to be misread is put right", END, [FRONT], "vane one oughta be nineteen i read it wrong",
     "Vane 1 oughta be 19, I read it wrong.", {"fix front_clearance@1#as_left=0.019"}),
    ("a nah puts right what came last", END, ["sleeve o d one eight seven four"], "naw one eight seven three and a half",
     "Naw, 1.8735.", {"fix sleeve_diameter#as_found=1.8735"}),
    ("the pack that came out is as found", END, [], "the pack that come out of there mikes at forty two thou",
     "The pack that come out of there mikes at 42 thou.", {"shim_pack#as_found=0.042"}),
    ("before means the item measured as found", SPLIT, [],
     "wear ring clearance before drive end point six two non drive end point seven one",
     "Wear ring clearance before, drive end 0.62, non-drive end 0.71.",
     {"worn_ring_clearance@drive_end#as_found=0.62", "worn_ring_clearance@non_drive_end#as_found=0.71"}),
    ("a hundredth and a half", SPLIT, [], "runout station one a hundredth station two a hundredth and a half",
     "Runout, station 1 a hundredth, station 2 a hundredth and a half.",
     {"shaft_runout@1#as_found=0.01", "shaft_runout@2#as_found=0.015"}),
    ("a number cut from its tenths is asked about", SPLIT, [], "coupling gap three tenths and a half",
     "Coupling gap three tenths and a half.", {"?coupling_gap"}),
    ("pressure, time and drop in one breath", END, [], "air test twenty five psi ten minutes lost a quarter pound",
     "Air test, 25 PSI, 10 minutes, lost a quarter pound.",
     {"leak_test_pressure#as_left=25", "leak_test_time#as_left=10", "leak_test_drop#as_left=0.25", "step leak_test"}),
    ("a time that a test was held", SPLIT, [],
     "hydrotest nine hundred and fifty kilopascals for three quarters of an hour",
     "Hydrotest, 950 kilopascals for three quarters of an hour.",
     {"casing_test_pressure#as_left=9.5", "casing_test_time#as_left=45"}),
    ("how long it ran is no test time", END, [FRONT], "ran it for an hour", "Ran it for an hour.", set()),
    ("nuts off the sheet, put right in a second breath", SPLIT,
     ["ring clearance now drive end point four two", "other end point four five", "casing nuts two hundred and ten newton metres"],
     "sorry two hundred and twenty", "Sorry, 220.", set()),
    ("bolts of another machine, put right", END, ["impeller bolt seventy foot pounds"],
     "foundation bolts one twenty sorry one thirty", "Foundation bolts 120, sorry, 130.", {"?impeller_bolt_torque"}),
    ("at another place after all", END, [], "runout at the coupling one no at the seal one",
     "Runout at the coupling one, no, at the seal one.", {"fix shaft_runout@seal_area#as_found=0.001"}),
    ("before shimming is as found", END, [], "front clearance vane one eighteen thou before shimming",
     "Front clearance vane 1, 18 thou before shimming.", {"front_clearance@1#as_found=0.018"}),
    ("before the work is as found", END, [FRONT], "before i touched it vane five was thirty",
     "Before I touched it, vane 5 was 30.", {"front_clearance@5#as_found=0.03"}),
    ("all four of five places are asked about or left", END, [FRONT], "all four at eighteen",
     "All 4 at 18.", {"?front_clearance"}),
    ("all five at one value", END, [FRONT], "all five at eighteen", "All 5 at 18.",
     {f"front_clearance@{n}#as_left=0.018" for n in range(1, 6)}),
    ("the other end of a pair", SPLIT, [], "ring clearance point four eight drive end point five the other end",
     "Ring clearance 0.48 drive end, 0.5 the other end.",
     {"ring_clearance@drive_end#as_left=0.48", "ring_clearance@non_drive_end#as_left=0.5"}),
    ("both values, then which end came first", SPLIT, [],
     "journals sixty five point oh one three and sixty five point oh one oh drive end first",
     "Journals, 65.013 and 65.010, drive end first.",
     {"bearing_journal@drive_end#as_found=65.013", "bearing_journal@non_drive_end#as_found=65.01"}),
    ("the middle one of five", SPLIT, ["run out station two three hundredths"],
     "the middle one was thirty four microns", "The middle one was 34 microns.",
     {"shaft_runout@3#as_found=0.034"}),
    ("the next one", SPLIT, ["run out station two three hundredths"], "next one's two hundredths",
     "Next one's 2 hundredths.", {"shaft_runout@3#as_found=0.02"}),
    ("the same as another place", SPLIT, ["run out station four three hundredths"],
     "and five is the same as four", "And 5 is the same as 4.", {"shaft_runout@5#as_found=0.03"}),
    ("once more, at the place just measured", SPLIT,
     ["journal non drive end sixty five point zero zero one i'd better measure that again"],
     "second go sixty five point zero zero four", "Second go, 65.004.",
     {"bearing_journal@non_drive_end#as_found=65.004"}),
    ("decimals go on from the whole before them", SPLIT, [],
     "ring bore a hundred and sixty point oh three drive end and point oh two non drive end",
     "Ring bore 160.03 drive end, and .02 non-drive end.",
     {"ring_bore@drive_end#as_left=160.03", "ring_bore@non_drive_end#as_left=160.02"}),
    ("zero set on a dial is no reading", END, [FRONT], "runout now zero it at the coupling end",
     "Runout now, zero it at the coupling end.", set()),
    ("how long it took is no reading", SPLIT, [], "bearing temperature drive end after half an hour forty four degrees",
     "Bearing temperature drive end after half an hour, 44 degrees.", {"bearing_temperature@drive_end#as_left=44"}),
    ("a value between two is asked about at its place", END, [FRONT], "four's between fifteen and sixteen",
     "4's between 15 and 16.", {"?front_clearance@4"}),
    ("private talk gives no reading", SPLIT, ["run out station two three hundredths"],
     "hiya love no i can't talk i'm in the middle of summat ring you at five",
     "Hiya, love. No, I can't talk, I'm in the middle of summat. Ring you at five.", set()),
    ("a figure that answers a question", END, ["casing bolts", "is it ninety on the casing bolts"], "yeah ninety",
     "Yeah, 90.", set()),
    ("new one is no number", STAGES, [], "shaft nut new one forty four newton metres",
     "Shaft nut, new one, 44 newton metres.", {"shaft_nut_torque#as_left=44", "act shaft_nut:renewed"}),
    ("a stage is not the unit of the number before it", STAGES, [],
     "neck ring clearance stage one point three two stage two zero point three five",
     "Neck ring clearance stage 1 0.32, stage 2 0.35.",
     {"neck_ring_clearance@1#as_found=0.32", "neck_ring_clearance@2#as_found=0.35"}),
    ("a place put right by denying it", STAGES, ["neck ring clearance stage four point four"],
     "that's stage five not four", "That's stage 5, not 4.", {"fix neck_ring_clearance@5#as_found=0.4"}),
    ("a unit put right by denying it", STAGES, ["coupling bolts forty five newton metres"],
     "foot pounds not newton metres", "Foot-pounds, not newton metres.",
     {"fix coupling_bolt_torque#as_left=45"}),
    ("an item put right by denying it", STAGES, ["total lift one point six"],
     "no this was lift setting not total lift", "No, this was lift setting, not total lift.",
     {"fix lift_setting#as_left=1.6"}),
    ("a halt that takes back", END, ["impeller bolt seventy foot pounds"], "hold up that was seventy one",
     "Hold up, that was 71.", {"fix impeller_bolt_torque#as_left=71"}),
    ("a halt that takes nothing back", END, ["impeller bolt seventy foot pounds"],
     "hang on let me find the wrench", "Hang on, let me find the wrench.", set()),
    ("likewise, of another part", END, ["lip seals are hard as a rock"], "shaft sleeve also same thing",
     "Shaft sleeve also, same thing.", {"cond shaft_sleeve:hardened"}),
    ("so okay judges the value", END, ["shaft sleeve is scored", FRONT], "limit is twenty four so it's okay",
     "Limit is 24, so it's okay.", set()),
    ("a clipped ending", END, [], "shim pack comin out was sixty two thou",
     "Shim pack comin' out was 62 thou.", {"shim_pack#as_found=0.062"}),
]  # fmt: skip


@pytest.mark.parametrize("form", ["words", "print"])
@pytest.mark.parametrize(
    ("sheet", "before", "words", "printed", "labels"),
    [rule[1:] for rule in RULES],
    ids=[rule[0] for rule in RULES],
)
def test_what_is_said_gives_what_is_meant(
    form: str, sheet: str, before: list[str], words: str, printed: str, labels: set[str]
) -> None:
    got = labels_of_last(sheet, [*before, words if form == "words" else printed])
    assert _plain(got) == _plain(labels)


def _plain(labels: set[str]) -> set[str]:
    """Return labels with values cut to what a conversion that does not end is compared by."""
    return {
        f"{label.split('=')[0]}={float(label.split('=')[1]):.6g}" if "=" in label else label
        for label in labels
    }


def heard_with_scores(lines: list[tuple[str, float]]) -> RecordBuilder:
    builder = RecordBuilder(END)
    for n, (line, score) in enumerate(lines):
        builder.hear(Utterance(line, 4.0 * n, 4.0 * n + 3.0, job_score=score))
    return builder


@pytest.mark.parametrize(
    "line", ["wait go back to vane two nineteen", "vane three seventeen", "back clearance forty five thou"]
)
def test_talk_that_the_engine_doubts_is_asked_about_where_it_fits_the_open_item(line: str) -> None:
    builder = heard_with_scores([(FRONT, 0.4), ("vane two twenty", 0.3), (line, -0.08)])
    new = [r for r in builder.record().readings if r.evidence.utterance == 2]
    assert [(r.needs_review, r.value, r.verdict) for r in new] == [(True, None, "undecided")]
    assert new[0].candidates
    sure = [r for r in builder.record().readings if r.standing and r.position == "2" and not r.needs_review]
    if new[0].position == "2":
        assert (sure, "0.02" in {c.value_exact for c in new[0].candidates}) == ([], True)
    else:
        assert [r.value_exact for r in sure] == ["0.02"]


@pytest.mark.parametrize(
    "line",
    [
        "two lads went home at five",
        "i'm in the middle of one thing at five",
        "nineteen",
        "put it on the seat",
    ],
)
def test_chatter_that_the_engine_doubts_leaves_nothing(line: str) -> None:
    builder = heard_with_scores([(FRONT, 0.4), (line, -0.16)])
    record = builder.record()
    assert builder.talk_of(1) == "chatter"
    assert len(record.readings) == 1
    assert line not in record.to_json()
