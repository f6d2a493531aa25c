"""Two plans made by hand, small enough to follow with a pencil, and what it takes to make more.

Everything is written in the plan's units and turned into inner ones by :func:`inch` and :func:`mm`.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot
from typing import Any

from shapely.geometry import Polygon

from nesting.plan import Plan

Pt = tuple[int, int]
Dict = dict[str, Any]


def inch(length: float) -> int:
    return round(length * 8128)


def mm(length: float) -> int:
    return round(length * 320)


def points(unit: Any, *corners: tuple[float, float]) -> list[Pt]:
    return [(unit(x), unit(y)) for x, y in corners]


def box(unit: Any, x0: float, y0: float, x1: float, y1: float) -> list[Pt]:
    return points(unit, (x0, y0), (x1, y0), (x1, y1), (x0, y1))


def cut(kind: str, piece: str, start: Pt, to: Pt, waste: str, marks: Sequence[tuple[str, str, int]],
        rails: Sequence[int] = ()) -> Dict:  # fmt: skip
    return {
        "kind": kind, "piece": piece, "from": start, "to": to, "waste_side": waste,
        "length": round(hypot(to[0] - start[0], to[1] - start[1])), "rails": list(rails),
        "joined": len(rails) > 1, "rail_on": "kept", "packer": False,
        "marks": [{"at": at, "edge": edge, "reading": reading} for at, edge, reading in marks],
    }  # fmt: skip


def both(edge: str, reading: int, to: int | None = None) -> list[tuple[str, str, int]]:
    return [("from", edge, reading), ("to", edge, reading if to is None else to)]


def offcut(corners: Sequence[Pt], *, keep: bool = False, trim: bool = False) -> Dict:
    return {"corners": list(corners), "keep": keep, "trim": trim}


def twice(polygons: Sequence[Sequence[Pt]]) -> int:
    """Twice the area, by Shapely; whole for whole corners of this size."""
    return sum(round(2 * Polygon(corners).area) for corners in polygons)


def areas(sheet: Dict) -> Dict:
    kept = [o["corners"] for o in sheet["offcuts"] if o["keep"]]
    scrap = [o["corners"] for o in sheet["offcuts"] if not o["keep"]]
    area = {
        "sheet": 2 * sheet["length"] * sheet["width"],
        "parts": twice([p["corners"] for p in sheet["placed"]]),
        "keep": twice(kept), "scrap": twice(scrap),
        "trim": twice([o["corners"] for o in sheet["offcuts"] if o["trim"]]),
    }  # fmt: skip
    return area | {"kerf": area["sheet"] - area["parts"] - area["keep"] - area["scrap"]}


def sheet(number: int, stock: Dict, kerf: int, placed: Dict, cuts: list[Dict], offcuts: list[Dict],
          area: Dict | None = None) -> Dict:  # fmt: skip
    """Make a sheet of a size of stock; numbers of cuts and offcuts and its areas are filled in."""
    made = {
        "number": number, "stock": stock["name"], "material": stock["material"],
        "length": stock["length"], "width": stock["width"], "thickness": stock["thickness"],
        "price": stock["price"], "kerf": kerf, "edge_trim": stock["trim"],
        "placed": [{"number": n, "corners": corners} for n, corners in placed.items()],
        "cuts": [{"number": i + 1, **made} for i, made in enumerate(cuts)],
        "offcuts": [{"number": i + 1, **made} for i, made in enumerate(offcuts)],
    }  # fmt: skip
    return made | {"area": area or areas(made)}


def plan_data(parts: list[Dict], sheets: list[Dict], stock: list[Dict], saw: Dict,
              **given: Any) -> Dict:  # fmt: skip
    """Make a plan's data, totals filled in; proved, with no credit and no banding, unless given."""
    total = {name: sum(s["area"][name] for s in sheets) for name in sheets[0]["area"]} if sheets else (
        dict.fromkeys(("sheet", "parts", "kerf", "keep", "scrap", "trim"), 0))
    cost = sum(s["price"] for s in sheets)
    used = {s["stock"]: sum(t["stock"] == s["stock"] for t in sheets) for s in sheets}
    return {
        "units": "inch", "step": 254, "job": "Weir Lane pottery", "seen_from": saw["face_up"],
        "program": {"version": "0.1.0", "seed": 1, "seconds": 1.0, "job_sha256": "0" * 64},
        "saw": saw, "keep": {"length": inch(24), "width": inch(6), "credit": 0}, "lean": 0.5,
        "stock": stock, "parts": parts, "sheets": sheets,
        "proof": {"value": cost, "lower_bound": cost, "gap": 0, "proved": True, "status": "optimal"},
        "totals": {"sheets": used, "cost": cost, "credit": 0, "area": total, "banding": {},
                   "used_percent": 100 * total["parts"] / max(total["sheet"], 1)},
    } | given  # fmt: skip


