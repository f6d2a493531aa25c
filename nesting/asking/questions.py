"""What is asked, in the order in which one walks round an opening with a tape: tables and one script.

A question's key is where its answer stands in the job file; a key that begins with ``?`` only decides
what is asked next. What may be answered is not said here: the types are those of the job file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, Literal

from nesting.job.buying import BoardField, PriceField
from nesting.job.edging import PartEdge
from nesting.job.fields import (
    Count,
    KerfLength,
    Length,
    LengthOrZero,
    MaterialName,
    Name,
    Offset,
    SheetLength,
    Slope,
    Weight,
    YesNo,
    one_of,
)
from nesting.job.models import Face, Grain, Joint, Kind
from nesting.job.unlikely import REPEATED

Path = tuple[str | int, ...]
Faces = Literal["one", "both"]


@dataclass(frozen=True, slots=True)
class Answer:
    """What was answered: as typed, the texts that go into the job file, and the value they stand for.

    ``texts`` is None where the key is left out; of a question for one text it is that text. ``also`` are
    keys beside it that need no question.
    """

    typed: str
    texts: str | tuple[str, ...] | None
    value: Any
    order: int = 0
    also: tuple[tuple[str, str], ...] = ()


class Known:
    """The answers up to now."""

    def __init__(
        self, answers: Mapping[Path, Answer], materials: Mapping[str, Any], priced: bool | None = None
    ) -> None:
        self.answers = answers
        self.priced = priced  # whether the stock that is there has prices; None where there is none
        self.materials = dict(materials)

    def __call__(self, *path: str | int) -> Any:
        """The value that was answered; None where there is none."""
        answer = self.answers.get(path)
        return answer.value if answer else None


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    Attributes
    ----------
    key : str
        Where the answer goes, within its entry: ``width low``.
    ask : str
        The question; ``{unit}`` stands for the job's unit.
    kind : type
        What may be answered; one of the job file's own types.
    default : str
        What is taken for an empty line.
    empty : str
        What an empty line says, where it may be empty and leaves the key out.
    several : bool
        More than one may be given, with commas.
    quiet : bool
        Not written down where the default is taken: the job file has the same.
    window : str
        How it is asked of a window.
    also : tuple
        Keys and texts that go with any answer.
    when : callable
        Whether it is asked, by what is known of the entry.
    why : str
        What ``?`` tells.
    """

    key: str
    ask: str
    kind: Any
    default: str = ""
    empty: str = ""
    several: bool = False
    quiet: bool = False
    window: str = ""
    also: tuple[tuple[str, str], ...] = ()
    when: Callable[[Callable[..., Any]], bool] = lambda _: True
    why: str = ""


def _cased(entry: Callable[..., Any]) -> bool:
    return bool(entry("kind") == "cased")


def _window(entry: Callable[..., Any]) -> bool:
    return not _cased(entry)


def _choice(*words: str) -> Any:
    return one_of(*words)


TAPE = "The same tape for everything. 13 5/8, 13-5/8, 13.625, 8' 2 5/8\" and 346 mm are all read."
SIDES = ("left", "right", "head", "sill")

