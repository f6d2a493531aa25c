"""A small job to change, and the ways to read it."""

import re
from pathlib import Path

from nesting.errors import Fault, JobError
from nesting.job.job import Job
from nesting.job.reading import parse_job
from nesting.lengths import INCH, MM

BAD = Path(__file__).parent / "bad"
# What a parser or a validator would say; never to be seen by a carpenter.
LIBRARY = re.compile(
    r"while (scanning|parsing)|Input should|Value error|validation error|pydantic|ruamel|_type\b|NoneType|"
    r"<class|look at how the sample jobs",
    re.IGNORECASE,
)
# Nothing that can be left out is in it.
LEAST = """\
units: inch
saw: {kerf: 3/32}
materials:
  birch: {thickness: 23/32}
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
openings:
  - name: Kiln room
    material: birch
    height: {left: 83 1/2, right: 83 3/8}
    width: {low: 37 1/4, middle: 37 1/8, high: 37 1/4}
    wall:
      left: [[2, 12 3/4], [81, 13]]
      right: [[2, 12 7/8], [81, 13]]
      head: [[0, 13], [37, 13]]
parts:
  - {name: shelf, material: birch, length: 34 1/2, width: 11 3/4}
"""
METRIC = """\
units: mm
saw: {kerf: 2.2}
materials:
  ply: {thickness: 18}
stock:
  - {name: ply 2440, material: ply, length: 2440, width: 1220, price: 80}
parts:
  - {name: shelf, material: ply, length: 876.3, width: 298.5}
"""
# Every key is in it.
EXAMPLE = """\
job: Weir Lane pottery          # invented, as every sample is
units: inch                     # or mm: for bare numbers and for print
step: 1/32

saw:
  kerf: 3/32
  rails: [118, 55]              # what is in the van
  join: yes
  lead_in: 7
  lead_out: 3
  face_up: show

trim: 1/4                       # lost at each factory edge, kerf included
lean: 1/2
keep: {length: 24, width: 6}

materials:
  birch: {thickness: 23/32, grain: yes, faces: one, weight: 2.3}

stock:
  - {name: birch 4x8,  material: birch, length: 96,  width: 48, price: 94.00}
  - {name: birch 4x10, material: birch, length: 120, width: 48, price: 131.00, count: 3}
  - {name: rack piece, material: birch, length: 61, width: 22 1/2, count: 1, trim: 0, in_shop: yes}

openings:
  - name: Kiln room
    material: birch
    joint: rabbet
    rabbet: 3/8
    straight: A
    height: {left: 83 1/2, right: 83 3/8}
    width: {low: 37 1/4, middle: 37 1/8, high: 37 1/4}
    gap: {left: 1/4, right: 1/4, top: 1/4}
    proud: {least: 0, most: 1/16}
    band: {edges: [A, B], thickness: 0.6 mm, deduct: no}
    wall:
      left:  [[2, 12 3/4], [42, 12 7/8], [81, 13]]
      right: [[2, 12 7/8], [42, 12 7/8], [81, 13]]
      head:  [[0, 13], [18, 13], [37, 13]]

parts:
  - {name: shelf, material: birch, length: 34 1/2, width: 11 3/4, count: 4, grain: length}
  - {name: filler, material: birch, length: 84, width: [3, 3 3/4], count: 1, grain: length}
"""


def job(*changes: tuple[str, str], text: str = LEAST) -> Job:
    """The job with each ``(old, new)`` text put in; every old one must be there."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return parse_job(text, "job.yaml")


def metric(*changes: tuple[str, str]) -> Job:
    return job(*changes, text=METRIC)


def faults(text: str) -> list[Fault]:
    try:
        parse_job(text, "job.yaml")
    except JobError as error:
        return error.faults
    return []


def inch(value: float) -> int:
    """Inner units; only for values that are whole in them."""
    units = value * INCH
    assert units == int(units)
    return int(units)


def mm(value: int) -> int:
    return value * MM