def part(number: int, length: int, widths: tuple[int, int], skews: tuple[int, int] = (0, 0),
         **given: Any) -> Dict:  # fmt: skip
    return {
        "number": number, "id": f"part {number}", "material": "birch", "thickness": inch(23 / 32),
        "length": length, "width_start": widths[0], "width_end": widths[1],
        "skew_start": skews[0], "skew_end": skews[1],
    } | given  # fmt: skip


BIRCH: Dict = {
    "name": "birch 4x8", "material": "birch", "length": inch(96), "width": inch(48),
    "thickness": inch(23 / 32), "price": 94.0, "count": 2, "grain": True,
    "trim": dict.fromkeys(("left", "right", "lower", "upper"), inch(1 / 4)),
}  # fmt: skip
SAW: Dict = {"kerf": inch(3 / 32), "rails": [inch(118), inch(55)], "join": True,
             "lead_in": inch(7), "lead_out": inch(3), "face_up": "show"}  # fmt: skip
LONG, SHORT = [inch(118)], [inch(55)]

KILN: Dict = {
    "name": "Kiln room", "material": "birch", "joint": "head over legs", "straight": "A",
    "clear_width": inch(35), "height": {"left": inch(83.25), "right": inch(83.25)},
    "gap": {"left": 0, "right": 0, "top": 0}, "proud": {"least": 0, "most": inch(1 / 16)},
    "runs": [], "corners": {},
}  # fmt: skip


def kiln_parts() -> list[Dict]:
    """Two legs of one taper, 1/2 in 83 1/4, and a shelf.

    Straight edge on room A: a right leg ends at the top, a left leg starts there.
    """
    leg = {"opening": "Kiln room", "band": ["straight", "far"]}
    widths = (inch(12.875), inch(13.375))
    return [
        part(1, inch(83.25), widths, role="right leg", marks={"end": "TOP"}, **leg),
        part(2, inch(83.25), widths, role="left leg", marks={"start": "TOP"}, **leg),
        part(3, inch(34.5), (inch(11.75), inch(11.75)), id="shelf"),
    ]


def kiln_cuts() -> list[Dict]:
    """Ten cuts; beside each, what the other piece is called and how large it is.

    Across the sheet: 1/4 + 12 7/8 + 3/32 + 13 3/8 = 26 19/32 at the left end, and the same with
    13 3/8 + 12 7/8 at the right one. The slanted kerf is 3/32 * sqrt(1 + (0.5 / 83.25)^2), which is
    0.014 units more than 762: nothing after rounding.
    """
    p = inch
    top, left, end = 26.59375, 0.25, 83.5
    return [
        cut("trim", "A", (0, p(0.25)), (p(96), p(0.25)), "right", both("lower", p(0.25)), LONG),  # B
        cut("rip", "A", (0, p(top)), (p(96), p(top)), "left", both("lower", p(top - 0.25)), LONG),  # C
        cut("trim", "A", (p(left), p(0.25)), (p(left), p(top)), "left", both("left", p(left)), SHORT),  # D
        cut("crosscut", "A", (p(end), p(0.25)), (p(end), p(top)), "right", both("left", p(83.25)), SHORT),
        cut("taper", "A", (p(left), p(13.125)), (p(end), p(13.625)), "left",
            both("lower", p(12.875), p(13.375)), LONG),  # before it E, now F: part 2
        cut("trim", "C", (p(left), p(26.6875)), (p(left), p(48)), "left", both("left", p(left)), SHORT),
        cut("crosscut", "C", (p(34.75), p(26.6875)), (p(34.75), p(48)), "right",
            both("left", p(34.5)), SHORT),  # before it G, now H: to keep
        cut("rip", "C", (p(left), p(38.4375)), (p(34.75), p(38.4375)), "left",
            both("lower", p(11.75)), SHORT),  # I
        cut("trim", "H", (p(95.75), p(26.6875)), (p(95.75), p(48)), "right",
            both("right", p(0.25)), SHORT),  # J
        cut("trim", "H", (p(34.84375), p(47.75)), (p(95.75), p(47.75)), "left",
            both("upper", p(0.25)), LONG),  # K; 60 29/32 and 10 of leads are too much for 55
    ]  # fmt: skip