JOB = (
    Question("job", "What is the job called?", Name, empty="the file's name"),
    Question("units", "Units of bare numbers: inch or mm?", _choice("inch", "mm"), default="inch",
             why="Whatever you write without a unit is read in it, and all print is in it."),
)
MEASURES = (
    Question("kind", "A cased opening through the wall, or a window's extension: cased or window?", Kind,
             default="cased"),
    Question("width low", "Width between the framing, low", Length, why=TAPE,
             window="Width inside the window's frame, low"),
    Question("width middle", "Width, half way up", Length, why=TAPE),
    Question("width high", "Width, high", Length, why=TAPE),
    Question("?lean", "Did you measure how the studs lean, off a plumb line on each side?", YesNo,
             default="no", when=_cased,
             why="Three equal widths do not show two studs that lean the same way."),
    Question("?top", "Heights: from the finished floor to the framing, or off a level line: floor or line?",
             _choice("floor", "line"), default="floor", when=_cased,
             why="One level line through several openings brings all their heads out in one line."),
    Question("height left", "Height on the left, finished floor to framing", Length, why=TAPE,
             window="Height on the left inside the frame, sill to head",
             when=lambda entry: entry("?top") != "line"),
    Question("height right", "Height on the right", Length, why="Both sides, never one for both.",
             when=lambda entry: entry("?top") != "line"),
    Question("line left", "From the line down to the floor, on the left", Length,
             when=lambda entry: entry("?top") == "line"),
    Question("line right", "From the line down to the floor, on the right", Length,
             when=lambda entry: entry("?top") == "line"),
    Question("line up", "From the line up to the head's underside", LengthOrZero,
             when=lambda entry: entry("?top") == "line"),
    Question("?faces", "Read the thickness alone, or both faces off one plumb plane: thickness "
             "or faces?", _choice("thickness", "faces"), default="thickness", when=_cased,
             why="Set a laser plane or strings through the opening; the same plane for both sides and the "
                 "head. With both faces the wall's lean is known too."),
)  # fmt: skip
MAKING = (
    Question("material", "Made of which material? With commas: whichever is cheaper", MaterialName,
             several=True),
    Question("joint", "Joint: head over legs, head between legs, or rabbet?", Joint,
             default="head over legs"),
    Question("rabbet", "How deep is the rabbet?", Length, when=lambda entry: entry("joint") == "rabbet"),
    Question("horn", "How far do the legs run on above the head?", LengthOrZero, default="0",
             quiet=True, when=lambda entry: _cased(entry) and entry("joint") != "head over legs"),
    Question("reveal", "Reveal on the window's frame", LengthOrZero, default="3/16 inch", when=_window,
             why="How far back from the frame's inside edge the pieces stand."),
    Question("?splay", "Are its pieces splayed?", YesNo, default="no", when=_window),
    *(Question(f"splay {side}", f"Splay of the {side}: degrees, or like 2 over 6", Slope, default="0",
               when=lambda entry: bool(entry("?splay"))) for side in SIDES),
    Question("straight", "Which room's edge is the straight one: A or B?", Face, default="A",
             when=lambda entry: _cased(entry) and entry("?faces") != "faces",
             why="The room whose face of the wall is plumb and straight."),
    *(Question(f"gap {side}", f"Shim gap, {side}; 0 for a press fit", LengthOrZero, default="1/4 inch",
               when=_cased) for side in ("left", "right", "top")),
    Question("proud least", "Proud of the wall, at least", LengthOrZero, default="1/16 inch",
             why="Both faces together (a window has one). A short jamb holds the casing off its edge."),
    Question("proud most", "Proud, at most", LengthOrZero, default="1/8 inch"),
    Question("band edges", "Banded edges: towards room A, B, or A, B", Face, empty="none", several=True),
    Question("band thickness", "Thickness of the band", Length, default="0.6 mm",
             when=lambda entry: bool(entry("band", "edges"))),
    Question("band deduct", "Is it deducted from the width?", YesNo, default="no",
             when=lambda entry: bool(entry("band", "edges")),
             why="Solid lipping of 3 mm and more is deducted in any case."),
)  # fmt: skip
PART = (
    Question("material", "Its material", MaterialName),
    Question("length", "Its length, along the straight edge", Length),
    Question("width", "Its width; of a taper both, like 3, 3 3/4", Length, several=True,
             why="Start and end: seen on its show face, straight edge below, start on the left."),
    Question("count", "How many?", Count, default="1", quiet=True),
    Question("grain", "Grain along its length, across, or any?", Grain, default="length", quiet=True),
    Question("band edges", "Banded edges: straight, far, start, end", PartEdge, empty="none", several=True),
    Question("band thickness", "Thickness of the band", Length, default="0.6 mm",
             when=lambda entry: bool(entry("band", "edges"))),
)
MATERIAL = (
    Question("thickness", "Thickness of {name}, by calliper", Length, why="The actual one: 23/32, not 3/4."),
    Question("grain", "Has {name} a grain?", YesNo, default="yes"),
    Question("faces", "Is one face of {name} good, or both: one or both?", _choice("one", "both"),
             default="one"),
    Question("weight", "Weight of {name}: pounds a square foot; kg a square metre in a metric job",
             Weight, empty="not known"),
)
STOCK = (
    Question("board", "Is it a dressed board? Its name, like 1x12", BoardField, empty="no, a sheet"),
    Question("length", "Its length, along the grain", SheetLength),
    Question("width", "Its width, across the grain", SheetLength),
    Question("in_shop", "Is it in the shop already?", YesNo, default="no", quiet=True),
    Question("price", "Its price", PriceField, empty="not known: area stands for money"),
    Question("count", "How many are there?", Count, empty="as many as needed"),
)
SAW = (
    Question("kerf", "Kerf: what the blade takes, from a slot that it cut", KerfLength),
    Question("rails", "Rails in the van, like 118, 55", Length, several=True, empty="no limit"),
    Question("join", "May rails be joined?", YesNo, default="no",
             when=lambda entry: len(entry("rails") or ()) > 1),
)  # fmt: skip
RUNS = {
    "left": "Left side, station {k}: height above the floor",
    "head": "Head, station {k}: distance from the framing on the left",
    "right": "Right side, station {k}: height above the floor",
}
WINDOW_RUNS = {
    "left": "Left side, station {k}: height above the inside edge of the frame",
    "head": "Head, station {k}: distance from the inside edge on the left",
    "right": "Right side, station {k}: height above the inside edge of the frame",
    "sill": "Sill, station {k}: distance from the inside edge on the left",
}
FACES = ("room A's face off the plane", "room B's face off the plane")
DEPTH = ("depth, from the frame to the wall's face",)
THICKNESS = ("thickness, face to face",)
PLANE = "Off the plumb plane, positive towards its own room."

