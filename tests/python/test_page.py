"""Pages in a real browser: the library's figures; fit for people; nothing runs or is fetched."""

from __future__ import annotations

import importlib.util
import json
import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

import studbay
from studbay.errors import InputError

ROOT = Path(__file__).parents[2]
HOUSE = ROOT / "demo-data" / "house.toml"
#: A house whose file states options.
CHOICES = ROOT / "demo-data" / "choices.toml"

Fields = dict[str, Any]

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium() -> str:
    """The path of the browser; without one, a skip by name, and a failure where CI is set."""
    path = os.environ.get("STUDBAY_CHROMIUM") or shutil.which("chromium")
    missing = [
        name
        for name, there in [
            ("chromium", path is not None),
            ("playwright", importlib.util.find_spec("playwright") is not None),
        ]
        if not there
    ]
    if missing:
        reason = f"{' and '.join(missing)} missing: pages are not tested in a browser"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    assert path is not None
    return path


@contextmanager
def launched() -> Iterator[Any]:
    """A browser, closed at the end."""
    path = chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


@pytest.fixture(scope="module")
def shared_browser() -> Iterator[Any]:
    """One browser for the module."""
    with launched() as found:
        yield found


@pytest.fixture
def browser(shared_browser: Any) -> Iterator[Any]:
    """The browser, with nothing left open after a test."""
    yield shared_browser
    for context in shared_browser.contexts:
        context.close()


@pytest.fixture
def demo_house() -> studbay.House:
    """The invented house of the demo."""
    return studbay.House.from_file(HOUSE)


def opened(browser: Any, folder: Path, text: str, **context: Any) -> Any:
    """The page, open, with a record of what it asks for and says."""
    file = folder / "page.html"
    file.write_text(text, encoding="utf-8")
    page = browser.new_context(**context).new_page()
    page.asked = []
    page.said = []
    page.stopped = []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("requestfailed", lambda request: page.stopped.append((request.url, request.failure)))
    page.on("console", lambda message: page.said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: page.said.append(f"error: {error}"))
    page.goto(file.as_uri(), timeout=120_000)
    return page


def alive(page: Any) -> Any:
    """The page once its sliders are there."""
    # Not by a function: the policy of the page lets none be made from text.
    page.wait_for_selector("html[data-live=yes]", state="attached", timeout=60_000)
    return page


