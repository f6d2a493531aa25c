"""The comparison as a picture: bars for the cost, the sheets and the waste of each way to buy.

Black and white: the best mix is filled, what cannot be had is said in words. Bars begin at nought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from nesting.drawing.ink import FINE, MEDIUM, THIN, Ink
from nesting.drawing.measure import Words, plain
from nesting.drawing.page import Box
from nesting.report.compare import MIX, THIS_PLAN, Comparison, Option
from nesting.report.rounding import decimal, money, rounded

WIDTH = 190.0
HEAD, ROW, LINE, FOOT = 10.0, 7.6, 3.6, 6.5
MATERIAL = 6.5
BAR = 5.0
NAME = 52.0
COLUMNS = ((56.0, 62.0), (124.0, 26.0), (156.0, 34.0))  # where each column of bars begins, and its room
WORDS = (22.0, 10.0, 20.0)  # left of that for the figures
MOST_LINES = 4
GREY = "#c8c8c8"


@dataclass(frozen=True, slots=True)
class _Bar:
    value: float
    words: str


@dataclass(frozen=True, slots=True)
class _Row:
    """One option: its words and its bars; none where it cannot be had."""

    option: Option
    name: Words
    lines: tuple[Words, ...]
    bars: tuple[_Bar, ...]

    @classmethod
    def of(cls, option: Option) -> _Row:
        """Set an option's words."""
        mix = option.name.startswith((MIX, THIS_PLAN))
        name = Words(plain(option.name), 10.0, bold=mix).within(NAME)
        if not option.feasible:
            why = Words(plain(f"cannot: {option.why_not or 'no plan found'}"), 9.0)
            return cls(option, name, _cut(why.wrap(WIDTH - COLUMNS[0][0]), WIDTH - COLUMNS[0][0]), ())
        what = Words(plain(" + ".join(f"{count} {stock}" for stock, count in option.sheets.items())))
        return cls(option, name, _cut(what.wrap(NAME), NAME), _bars(option))

    @property
    def height(self) -> float:
        """Of the row on paper."""
        return ROW + LINE * len(self.lines)

    def draw(self, ink: Ink, most: Sequence[float], top: float) -> None:
        """Put it on paper; ``most`` is the greatest value of each column of bars."""
        middle = top + self.height / 2
        ink.line(((0.0, top + self.height), (WIDTH, top + self.height)), FINE)
        x, y = (0.4, top + ROW - 0.6) if self.bars else (COLUMNS[0][0], top + ROW / 2)
        ink.words(self.name, (0.4, top + ROW / 2 if self.bars else middle), anchor="start")
        for k, line in enumerate(self.lines):
            ink.words(line, (x, y + LINE * (k + 0.5)), anchor="start")
        for k, (bar, (x, room)) in enumerate(zip(self.bars, COLUMNS, strict=False)):
            words = Words(bar.words, 10.0, bold=self.name.bold)
            run = bar.value / most[k] * (room - WORDS[k])
            if run > 0:
                box = Box(x, middle - BAR / 2, x + run, middle + BAR / 2)
                ink.shape(box.corners, THIN, "black" if self.name.bold else GREY)
            ink.words(words.within(x + room - (x + run + 1.5)), (x + run + 1.5, middle), anchor="start")
        if self.bars:
            _bound(ink, self.option, most[0], middle)


def _cut(lines: Sequence[Words], room: float) -> tuple[Words, ...]:
    """The first few lines, none wider than its room."""
    return tuple(line.cut(room) for line in lines[:MOST_LINES])


def _bars(option: Option) -> tuple[_Bar, _Bar, _Bar]:
    count = sum(option.sheets.values())
    waste = decimal(rounded(Fraction(option.waste_percent) * 10), 1)
    return (
        _Bar(option.cost, money(option.cost)),
        _Bar(count, str(count)),
        _Bar(option.waste_percent, f"{waste} %"),
    )


def comparison_svg(comparison: Comparison) -> str:
    """Draw the comparison, ``WIDTH`` millimetres wide; the same comparison gives the same bytes."""
    materials = list(dict.fromkeys(option.material for option in comparison.options))
    heads = MATERIAL if len(materials) > 1 else 0.0
    rows = {id(option): _Row.of(option) for option in comparison.options}
    high = HEAD + len(materials) * heads + sum(row.height for row in rows.values()) + FOOT
    ink = Ink(WIDTH, high)
    most = [max((row.bars[k].value for row in rows.values() if row.bars), default=0.0) or 1.0
            for k in range(3)]  # fmt: skip
    _head(ink, comparison)
    y = HEAD
    for material in materials:
        if heads:
            name = Words(plain(material), 9.0, bold=True).cut(WIDTH)
            ink.words(name, (0.4, y + heads / 2), anchor="start")
            y += heads
        for option in (o for o in comparison.options if o.material == material):
            row = rows[id(option)]
            row.draw(ink, most, y)
            y += row.height
    _foot(ink, y)
    return ink.text()


def _head(ink: Ink, comparison: Comparison) -> None:
    names = ("area (no prices given)" if comparison.priced_by_area else "cost", "sheets", "waste")
    for name, (x, _) in zip(names, COLUMNS, strict=True):
        ink.words(Words(name, 10.0, bold=True), (x, HEAD / 2), anchor="start")
    ink.line(((0.0, HEAD - 1.0), (WIDTH, HEAD - 1.0)), MEDIUM)


def _bound(ink: Ink, option: Option, most: float, middle: float) -> None:
    """A tick where the cost is proved to be needed, if it is known to be below the plan's."""
    if option.proved or option.lower_bound <= 0:
        return
    x, room = COLUMNS[0]
    at = x + min(1.0, option.lower_bound / most) * (room - WORDS[0])
    for low, high in ((BAR / 2, BAR / 2 + 1.6), (-BAR / 2 - 1.6, -BAR / 2)):
        ink.line(((at, middle + low), (at, middle + high)), MEDIUM)


def _foot(ink: Ink, y: float) -> None:
    text = ("Shorter is better. Waste: what of the area bought is in no part. Ticks: the cost proved to be "
            "needed at least.")  # fmt: skip
    ink.words(Words(text), (0.4, y + FOOT / 2), anchor="start")
