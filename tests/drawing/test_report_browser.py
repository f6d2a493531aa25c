"""The report page in a real browser: nothing of the job's runs, ticks are kept, a phone shows it all."""

from __future__ import annotations

import html
import json
import subprocess
from pathlib import Path

import pytest

from nesting.drawing.report_page import report_page
from tests.drawing import browser, plans
from tests.report.handmade import renamed

pytestmark = pytest.mark.skipif(browser.chromium() is None, reason="no Chromium found on this machine")

ATTACKS = (
    '<img src=x onerror="parent.ran=1">', "</title><script>parent.ran=1</script>", "javascript:parent.ran=1",
    '"><svg onload=parent.ran=1>', "' onfocus=parent.ran=1 autofocus='", "]]><script>parent.ran=1</script>",
    "</script><script>parent.ran=1</script>", "--><script>parent.ran=1</script>",
)  # fmt: skip
ASK = """
const wait = frame => new Promise(done => frame.onload = done);
async function shown(width) {
  const frame = document.createElement('iframe');
  frame.style.width = width + 'px'; frame.style.height = '700px';
  const loaded = wait(frame); frame.srcdoc = PAGE; document.body.append(frame); await loaded;
  await new Promise(done => setTimeout(done, 150));
  return frame;
}
(async () => {
  const found = {};
  const first = await shown(360), inner = first.contentDocument;
  found.overflow = inner.documentElement.scrollWidth - 360;
  found.title = inner.title;
  found.images = [...inner.images].every(image => image.naturalWidth > 0);
  const boxes = [...inner.querySelectorAll('.ticks input, .steps input')];
  boxes[0].click(); boxes.at(-1).click();
  found.ticked = [boxes[0].id, boxes.at(-1).id];
  const again = await shown(1000);
  found.kept = [...again.contentDocument.querySelectorAll('input:checked')].map(box => box.id);
  found.wide = again.contentDocument.documentElement.scrollWidth - 1000;
  found.ran = window.ran || 0;
  document.body.innerHTML = '<pre></pre>';
  document.querySelector('pre').textContent = JSON.stringify(found);
})();
"""


def asked(page: str, folder: Path) -> dict:
    data = json.dumps(page).replace("<", "\\u003c")
    shell = f"<!doctype html><meta charset='utf-8'><body><script>const PAGE = {data};{ASK}</script>"
    folder.joinpath("shell.html").write_text(shell, "utf-8", "surrogatepass")
    done = subprocess.run(
        [browser.chromium() or "", *browser.FLAGS, f"--user-data-dir={folder / 'profile'}",
         "--virtual-time-budget=8000", "--dump-dom", str(folder / "shell.html")],
        capture_output=True, text=True, encoding="utf-8", timeout=120, check=True,
    )  # fmt: skip
    return dict(json.loads(html.unescape(done.stdout.split("<pre>")[1].split("</pre>")[0])))


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict:
    return asked(report_page(renamed(" ".join(ATTACKS))), tmp_path_factory.mktemp("page"))


def test_nothing_that_a_job_says_runs(found: dict):
    assert found["ran"] == 0
    assert "onerror" in found["title"]  # it stands there as text


def test_ticks_are_kept_in_the_browser(found: dict):
    assert found["kept"] == found["ticked"]
    assert len(set(found["ticked"])) == 2


def test_every_picture_is_shown_and_nothing_stands_out_sideways(found: dict):
    assert found["images"]
    assert found["overflow"] <= 0
    assert found["wide"] <= 0


def test_a_usual_page_fits_a_phone(tmp_path: Path):
    seen = asked(report_page(plans.worst()), tmp_path)
    assert seen["overflow"] <= 0
    assert seen["images"]
