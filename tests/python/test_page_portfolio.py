"""The page of many houses, and a page for each of them."""

from __future__ import annotations

import csv
import json
import random
import zipfile
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from test_page import axe_core, browser, command, opened, shared_browser

import studbay
from studbay.errors import InputError, SchemaError

__all__ = ["browser", "shared_browser"]

ROOT = Path(__file__).parents[2]
PORTFOLIO = ROOT / "demo-data" / "portfolio.csv"
HOSTILE = [
    "<script>window.ran=1</script>",
    "'\"><img src=x onerror=window.ran=1>",
    "\u202egnp.exe\u202c\u2066\u200f",
    "{{ 7 * 7 }}",
    "=cmd|' /C calc'!A0",
    "x" * 10_000,
]


@pytest.fixture(scope="module")
def scored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo portfolio, scored, with its rejects beside it."""
    file = tmp_path_factory.mktemp("scored") / "scored.csv"
    studbay.score_file(PORTFOLIO, file)
    return file


class Tables(HTMLParser):
    """The rows of the tables of a page, by the id of the section that they stand in."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.sections: list[str] = []
        self.rows: dict[str, list[list[str]]] = {}
        self.cell: list[str] | None = None
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A section, a row or a cell begins."""
        if tag == "section":
            self.sections.append(dict(attrs).get("id") or "")
        elif tag == "tr":
            self.rows.setdefault(self.sections[-1], []).append([])
        elif tag in ("td", "th"):
            self.cell = []

    def handle_endtag(self, tag: str) -> None:
        """It ends."""
        if tag == "section":
            self.sections.pop()
        elif tag in ("td", "th") and self.cell is not None:
            self.rows[self.sections[-1]][-1].append("".join(self.cell))
            self.cell = None

    def handle_data(self, data: str) -> None:
        """Text of a cell."""
        if self.cell is not None:
            self.cell.append(data)


def money(value: float) -> str:
    return f"${value:,.0f}"


def test_the_page_shows_what_overview_and_shortlist_say(scored: Path) -> None:
    page = studbay.report_portfolio_file(scored, by="county", budget=500_000)
    rows = Tables(page).rows
    summary = studbay.summarize_file(scored, "county").to_dict()
    total = summary["total"]
    assert [row[1] for row in rows["counts"][1:]] == [
        f"{total[name]:,}"
        for name in [
            "houses_scored",
            "houses_rejected",
            "houses_hold",
            "houses_check",
            "houses_clear",
        ]
    ]
    for row, name in zip(
        rows["sums"][1:4], ["net_cost", "annual_savings", "lifetime_savings"], strict=True
    ):
        every, held = total[f"{name}_sum"], total[f"{name}_on_hold"]
        assert row[1:] == [money(every), money(held), money(every - held)]
    assert rows["sums"][4][1] == f"{total['lifetime_co2e_t_sum']:,.0f}"
    assert rows["sums"][5][1] == f"{total['bags_sum']:,.0f}"
    for row, group in zip(rows["groups"][1:], summary["groups"], strict=True):
        assert row[0] == group["county"]
        assert row[1:6] == [
            f"{group[f'houses_{name}']:,}"
            for name in ["scored", "rejected", "hold", "check", "clear"]
        ]
        assert row[6:9] == [
            money(group["net_cost_sum"]),
            money(group["annual_savings_sum"]),
            f"{group['lifetime_co2e_t_sum']:,.0f}",
        ]
        assert row[9:12] == [f"{group[f'payback_years_{p}']:,.1f}" for p in ("p10", "p50", "p90")]
    assert [row[2] for row in rows["rejects"][1:]] == [
        f"{reason['rows']:,}" for reason in summary["rejected_by_reason"]
    ]
    selection = studbay.select_file(scored, 500_000).to_dict()
    listed = rows["selection"][1:51]
    for row, house in zip(listed, selection["chosen"], strict=False):
        assert row[0] == f"{house['rank']:,}"
        assert row[1:] == [
            house["house_id"],
            "check" if house["look_first"] else "clear",
            money(house["net_cost"]),
            money(house["running_cost"]),
            money(house["annual_savings"]),
            f"{house['sir']:,.2f}",
            money(house["cost_per_tonne"]),
        ]
    assert [row[1] for row in rows["selection"][52:]] == [
        f"{houses:,}" for houses in selection["left_out_by_reason"].values()
    ]
    chosen = selection["total"]
    assert (
        f"{chosen['houses']:,} houses for {money(chosen['net_cost'])}; {money(chosen['left'])} left"
        in page
    )


def test_every_house_is_in_one_bar_of_each_plot(scored: Path) -> None:
    """Counts of the bars and quantiles, against the file read by the standard library."""
    rows = Tables(studbay.report_portfolio_file(scored)).rows[""]
    with scored.open(encoding="utf-8", newline="") as file:
        table = [row for row in csv.DictReader(file) if row["readiness"]]
    plots: list[list[list[str]]] = []
    for row in rows:
        if row[0].endswith(" houses"):
            plots.append([])
        plots[-1].append(row)
    names = ["simple_payback_years", "annual_savings", "net_cost", "lifetime_co2e_kg"]
    for plot, name in zip(plots, names, strict=True):
        values = sorted(float(row[name]) for row in table if row[name])
        assert plot[0][0] == f"{len(values):,} houses"
        middle = values[len(values) // 2]
        if len(values) % 2 == 0:
            middle = (values[len(values) // 2 - 1] + middle) / 2
        shown = {
            "simple_payback_years": f"{middle:,.1f}",
            "lifetime_co2e_kg": f"{middle / 1000:,.1f}",
        }.get(name, money(middle))
        assert plot[3] == ["median", shown]
        bins = plot[7:]
        assert sum(int(row[1].replace(",", "")) for row in bins) == len(values)
        scale = 1000 if name.endswith("_kg") else 1
        for text, houses in bins:
            if " to under " not in text:
                continue
            low, high = (
                float(end.replace("$", "").replace(",", "")) for end in text.split(" to under ")
            )
            inside = [value for value in values if low * scale <= value < high * scale]
            assert len(inside) == int(houses.replace(",", "")), (name, text)


@pytest.mark.parametrize("width", [1280, 768, 375])
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_fits_and_axe_finds_nothing_serious(
    browser: Any, tmp_path: Path, scored: Path, width: int, scheme: str, language: str
) -> None:
    axe = axe_core()
    text = studbay.report_portfolio_file(
        scored, by="county", budget=500_000, language=language, currency="€ "
    )
    view = {"width": width, "height": 900}
    page = opened(browser, tmp_path, text, viewport=view, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    smallest = page.evaluate(
        "Math.min(...[...document.querySelectorAll('p,td,th,dd,dt,li')]"
        ".filter((e) => e.offsetParent).map((e) => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert smallest >= 14
    found = axe.Axe().run(page).response["violations"]
    grave = [one["id"] for one in found if one["impact"] in ("serious", "critical", "moderate")]
    assert not grave, json.dumps(found, indent=1)[:3000]
    assert page.asked == [(tmp_path / "page.html").as_uri()]
    assert page.said == []


def hostile_list(file: Path) -> None:
    """A scored list whose names of houses and groups are attacks."""
    source = file.with_name("source.csv")
    with PORTFOLIO.open(encoding="utf-8", newline="") as rows:
        table = list(csv.DictReader(rows))[:60]
    for place, row in enumerate(table):
        row["house_id"] = HOSTILE[place % len(HOSTILE)][:200]
        row["county"] = HOSTILE[place % len(HOSTILE)]
    with source.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(table[0]))
        writer.writeheader()
        writer.writerows(table)
    studbay.score_file(source, file)


def test_what_comes_from_a_list_is_text(browser: Any, tmp_path: Path) -> None:
    file = tmp_path / "scored.csv"
    hostile_list(file)
    for by in ("county", "house_id"):
        text = studbay.report_portfolio_file(
            file, by=by, budget=1e6, name=HOSTILE[0] + HOSTILE[2], date=HOSTILE[1]
        )
        page = opened(browser, tmp_path, text, viewport={"width": 375, "height": 800})
        page.mouse.move(100, 100)
        assert page.evaluate("window.ran") is None
        assert page.evaluate("document.scripts.length") == 0
        assert page.locator("img").count() == 0
        assert page.asked == [(tmp_path / "page.html").as_uri()]
        assert page.said == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 375
        assert not set(page.locator("body").inner_text()) & set("\u202e\u202c\u2066\u200f")
        assert "x" * 80 + "…" in text
        assert "x" * 81 not in text


def test_a_hundred_thousand_houses_are_one_small_page(tmp_path: Path, scored: Path) -> None:
    """The page holds sums and counts, so that it does not grow with the houses."""
    with scored.open(encoding="utf-8", newline="") as rows:
        head, *lines = rows.read().splitlines()
    file = tmp_path / "many.csv"
    draw = random.Random(7)
    with file.open("w", encoding="utf-8") as out:
        out.write(head + "\n")
        for _ in range(100_000):
            out.write(draw.choice(lines) + "\n")
    page = studbay.report_portfolio_file(file, by="county", budget=5e6)
    assert "100,000 houses read" in page
    assert len(page.encode()) < 120_000


def test_a_table_and_its_file_give_the_same_page(scored: Path) -> None:
    polars = pytest.importorskip("polars")
    table = polars.read_csv(scored, infer_schema_length=None)
    rejects = polars.read_csv(scored.with_suffix(".rejects.csv"), infer_schema_length=0)
    given = studbay.report_portfolio(table, by="town", rejects=rejects, budget=1e5, name="x")
    assert given == studbay.report_portfolio_file(scored, by="town", budget=1e5, name="x")


def test_what_gives_no_page_is_refused(scored: Path, tmp_path: Path) -> None:
    with pytest.raises(SchemaError, match="is county meant"):
        studbay.report_portfolio_file(scored, by="countyy")
    with pytest.raises(SchemaError, match="score the houses first"):
        studbay.report_portfolio_file(PORTFOLIO)
    for wrong in ({"budget": -1.0}, {"budget": float("nan")}, {"rank": "luck"}):
        with pytest.raises(InputError, match=next(iter(wrong))):
            studbay.report_portfolio_file(scored, **({"budget": 1.0} | wrong))
    with pytest.raises(InputError, match="language"):
        studbay.report_portfolio_file(scored, language="xx")
    with pytest.raises(FileNotFoundError):
        studbay.report_portfolio_file(tmp_path / "none.csv")


def test_the_command_makes_the_page_of_a_list(scored: Path, tmp_path: Path) -> None:
    out = tmp_path / "list.html"
    done = command(scored, "-o", out, "--by", "county", "--budget", "250000", "--language", "es")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert "Filling" not in out.read_text(encoding="utf-8").split("<main>")[1]
    assert command(scored, "-o", out).returncode == 2
    assert command(scored, "-o", out, "--force").returncode == 0
    house = ROOT / "demo-data" / "house.toml"
    for wrong in (
        [house, "--by", "county"],
        [scored, scored],
        [house, house],
        [house, scored, "--each"],
        [scored, "--each", "--budget", "1"],
        [scored, "--each", "-"],
    ):
        refused = command(*wrong, "-o", tmp_path / "no.html")
        assert refused.returncode == 2, wrong
        assert "Traceback" not in refused.stderr
    assert sorted(file.name for file in tmp_path.iterdir()) == ["list.html"]


# ---------------------------------------------------------------- a page for each


@pytest.fixture
def few(tmp_path: Path) -> Path:
    """The first rows of the demo portfolio, of which two are no house."""
    file = tmp_path / "few.csv"
    lines = PORTFOLIO.read_text(encoding="utf-8").splitlines(keepends=True)
    file.write_text("".join(lines[:17]), encoding="utf-8")
    return file


def test_each_row_has_a_page_or_a_reason(few: Path, tmp_path: Path) -> None:
    out = tmp_path / "pages"
    done = command(few, "--each", "-o", out)
    assert done.returncode == 1
    assert "14 pages in" in done.stderr
    assert "row 8: heating_efficiency = 67" in done.stderr
    assert "2 without a page" in done.stderr
    names = sorted(file.name for file in out.iterdir())
    assert len(names) == 15
    assert names[0] == "000001-BR-0001.html"
    assert not any(name.startswith(("000008", "000015")) for name in names)
    with few.open(encoding="utf-8", newline="") as file:
        given = list(csv.DictReader(file))
    with (out / "rejects.csv").open(encoding="utf-8", newline="") as file:
        kept = list(csv.DictReader(file))
    assert [row["row"] for row in kept] == ["8", "15"]
    for row in kept:
        source = given[int(row["row"]) - 1]
        assert {name: row[name] for name in source} == source
        assert row["faults"]
    row = {name: cell for name, cell in given[1].items() if cell}
    known = {name for f in studbay.fields() for name in (f.name_ip, f.name_si)}
    fields: dict[str, Any] = {name: cell for name, cell in row.items() if name in known}
    house = studbay.House(**fields)
    page = (out / names[1]).read_text(encoding="utf-8")
    body = studbay.report(house, live=False).split("<main>")[1].split("<footer>")[0]
    assert body in page


def test_a_zip_holds_the_same_pages(few: Path, tmp_path: Path) -> None:
    names, rejects = studbay.write_reports_file(few, tmp_path / "pages", date="1 May 2026")
    again, _ = studbay.write_reports_file(few, tmp_path / "pages.zip", date="1 May 2026")
    assert names == again
    assert len(names) == 14
    assert [row for row, _ in rejects] == [8, 15]
    with zipfile.ZipFile(tmp_path / "pages.zip") as packed:
        assert packed.testzip() is None
        assert packed.namelist() == [*names, "rejects.csv"]
        for name in packed.namelist():
            assert packed.read(name) == (tmp_path / "pages" / name).read_bytes()
    first = (tmp_path / "pages.zip").read_bytes()
    studbay.write_reports_file(few, tmp_path / "pages.zip", date="1 May 2026", force=True)
    assert (tmp_path / "pages.zip").read_bytes() == first


def test_what_is_there_is_not_replaced_unasked(few: Path, tmp_path: Path) -> None:
    for out in (tmp_path / "pages", tmp_path / "pages.zip"):
        studbay.write_reports_file(few, out)
        with pytest.raises(FileExistsError):
            studbay.write_reports_file(few, out)
        assert command(few, "--each", "-o", out).returncode == 2
        assert command(few, "--each", "-o", out, "--force").returncode == 1
    # Someone's own folder is never emptied.
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(OSError, match=r"letter\.txt"):
        studbay.write_reports_file(few, mine, force=True)
    assert (mine / "letter.txt").read_text(encoding="utf-8") == "mine"
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        "few.csv",
        "mine",
        "pages",
        "pages.zip",
    ], "no draft is left"


def test_nothing_is_left_where_it_fails(few: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.csv"
    broken.write_text(few.read_text(encoding="utf-8") + 'too,few,"cells\n', encoding="utf-8")
    for out in (tmp_path / "pages", tmp_path / "pages.zip"):
        with pytest.raises(InputError):
            studbay.write_reports_file(broken, out)
    no_house = tmp_path / "columns.csv"
    no_house.write_text("a,b\n1,2\n", encoding="utf-8")
    with pytest.raises(SchemaError, match="house_id"):
        studbay.write_reports_file(no_house, tmp_path / "pages")
    with pytest.raises(FileNotFoundError):
        studbay.write_reports_file(few, tmp_path / "no" / "pages.zip")
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        "broken.csv",
        "columns.csv",
        "few.csv",
    ]


def test_several_house_files_become_pages(tmp_path: Path) -> None:
    good = [ROOT / "demo-data" / name for name in ("house.toml", "two_family.toml")]
    bad = tmp_path / "bad.toml"
    bad.write_text("house_id = 3", encoding="utf-8")
    out = tmp_path / "pages.zip"
    done = command(*good, "--each", "-o", out)
    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(out) as packed:
        assert len(packed.namelist()) == 2
    done = command(*good, bad, "--each", "-o", tmp_path / "pages")
    assert done.returncode == 1
    assert "bad.toml" in done.stderr
    assert len(list((tmp_path / "pages").iterdir())) == 2
    done = command(bad, "--each", "-o", tmp_path / "none")
    assert done.returncode == 2
    assert not (tmp_path / "none").exists()