Asked = tuple[Path, Question]


def script(known: Known, first: Mapping[str, int]) -> Iterator[Asked]:
    """Yield each question with its answer's place; goes on only once the answer is known.

    Parameters
    ----------
    known : Known
        The answers, which may grow while the questions are taken.
    first : mapping
        How many entries of ``openings``, ``parts`` and ``stock`` are there already; ``job``: 1 if the
        questions about the job itself are answered.
    """
    if not first["job"]:
        yield from _table(JOB, (), known)
    for i in count(first["openings"]):
        name = "What do you call the {nth} opening?" if i == 0 else "The next opening?"
        yield ("openings", i, "name"), Question("name", name, Name, empty="no more openings",
                                                why="Stand in room A; left and right are yours.")
        if known("openings", i, "name") is None:
            break
        yield from _opening(("openings", i), known)
    for i in count(first["parts"]):
        asked = "Any loose part out of the same stuff? Its name" if i == first["parts"] else "The next part?"
        yield ("parts", i, "name"), Question("name", asked, Name, empty="no more parts")
        if known("parts", i, "name") is None:
            break
        yield from _table(PART, ("parts", i), known)
    yield from _stuff(known, first)
    if not first["job"]:
        yield from _table(SAW, ("saw",), known)


def _opening(path: Path, known: Known) -> Iterator[Asked]:
    lean = (*path, "?lean")
    for place, question in _table(MEASURES, path, known):
        yield place, question
        if place == lean and known(*lean):
            yield from _framing((*path, "framing"), known)
    both = known(*path, "?faces") == "faces"
    window = known(*path, "kind") == "window"
    for run, where in (WINDOW_RUNS if window else RUNS).items():
        yield from _run((*path, "wall", run), where, both, window, known)
    for place, question in _table(MAKING, path, known):
        halved = window and question.key.startswith("proud")
        half = {"1/16 inch": "1/32 inch", "1/8 inch": "1/16 inch"}.get(question.default, "")
        yield place, replace(question, default=half) if halved else question