def texts(page: Any) -> dict[str, str]:
    """What the page shows under each name."""
    shown: dict[str, str] = page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll("[data-text]")]
            .filter((spot) => !spot.closest("[data-list]"))
            .map((spot) => [spot.dataset.text, spot.textContent]))"""
    )
    return shown


def move(page: Any, stops: dict[int, int]) -> None:
    """Moves sliders as a hand would: a value, and the event of it."""
    page.evaluate(
        """(stops) => {
            for (const [place, stop] of Object.entries(stops)) {
                const slider = document.getElementById(`slider-${place}`);
                slider.value = stop;
                slider.dispatchEvent(new Event("input", { bubbles: true }));
            }
        }""",
        {str(place): stop for place, stop in stops.items()},
    )


def number(text: str) -> float:
    """The number in a text."""
    found = re.search(r"[−-]?\$?[\d,]+(\.\d+)?", text)
    assert found, text
    return float(found[0].replace("$", "").replace(",", "").replace("−", "-"))


def agrees(shown: str, figure: float | None) -> bool:
    """Whether a text shows a figure to the digits that it has."""
    if figure is None:
        return shown == "none"
    digits = re.search(r"\.(\d+)", shown)
    decimals = len(digits[1]) if digits else 0
    half: float = 0.5 * 10.0**-decimals * (1 + 1e-9)
    return abs(number(shown) - figure) <= half


# ---------------------------------------------------------------- the core


def test_the_core_has_the_bits_of_the_library(
    browser: Any, tmp_path: Path, any_houses: list[Fields]
) -> None:
    """In Chromium: every figure of random houses and of the reference houses, to the bit."""
    houses = [studbay.House(**fields) for fields in any_houses] + reference_houses(400)
    wanted = [house.assess().to_dict(units="ip") for house in houses]
    page = alive(opened(browser, tmp_path, studbay.report(houses[0])))
    found = page.evaluate(CORE_FIGURES, [studbay._native._house_json(house) for house in houses])
    compared = 0
    for mine, text in zip(wanted, found, strict=True):
        theirs = json.loads(text)
        for name, value in mine.items():
            if name == "findings":
                value = ";".join(f if isinstance(f, str) else f.code for f in value)
            if isinstance(value, int | float) and not isinstance(value, bool):
                assert float(theirs[name]).hex() == float(value).hex(), name
                compared += 1
            elif name in theirs:
                assert theirs[name] == value, name
    assert compared > 10_000


CORE_FIGURES = """async (houses) => {
    const text = document.getElementById("core").textContent;
    const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    const bytes = await new Response(stream).arrayBuffer();
    const { instance } = await WebAssembly.instantiate(bytes, {});
    const core = instance.exports;
    const ask = (question, words) => {
        const sent = new TextEncoder().encode(words);
        const place = core.room(sent.length);
        new Uint8Array(core.memory.buffer, place, sent.length).set(sent);
        const length = core[question]();
        return new TextDecoder().decode(new Uint8Array(core.memory.buffer, core.answer(), length));
    };
    return houses.map((house) => ask("figures", house));
}"""


def reference_houses(most: int) -> list[studbay.House]:
    """Houses of the reference cases that can be assessed."""
    import csv

    known = {name for field in studbay.fields() for name in (field.name_ip, field.name_si) if name}
    houses = []
    with (ROOT / "tests" / "reference" / "houses.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            given: Fields = {
                name: cell for name, cell in row.items() if name in known and cell != ""
            }
            houses.append(studbay.House(**given))
            if len(houses) == most:
                break
    return houses


def test_the_page_shows_what_assess_gives_on_a_grid(
    browser: Any, tmp_path: Path, demo_house: studbay.House
) -> None:
    """Random places of all sliders: the native twin's texts, and the figures of assess."""
    page = alive(opened(browser, tmp_path, studbay.report(demo_house)))
    count = page.locator("#sliders input").count()
    assert count == 10
    lasts = [int(page.locator(f"#slider-{place}").get_attribute("max")) for place in range(count)]
    rng = random.Random(3)
    for turn in range(60):
        at = [rng.randint(0, last) for last in lasts]
        move(page, dict(enumerate(at)))
        shown = texts(page)
        twin = json.loads(studbay._native._page_shows(demo_house, json.dumps(at), "ip", "$", "en"))
        assert {name: twin["text"][name] for name in shown} == shown, turn
        figures = assessed(demo_house, shown)
        for name in ("net_cost", "annual_savings", "lifetime_savings", "npv", "sir"):
            assert agrees(shown[name], getattr(figures, name)), (name, shown[name])
        assert agrees(shown["annual_co2e_kg"], figures.annual_co2e_kg)
        payback = figures.simple_payback_years
        if payback is not None and 0 < payback < 100 and f"{payback:.1f}" != "1.0":
            assert f"{payback:,.1f} years" in shown["payback"]
    page.locator("#sliders button").click()
    page.wait_for_selector(".moved", state="hidden")
    still = json.loads(studbay._native._page_shows(demo_house, "[]", "ip", "$", "en"))
    assert texts(page)["payback"] == still["text"]["payback"]


def assessed(house: studbay.House, shown: dict[str, str]) -> studbay.Assessment:
    """The house as the sliders say, by their texts, through the ordinary door."""
    fields = json.loads(studbay._native._house_json(house))
    gaps = {"no gaps": 0, "gaps across it": 1, "gaps, air moves round it": 2}
    fields |= {
        "fuel_price": number(shown["slider_0"]),
        "installed_cost": number(shown["slider_1"]),
        "rebate": min(number(shown["slider_2"]), number(shown["slider_1"])),
        "fuel_escalation": number(shown["slider_3"]) / 100,
        "life_years": int(number(shown["slider_4"])),
        "fill_density_lb_ft3": number(shown["slider_5"]),
        "batt_thickness_in": number(shown["slider_6"]),
        "batt_missing_fraction": number(shown["slider_7"]) / 100,
        "air_gap_level": gaps[shown["slider_8"]],
        "missed_fraction": number(shown["slider_9"]) / 100,
    }
    return studbay.assess(**fields)


def test_without_script_the_page_stands_and_is_complete(
    browser: Any, tmp_path: Path, demo_house: studbay.House
) -> None:
    page = opened(browser, tmp_path, studbay.report(demo_house), java_script_enabled=False)
    assert page.locator("#sliders").is_hidden()
    for words in ("Pays back in about 6.0 years", "Likely range 5.6 to 9.8 years", "modelled"):
        assert page.get_by_text(words).first.is_visible()
    assert page.locator("#checks tbody tr").count() == 3
    assert page.locator("#wall svg[role=img]").count() == 2


