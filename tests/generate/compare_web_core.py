"""Builds the core of the pages anew and compares it with the one in the repository.

Two compilers need not write the same bytes, so bytes are not compared: both modules answer for the
same houses and the same places of all sliders, and every answer must be the same text, that is the
same bits. Run by `make check-web-core`; both run in the browser that tests the pages.
"""

from __future__ import annotations

import base64
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import studbay
from studbay import _native

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "src" / "page" / "core.wasm"

ANSWERS = """async ([module, asked]) => {
    const bytes = Uint8Array.from(atob(module), (letter) => letter.charCodeAt(0));
    const { instance } = await WebAssembly.instantiate(bytes, {});
    const core = instance.exports;
    const ask = (question, words) => {
        const sent = new TextEncoder().encode(words);
        const place = core.room(sent.length);
        new Uint8Array(core.memory.buffer, place, sent.length).set(sent);
        const length = core[question]();
        return new TextDecoder().decode(new Uint8Array(core.memory.buffer, core.answer(), length));
    };
    return asked.map(([question, words]) => ask(question, words));
}"""


def questions() -> list[tuple[str, str]]:
    """The demo house with its sliders at random places, and random houses."""
    house = studbay.House.from_file(ROOT / "demo-data" / "house.toml")
    page = studbay.report(house)
    beginning = page.split('id="beginning">', 1)[1].split("</script>", 1)[0]
    asked = [("begin", beginning), ("show", "[]")]
    rng = random.Random(5)
    for _ in range(200):
        asked.append(("show", json.dumps([rng.randint(0, 40) for _ in range(10)])))
    fields = json.loads(_native._house_json(house))
    for _ in range(200):
        other = fields | {
            "fuel_price": rng.uniform(0, 9),
            "batt_thickness_in": rng.uniform(0, 3.75),
            "life_years": rng.randint(1, 100),
            "discount_rate": rng.uniform(-0.1, 0.3),
            "fuel_escalation": rng.uniform(-0.1, 0.2),
            "elevation_ft": rng.uniform(-1000, 9000),
        }
        asked.append(("figures", json.dumps(other)))
    return asked


def main() -> int:
    """Compares; the exit status says whether both say the same."""
    with tempfile.TemporaryDirectory() as folder:
        fresh = Path(folder) / "core.wasm"
        built = subprocess.run([ROOT / ".ci" / "web-core", fresh], check=False)
        modules = [KEPT, fresh] if built.returncode == 0 else [KEPT]
        if built.returncode != 0 and os.environ.get("WEB_CORE_REQUIRED"):
            return 1
        from playwright.sync_api import sync_playwright

        asked = questions()
        with sync_playwright() as play:
            browser = play.chromium.launch(
                executable_path=os.environ.get("STUDBAY_CHROMIUM") or shutil.which("chromium"),
                args=["--no-sandbox", "--disable-gpu"],
            )
            page = browser.new_page()
            answers = [
                page.evaluate(ANSWERS, [base64.b64encode(module.read_bytes()).decode(), asked])
                for module in modules
            ]
            browser.close()
    house = studbay.House.from_file(ROOT / "demo-data" / "house.toml")
    wrong = [
        question
        for question, answer in zip(asked, answers[0], strict=True)
        if question[0] == "show"
        and answer != _native._page_shows(house, question[1], "ip", "$", "en")
    ]
    if wrong or any(other != answers[0] for other in answers[1:]):
        print("the core in the repository is not that of these sources: run make web-core")
        return 1
    print(f"{len(modules)} modules, {len(asked)} questions: the same answers")
    return 0


if __name__ == "__main__":
    sys.exit(main())
