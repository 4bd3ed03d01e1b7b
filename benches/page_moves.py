"""From a slider's move to the last figure in its place, in a headless Chromium.

    python benches/page_moves.py [HOUSE]

Prints the middle, the 57th and the worst of 60 moves in milliseconds, once the page has warmed up;
a frame has 16. Needs playwright and a Chromium.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

import studbay

CHROMIUM = "/usr/bin/chromium"
OPTIONS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
MOVES = """() => {
    const slider = document.getElementById("slider-0");
    const times = [];
    for (let turn = 0; turn < 60; turn += 1) {
        slider.value = (turn * 7) % Number(slider.max);
        const start = performance.now();
        slider.dispatchEvent(new Event("input", { bubbles: true }));
        times.push(performance.now() - start);
    }
    return times.sort((a, b) => a - b);
}"""


def main() -> None:
    """Opens the page of a house and moves its first slider."""
    house = Path(sys.argv[1] if len(sys.argv) > 1 else "demo-data/house.toml")
    text = studbay.report(studbay.House.from_file(house))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tools:
        file = Path(folder) / "page.html"
        file.write_text(text, encoding="utf-8")
        browser = tools.chromium.launch(executable_path=CHROMIUM, args=OPTIONS)
        page = browser.new_page()
        page.goto(file.as_uri())
        page.wait_for_selector("html[data-warm]", state="attached")
        times = page.evaluate(MOVES)
        browser.close()
    middle = times[len(times) // 2]
    print(
        f"{len(text.encode()) // 1000} kB, {middle:.1f} ms in the middle, "
        f"{times[56]:.1f} for 57 of 60, {times[-1]:.1f} at worst"
    )


if __name__ == "__main__":
    main()
