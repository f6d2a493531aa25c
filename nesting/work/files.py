"""The files of a plan: written beside their places first, so that nothing is ever half-written."""

from __future__ import annotations

import json
import math
import os
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from nesting.check import CheckedPlan
from nesting.drawing.chart import comparison_svg
from nesting.drawing.drawings import Drawings, draw_plan
from nesting.drawing.dxf import sheet_dxf
from nesting.drawing.forms import forms
from nesting.drawing.labels import LABEL_SHEETS
from nesting.drawing.packet import PAPERS, label_sheet, packet
from nesting.drawing.report_page import report_page
from nesting.errors import FileError
from nesting.job.job import Job
from nesting.plan import Plan
from nesting.report.compare import Comparison
from nesting.report.parts_csv import parts_csv
from nesting.report.waste import waste_data, waste_text
from nesting.work.beside import Meanwhile, unheard

DRAWN = ("sheet-*.svg", "sheet-*.dxf", "labels.pdf", "packet.pdf", "report.html")


@dataclass(frozen=True, slots=True)
class Wishes:
    """What is asked for beyond the usual files.

    Attributes
    ----------
    paper : str, optional
        Of the packet: ``letter`` or ``a4``; left out, by the plan's units.
    labels : str, optional
        A sheet of labels, by its name in ``LABEL_SHEETS``.
    dxf : bool
        Each sheet as DXF too.
    """

    paper: str | None = None
    labels: str | None = None
    dxf: bool = False


@dataclass(frozen=True, slots=True)
class Written:
    """The files written, and what was left out for lack of time or since it was interrupted."""

    paths: list[Path]
    left_out: str = ""


def write_plan(
    checked: CheckedPlan, drawn: Drawings | None, folder: Path, wishes: Wishes | None = None,
    latest: float = math.inf,
) -> Written:  # fmt: skip
    """Write plan.json and all that is made from it.

    Parameters
    ----------
    drawn : Drawings, optional
        Without them only what tells of the plan in words and figures is written.
    latest : float
        On the clock of ``time.monotonic``: what cannot be made until then is left out, as it is after an
        interrupt. The plan is written in any case.
    """
    drawings: dict[str, bytes] = {}
    with suppress(KeyboardInterrupt):
        if drawn is not None:
            _draw_into(drawings, checked, drawn, wishes or Wishes(), latest)
    with unheard():
        left_out = [name for name, data in drawings.items() if not data] if drawings else ["drawings"]
        made = {name: data for name, data in drawings.items() if data}
        plan = {"plan.json": checked.plan.to_json().encode()}
        return Written(_write(folder, plan | made | _figures(checked)), ", ".join(left_out))


def write_chart(comparison: Comparison, path: Path) -> None:
    """Draw a comparison into a file; its folder is there."""
    if path.is_dir():
        raise FileError(f"{path}: is a folder; name a file such as {path / 'chart.svg'}")
    _write(path.parent, {path.name: comparison_svg(comparison).encode()}, stale=())


def write_parts(plan: Plan, path: Path) -> None:
    """Write the parts list into a CSV file; its folder is there."""
    if path.is_dir():
        raise FileError(f"{path}: is a folder; name a file such as {path / 'parts.csv'}")
    _write(path.parent, {path.name: parts_csv(plan).encode("utf-8", "surrogatepass")}, stale=())


def write_forms(folder: Path, job: Job | None = None) -> list[Path]:
    """Write the measuring forms for both papers; the same job gives the same bytes."""
    return _write(folder, {f"measuring-{paper}.pdf": forms(paper, job) for paper in PAPERS}, stale=())


def write_drawings(checked: CheckedPlan, folder: Path, wishes: Wishes | None = None) -> list[Path]:
    """Write all that is made from a plan; the same plan gives the same bytes.

    Raises
    ------
    FileError
        If the folder cannot be written, or DXF is asked for and its library is not installed.
    """
    drawings: dict[str, bytes] = {}
    _draw_into(drawings, checked, draw_plan(checked), wishes or Wishes())
    return _write(folder, drawings | _figures(checked))


def _figures(checked: CheckedPlan) -> dict[str, bytes]:
    data = json.dumps(waste_data(checked), ensure_ascii=False, indent=1) + "\n"
    return {"waste.json": data.encode(), "waste.txt": waste_text(checked).encode()}


def _draw_into(
    files: dict[str, bytes], checked: CheckedPlan, drawn: Drawings, wishes: Wishes, latest: float = math.inf
) -> None:
    """Add all drawings to the files; one that cannot be made in time, or is interrupted, stays empty."""
    plan = checked.plan
    packed = Meanwhile(partial(packet, checked, drawn, wishes.paper))  # Typst leaves Python free
    files |= {name: text.encode() for sheet in drawn for name, text in sheet.files().items()}
    files |= {"packet.pdf": b"", "report.html": b""}
    if wishes.dxf:
        files |= {f"sheet-{sheet.number}.dxf": sheet_dxf(plan, sheet).encode() for sheet in plan.sheets}
    if wishes.labels:
        files["labels.pdf"] = label_sheet(checked, LABEL_SHEETS[wishes.labels])
    files["report.html"] = report_page(checked, drawn).encode("utf-8", "surrogatepass")
    files["packet.pdf"] = packed.result(latest, late=b"")


def _write(folder: Path, files: dict[str, bytes], stale: Sequence[str] = DRAWN) -> list[Path]:
    """Write all to a temporary folder on the same disk, then move each into its place.

    Older files of the names ``stale`` that are not written again are taken away.
    """
    try:
        with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as beside:
            for name, data in files.items():
                Path(beside, name).write_bytes(data)
            for old in (path for names in stale for path in folder.glob(names)):
                if old.name not in files:
                    old.unlink()
            for name in files:
                os.replace(Path(beside, name), folder / name)
    except OSError as error:
        raise FileError(f"{folder}: cannot be written: {error.strerror or error}") from error
    return [folder / name for name in files]
