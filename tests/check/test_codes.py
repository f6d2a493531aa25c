"""One broken plan for each code: a hand-made plan with one thing changed, and all that is then found."""

from __future__ import annotations

import re
from collections.abc import Callable
from copy import deepcopy
from typing import Any, get_args

import pytest

import nesting.check
from nesting.check import check_plan
from nesting.check.violation import Code
from nesting.plan import Plan
from tests.check import sample
from tests.check.sample import Dict, inch
from tests.check.test_against import OTHER_JOBS

Change = Callable[[Dict], Any]


def put(path: str, value: Any) -> Callable[[Dict], None]:
    """Change one value: ``sheets.0.price``."""
    *way, last = [int(step) if step.isdigit() else step for step in path.split(".")]

    def change(data: Dict) -> None:
        for step in way:
            data = data[step]
        data[last] = value

    return change


def several(*changes: Callable[[Dict], Any]) -> Callable[[Dict], None]:
    def change(data: Dict) -> None:
        for one in changes:
            one(data)

    return change


def refigure(data: Dict) -> None:
    """Fill in areas and totals again, so that only what was meant is wrong."""
    for sheet in data["sheets"]:
        sheet["area"] = sample.areas(sheet)
    total = {name: sum(s["area"][name] for s in data["sheets"]) for name in data["totals"]["area"]}
    data["totals"]["area"] = total
    data["totals"]["used_percent"] = 100 * total["parts"] / max(total["sheet"], 1)


def move(path: str, dx: int, dy: int) -> Callable[[Dict], None]:
    """Move all corners of something."""

    def change(data: Dict) -> None:
        thing: Any = data
        for step in path.split("."):
            thing = thing[int(step) if step.isdigit() else step]
        thing["corners"] = [(x + dx, y + dy) for x, y in thing["corners"]]

    return change


def turn_over(data: Dict) -> None:
    """Lay the shelf mirrored: the same place, corners the other way round."""
    c0, c1, c2, c3 = data["sheets"][0]["placed"][2]["corners"]
    data["sheets"][0]["placed"][2]["corners"] = [c1, c0, c3, c2]


def keep_a_trim(data: Dict) -> None:
    """Offcut 6 reaches to the factory edge; with its 34 1/2 by 9 15/32 it is large enough."""
    data["sheets"][0]["offcuts"][5]["keep"] = True
    data["totals"]["credit"] = 5.59  # (1282.8379 + 326.6719) / 144 * 0.50
    data["proof"] |= {"value": 88.41, "gap": 0.0951}
    refigure(data)


def second_sheet(data: Dict) -> None:
    """The same sheet again, with its parts renumbered; two of them, and one can be had."""
    again = deepcopy(data["sheets"][0])
    again["number"] = 2
    for placed in again["placed"]:
        placed["number"] += 3
    data["sheets"].append(again)
    data["parts"] += [part | {"number": part["number"] + 3} for part in data["parts"]]
    data["stock"][0] = data["stock"][0] | {"count": 1}
    data["totals"] |= {"sheets": {"birch 4x8": 2}, "cost": 188.0, "credit": 8.91}
    data["totals"]["banding"]["birch"] |= {"strips": 8, "length": inch(674.006006)}
    data["proof"] |= {"value": 179.09, "lower_bound": 179.09, "gap": 0}
    refigure(data)


def unparted(data: Dict) -> None:
    """Leave out the cut between the legs: they stay one piece."""
    cuts = data["sheets"][0]["cuts"]
    del cuts[4]
    for i, cut in enumerate(cuts):
        cut |= {"number": i + 1, "piece": {"H": "G"}.get(cut["piece"], cut["piece"])}


def drop_offcut(data: Dict) -> None:
    del data["sheets"][0]["offcuts"][2]
    refigure(data)


def split_offcut(data: Dict) -> None:
    """List the piece of 12 13/32 by 26 11/32 as two, which no cut has parted."""
    offcuts = data["sheets"][0]["offcuts"]
    offcuts[2]["corners"] = sample.box(inch, 83.59375, 0.25, 90, 26.59375)
    offcuts.append(offcuts[2] | {"number": 9, "corners": sample.box(inch, 90, 0.25, 96, 26.59375)})
    refigure(data)


def cut_again(data: Dict) -> None:
    """Cut along an edge that is cut already."""
    cuts = data["sheets"][0]["cuts"]
    cuts.append(cuts[4] | {"number": 11})


