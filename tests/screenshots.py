"""Pictures of the README, taken by headless Chromium: ``python tests/screenshots.py RUN``, with the ``test`` extra.

RUN is the folder of a finished run of the shipped tour; the picture goes beside its study.
"""

from __future__ import annotations

import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright
from test_report_browser import QUIET, browser_path

PICTURE = Path(__file__).parents[1] / "studies" / "outer_belt_ice_tour.png"
WIDTH, HEIGHT = 1200, 1900
COLOURS = 200
SETTLED = 3500  # ms


def photograph(page_file: Path, picture: Path) -> None:
    """Take the top of a page, with few colours so that the file stays small."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=list(QUIET))
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
        page.goto(page_file.resolve().as_uri())
        page.wait_for_timeout(SETTLED)
        page.screenshot(path=str(picture))
        browser.close()
    with Image.open(picture) as taken:
        small = taken.convert("RGB").quantize(COLOURS)
    small.save(picture, optimize=True)


if __name__ == "__main__":
    photograph(Path(sys.argv[1]) / "report.html", PICTURE)
    print(f"{PICTURE.name}: {PICTURE.stat().st_size:,} bytes")
