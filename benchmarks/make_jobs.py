"""Writes the invented jobs in benchmarks/jobs/: ``python benchmarks/make_jobs.py``.

The files are kept, so this is run again only to see where they come from. Those without a number in
front were written by hand. Openings are in walls 7 to 20 inches thick, out of plumb and out of flat;
what else a job needs is shelves, stools, benches, boxes and fillers. Nothing in them is real.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from nesting.errors import JobError  # noqa: E402 - after the path
from nesting.job.reading import read_job  # noqa: E402
from nesting.work.problem import problem  # noqa: E402
from nesting.work.wanted import wanted  # noqa: E402

JOBS = Path(__file__).resolve().parent / "jobs"
PARTS = (3, 4, 5, 6, 6, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 20, 22, 24, 26, 28, 30,
         33, 35, 38, 40, 43, 45, 48, 50, 53, 55, 58, 60)  # fmt: skip
FIRST = (
    "Heron",
    "Alder",
    "Slate",
    "Ferry",
    "Orchard",
    "Tollgate",
    "Quarry",
    "Hazel",
    "Lantern",
    "Marsh",
    "Cooper",
)
SECOND = (
    "mill",
    "chapel",
    "barn",
    "bakery",
    "schoolhouse",
    "granary",
    "dairy",
    "forge",
    "inn",
    "press house",
)
ROOMS = ("hall", "pantry", "stair", "study", "wash house", "loft", "parlour", "porch", "store", "tap room",
         "ironing room", "back kitchen", "landing", "gallery", "box room")  # fmt: skip
STOCK = {  # name, length, width, price in birch
    "4x8": (96, 48, 94), "4x9": (108, 48, 112), "4x10": (120, 48, 128),
    "5x5": (60, 60, 71), "5x10": (120, 60, 165),
}  # fmt: skip
SAWS = (
    "kerf: 3/32, rails: [118, 55], join: yes",
    "kerf: 3/32, rails: [75, 55], join: yes",
    "kerf: 1/8, rails: [118], join: no",
    "kerf: 3/32, rails: [106, 42], join: no",
    "kerf: 5/64",
)
LOOSE = (  # name, lengths and widths in inches, most of a kind, share that tapers
    ("shelf", (28, 46), (9, 15), 5, 0.0), ("stool side", (17, 25), (10, 14), 4, 0.6),
    ("stool seat", (13, 18), (11, 14), 2, 0.0), ("bench top", (48, 76), (14, 18), 1, 0.0),
    ("box side", (14, 30), (7, 12), 4, 0.0), ("filler", (78, 95), (3, 6), 2, 0.8),
    ("sill", (30, 44), (8, 16), 1, 0.5), ("apron", (30, 60), (4, 7), 2, 0.2),
    ("niche side", (40, 70), (7, 13), 2, 0.4), ("window liner", (44, 66), (6, 10), 2, 0.5),
)  # fmt: skip


def say(value: Fraction | int) -> str:
    """A length as it is written: ``13 5/8``."""
    whole, rest = divmod(Fraction(value), 1)
    return " ".join(filter(None, (str(whole) if whole or not rest else "", str(rest) if rest else "")))


class Writer:
    """One job as text, from one seed."""

    def __init__(self, number: int, seed: int) -> None:
        self.rng = random.Random(seed)
        self.parts = PARTS[number]
        self.name = f"{self.rng.choice(FIRST)} {self.rng.choice(SECOND)}"
        self.saw = SAWS[number % len(SAWS)]
        self.sizes = 1 + number % 5
        self.second = number % 7 == 5  # a plain material beside the birch

    def text(self) -> str:
        openings = self.openings()
        openings_text = "\nopenings:\n" + "".join(openings) if openings else ""
        left = self.parts - 3 * len(openings)
        loose = "\nparts:\n" + "".join(self.loose(left)) if left else ""
        materials = "  birch: {thickness: 23/32, grain: yes, faces: one}\n"
        materials += "  MDF:   {thickness: 3/4, grain: no, faces: both}\n" * self.second
        return (f"# Invented by benchmarks/make_jobs.py.\njob: {self.name}\nunits: inch\n"
                f"saw: {{{self.saw}}}\ntrim: {self.rng.choice(('1/4', '1/4', '1/2'))}\n"
                f"materials:\n{materials}\nstock:\n{self.stock()}{openings_text}{loose}")  # fmt: skip

    def stock(self) -> str:
        rng = self.rng
        longest = ["4x10"] if self.rails_reach() else ["4x9"]
        names = [*longest, *rng.sample(sorted(set(STOCK) - set(longest)), k=max(0, min(4, self.sizes - 1)))]
        remnant = self.sizes >= 3 and rng.random() < 0.7
        names = names[: self.sizes - remnant]
        lines = []
        for name in sorted(names):
            length, width, price = STOCK[name]
            price += rng.randrange(-6, 7)
            count = f", count: {rng.randrange(1, 4)}" if name != longest[0] and rng.random() < 0.3 else ""
            lines.append(f"  - {{name: birch {name}, material: birch, length: {length}, width: {width}, "
                         f"price: {price}.{rng.choice(('00', '50'))}{count}}}\n")  # fmt: skip
        if remnant:
            length, width = rng.randrange(30, 97), rng.randrange(14 * 8, 30 * 8)
            lines.append(f"  - {{name: rack piece, material: birch, length: {length}, "
                         f"width: {say(Fraction(width, 8))}, trim: 0, in_shop: yes}}\n")  # fmt: skip
        if self.second:
            lines.append("  - {name: MDF 49x97, material: MDF, length: 97, width: 49, price: 46.00}\n")
        return "".join(lines)

    def rails_reach(self) -> bool:
        return "106" not in self.saw

    def openings(self) -> list[str]:
        """A third to all of the parts are legs and heads."""
        most = self.parts // 3
        count = (
            min(len(ROOMS), self.rng.randint(max(1, most // 3), most)) if self.parts > 4 else self.parts // 3
        )
        return [self.opening(room) for room in self.rng.sample(ROOMS, count)]

    def opening(self, room: str) -> str:
        rng = self.rng
        high, wide = rng.randrange(80 * 8, 94 * 8), rng.randrange(30 * 8, 52 * 8)
        thick = rng.choice((rng.randrange(7 * 16, 12 * 16), rng.randrange(11 * 16, 20 * 16)))
        joint = rng.choice(("head over legs", "head over legs", "head between legs"))

        def eighths(middle: int, by: int = 1) -> str:
            return say(Fraction(middle + rng.randint(-by, by), 8))

        def wall(at: tuple[int, ...]) -> str:
            start, rise = thick + rng.randint(-2, 2), rng.randint(-6, 6)
            wander = [start + rise * i // max(1, len(at) - 1) + rng.randint(-1, 1) for i in range(len(at))]
            return (
                "["
                + ", ".join(f"[{x}, {say(Fraction(t, 16))}]" for x, t in zip(at, wander, strict=True))
                + "]"
            )

        legs = (3, high // 16, high // 8 - 3)
        return (
            f"  - name: {room}\n    material: birch\n    joint: {joint}\n"
            f"    height: {{left: {eighths(high)}, right: {eighths(high)}}}\n"
            f"    width: {{low: {eighths(wide)}, middle: {eighths(wide)}, high: {eighths(wide)}}}\n"
            f"    proud: {{least: 0, most: 1/4}}\n    wall:\n      left:  {wall(legs)}\n"
            f"      right: {wall(legs)}\n      head:  {wall((1, wide // 16, wide // 8 - 1))}\n"
        )

    def loose(self, left: int) -> list[str]:
        rng, lines = self.rng, []
        while left:
            name, lengths, widths, most, tapers = rng.choice(LOOSE)
            count = min(left, rng.randint(1, most))
            length = Fraction(rng.randrange(lengths[0] * 16, lengths[1] * 16), 16)
            width = Fraction(rng.randrange(widths[0] * 16, widths[1] * 16), 16)
            if rng.random() < tapers:
                ends = [width, width + Fraction(rng.choice((-1, 1)) * rng.randrange(2, 20), 16)]
                written = f"[{', '.join(map(say, ends))}]"
            else:
                written = say(width)
            material = "MDF" if self.second and rng.random() < 0.3 else "birch"
            grain = rng.choices(("length", "any", "across"), (8, 2, 1))[0] if length < 44 else "length"
            lines.append(f"  - {{name: {name} {len(lines) + 1}, material: {material}, length: {say(length)}, "
                         f"width: {written}, count: {count}, grain: {grain}}}\n")  # fmt: skip
            left -= count
        return lines


def write(number: int, plausible: Callable[[Path], bool]) -> None:
    """The first seed of the number whose job has no fault."""
    for seed in range(1000 * number, 1000 * number + 1000):
        writer = Writer(number, seed)
        path = JOBS / f"{number + 1:02}-{writer.name.replace(' ', '-').lower()}.yaml"
        path.write_text(writer.text(), encoding="utf-8")
        if plausible(path):
            return
        path.unlink()
    raise RuntimeError(f"no job {number} without a fault in a thousand")


def plausible(path: Path) -> bool:
    """No fault in the file, every opening takes a frame, every part has a sheet and a rail."""
    try:
        job = read_job(path)
        want = wanted(job)
        for material in dict.fromkeys(part.material for part in want.parts):
            problem(job, material, want, job.stock)
    except JobError:
        return False
    return not job.warnings and path.stem[3:] not in {p.stem[3:] for p in JOBS.glob("*.yaml") if p != path}


def main() -> None:
    JOBS.mkdir(exist_ok=True)
    for path in JOBS.glob("[0-9][0-9]-*.yaml"):
        path.unlink()
    for number in range(len(PARTS)):
        write(number, plausible)


if __name__ == "__main__":
    main()
