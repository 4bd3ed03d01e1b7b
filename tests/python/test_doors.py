"""One house through every door: the same bits."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

import studbay
from studbay import House

Fields = dict[str, Any]


def toml_value(value: Any) -> str:
    """A value of a TOML file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, list):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {toml_value(item)}" for key, item in value.items()) + "}"
    return repr(value)


def toml(fields: Fields) -> str:
    """The fields as a person writes a house file: surfaces in tables of their own."""
    lines = [f"{key} = {toml_value(value)}" for key, value in fields.items() if key != "surfaces"]
    for surface in fields.get("surfaces", []):
        lines += ["", "[[surfaces]]"]
        lines += [f"{key} = {toml_value(value)}" for key, value in surface.items()]
    return "\n".join(lines) + "\n"


def test_keywords_files_and_texts_give_the_same_bits(
    any_houses: list[Fields], tmp_path: Path
) -> None:
    for place, fields in enumerate(any_houses):
        written = {"toml": toml(fields), "json": json.dumps(fields, indent=2, ensure_ascii=False)}
        house = House(**fields)
        figures = studbay.assess(**fields)
        others = [House.from_toml(written["toml"]), House.from_json(written["json"])]
        for ending, text in written.items():
            path = tmp_path / f"{place}.{ending}"
            path.write_text(text, encoding="utf-8")
            others.append(House.from_file(path))
        assert house.assess() == figures
        for other in others:
            assert other == house
            assert other.assess().to_dict() == figures.to_dict()
            assert other.assess().to_dict("si") == figures.to_dict("si")
            assert other.explain().to_dicts() == house.explain().to_dicts()


def test_both_roads_of_the_keywords_give_the_same_bits(flat_houses: list[Fields]) -> None:
    for fields in flat_houses:
        numbers = {k: v for k, v in fields.items() if isinstance(v, float)}
        house = House(**fields)
        assert House(**fields | {k: np.float64(v) for k, v in numbers.items()}) == house
        assert House(**fields | {k: repr(v) for k, v in numbers.items()}) == house


def test_the_order_of_keywords_does_not_matter(any_houses: list[Fields]) -> None:
    for fields in any_houses[:50]:
        assert House(**dict(reversed(fields.items()))) == House(**fields)