def kiln_offcuts() -> list[Dict]:
    return [
        offcut(box(inch, 0, 0, 96, 0.15625), trim=True),  # B: 96 x 5/32 = 15
        offcut(box(inch, 0, 0.25, 0.15625, 26.59375), trim=True),  # D: 5/32 x 26 11/32 = 4.1162109375
        offcut(box(inch, 83.59375, 0.25, 96, 26.59375)),  # E: 12 13/32 x 26 11/32 = 326.8271484375
        offcut(box(inch, 0, 26.6875, 0.15625, 48), trim=True),  # G: 5/32 x 21 5/16 = 3.330078125
        offcut(box(inch, 34.84375, 26.6875, 95.75, 47.75), keep=True),  # H: 60 29/32 x 21 1/16
        offcut(box(inch, 0.25, 38.53125, 34.75, 48)),  # I: 34 1/2 x 9 15/32 = 326.671875
        offcut(box(inch, 95.84375, 26.6875, 96, 48), trim=True),  # J: 5/32 x 21 5/16 = 3.330078125
        offcut(box(inch, 34.84375, 47.84375, 95.75, 48), trim=True),  # K: 60 29/32 x 5/32 = 9.5166015625
    ]


def square_inches(area: float) -> int:
    return round(area * 2 * 8128**2)


def kiln_areas() -> Dict:
    """By hand, in square inches; the kerfs are added up once more in the test of this sample."""
    parts = 2 * 83.25 * 13.125 + 34.5 * 11.75  # 2185.3125 + 405.375 = 2590.6875
    keep = 60.90625 * 21.0625  # 1282.837890625
    trim = 15 + 4.1162109375 + 2 * 3.330078125 + 9.5166015625  # 35.29296875
    scrap = trim + 326.8271484375 + 326.671875  # 688.7919921875
    kerf = 45.6826171875  # 4608 less the three
    figures = {"sheet": 4608, "parts": parts, "kerf": kerf, "keep": keep, "scrap": scrap, "trim": trim}
    return {name: square_inches(area) for name, area in figures.items()}


def kiln_data() -> Dict:
    """One 4 x 8 sheet: a pair of legs head to foot, a shelf, a large offcut to keep; show face up.

    Credit: 1282.837890625 / 144 = 8.9086 square feet at 0.50 make 4.45; 94 less it is 89.55. Bound 80:
    gap 9.55 / 89.55 = 0.1066. Banding: 2 of 83 1/4 and 2 of sqrt(83.25^2 + 0.5^2) = 83.2515, an inch
    over each: 337.0030. Used: 2590.6875 / 4608 = 56.22 %.
    """
    placed = {
        1: points(inch, (0.25, 0.25), (83.5, 0.25), (83.5, 13.625), (0.25, 13.125)),
        2: points(inch, (83.5, 26.59375), (0.25, 26.59375), (0.25, 13.21875), (83.5, 13.71875)),
        3: box(inch, 0.25, 26.6875, 34.75, 38.4375),
    }
    made = sheet(1, BIRCH, SAW["kerf"], placed, kiln_cuts(), kiln_offcuts(), kiln_areas())
    return plan_data(
        kiln_parts(), [made], [BIRCH], SAW, openings=[KILN],
        keep={"length": inch(24), "width": inch(6), "credit": 0.5},
        proof={"value": 89.55, "lower_bound": 80.0, "gap": 0.1066, "proved": False, "status": "feasible"},
        totals={"sheets": {"birch 4x8": 1}, "cost": 94.0, "credit": 4.45, "area": kiln_areas(),
                "used_percent": 56.22, "banding": {"birch": {
                    "thickness": 192, "strips": 4, "length": inch(337.0030030)}}},
    )  # fmt: skip


MILL: Dict = {
    "name": "poplar 2500", "material": "poplar", "length": mm(2500), "width": mm(1250),
    "thickness": mm(18), "price": 61.5, "count": None, "grain": True,
    "trim": dict.fromkeys(("left", "right", "lower", "upper"), mm(6)),
}  # fmt: skip