def _framing(path: Path, known: Known) -> Iterator[Asked]:
    for side in ("left", "right"):
        for k in count():
            at = (*path, side, k, 0)
            yield at, Question("at", f"Stud on the {side}, station {k + 1}: height above the floor",
                               LengthOrZero, empty="done" if k >= 2 else "")
            if known(*at) is None:
                break
            yield (*path, side, k, 1), Question("off", "From the plumb line out to the stud", Offset)
    yield (*path, "apart"), Question("apart", "How far are the two plumb lines apart?", Length,
                                     empty="not measured")


def _run(path: Path, where: str, both: bool, window: bool, known: Known) -> Iterator[Asked]:
    """The stations of one run; two readings at one of them that differ ask for a third there."""
    for k in count():
        again = _again(path, k, 2 if both else 1, known)
        at = (*path, k, 0)
        yield at, Question("at", where.format(k=k + 1), Offset if window else LengthOrZero,
                           default="" if again is None else again,
                           empty="done" if k >= 2 else "", why=TAPE)
        if known(*at) is None:
            break
        station = where.format(k=k + 1).partition(":")[0]
        for cell, word in enumerate(FACES if both else DEPTH if window else THICKNESS, 1):
            yield (*path, k, cell), Question(word, f"{station}: {word}", Offset if both else Length,
                                             why=PLANE if both else TAPE)


def _again(path: Path, k: int, cells: int, known: Known) -> str | None:
    """Where a third reading is wanted: two were taken there, and they differ."""
    if k < 2:
        return None
    at = known(*path, k - 1, 0)
    there = [sum(known(*path, i, c + 1) for c in range(cells)) for i in range(k) if known(*path, i, 0) == at]
    if len(there) == 2 and abs(there[0] - there[1]) > REPEATED:
        return str(known.answers[(*path, k - 1, 0)].texts)
    return None


def _stuff(known: Known, first: Mapping[str, int]) -> Iterator[Asked]:
    """Every new material that is named, and stock for each."""
    place = first["stock"]
    for name in _named(known):
        if name in known.materials:
            continue
        for path, question in _table(MATERIAL, ("materials", name), known):
            yield path, replace(question, ask=question.ask.replace("{name}", name))
        for k in count():
            entry = ("stock", place)
            asked = f"A sheet or board of {name} that you can get or have: what do you call it?"
            yield (*entry, "name"), Question("name", f"Another one of {name}?" if k else asked, Name,
                                             empty=f"no more {name}" if k else "", also=(("material", name),))
            if known(*entry, "name") is None:
                break
            yield from _sheet(entry, known)
            place += 1
        place += 1


def _sheet(entry: Path, known: Known) -> Iterator[Asked]:
    for path, question in _table(STOCK, entry, known):
        in_shop = known(*entry, "in_shop")
        priced = _priced(known, path)
        if question.key == "count" and in_shop:
            yield path, replace(question, default="1", empty="", quiet=True)
        elif question.key == "width" and known(*entry, "board"):
            yield path, replace(question, empty="as it is dressed")
        elif question.key != "price":
            yield path, question
        elif priced is not False:
            yield path, replace(question, default="0" if in_shop else "",
                                empty="" if priced or in_shop else question.empty)


def _priced(known: Known, path: Path) -> bool | None:
    """Whether the stock that is bought has prices; None while none was asked for."""
    if known.priced is not None:
        return known.priced
    for place, answer in known.answers.items():
        bought = place[0] == "stock" and not known(*place[:2], "in_shop")
        if bought and place[-1] == "price" and place != path:
            return answer.value is not None
    return None


def _named(known: Known) -> list[str]:
    """The materials of openings and parts, each once, in the order in which they were named."""
    found: dict[str, None] = {}
    for path, answer in known.answers.items():
        if path[0] in ("openings", "parts") and path[-1] == "material":
            texts = answer.texts if isinstance(answer.texts, tuple) else (str(answer.texts),)
            found |= dict.fromkeys(texts)
    return list(found)


def _table(questions: tuple[Question, ...], path: Path, known: Known) -> Iterator[Asked]:
    def entry(*keys: str) -> Any:
        return known(*path, *keys)

    for question in questions:
        if question.when(entry):
            place = (*path, *question.key.split(" "))
            window = question.window and entry("kind") == "window"
            yield place, replace(question, ask=question.window) if window else question