def through_offcut(data: Dict) -> None:
    """Crosscut the piece that is to be kept."""
    p = inch
    made = sample.cut("crosscut", "H", (p(60), p(26.6875)), (p(60), p(47.75)), "right",
                      sample.both("left", p(60 - 34.84375)), sample.SHORT)  # fmt: skip
    data["sheets"][0]["cuts"].append({"number": 11, **made})


def other_way_round(data: Dict) -> None:
    """Make the last cut from the strip's side: the same two pieces, the blade on the good one's side."""
    cut, offcuts = data["sheets"][0]["cuts"][9], data["sheets"][0]["offcuts"]
    cut |= {"from": (inch(34.84375), inch(47.84375)), "to": (inch(95.75), inch(47.84375)),
            "waste_side": "right", "kind": "rip",
            "marks": [{"at": at, "edge": "upper", "reading": inch(0.15625)} for at in ("from", "to")]}
    offcuts[7]["trim"] = False
    refigure(data)


def zone(*sides: float) -> Callable[[Dict], None]:
    """Block out a zone on the sheet, and on the size that it is of."""
    ring = sample.box(inch, *sides)
    return several(put("stock.0.blocked", [ring]), put("sheets.0.blocked", [ring]))


def crossed(data: Dict) -> None:
    """Let an offcut's corners make a bow tie; its area by the shoelace is 0."""
    c0, c1, c2, c3 = data["sheets"][0]["offcuts"][2]["corners"]
    data["sheets"][0]["offcuts"][2]["corners"] = [c0, c1, c3, c2]
    refigure(data)


def banded(data: Dict) -> None:
    """Add the band list: four strips of 83 1/4 (the slanted edge a hair more) and an inch, off 50 feet."""
    strips = [
        {"part": part, "edge": edge, "band": "birch", "kind": "iron-on", "length": length, "rolls": [1]}
        for part in (1, 2)
        for edge, length in (("straight", inch(84.25)), ("far", 676668 + inch(1)))
    ]
    roll = {"number": 1, "band": "birch", "length": inch(600), "used": inch(337)}
    data["banding"] = {"over": inch(1), "strips": strips, "rolls": [roll]}


def one_short(data: Dict) -> None:
    corners = data["sheets"][0]["offcuts"][2]["corners"]
    data["sheets"][0]["offcuts"][2]["corners"] = [(x - (x > inch(90)), y) for x, y in corners]
    refigure(data)


def half_kerf(data: Dict) -> None:
    """Move the slanted cut up by half a kerf: it eats into both legs."""
    cut = data["sheets"][0]["cuts"][4]
    for end in ("from", "to"):
        cut[end] = (cut[end][0], cut[end][1] + 381)
    for mark in cut["marks"]:
        mark["reading"] += 381


def beside(**single: Any) -> Callable[[Dict], None]:
    """Join the rails of the first cut, and tell of two sheets without joined rails; some of it changed."""
    told = {"cost": 188.0, "lower_bound": 94.0, "sheets": {"birch 4x8": 2}} | single
    return several(put("sheets.0.cuts.0.rails", BOTH), put("sheets.0.cuts.0.joined", True),
                   put("single_rail", told))  # fmt: skip


