"""Pictures of the README, taken by headless Chromium: ``python tests/screenshots.py RUN``, with the ``test`` extra.

RUN is the folder of a finished run of the shipped tour; the pictures go beside its study.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright
from test_report_browser import QUIET, browser_path

STUDY = Path(__file__).parents[1] / "studies" / "outer_belt_ice_tour.toml"
REPORT, DASHBOARD = STUDY.with_suffix(".png"), STUDY.with_name("outer_belt_ice_tour_dashboard.png")
WIDTH = 1200
COLOURS = 200
SETTLED = 6000  # ms


@contextmanager
def dashboard() -> Iterator[str]:
    """The dashboard of the study, served until the picture is taken; its address."""
    command = [sys.executable, "-m", "tradespace", "dashboard", str(STUDY), "--no-browser", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as served:
        assert served.stdout is not None
        yield next(line.split()[0] for line in served.stdout if line.startswith("http"))
        served.terminate()


def photograph(address: str, picture: Path, height: int) -> None:
    """Take the top of a page, with few colours so that the file stays small."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=list(QUIET))
        page = browser.new_page(viewport={"width": WIDTH, "height": height})
        page.goto(address)
        page.wait_for_timeout(SETTLED)
        page.screenshot(path=str(picture))
        browser.close()
    with Image.open(picture) as taken:
        small = taken.convert("RGB").quantize(COLOURS)
    small.save(picture, optimize=True)
    print(f"{picture.name}: {picture.stat().st_size:,} bytes")


if __name__ == "__main__":
    photograph((Path(sys.argv[1]).resolve() / "report.html").as_uri(), REPORT, 1900)
    with dashboard() as place:
        photograph(place, DASHBOARD, 1080)
