"""The one loop: ask, read, judge at once, read back, take back."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from difflib import get_close_matches
from typing import Annotated, Any, get_args

from pydantic import TypeAdapter, ValidationError

from nesting.asking.judging import judged
from nesting.asking.questions import Answer, Known, Path, Question, script
from nesting.job.fields import Context, Length, LengthOrZero, MaterialName, Offset
from nesting.job.outline import Table, Text
from nesting.job.reading import units_of
from nesting.lengths import MM, LengthError, Units, nearest, parse_length, show

WORDS = "back takes the last answer back; ? explains; list shows what is known; stop leaves and keeps it"
LENGTHS = (Length, LengthOrZero, Offset)


class Stopped(Exception):  # noqa: N818 - no error: the user asked for it
    """The word stop was given."""


class _Back(Exception):  # noqa: N818
    """The word back was given."""


class Dialogue:
    """Asks for a job, or for more of one.

    Parameters
    ----------
    ask : callable
        Shows a question and returns the line that was typed.
    say : callable
        Shows a line.
    keep : callable
        Told the answers as typed, after each one.
    base : Table
        The job that is there already; empty for a new one.
    """

    def __init__(
        self,
        ask: Callable[[str], str],
        say: Callable[[str], None],
        keep: Callable[[list[tuple[str, str]]], None],
        base: Table,
    ) -> None:
        self.ask, self.say, self.keep, self.base = ask, say, keep, base
        self.answers: dict[Path, Answer] = {}
        self.asked: dict[Path, str] = {}
        self.heard: set[str] = set()
        materials = base.get(Text("materials")) or {}
        priced = any("price" in entry for entry in base.get(Text("stock")) or ()) if base else None
        self.known = Known(self.answers, materials, priced)
        self.first = {key: len(base.get(Text(key)) or ()) for key in ("openings", "parts", "stock")}
        self.first["job"] = int(bool(base))

    @property
    def units(self) -> Units:
        """What a bare number means."""
        return Units.MM if self.known("units") == "mm" else units_of(self.base)

    @property
    def so_far(self) -> list[tuple[str, str]]:
        """What was typed, and to which question."""
        return [(answer.typed, self.asked[path]) for path, answer in self.answers.items()]

    def replay(self, typed: Iterable[str]) -> int:
        """Answer as before, as far as the answers still fit; returns how many did."""
        taken = 0
        for text in typed:
            asked = self._next()
            if asked is None or self._taken(*asked, text) is not None:
                break
            taken += 1
        self._confirmed()
        return taken

    def run(self) -> None:
        """Ask until nothing is left to be asked.

        Raises
        ------
        Stopped, EOFError, KeyboardInterrupt
            If the user leaves; what was answered stays.
        """
        while asked := self._next():
            try:
                self._question(*asked)
            except _Back:
                self.back()

    def back(self) -> None:
        """Take the last answer back."""
        if not self.answers:
            self.say("  nothing to take back: this is the first question")
            return
        path, answer = self.answers.popitem()
        self.heard &= set(self._judge()[1])
        self.keep(self.so_far)
        self.say(f"  taken back: {self.asked[path]}: {answer.typed or answer.texts or '(nothing)'}")

    def _next(self) -> tuple[Path, Question] | None:
        asked = script(self.known, self.first)
        return next(((path, question) for path, question in asked if path not in self.answers), None)

    def _question(self, path: Path, question: Question) -> None:
        """Ask one question until its answer is good and, if improbable, kept."""
        kept: str | None = None  # what an empty line keeps, though it is improbable
        while True:
            typed = self._typed(path, question, kept)
            trouble = self._taken(path, question, typed or kept or "")
            if trouble is not None:
                self.say(f"  {trouble}")
                kept = None
                continue
            improbable = [text for text in self._judge()[1] if text not in self.heard]
            improbable += self._new_material(path, question)
            if improbable and (kept is None or typed):
                self.answers.pop(path)
                for text in improbable:
                    self.say(f"  look again: {text}")
                kept = typed or question.default
                continue
            self._confirmed()
            self._read_back(question, self.answers[path])
            self.keep(self.so_far)
            return

    def _typed(self, path: Path, question: Question, kept: str | None) -> str:
        """One line, once the words that are no answer are dealt with."""
        if kept:
            hint = f" [Enter keeps {kept}]"
        else:
            hint = f" [{question.default}]" if question.default else ""
            hint += f" [Enter: {question.empty}]" if question.empty and not question.default else ""
        ask = question.ask.format(nth="first") if "{nth}" in question.ask else question.ask
        while True:
            typed = self.ask(f"{self._where(path)}{ask}{hint}: ").strip()
            word = typed.casefold()
            if word in ("back", "undo"):
                raise _Back
            if word in ("stop", "quit", "exit"):
                raise Stopped
            if word in ("?", "help"):
                self.say(f"  {question.why}" if question.why else f"  {WORDS}")
            elif word == "list":
                self._list()
            else:
                return typed

    def _where(self, path: Path) -> str:
        name = self.known(path[0], path[1], "name") if len(path) > 2 else None
        return f"{name}: " if name and path[0] in ("openings", "stock", "parts") else ""

    def _list(self) -> None:
        for path, answer in self.answers.items():
            said = ", ".join(answer.texts) if isinstance(answer.texts, tuple) else answer.texts
            self.say(f"  {self._where(path)}{self.asked[path].strip()}: {said or 'nothing'}")

    def _taken(self, path: Path, question: Question, typed: str) -> str | None:
        """Take an answer, or say what would be right."""
        plain = typed.strip() or question.default
        if not plain and not question.empty:
            return f"an answer is needed here{_like(question)}"
        try:
            answer = self._read(question, plain, typed) if plain else Answer(typed, None, None)
        except ValidationError as error:
            return _first(error)
        if question.quiet and answer.texts == question.default:
            answer = replace(answer, texts=None)
        self.answers[path] = replace(answer, order=len(self.answers) + 1, also=question.also)
        self.asked[path] = question.ask.replace("{nth}", "first")
        faults = self._judge()[0]
        if faults:
            self.answers.pop(path)
            return faults[0]
        return None

    def _read(self, question: Question, plain: str, typed: str) -> Answer:
        context = Context(self.units)
        reader = TypeAdapter(Annotated[Any, question.kind] if not get_args(question.kind) else question.kind)
        if not question.several:
            plain = plain[1:-1] if re.fullmatch(r"(['\"]).+\1", plain) else plain
            value = reader.validate_python(plain, context=context)
            return Answer(typed, self._text(question, plain, value), value)
        parts = [part for part in re.split(r"\s*[,;]\s*", plain) if part]
        values = tuple(reader.validate_python(part, context=context) for part in parts)
        texts = tuple(self._text(question, part, value) for part, value in zip(parts, values, strict=True))
        return Answer(typed, texts, values)

    def _text(self, question: Question, plain: str, value: Any) -> str:
        """How the job file has it: a length as a tape reads it, if that says the same."""
        if question.kind in LENGTHS:
            neat = show(value, self.units)
            if _length(neat, self.units) == abs(value) or neat == "0":
                return neat
        return value if isinstance(value, str) else plain

    def _judge(self) -> tuple[list[str], list[str]]:
        return judged(self.base, self.answers, self.units)

    def _confirmed(self) -> None:
        self.heard |= set(self._judge()[1])

    def _new_material(self, path: Path, question: Question) -> list[str]:
        """A material whose name is nearly that of another."""
        if question.kind is not MaterialName:
            return []
        named = self._materials(path)
        texts = self.answers[path].texts or ()
        found = []
        for name in texts if isinstance(texts, tuple) else (texts,):
            close = [] if name in named else get_close_matches(name, named, n=1)
            found += [f"{name} would be a new material; is {close[0]} meant?"] if close else []
        return found

    def _materials(self, but: Path) -> list[str]:
        named = dict.fromkeys(map(str, self.known.materials))
        for path, answer in self.answers.items():
            if path[-1] == "material" and path != but and answer.texts:
                named |= dict.fromkeys(answer.texts if isinstance(answer.texts, tuple) else (answer.texts,))
        return list(named)

    def _read_back(self, question: Question, answer: Answer) -> None:
        lengths = answer.value if isinstance(answer.value, tuple) else (answer.value,)
        if question.kind in LENGTHS or question.key in ("kerf", "length", "width"):
            for length in lengths:
                if isinstance(length, int):
                    self.say(f"  = {read_back(length, self.units)}")


def read_back(length: int, units: Units) -> str:
    """A length as it was understood: ``12 7/8 (12.875 in)``."""
    other = Units.MM if units is Units.INCH else Units.INCH
    sign, size = ("-" if length < 0 else ""), abs(length)
    if units is Units.MM:
        return f"{sign}{show(size, units)} mm (about {sign}{show(size, other)} in)"
    number = f"{size / units.size:.4f}".rstrip("0").rstrip(".")
    if _length(show(size, units), units) == size:
        return f"{sign}{show(size, units)} ({sign}{number} in)"
    if size % (MM // 10) == 0:
        return f"{sign}{show(size, other)} mm ({sign}{number} in)"
    return f"about {sign}{show(size, units)} ({sign}{number} in)"


def _length(text: str, units: Units) -> int | None:
    try:
        return nearest(parse_length(text.lstrip("-"), units))
    except LengthError:
        return None


def _first(error: ValidationError) -> str:
    item = error.errors()[0]
    context: Mapping[str, Any] = item.get("ctx", {})
    return str(context.get("error", "cannot be read; ? tells what is meant"))


def _like(question: Question) -> str:
    return ", a length like 13 5/8" if question.kind in LENGTHS else ""