LAST, TAPER = "sheets.0.cuts.9", "sheets.0.cuts.4"
BOTH = [inch(118), inch(55)]
UPRIGHT = several(put("keep.length", inch(21)), put("keep.width", inch(60)))
BROKEN: list[tuple[str, set[Code], Change]] = [
    ("a lean of 46", {"record"}, put("lean", 46.0)),
    ("a lead below 0", {"record"}, put("saw.lead_in", -1)),
    ("trims that leave nothing", {"record"}, lambda d: d["stock"].append(
        d["stock"][0] | {"name": "strip", "width": inch(0.5)})),
    ("sheet 1 is called 2", {"numbering"}, put("sheets.0.number", 2)),
    ("cut 3 is called 4", {"numbering"}, put("sheets.0.cuts.2.number", 4)),
    ("two offcuts are called 2", {"numbering"}, put("sheets.0.offcuts.2.number", 2)),
    ("part 3 is listed twice", {"numbering"}, lambda d: d["parts"].append(d["parts"][2])),
    ("the saw cuts from the back", {"face"}, put("saw.face_up", "back")),
    ("a width of 0", {"part-form", "part-size"}, put("parts.2.width_end", 0)),
    ("corners that cross", {"part-form", "part-size"}, put("parts.2.skew_start", inch(40))),
    ("a part of another plan", {"part-unknown", "part-missing"}, put("sheets.0.placed.2.number", 9)),
    ("a part that is nowhere", {"part-missing"}, lambda d: d["parts"].append(
        d["parts"][2] | {"number": 4})),
    ("a part in two places", {"part-twice", "overlap", "piece-part", "area-kerf"},
     several(lambda d: d["sheets"][0]["placed"].append(d["sheets"][0]["placed"][2]), refigure)),
    ("a width one unit off", {"part-size"}, put("parts.2.width_end", inch(11.75) + 1)),
    ("a leg that tapers the other way", {"part-size"}, several(
        put("parts.0.width_start", inch(13.375)), put("parts.0.width_end", inch(12.875)))),
    ("a shelf turned over", {"part-hand"}, turn_over),
    ("a leg not marked", {"part-top"}, put("parts.0.marks", {})),
    ("a leg marked at its foot", {"part-top"}, put("parts.1.marks", {"end": "TOP"})),
    ("a leg marked at both ends", {"part-top"}, put("parts.1.marks", {"start": "TOP", "end": "TOP"})),
    ("a head marked left at its other end", {"part-left"}, several(
        put("parts.2.opening", "Kiln room"), put("parts.2.role", "head"),
        put("parts.2.marks", {"start": "left"}))),
    ("a part over the trim", {"part-outside", "cut-part", "piece-part"},
     move("sheets.0.placed.2", -1, 0)),
    ("parts that overlap", {"overlap", "cut-part", "piece-part"}, move("sheets.0.placed.2", 0, -800)),
    ("parts too near", {"gap", "cut-part", "piece-part"}, move("sheets.0.placed.2", 0, -1)),
    ("across the grain", {"grain"}, put("parts.2.grain", "across")),
    ("another material", {"material"}, put("parts.2.material", "maple")),
    ("another thickness", {"material"}, put("parts.2.thickness", inch(0.5))),
    ("a sheet not offered", {"stock-unknown", "total-sheets"}, put("sheets.0.stock", "birch 5x8")),
    ("one name for two sizes", {"stock-twice"}, lambda d: d["stock"].append(d["stock"][0])),
    ("a sheet too short", {"stock-size"}, put("stock.0.length", inch(96) + 1)),
    ("a sheet of another make", {"stock-size"}, put("stock.0.material", "maple")),
    ("a sheet too cheap", {"stock-price"}, put("stock.0.price", 94.01)),
    ("a trim as not offered", {"stock-trim"}, put("stock.0.trim", {"left": inch(0.125)})),
    ("a kerf that is not the saw's", {"stock-kerf"}, put("saw.kerf", inch(1 / 8))),
    ("a sheet too many", {"stock-count"}, second_sheet),
    ("a part on a bad zone", {"part-blocked"}, zone(50, 5, 52, 6)),
    ("a corner of a part on one", {"part-blocked"}, zone(83.5 - 1 / 8128, 1, 84, 2)),
    ("a zone that its size does not have", {"stock-blocked"},
        put("sheets.0.blocked", [sample.box(inch, 84, 10, 86, 12)])),
    ("a zone that the sheet does not say", {"stock-blocked"},
        put("stock.0.blocked", [sample.box(inch, 84, 10, 86, 12)])),
    ("a zone beside the sheet", {"stock-blocked"}, zone(84, 10, 96.1, 12)),
    ("a zone that is no rectangle", {"stock-blocked"}, several(*(
        put(f"{where}.0.blocked", [[(inch(84), inch(1)), (inch(86), inch(1)), (inch(85), inch(2))]])
        for where in ("stock", "sheets")))),
    ("more play than the legs leave", {"sheet-play"},
        put("sheets.0.play", {"along": inch(12.25) + 3, "across": 0})),
    ("more play than legs and shelf leave", {"sheet-play"},
        put("sheets.0.play", {"along": 0, "across": inch(9.8125) + 3})),  # the slants' half inch not counted
    ("play below 0", {"sheet-play"}, put("sheets.0.play", {"along": 0, "across": -1})),
    ("play that was to be kept is not there", {"sheet-play"}, several(
        put("stock.0.play", inch(1)), put("sheets.0.play", {"along": inch(1), "across": inch(1) - 1}))),
    ("play that was to be kept is not told", {"sheet-play"}, put("stock.0.play", 1)),
    ("a piece not on the bench", {"cut-piece", "piece-offcut"}, put(f"{LAST}.piece", "Q")),
    ("a line without length", {"cut-ends", "cut-length", "piece-offcut"},
     lambda d: put(f"{LAST}.to", d["sheets"][0]["cuts"][9]["from"])(d)),
    ("an end one unit off", {"cut-ends", "cut-length"},
     put("sheets.0.cuts.6.to", (inch(34.75), inch(48) - 1))),
    ("a cut along an edge", {"cut-idle"}, cut_again),
    ("a kerf in a part", {"cut-part", "piece-part"}, half_kerf),
    ("a cut through an offcut", {"cut-offcut", "cut-waste", "piece-offcut", "piece-unlisted",
                                 "area-kerf"}, through_offcut),
    ("the blade on the good side", {"cut-waste"}, other_way_round),
    ("a trim called rip", {"cut-kind"}, put("sheets.0.cuts.0.kind", "rip")),
    ("a crosscut called trim", {"cut-kind"}, put("sheets.0.cuts.3.kind", "trim")),
    ("a taper called rip", {"cut-kind"}, put(f"{TAPER}.kind", "rip")),
    ("a length one unit off", {"cut-length"}, put("sheets.0.cuts.0.length", inch(96) + 1)),
    ("a slanted length three units off", {"cut-length"},
     put(f"{TAPER}.length", 676668 + 3)),  # sqrt(676656^2 + 4064^2) = 676668.2
    ("a rail that is not there", {"cut-rails"}, put("sheets.0.cuts.0.rails", [inch(120)])),
    ("the one rail twice", {"cut-rails"}, several(
        put("sheets.0.cuts.0.rails", [inch(118)] * 2), put("sheets.0.cuts.0.joined", True))),
    ("no rail", {"cut-rails"}, put("sheets.0.cuts.0.rails", [])),
    ("rails joined and not said", {"cut-joined"}, put("sheets.0.cuts.0.rails", BOTH)),
    ("rails joined and not allowed", {"cut-joined"}, several(
        put("saw.join", False), put("sheets.0.cuts.0.rails", BOTH), put("sheets.0.cuts.0.joined", True))),
    ("a rail too short", {"cut-reach"}, put("sheets.0.cuts.0.rails", [inch(55)])),
    ("a lead one unit too long", {"cut-reach"}, several(  # 118 - 96 - 3 = 19
        put("saw.lead_in", inch(19) + 1), put("sheets.0.cuts.7.rails", [inch(118)]))),
    ("a reading one unit off", {"cut-marks"}, put("sheets.0.cuts.0.marks.1.reading", inch(0.25) + 1)),
    ("a reading from the wrong edge", {"cut-marks"}, put("sheets.0.cuts.0.marks.1.edge", "upper")),
    ("one reading only", {"cut-marks"}, lambda d: d["sheets"][0]["cuts"][4]["marks"].pop()),
    ("a reading that places nothing", {"cut-marks"}, put(
        "sheets.0.cuts.0.marks.1", {"at": "to", "edge": "right", "reading": 0})),
    ("legs not parted", {"piece-part", "area-kerf"}, unparted),
    ("an offcut one unit short", {"piece-offcut"}, one_short),
    ("an offcut in two", {"piece-offcut"}, split_offcut),
    ("an offcut's corners cross", {"piece-offcut", "piece-unlisted", "area-kerf"}, crossed),
    ("a piece not listed", {"piece-unlisted", "area-kerf"}, drop_offcut),
    ("scrap called a trim strip", {"offcut-trim"},
     several(put("sheets.0.offcuts.2.trim", True), refigure)),
    ("a trim strip called scrap", {"offcut-trim"},
     several(put("sheets.0.offcuts.0.trim", False), refigure)),
    ("kept and one unit too narrow", {"offcut-small"}, put("keep.width", inch(21.0625) + 1)),
    ("kept across the grain", {"offcut-small"}, UPRIGHT),
    ("kept with a factory edge", {"offcut-outside"}, keep_a_trim),
    ("kept with a bad zone in it", {"offcut-blocked"}, zone(50, 40, 52, 42)),
    *((f"{name} one off", {code, "total-area"}, put(f"sheets.0.area.{name}", right + 1))
      for (name, right), code in zip(sample.kiln_areas().items(), (
          "area-sheet", "area-parts", "area-kerf", "area-keep", "area-scrap", "area-trim"), strict=True)),
    ("a total one off", {"total-area"}, put("totals.area.kerf", sample.kiln_areas()["kerf"] - 1)),
    ("two sheets written", {"total-sheets"}, put("totals.sheets", {"birch 4x8": 2})),
    ("a cent too much", {"total-cost", "proof-value"}, put("totals.cost", 94.01)),
    ("two cents of credit too much", {"total-credit", "proof-value"}, put("totals.credit", 4.47)),
    ("a cent for what earns none", {"total-credit"}, several(
        put("keep.credit", 0), put("totals.credit", 0.01), put("proof.value", 93.99),
        put("proof.gap", 0.1488))),  # 13.99 / 93.99
    ("a tenth of a percent too good", {"total-used"}, put("totals.used_percent", 56.35)),
    ("a strip too few", {"total-banding"}, put("totals.banding.birch.strips", 3)),
    ("no inch over", {"total-banding"}, put("totals.banding.birch.length", inch(333.003))),
    ("no banding", {"total-banding"}, put("totals.banding", {})),
    *((name, {"band-list"}, several(banded, change)) for name, change in (
        ("an edge without its strip", lambda d: d["banding"]["strips"].pop()),
        ("a strip for an edge that has no band", put("banding.strips.0.edge", "end")),
        ("two strips for one edge", lambda d: d["banding"]["strips"].append(d["banding"]["strips"][0])),
        ("a strip two units short", put("banding.strips.0.length", inch(84.25) - 2)),
        ("half an inch over", put("banding.over", inch(0.5))),
        ("a strip from no roll", put("banding.strips.0.rolls", [2])),
        ("a roll of another band", put("banding.rolls.0.band", "oak")),
        ("a roll too short", put("banding.rolls.0.length", inch(336))),
        ("two rolls of one number", lambda d: d["banding"]["rolls"].append(d["banding"]["rolls"][0])),
        ("a price that no roll has", put("banding.cost", 4.0)))),
    ("value before credit", {"proof-value", "proof-gap"}, put("proof.value", 94.0)),
    ("a bound above the value", {"proof-bound", "proof-gap"}, put("proof.lower_bound", 94.0)),
    ("more sheets needed than there are", {"proof-bound"}, put("proof.fewest_sheets", 9)),
    ("a gap in percent", {"proof-gap"}, put("proof.gap", 10.66)),
    ("proved by saying so", {"proof-status"}, several(
        put("proof.proved", True), put("proof.status", "optimal"))),
    ("optimal and not proved", {"proof-status"}, put("proof.status", "optimal")),
    ("single rails for a cent too little", {"single-cost"}, beside(cost=187.99)),
    ("single rails on a sheet not offered", {"single-cost"}, beside(sheets={"birch 5x8": 2})),
    ("single rails on less than one sheet", {"single-cost"}, beside(sheets={"birch 4x8": 0}, cost=0.0,
                                                                  lower_bound=0.0)),
    ("single rails on more sheets than there are", {"single-cost"}, several(
        put("stock.0.count", 1), beside())),
    ("single rails for less than is proved with joined ones", {"single-cost"}, several(
        lambda d: d["stock"].append(d["stock"][0] | {"name": "birch 4x4", "length": inch(48), "price": 50.0}),
        beside(cost=50.0, lower_bound=50.0, sheets={"birch 4x4": 1}))),
    ("single rails with a bound above their cost", {"single-bound"}, beside(lower_bound=188.01)),
    ("single rails with a bound and no cost", {"single-bound"}, beside(cost=None, sheets={}, why="none")),
    ("single rails with sheets and no cost", {"single-bound"},
     beside(cost=None, lower_bound=0.0, why="none")),
    ("single rails where none are joined", {"single-use"}, put(
        "single_rail", {"cost": 188.0, "lower_bound": 94.0, "sheets": {"birch 4x8": 2}})),
    ("single rails with a cost and a reason", {"single-use"}, beside(why="none in time")),
    ("single rails with nothing said", {"single-use"}, several(beside(), put("single_rail", {}))),
]  # fmt: skip


