"""JSON Lines: a house a line, the same bits, nothing lost."""

from __future__ import annotations

import gzip
import importlib.util
import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import studbay
from studbay.errors import InputError

Fields = dict[str, Any]


def _neighbour(name: str) -> ModuleType:
    """A file beside this one."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


conftest: Any = _neighbour("conftest")


def lines(path: Path) -> list[Fields]:
    """The objects of a file."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def test_houses_have_the_bits_of_the_scalar_door(tmp_path: Path) -> None:
    houses = list(conftest.both(3_000, 12))
    given = tmp_path / "houses.jsonl"
    written = [json.dumps({"county": "Elm"} | house | {"note": [1, None]}) for house in houses]
    given.write_text("\n".join(written), encoding="utf-8")
    for units in ("ip", "si"):
        out = tmp_path / f"{units}.jsonl"
        report = studbay.score_file(given, out, units=units, threads=2)
        assert report.counts.read == report.counts.scored == 3_000
        assert report.rejects is None
        for house, got in zip(houses, lines(out), strict=True):
            wanted = studbay.assess(**house).to_dict(units)
            name = wanted.pop("house_id")
            assert got == {"house_id": name, "county": "Elm", "note": [1, None]} | wanted
    one = tmp_path / "one.jsonl"
    studbay.score_file(given, one, threads=1)
    assert one.read_bytes() == (tmp_path / "ip.jsonl").read_bytes()


def test_what_cannot_be_scored_goes_apart(tmp_path: Path) -> None:
    good = json.dumps(next(conftest.both(1, 13)))
    bad = '{"house_id": "x", "wall_area_ft2": -1.0, "county": "Elm"}'
    long = '{"house_id": "' + "y" * 3_000_000 + '"}'
    given = tmp_path / "houses.jsonl.gz"
    text = "\n".join([good, "", '{"house_id": ', bad, long, good])
    given.write_bytes(gzip.compress(text.encode()))
    out = tmp_path / "out.jsonl.zst"
    report = studbay.score_file(given, out)
    assert (report.counts.read, report.counts.scored, report.counts.rejected) == (5, 2, 3)
    assert report.rejects is not None
    assert Path(report.rejects) == tmp_path / "out.rejects.jsonl"
    rejects = lines(Path(report.rejects))
    assert [reject["line"] for reject in rejects] == [3, 4, 5]
    assert rejects[0]["text"] == '{"house_id": '
    assert rejects[0]["faults"][0]["code"] == "unreadable"
    assert rejects[1]["house"] == json.loads(bad)
    assert rejects[1]["faults"][0] == {
        "code": "out_of_range",
        "field": "wall_area_ft2",
        "value": "-1",
        "reason": "allowed is above 0 to 1000000 ft²",
    }
    assert "the line has 3000016 bytes" in rejects[2]["faults"][0]["reason"]
    assert len(rejects[2]["text"]) < 300
    assert [reject[:2] for reject in report.first_rejects] == [(2, 3), (3, 4), (4, 5)]


def test_files_that_will_not_do(tmp_path: Path) -> None:
    given = tmp_path / "houses.jsonl"
    given.write_text("{}\n", encoding="utf-8")
    out = tmp_path / "out.jsonl"
    with pytest.raises(InputError, match="JSON Lines go to JSON Lines"):
        studbay.score_file(given, tmp_path / "out.csv")
    with pytest.raises(FileNotFoundError):
        studbay.score_file(tmp_path / "none.jsonl", out)
    assert studbay.score_file(given, out).counts.rejected == 1
    with pytest.raises(FileExistsError):
        studbay.score_file(given, out)
    with pytest.raises(InputError, match="also the input"):
        studbay.score_file(given, given, force=True)
    packed = tmp_path / "cut.jsonl.gz"
    packed.write_bytes(gzip.compress(b"{}\n" * 10_000)[:-20])
    with pytest.raises(InputError, match="cut short"):
        studbay.score_file(packed, tmp_path / "cut.out.jsonl")
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "cut.jsonl.gz",
        "houses.jsonl",
        "out.jsonl",
        "out.rejects.jsonl",
    ]
