"""Real boxes of every word on a page, as Chromium sets it."""

from __future__ import annotations

import json
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync")  # fmt: skip
SCRIPT = """
const found = [...document.querySelectorAll('svg')].map(svg => {
  const page = svg.getBoundingClientRect(), unit = page.width / svg.viewBox.baseVal.width;
  return [...svg.querySelectorAll('text')].map(text => {
    const b = text.getBoundingClientRect(), own = text.getBBox();
    return [text.textContent, (b.left - page.left) / unit, (b.top - page.top) / unit,
            (b.right - page.left) / unit, (b.bottom - page.top) / unit, own.width];
  });
});
document.body.innerHTML = '<pre></pre>';
document.querySelector('pre').textContent = JSON.stringify(found);
"""


def chromium() -> str | None:
    return next(filter(None, map(shutil.which, NAMES)), None)


@dataclass(frozen=True)
class Text:
    """A piece of text on a page; millimetres, size in points."""

    text: str
    box: tuple[float, float, float, float]
    length: float
    size: float
    bold: bool
    x: float
    y: float
    turned: bool
    anchor: str

    @property
    def black(self) -> Polygon:
        """What is black: from the baseline, or the tails, up to the capitals' height (DejaVu: 0.73)."""
        em = self.size * 25.4 / 72
        shift = {"start": 0.0, "middle": -self.length / 2, "end": -self.length}[self.anchor]
        tails = 0.2 * em if any(c in "gjpqy,;()" for c in self.text) else 0.0
        flat = box(self.x + shift, self.y - 0.73 * em, self.x + shift + self.length, self.y + tails)
        return affinity.rotate(flat, -90, origin=(self.x, self.y)) if self.turned else flat


def measured(pages: list[str], folder: Path) -> list[list[Text]]:
    """Set pages in Chromium, all in one run, and measure every text."""
    program = chromium()
    assert program
    body = "".join(page.split("?>", 1)[1] for page in pages)
    style = "<style>svg {width: 1900px; height: 2590px}</style>"  # large, so that hinting counts for little
    folder.joinpath("pages.html").write_text(
        f"<!doctype html><meta charset='utf-8'>{style}<body>{body}<script>{SCRIPT}</script>", "utf-8"
    )
    done = subprocess.run(
        [program, *FLAGS, f"--user-data-dir={folder / 'profile'}", "--dump-dom",
         str(folder / "pages.html")],
        capture_output=True, text=True, encoding="utf-8", timeout=120, check=True,
    )  # fmt: skip
    dumped = ElementTree.fromstring("<pre>" + done.stdout.split("<pre>")[1].split("</pre>")[0] + "</pre>")
    boxes = json.loads(dumped.text or "")
    return [
        [_text(element, found) for element, found in zip(texts(page), rows, strict=True)]
        for page, rows in zip(pages, boxes, strict=True)
    ]


def texts(page: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(page.encode()).iter(f"{SVG}text"))


def _text(element: ElementTree.Element, found: list) -> Text:
    text, *corners, length = found
    assert text == element.text
    size = float(element.attrib["font-size"]) * 72 / 25.4
    return Text(
        text, tuple(corners), length, size, element.get("font-weight") == "bold",
        float(element.attrib["x"]), float(element.attrib["y"]), "transform" in element.attrib,
        element.get("text-anchor", "start"),
    )  # fmt: skip


def lines(page: str) -> list[LineString]:
    """Every line that is no hatch: straight lines, and the edges of outlined shapes."""
    root = ElementTree.fromstring(page.encode())
    ends = [[float(e.attrib[k]) for k in ("x1", "y1", "x2", "y2")] for e in root.iter(f"{SVG}line")]
    found = [LineString([(x1, y1), (x2, y2)]) for x1, y1, x2, y2 in ends]
    for shape in root.iter(f"{SVG}polygon"):
        corners = [tuple(map(float, pair.split(","))) for pair in shape.attrib["points"].split()]
        found.append(LineString([*corners, corners[0]]))
    return found


def circles(page: str) -> list[Polygon]:
    """The filled circles of the cuts' numbers."""
    root = ElementTree.fromstring(page.encode())
    return [
        Point(float(e.attrib["cx"]), float(e.attrib["cy"])).buffer(float(e.attrib["r"]))
        for e in root.iter(f"{SVG}circle")
        if e.get("fill") == "white"
    ]