def mill_cuts() -> list[Dict]:
    """Ten cuts, no rails, in both directions; the leg's far edge falls by 20 in 2001.

    At 0 that line is 6 further left than the leg: 326 + 6 * 20 / 2001 = 326.060; at 2200 it is 193
    further right: 306 - 193 * 20 / 2001 = 304.071.
    """
    p = mm
    high, low = p(326 + 6 * 20 / 2001), p(306 - 193 * 20 / 2001)
    return [
        cut("trim", "A", (p(2500), p(6)), (0, p(6)), "left", both("lower", p(6))),  # B
        cut("crosscut", "A", (p(2200), p(1250)), (p(2200), p(6)), "left", both("left", p(2200))),  # C
        cut("taper", "A", (0, high), (p(2200), low), "left", both("lower", high - p(6), low - p(6))),  # D
        cut("taper", "A", (p(8), p(6)), (p(6), p(326)), "left", both("left", p(8), p(6))),  # E
        cut("taper", "A", (p(2008), p(6)), (p(2007), p(306)), "right", both("right", p(192), p(193))),  # F
        cut("rip", "D", (0, p(340)), (p(2200), p(340)), "right", both("upper", p(910))),  # G
        cut("crosscut", "D", (p(406), p(340)), (p(406), p(1250)), "right", both("left", p(406))),  # H
        cut("trim", "D", (p(6), p(340)), (p(6), p(1250)), "left", both("left", p(6))),  # I
        cut("rip", "D", (p(406), p(840)), (p(6), p(840)), "right", both("lower", p(500))),  # J
        cut("trim", "H", (p(408.2), p(1244)), (p(2200), p(1244)), "left", both("lower", p(904))),  # K
    ]


def mill_offcuts() -> list[Dict]:
    """Corners on slants are the line's places, a kerf of 2.2 off it, to the nearest unit."""
    slant = hypot(1, 20 / 2001) * 2.2  # 2.2001, up from the leg's far edge
    left, right = hypot(1, 2 / 320) * 2.2, hypot(1, 1 / 300) * 2.2  # along the sheet, at the two ends

    def far(x: float) -> float:
        return 326 - (x - 6) * 20 / 2001

    return [
        offcut(box(mm, 0, 0, 2500, 3.8), trim=True),
        offcut(box(mm, 2202.2, 6, 2500, 1250)),
        offcut(points(mm, (0, 6), (8 - left, 6), (6 - left - 0.0001, far(3.8)), (0, far(0)))),
        offcut(points(mm, (2008 + right, 6), (2200, 6), (2200, far(2200)), (2007 + right, far(2009.2)))),
        offcut(points(mm, (0, far(0) + slant), (2200, far(2200) + slant), (2200, 337.8), (0, 337.8))),
        offcut(box(mm, 408.2, 340, 2200, 1244), keep=True),
        offcut(box(mm, 0, 340, 3.8, 1250), trim=True),
        offcut(box(mm, 6, 842.2, 406, 1250)),
        offcut(box(mm, 408.2, 1246.2, 2200, 1250), trim=True),
    ]


def mill_data() -> Dict:
    """One sheet in mm, back up: a tapered leg out of square at both ends, and a piece across the grain.

    Seen from the back both run clockwise: the leg's straight edge goes from right to left.
    """
    stuff = {"material": "poplar", "thickness": mm(18)}
    parts = [
        part(1, mm(2000), (mm(300), mm(320)), (mm(1), mm(2)), **stuff),
        part(2, mm(500), (mm(400), mm(400)), grain="across", **stuff),
    ]
    placed = {
        1: points(mm, (2008, 6), (8, 6), (6, 326), (2007, 306)),
        2: points(mm, (6, 340), (6, 840), (406, 840), (406, 340)),
    }
    saw = {"kerf": mm(2.2), "rails": [], "join": False, "lead_in": mm(178), "lead_out": mm(76),
           "face_up": "back"}  # fmt: skip
    made = sheet(1, MILL, mm(2.2), placed, mill_cuts(), mill_offcuts())
    return plan_data(parts, [made], [MILL], saw, units="mm", step=160, job="Ebb Street mill",
                     keep={"length": mm(600), "width": mm(150), "credit": 0})  # fmt: skip


def kiln() -> Plan:
    return Plan.model_validate(kiln_data())


def mill() -> Plan:
    return Plan.model_validate(mill_data())
