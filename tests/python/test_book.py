"""The method book: its code runs, its names exist, its examples give the errors they stand for."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

import studbay

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
BLOCK = re.compile(r"^```python\n(.*?)^```", re.DOTALL | re.MULTILINE)


def blocks(page: str) -> list[str]:
    found = BLOCK.findall((DOCS / page).read_text(encoding="utf-8"))
    assert found
    return found


def documented() -> list[object]:
    """Every public function, class and method."""
    items: list[object] = []
    for home in (studbay, studbay.climate, studbay.finance, studbay.lending):
        public = [getattr(home, name) for name in dir(home) if not name.startswith("_")]
        for item in public:
            items.append(item)
            if isinstance(item, type):
                items += [part for name, part in vars(item).items() if not name.startswith("_")]
    return [item for item in items if ">>>" in (getattr(item, "__doc__", None) or "")]


def test_every_example_in_a_docstring_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
    found = documented()
    assert len(found) >= 4
    for item in found:
        text = item.__doc__ or ""
        test = doctest.DocTestParser().get_doctest(text, {"studbay": studbay}, str(item), None, 0)
        report: list[str] = []
        failed = doctest.DocTestRunner(optionflags=flags).run(test, out=report.append).failed
        assert failed == 0, "".join(report)


@pytest.mark.parametrize("code", [*blocks("RECIPES.md"), *blocks("START.md")])
def test_recipes_run(code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    # Globals of their own, as in a script: DuckDB looks for names in the frame that calls it.
    exec(compile(code, "recipe", "exec"), {"__name__": "recipe"})


DEMO = (ROOT / "demo-data" / "house.toml").read_text(encoding="utf-8")


def put(line: str) -> str:
    """The demo house with one line put in the place of its own."""
    key = line.split("=")[0].strip()
    return "\n".join(
        [line, *(old for old in DEMO.splitlines() if old.split("=")[0].strip() != key)]
    )


@pytest.mark.parametrize(
    ("code", "file"),
    [
        ("missing", DEMO.replace("wall_area_ft2", "# wall_area_ft2")),
        ("unknown_name", put("fuel_prise = 1.6")),
        ("misplaced", DEMO + '\n[[surfaces]]\nkind = "wall"\narea_ft2 = 900\nfuel_price = 3\n'),
        ("wrong_type", put("wall_area_ft2 = [1200, 300]")),
        ("not_a_number", put('wall_area_ft2 = "about 1200"')),
        ("not_text", put("house_id = true")),
        ("out_of_range", put("framing_fraction = 25")),
        ("not_a_choice", put('fuel = "gas"')),
        ("given_twice", put("wall_area_m2 = 170")),
        ("given_twice", put("series_r = 3.0")),
        ("conflict", DEMO + "\n[ranges]\ncfm50_before = [2000, 3000]\n"),
        ("refused", put('framing_material = "metal"')),
    ],
)
def test_the_examples_of_the_error_reference_give_their_code(code: str, file: str) -> None:
    with pytest.raises(studbay.errors.InputError) as refused:
        studbay.House.from_toml(file)
    assert refused.value.issues[0].code == code
    assert f"| `{code}` |" in (DOCS / "ERRORS.md").read_text(encoding="utf-8")


def test_a_line_that_breaks_off_is_unreadable(tmp_path: Path) -> None:
    houses = tmp_path / "houses.jsonl"
    houses.write_text('{"house_id": "a",\n', encoding="utf-8")
    studbay.score_file(houses, tmp_path / "scored.jsonl")
    rejects = (tmp_path / "scored.rejects.jsonl").read_text(encoding="utf-8")
    assert '"code":"unreadable"' in rejects


def test_the_glossary_names_what_exists() -> None:
    known = {"natural_gas"}
    for field in studbay.fields():
        known |= {field.name_ip, field.name_si or ""}
    for result in studbay.results():
        known |= {result.name_ip, result.name_si or ""}
    text = (DOCS / "GLOSSARY.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`([^`]+)`", text))
    assert len(named) > 40
    assert named <= known, sorted(named - known)


def test_the_api_page_names_what_exists() -> None:
    text = (DOCS / "API.md").read_text(encoding="utf-8").split("## Rust")[0]
    named = set(re.findall(r"`studbay\.(\w+)", text))
    assert len(named) > 25
    missing = [name for name in named if not hasattr(studbay, name) and name != "errors"]
    assert not missing, missing