@pytest.mark.parametrize(("codes", "change"), [pytest.param(c, d, id=n) for n, c, d in BROKEN])
def test_a_broken_plan_is_found_out_and_nothing_else_is_said(codes: set[str], change: Change) -> None:
    data = deepcopy(sample.kiln_data())
    change(data)
    found = check_plan(Plan.model_validate(data))
    assert {violation.code for violation in found} == codes, "\n".join(map(str, found))


@pytest.mark.parametrize("change", [
    pytest.param(several(put("saw.lead_in", inch(19)), put("sheets.0.cuts.7.rails", [inch(118)])),
                 id="a rail that just reaches: 96 + 19 + 3 = 118"),
    pytest.param(put("keep.length", inch(60.90625)), id="an offcut just long enough"),
    pytest.param(put("keep.width", inch(21.0625)), id="an offcut just wide enough"),
    pytest.param(put("stock.0.count", 1), id="the last sheet"),
    pytest.param(zone(83.5, 1, 96, 2), id="a bad zone that touches a leg and lies in scrap"),
    pytest.param(several(put("stock.0.play", inch(9)), put("sheets.0.play", {
        # 95 1/2 less 83 1/4; 47 1/2 less 12 7/8, 13 3/8, 11 3/4 and two kerfs
        "along": inch(12.25), "across": inch(9.3125)})), id="all the play there is"),
    pytest.param(put("lean", 0.0), id="no lean, where nothing leans"),
    pytest.param(put(f"{TAPER}.length", 676668 + 2), id="a slanted length within two units"),
    pytest.param(put("parts.2.grain", "any"), id="any grain"),
    pytest.param(several(put("parts.2.may_flip", True), turn_over), id="turned over where it may be"),
    pytest.param(several(put("parts.2.grain", "across"), put("stock.0.grain", False)), id="no grain"),
    pytest.param(several(UPRIGHT, put("stock.0.grain", False)), id="kept either way without grain"),
    pytest.param(beside(), id="single rails that cost more"),
    pytest.param(beside(lower_bound=188.0), id="single rails, proved"),
    pytest.param(several(beside(), put("single_rail", {"why": "no rail is long enough"})),
                 id="no way with single rails"),
    pytest.param(put("totals.credit", 4.45), id="credit to the cent"),
    pytest.param(put("totals.used_percent", 56.2), id="percent to a tenth"),
    pytest.param(banded, id="a band list"),
    pytest.param(several(put("saw.rails", []), lambda d: [
        cut.update(rails=[], joined=False) for cut in d["sheets"][0]["cuts"]]), id="no rails named"),
    pytest.param(several(put("proof.lower_bound", 89.55), put("proof.gap", 0.0), put("proof.proved", True),
                         put("proof.status", "optimal")), id="proved"),
])  # fmt: skip
def test_what_is_just_allowed_passes(change: Change) -> None:
    data = deepcopy(sample.kiln_data())
    change(data)
    assert check_plan(Plan.model_validate(data)) == []