def test_without_webassembly_the_page_stands_still(
    browser: Any, tmp_path: Path, demo_house: studbay.House
) -> None:
    file = tmp_path / "page.html"
    file.write_text(studbay.report(demo_house), encoding="utf-8")
    page = browser.new_page()
    page.add_init_script("delete globalThis.WebAssembly")
    page.goto(file.as_uri())
    page.wait_for_timeout(200)
    assert page.locator("#sliders").is_hidden()
    assert page.get_by_text("Pays back in about 6.0 years").is_visible()


# ---------------------------------------------------------------- fit for people


@pytest.mark.parametrize("width", [768, 375])
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_fits_and_axe_finds_nothing_serious(
    browser: Any,
    tmp_path: Path,
    demo_house: studbay.House,
    width: int,
    scheme: str,
    language: str,
) -> None:
    axe = axe_core()
    text = studbay.report(held(demo_house), language=language, units="si")
    page = alive(
        opened(
            browser,
            tmp_path,
            text,
            viewport={"width": width, "height": 900},
            color_scheme=scheme,
        )
    )
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    smallest = page.evaluate(
        "Math.min(...[...document.querySelectorAll('p,td,th,dd,dt,li')]"
        ".filter((e) => e.offsetParent).map((e) => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert smallest >= 14
    found = axe.Axe().run(page).response["violations"]
    grave = [one["id"] for one in found if one["impact"] in ("serious", "critical", "moderate")]
    assert not grave, json.dumps(found, indent=1)[:3000]


def axe_core() -> Any:
    """axe, which finds faults of access; missing, as for the browser."""
    if importlib.util.find_spec("axe_playwright_python") is None:
        reason = "axe-playwright-python missing: access is not tested"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    from axe_playwright_python import sync_playwright

    return sync_playwright


def held(house: studbay.House) -> studbay.House:
    """The house with a hold."""
    fields = json.loads(studbay._native._house_json(house))
    return studbay.House(**(fields | {"knob_and_tube": "yes", "moisture_problem": "yes"}))


def test_a_hold_fills_the_head(browser: Any, tmp_path: Path, demo_house: studbay.House) -> None:
    page = opened(
        browser,
        tmp_path,
        studbay.report(held(demo_house)),
        viewport={"width": 768, "height": 1000},
    )
    box = page.locator(".head.hold").bounding_box()
    assert box["height"] >= 400
    assert box["y"] < 300
    text = page.locator("main").inner_text()
    places = [text.index(words) for words in ("HOLD", "licensed electrician", "Pays back")]
    assert places == sorted(places)
    assert "no: on hold" in text


def test_keyboard_moves_a_slider(browser: Any, tmp_path: Path, demo_house: studbay.House) -> None:
    page = alive(opened(browser, tmp_path, studbay.report(demo_house)))
    page.locator("#slider-0").focus()
    before = texts(page)["annual_savings"]
    page.keyboard.press("ArrowRight")
    assert texts(page)["annual_savings"] != before
    assert page.locator("#slider-0").get_attribute("aria-valuetext") == texts(page)["slider_0"]
    assert page.locator(".moved").is_visible()
    assert page.locator("#sliders input").count() == page.locator("#sliders label").count()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_one_wall_prints_on_two_sheets(
    browser: Any, tmp_path: Path, demo_house: studbay.House, paper: str
) -> None:
    for house in (demo_house, held(demo_house), studbay.House.from_file(CHOICES)):
        page = alive(opened(browser, tmp_path, studbay.report(house, date="25 November 2026")))
        pdf = page.pdf(format=paper)
        assert len(re.findall(rb"/Type\s*/Page[^s]", pdf)) == 2
        page.close()


def test_options_that_a_file_states_are_on_the_page_and_follow_the_sliders(
    browser: Any, tmp_path: Path
) -> None:
    house = studbay.House.from_file(CHOICES)
    page = alive(opened(browser, tmp_path, studbay.report(house)))
    shown = texts(page)
    rows = {row.name: row for row in studbay.compare_options(house).rows}
    columns = ["fill over the batt", "fill, denser and with care", "batt out, then fill"]
    for column, name in enumerate(columns, start=1):
        assert shown[f"option_{column}"] == name
        assert shown[f"option_pay_{column}"] == f"${rows[name].net_cost:,.0f}"
        assert agrees(shown[f"option_year_{column}"], rows[name].annual_savings)
    page.locator("#slider-0").focus()
    page.keyboard.press("ArrowRight")
    assert all(texts(page)[f"option_year_{c}"] != shown[f"option_year_{c}"] for c in (1, 2, 3))


def test_an_option_with_a_hostile_name_is_text(browser: Any, tmp_path: Path) -> None:
    text = CHOICES.read_text(encoding="utf-8").replace(
        'name = "fill over the batt"', "name = '<img src=x onerror=window.ran=1></script>'"
    )
    page = alive(opened(browser, tmp_path, studbay.report(studbay.House.from_toml(text))))
    assert "<img" in texts(page)["option_1"]
    assert page.evaluate("window.ran") is None


# ---------------------------------------------------------------- nothing runs, nothing is fetched

HOSTILE = [
    "<script>window.ran=1</script>",
    '"><img src=x onerror="window.ran=1">',
    "'onmouseover='window.ran=1",
    "</script><script>window.ran=1</script>",
    "\u202egnp.exe\u202c\u2066\u200f",
    "{{ 7 * 7 }}{% raw %}",
    "javascript:window.ran=1",
    "<svg onload=window.ran=1>",
    "<!--<script>",
    "]]>&lt;b&gt;",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_what_comes_from_a_file_is_text(browser: Any, tmp_path: Path, text: str) -> None:
    house = studbay.House(
        house_id=text,
        heating_degree_days_f=5600,
        heating_efficiency=0.8,
        fuel="natural_gas",
        fuel_price=1.5,
        installed_cost=2400,
        surfaces=[
            {"area_ft2": 900, "name": text, "layers": [{"r": 1.0, "name": text * 200}, 0.4]},
            {"area_ft2": 90, "name": text, "kind": "floor", "layers": [{"r": 1, "name": text}]},
        ],
    )
    page = alive(
        opened(
            browser,
            tmp_path,
            studbay.report(house, currency=text[:12], date=text),
            viewport={"width": 375, "height": 800},
        )
    )
    move(page, {0: 3, 5: 2})
    page.mouse.move(100, 100)
    assert page.evaluate("window.ran") is None
    assert page.asked == [(tmp_path / "page.html").as_uri()]
    assert page.said == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 375
    shown = page.locator("bdi.id").first.text_content()
    assert shown == re.sub("[\u200b-\u200f\u202a-\u202e\u2066-\u2069]", "\ufffd", text)
    assert page.evaluate("document.scripts.length") == 3
    assert page.locator("img").count() == 0


def test_the_policy_stops_what_a_template_would_let_run(
    browser: Any, tmp_path: Path, demo_house: studbay.House
) -> None:
    """Even a letterhead that is careless runs nothing and fetches nothing."""
    careless = (
        "<script>window.ran = 1</script>"
        "<img src='https://example.org/x.png' onerror='window.ran=1'>"
        "<link rel=stylesheet href='https://example.org/x.css'><p>Ours</p>"
    )
    page = alive(
        opened(
            browser, tmp_path, studbay.report(demo_house, templates={"letterhead.html": careless})
        )
    )
    assert page.get_by_text("Ours").is_visible()
    assert page.evaluate("window.ran") is None
    assert (
        page.evaluate("fetch('https://example.org/').then(() => 'fetched', () => 'refused')")
        == "refused"
    )
    # The browser tells of what it stopped; each was stopped by the policy.
    outside = [url for url in page.asked if not url.startswith("file:")]
    assert set(page.stopped) == {(url, "csp") for url in outside}


# ---------------------------------------------------------------- without a browser


def test_every_page_is_under_600_kilobytes(any_houses: list[Fields]) -> None:
    for fields in any_houses[:20]:
        for language in ("en", "es"):
            page = studbay.report(studbay.House(**fields), language=language)
            assert len(page.encode()) < 600_000


def test_options_that_give_no_page_are_refused(demo_house: studbay.House) -> None:
    refused: list[tuple[str, Fields]] = [
        ("units", {"units": "metric"}),
        ("language", {"language": "xx"}),
        ("currency", {"currency": "thirteen long"}),
        ("words", {"words": {"titel": "x"}}),
        ("templates", {"templates": {"other.html": ""}}),
        ("templates", {"templates": {"page.html": "{% if %}"}}),
    ]
    for field, options in refused:
        with pytest.raises(InputError) as caught:
            studbay.report(demo_house, **options)
        assert caught.value.issues[0].field == field


def test_a_programme_has_its_own_words_and_letterhead(demo_house: studbay.House) -> None:
    page = studbay.report(
        demo_house,
        words={"title": "Warm <walls>"},
        templates={"letterhead.html": "<p>{{ w.title }} for {{ house_id }}</p>"},
        live=False,
    )
    assert "<p>Warm &lt;walls&gt; for harrow-mills-14</p>" in page
    assert "<script" not in page
    assert len(page) < 80_000


def command(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """The command line in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "studbay.cli", "report", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


def test_the_command_writes_a_page_and_replaces_none(tmp_path: Path) -> None:
    out = tmp_path / "page.html"
    done = command(HOUSE, "-o", out)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert "Pays back in about 6.0 years" in out.read_text(encoding="utf-8")
    assert [file.name for file in tmp_path.iterdir()] == ["page.html"]
    again = command(HOUSE, "-o", out)
    assert again.returncode == 2
    assert "--force" in again.stderr
    assert command(HOUSE, "-o", out, "--force", "--still", "--language", "es").returncode == 0
    assert "Se paga en unos 6.0 años" in out.read_text(encoding="utf-8")
    missing = command(tmp_path / "none.toml", "-o", tmp_path / "other.html")
    assert missing.returncode == 2
    assert "Traceback" not in missing.stderr
    nowhere = command(HOUSE, "-o", tmp_path / "no" / "page.html")
    assert nowhere.returncode == 2
    assert "Traceback" not in nowhere.stderr


def test_many_pages_go_into_a_new_folder(tmp_path: Path, any_houses: list[Fields]) -> None:
    houses = [studbay.House(**fields) for fields in any_houses[:30]]
    folder = tmp_path / "pages"
    names = studbay.write_reports(houses, folder, date="1 May 2026")
    assert len(set(names)) == 30
    assert sorted(names) == sorted(file.name for file in folder.iterdir()) == names
    for name, house in zip(names, houses, strict=True):
        page = (folder / name).read_text(encoding="utf-8")
        assert page == studbay.report(house, date="1 May 2026", live=False)
    with pytest.raises(FileExistsError):
        studbay.write_reports(houses, folder)
    with pytest.raises(FileNotFoundError):
        studbay.write_reports(houses, tmp_path / "no" / "pages")
    assert [file.name for file in tmp_path.iterdir()] == ["pages"], "no draft is left"


NODE = """
import { readFileSync } from "node:fs";
const [module, file] = process.argv.slice(2);
const { instance } = await WebAssembly.instantiate(readFileSync(module), {});
const core = instance.exports;
const answers = JSON.parse(readFileSync(file, "utf8")).map((house) => {
    const sent = new TextEncoder().encode(house);
    const place = core.room(sent.length);
    new Uint8Array(core.memory.buffer, place, sent.length).set(sent);
    const length = core.figures();
    return new TextDecoder().decode(new Uint8Array(core.memory.buffer, core.answer(), length));
});
console.log(JSON.stringify(answers));
"""


@pytest.mark.skipif(shutil.which("node") is None, reason="node is missing")
def test_the_core_has_the_bits_of_the_library_in_node(tmp_path: Path) -> None:
    """Every house of the reference cases, in the other engine's own door."""
    houses = reference_houses(1_000_000)
    script, asked = tmp_path / "ask.mjs", tmp_path / "houses.json"
    script.write_text(NODE, encoding="utf-8")
    texts = [studbay._native._house_json(house) for house in houses]
    asked.write_text(json.dumps(texts), encoding="utf-8")
    core = ROOT / "src" / "page" / "core.wasm"
    done = subprocess.run(
        ["node", script, core, asked], capture_output=True, text=True, check=True, timeout=120
    )
    compared = 0
    for house, answer in zip(houses, json.loads(done.stdout), strict=True):
        theirs = json.loads(answer)
        for name, value in house.assess().to_dict(units="ip").items():
            if isinstance(value, float):
                assert float(theirs[name]).hex() == value.hex(), (house.house_id, name)
                compared += 1
    assert compared > 10 * len(houses)
