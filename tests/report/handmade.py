"""A plan made by hand, small enough to follow with a pencil: one opening, one shelf, one sheet.

Sheet 96 x 48, trim 1/4 all round, kerf 3/32. The legs, 80 long and 13 to 13 1/4 wide, lie head to foot
along the lower edge: their far edges have the same slant, so one taper cut serves both.

    y = 48       ----------------------------------------------------------
                 |  head 31 7/16 x 13, then shelf 20 x 11, then a kept    | scrap
                 |  offcut 28 3/8 x 11; scrap above them                  |
                 |  leg 2, straight edge up                               |
                 |  leg 1, straight edge down                             |
    y = 1/4      ----------------------------------------------------------
              x = 1/4                                                 x = 80 1/4
"""

from __future__ import annotations

import math

from nesting.check import CheckedPlan, checked
from nesting.geometry import twice_area
from nesting.lengths import INCH, MM, Units
from nesting.plan import (
    AreaRecord,
    BandTotal,
    Cut,
    KeepRecord,
    Mark,
    Offcut,
    OpeningRecord,
    Placed,
    Plan,
    PlanPart,
    Program,
    Proof,
    RunRecord,
    SawRecord,
    Sheet,
    StationRecord,
    StockRecord,
    Totals,
    TrimRecord,
)

KERF = 3 * INCH // 32


def inch(number: float) -> int:
    return round(number * INCH)


TRIM = TrimRecord(left=inch(0.25), right=inch(0.25), lower=inch(0.25), upper=inch(0.25))