@pytest.mark.parametrize("listed", [True, False])
def test_a_strip_within_the_slack_past_a_slanted_kerf_may_be_listed_or_not(listed: bool) -> None:
    """The line falls from 763 to 764 below the edge, the kerf is 762: a strip of 1 to 2 units."""
    far, top = 400_000, 200_000
    stock = sample.BIRCH | {"length": far, "width": top, "trim": {}}
    line = (0, top - 763), (far, top - 764)
    made = sample.sheet(
        1, stock, 762, {1: [(0, 0), (far, 0), line[1], line[0]]},
        [sample.cut("taper", "A", *line, "left", sample.both("upper", 763, 764))],
        [sample.offcut([(0, top - 1), (far, top - 2), (far, top), (0, top)])] if listed else [],
    )  # fmt: skip
    parts = [sample.part(1, far, (top - 763, top - 764))]
    data = sample.plan_data(parts, [made], [stock], sample.SAW | {"rails": []})
    assert check_plan(Plan.model_validate(data)) == []


def test_every_code_has_a_plan_that_breaks_it() -> None:
    broken = {code for _, codes, _ in BROKEN for code in codes} | {code for _, code, _ in OTHER_JOBS}
    assert broken == set(get_args(Code))


def test_the_table_lists_the_codes_and_no_others() -> None:
    table = nesting.check.__doc__ or ""
    listed = re.findall(r"^([a-z]+(?:-[a-z]+)?)(?: {2,}|$)", table.split("code  ")[1], re.MULTILINE)
    assert listed == list(get_args(Code))