def rect(x0: int, y0: int, x1: int, y1: int) -> tuple[tuple[int, int], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def leg(number: int, side: str, start: float, end: float) -> PlanPart:
    top, foot = {"left": ("start", "end"), "right": ("end", "start")}[side]
    return PlanPart(
        number=number, id=f"Kiln room {side} leg", opening="Kiln room", role=f"{side} leg",
        material="birch", thickness=inch(23 / 32), length=inch(80), width_start=inch(start),
        width_end=inch(end), band=("straight", "far"),
        marks={top: "TOP", foot: "floor", "straight": "room A", "far": "room B"},
    )  # fmt: skip


def parts() -> tuple[PlanPart, ...]:
    head = PlanPart(
        number=3, id="Kiln room head", opening="Kiln room", role="head", material="birch",
        thickness=inch(23 / 32), length=inch(31.4375), width_start=inch(13), width_end=inch(13),
        band=("straight", "far"),
        marks={"start": "right", "end": "left", "straight": "room A", "far": "room B"},
    )  # fmt: skip
    shelf = PlanPart(
        number=4, id="shelf", material="birch", thickness=inch(23 / 32), length=inch(20),
        width_start=inch(11), width_end=inch(11),
    )  # fmt: skip
    return leg(1, "left", 13, 13.25), leg(2, "right", 13, 13.25), head, shelf


def cut(number: int, kind: str, ends: tuple[tuple[int, int], tuple[int, int]], waste: str, piece: str,
        edge: str, at: int) -> Cut:  # fmt: skip
    """A cut marked from one edge of its piece, which lies at ``at``."""
    axis = 0 if edge == "left" else 1
    marks = [Mark(at=end, edge=edge, reading=abs(point[axis] - at))
             for end, point in zip(("from", "to"), ends, strict=True)]  # fmt: skip
    return Cut(
        number=number, kind=kind, start=ends[0], to=ends[1], waste_side=waste,
        length=round(math.dist(*ends)), rails=(inch(118),), joined=False, rail_on="kept",
        packer=kind == "trim", piece=piece, marks=tuple(marks),
    )  # fmt: skip


def sheet() -> Sheet:
    length, width, t = inch(96), inch(48), inch(0.25)
    x0, x1 = t, t + inch(80)
    low, high = t + inch(13), t + inch(13.25)
    # vertical gap of the taper: kerf square to the line is 762 units, 762.004 straight up, so 763
    far, over = inch(26.25) + t + 763, inch(26.25) + t + 763 + KERF
    head_right = x0 + inch(31.4375)
    shelf_x = head_right + KERF
    shelf_end, head_top, shelf_top = shelf_x + inch(20), over + inch(13), over + inch(11)
    placed = (
        Placed(number=1, corners=((x0, t), (x1, t), (x1, high), (x0, low))),
        Placed(number=2, corners=((x1, far), (x0, far), (x0, low + 763), (x1, high + 763))),
        Placed(number=3, corners=rect(x0, over, head_right, head_top)),
        Placed(number=4, corners=rect(shelf_x, over, shelf_end, shelf_top)),
    )
    offcuts = (
        Offcut(number=1, corners=rect(0, 0, length, t - KERF), keep=False, trim=True),
        Offcut(number=2, corners=rect(0, t, x0 - KERF, width), keep=False, trim=True),
        Offcut(number=3, corners=rect(x1 + KERF, t, length, width), keep=False),
        Offcut(number=4, corners=rect(x0, head_top + KERF, head_right, width), keep=False),
        Offcut(number=5, corners=rect(shelf_x, shelf_top + KERF, x1, width), keep=False),
        Offcut(number=6, corners=rect(shelf_end + KERF, over, x1, shelf_top), keep=True),
    )
    cuts = (
        cut(1, "trim", ((0, t), (length, t)), "right", "A", "lower", 0),
        cut(2, "trim", ((x0, t), (x0, width)), "left", "A", "left", 0),
        cut(3, "crosscut", ((x1, t), (x1, width)), "right", "A", "left", x0),
        cut(4, "taper", ((x0, low), (x1, high)), "left", "A", "lower", t),
        cut(5, "rip", ((x0, far), (x1, far)), "left", "E", "upper", width),
        cut(6, "crosscut", ((head_right, over), (head_right, width)), "right", "F", "left", x0),
        cut(7, "rip", ((x0, head_top), (head_right, head_top)), "left", "F", "lower", over),
        cut(8, "rip", ((shelf_x, shelf_top), (x1, shelf_top)), "left", "G", "lower", over),
        cut(9, "crosscut", ((shelf_end, over), (shelf_end, shelf_top)), "right", "G", "left", shelf_x),
    )
    return Sheet(
        number=1, stock="birch 4x8", material="birch", length=length, width=width,
        thickness=inch(23 / 32), price=94.0, kerf=KERF, edge_trim=TRIM, placed=placed, cuts=cuts,
        offcuts=offcuts, area=areas(length, width, placed, offcuts),
    )  # fmt: skip


def areas(length: int, width: int, placed: tuple[Placed, ...], offcuts: tuple[Offcut, ...]) -> AreaRecord:
    def total(shapes: list[tuple[tuple[int, int], ...]]) -> int:
        return sum(abs(twice_area(shape)) for shape in shapes)

    whole, used = 2 * length * width, total([p.corners for p in placed])
    keep = total([o.corners for o in offcuts if o.keep])
    scrap = total([o.corners for o in offcuts if not o.keep])
    trim = total([o.corners for o in offcuts if o.trim])
    return AreaRecord(sheet=whole, parts=used, kerf=whole - used - keep - scrap, keep=keep, scrap=scrap,
                      trim=trim)  # fmt: skip


def opening() -> OpeningRecord:
    def station(at: float, wall: float, piece: float) -> StationRecord:
        return StationRecord(at=inch(at), wall=inch(wall), piece=inch(piece), proud=inch(piece - wall))

    left = (station(2, 13.125, 13.25), station(42, 13.125, 13.125), station(79, 13, 13))
    right = (station(2, 13, 13), station(42, 13.125, 13.125), station(79, 13.25, 13.25))
    head = (station(0, 13, 13), station(18, 13, 13), station(37, 13, 13))
    return OpeningRecord(
        name="Kiln room", material="birch", joint="head over legs", straight="A",
        clear_width=inch(30), height={"left": inch(80), "right": inch(80)},
        gap={"left": inch(0.25), "right": inch(0.25), "top": inch(0.25)},
        proud={"least": 0, "most": inch(1 / 16)},
        runs=(
            RunRecord(role="left leg", stations=left, worst=inch(0.125), over=True),
            RunRecord(role="right leg", stations=right, worst=0, over=False),
            RunRecord(role="head", stations=head, worst=0, over=False),
        ),
        corners={side: {"leg": inch(w), "head": inch(13)} for side, w in (("left", 13), ("right", 13.25))},
        notes=("the studs' lean along the wall is not measured",),
    )  # fmt: skip


def plan(**changes: object) -> Plan:
    """Make the plan, with some of its fields changed."""
    one = sheet()
    stock = (
        StockRecord(name="birch 4x8", material="birch", length=one.length, width=one.width,
                    thickness=one.thickness, price=94.0, trim=TRIM, weight=73.6),
        StockRecord(name="rack piece", material="birch", length=inch(61), width=inch(22.5),
                    thickness=one.thickness, price=0.0, count=1, in_shop=True),
    )  # fmt: skip
    made = Plan(
        units=Units.INCH, step=INCH // 32, job="Weir Lane pottery", seen_from="show",
        program=Program(version="0", seed=1, seconds=0.0, job_sha256="0" * 64),
        saw=SawRecord(kerf=KERF, rails=(inch(118),), join=False, lead_in=inch(7), lead_out=inch(3),
                      face_up="show"),
        keep=KeepRecord(length=inch(10), width=inch(6)), lean=0.5, stock=stock, openings=(opening(),),
        proof=Proof(value=94.0, lower_bound=94.0, gap=0.0, proved=True, status="optimal"),
        parts=parts(), sheets=(one,),
        totals=Totals(sheets={"birch 4x8": 1}, cost=94.0, credit=0.0, area=one.area,
                      used_percent=round(100 * one.area.parts / one.area.sheet, 3),
                      # 4 strips of 81 and 2 of 32 7/16, an inch over each; the slants add 6 units
                      banding={"birch": BandTotal(thickness=6 * MM // 10, strips=6,
                                                   length=inch(4 * 81 + 2 * 32.4375) + 6)}),
    )  # fmt: skip
    return made.model_copy(update=changes)


def vouched(**changes: object) -> CheckedPlan:
    """The same after its check."""
    return checked(plan(**changes))


def copies(count: int) -> CheckedPlan:
    """As many sheets as asked, all cut alike, the parts numbered on."""
    sheets, pieces = [], []
    for k in range(count):
        one = sheet()
        placed = tuple(p.model_copy(update={"number": p.number + 4 * k}) for p in one.placed)
        sheets.append(one.model_copy(update={"number": k + 1, "placed": placed}))
        pieces += [p.model_copy(update={"number": p.number + 4 * k}) for p in parts()]
    one = plan()
    area = AreaRecord(**{name: count * value for name, value in one.totals.area.model_dump().items()})
    banding = one.totals.banding["birch"]
    totals = one.totals.model_copy(update={
        "sheets": {"birch 4x8": count}, "cost": 94.0 * count, "area": area,
        "banding": {"birch": banding.model_copy(update={
            "strips": count * banding.strips, "length": count * banding.length})},
    })  # fmt: skip
    proof = Proof(value=94.0 * count, lower_bound=94.0, gap=round(1 - 1 / count, 6), proved=count == 1,
                  status="optimal" if count == 1 else "feasible")  # fmt: skip
    return vouched(sheets=tuple(sheets), parts=tuple(pieces), totals=totals, proof=proof)


def metric() -> CheckedPlan:
    """The same sheet in a job in millimetres: strips are cut 25 mm over."""
    banding = plan().totals.banding["birch"]
    strips = {"birch": banding.model_copy(update={"length": banding.length + 6 * (25 * MM - INCH)})}
    totals = plan().totals.model_copy(update={"banding": strips})
    return vouched(units=Units.MM, step=MM // 2, totals=totals)


def renamed(name: str) -> CheckedPlan:
    """The same with the name given to all that a job can name."""
    one = plan()
    return vouched(
        job=name,
        parts=tuple(
            p.model_copy(update={"id": name, "material": name, "opening": p.opening and name})
            for p in one.parts
        ),
        openings=tuple(
            o.model_copy(update={"name": name, "material": name, "notes": (name,)}) for o in one.openings
        ),
        stock=tuple(
            s.model_copy(update={"name": name if k == 0 else s.name, "material": name})
            for k, s in enumerate(one.stock)
        ),
        sheets=tuple(s.model_copy(update={"stock": name, "material": name}) for s in one.sheets),
        totals=one.totals.model_copy(
            update={"sheets": {name: 1}, "banding": {name: one.totals.banding["birch"]}}
        ),
        warnings=(name,),
    )


HOSTILE = (
    "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "\"quotes\" 'single' & <b>bold</b> ]]> --> </style></script>",
    "emoji \U0001f4d0\U0001fa9a and 棚板 shelf",
    "\u202eright to left\u202c מדף رف",
    "#import \"x\": * $x^2$ `raw` *bold* _it_ @ref \\u{41} #eval(\"1\")",
    "x" * 500,
    "many words of a name " * 25,
    "control \x00\x07\x1b[31m and tab\tnew\nline",
)  # fmt: skip
