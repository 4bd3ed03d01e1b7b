"""Writes the parts of the type information that come from the registries.

`python/studbay/typing.py` wholly; in `python/studbay/_native.pyi` the results of `Assessment` and
every docstring, while its signatures are kept by hand. Run it with the package built from the same
tree, after a change of a field, a result or a docstring:

    python tests/generate/make_stubs.py

With `--check` it writes nothing and says by its exit status whether the files are up to date.
"""

from __future__ import annotations

import ast
import inspect
import subprocess
import sys
import textwrap
from pathlib import Path

import studbay
from studbay import _native

PACKAGE = Path(__file__).parents[2] / "python" / "studbay"
STUB, TYPES = PACKAGE / "_native.pyi", PACKAGE / "typing.py"
WIDTH = 100

HEAD = '''"""What the keywords of a house may be: for annotations of your own code.

Written by tests/generate/make_stubs.py from the field registry.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol, SupportsFloat, SupportsIndex, TypeAlias, TypedDict

__all__ = [
    "Answer",
    "ArrowArray",
    "ArrowStream",
    "ArrowTable",
    "HouseFields",
    "LayerFields",
    "Number",
    "SurfaceFields",
    "Text",
    "Word",
]

#: A number, or text that is one; numpy and decimal numbers too.
Number: TypeAlias = SupportsFloat | SupportsIndex | str | None
#: A word of the field's list.
Word: TypeAlias = str | None
#: yes, no or unknown.
Answer: TypeAlias = str | bool | None
#: Free text.
Text: TypeAlias = str | int | None


class ArrowStream(Protocol):
    """Offers its columns as an Arrow stream, by the PyCapsule interface."""

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        """A PyCapsule that holds an ArrowArrayStream."""


class ArrowArray(Protocol):
    """Offers its columns as one Arrow array of structs, by the PyCapsule interface."""

    def __arrow_c_array__(self, requested_schema: object | None = None) -> tuple[object, object]:
        """PyCapsules that hold an ArrowSchema and an ArrowArray."""


#: A table: a DataFrame of pandas or polars, a relation of duckdb, a Table of pyarrow and so on.
ArrowTable: TypeAlias = ArrowStream | ArrowArray
'''

LAYER = {
    "name": ("Text", "Your own name for the layer."),
    "material": ("Word", "A key of the materials table."),
    "r": ("Number", "Its resistance, h·ft²·°F/Btu."),
    "rsi": ("Number", "Its resistance, m²K/W."),
    "thickness_in": ("Number", "Its thickness, in; with a resistivity."),
    "thickness_mm": ("Number", "Its thickness, mm; with a conductivity."),
    "r_per_in": ("Number", "Its resistivity, h·ft²·°F/Btu per in."),
    "k_w_mk": ("Number", "Its conductivity, W/mK."),
}


SITE = [
    (
        "job",
        "Mapping[str, object] | None",
        "How the job is to be done: access, fill_by, stud_spacing_in, wall_height_ft, "
        "blocking_rows, spare_fraction, rates, and surfaces with their own.",
    ),
    (
        "clearances",
        "Sequence[Mapping[str, object]] | None",
        "Looks on record: finding, surface, answer, cleared_by (a role), date, evidence.",
    ),
    ("survey", "Mapping[str, object] | None", "The survey; its date is read here."),
]


def paragraph(text: str, indent: int) -> str:
    """The text as a docstring."""
    margin = " " * indent
    if indent + len(text) + 6 <= WIDTH:
        return f'{margin}"""{text}"""\n'
    lines = textwrap.wrap(text, WIDTH - indent - 3, break_on_hyphens=False)
    return f'{margin}"""' + f"\n{margin}".join(lines) + f'\n{margin}"""\n'


def type_of(field: studbay.Field) -> str:
    """The alias that the field is annotated with."""
    if field.kind == "choice":
        return "Answer" if set(field.choices) == {"yes", "no", "unknown"} else "Word"
    return "Text" if field.kind == "text" else "Number"


def entries(field: studbay.Field) -> list[tuple[str, str, str]]:
    """Name, type and text of the field, in each unit system that has its own name."""
    names = [(field.name_ip, field.range_ip, field.default)]
    if field.name_si:
        names.append((field.name_si, field.range_si, field.default_si))
    described = []
    for name, allowed, default in names:
        when = "Required" if field.required else f"Left out: {default}"
        text = f"{field.help} Allowed: {allowed}. {when}."
        described.append((name, type_of(field), text))
    return described


def typed_dict(name: str, text: str, items: list[tuple[str, str, str]]) -> str:
    """A TypedDict in which every key may be left out."""
    out = f"\n\nclass {name}(TypedDict, total=False):\n{paragraph(text, 4)}\n"
    return out + "".join(f"    {key}: {kind}\n{paragraph(help_, 4)}" for key, kind, help_ in items)


def types() -> str:
    """The whole of typing.py."""
    flat, surface = (
        [entry for field in studbay.fields() if place in field.where for entry in entries(field)]
        for place in ("flat", "surface")
    )
    layer = [(name, kind, text) for name, (kind, text) in LAYER.items()]
    layers = (
        "layers",
        "Sequence[LayerFields | Mapping[str, object] | Number]",
        "Everything outside the cavity, outside first, without films: each a table of named "
        "values, a key of the materials table, or a resistance in h·ft²·°F/Btu.",
    )
    ranges = (
        "ranges",
        "Mapping[str, object] | None",
        "How far fields may be off, for `studbay.doubt`: under each name `[low, high]`, "
        "`[low, likely, high]`, or a table with `distribution` and its numbers, in the unit of the "
        "name.",
    )
    surfaces = (
        "surfaces",
        "Sequence[SurfaceFields | Mapping[str, object]] | None",
        "Surfaces, instead of the one wall of a flat house.",
    )
    tables = "Sequence[Mapping[str, object]] | None"
    beside = [
        ("options", tables, "What could be done: see `studbay.compare_options`."),
        ("loans", tables, "Loans on offer: see `studbay.lending.ways_to_pay`."),
        ("incentives", tables, "Money from programmes: see `studbay.lending.ways_to_pay`."),
    ]
    return (
        HEAD
        + typed_dict("LayerFields", "A layer outside the cavity.", layer)
        + typed_dict(
            "SurfaceFields", "A surface of a house with several.", [*surface, layers, ranges]
        )
        + typed_dict(
            "HouseFields", "The keywords of a house.", [*flat, surfaces, *beside, *SITE, ranges]
        )
    )


def result_type(result: studbay.Result) -> str:
    """The help text of a result says when there is none."""
    if result.name_ip == "readiness":
        return "Literal['hold', 'check', 'clear']"
    return "float | None" if "none" in result.help else "float"


def result_properties() -> dict[str, str]:
    """Every result of an assessment with its type; `findings` has more to it."""
    return {
        name: result_type(result)
        for result in studbay.results()
        if result.name_ip != "findings"
        for name in (result.name_ip, result.name_si)
        if name
    }


def documented(node: ast.ClassDef | ast.FunctionDef, item: object) -> None:
    """Gives the node the docstring of the thing itself."""
    text = inspect.cleandoc(getattr(item, "__doc__", None) or "")
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    body = [line for line in body if ast.unparse(line) != "..."]
    if text and not node.name.startswith("__"):
        indented = text.replace("\n", "\n" + " " * (node.col_offset + 4))
        last = "\n" + " " * (node.col_offset + 4) if "\n" in text else ""
        body.insert(0, ast.Expr(ast.Constant(indented + last)))
    node.body = body or [ast.Expr(ast.Constant(...))]


def is_overload(node: ast.stmt) -> bool:
    """Whether a function is one of several signatures."""
    return isinstance(node, ast.FunctionDef) and any(
        ast.unparse(mark) == "overload" for mark in node.decorator_list
    )


def stub(old: str) -> str:
    """The stub with its generated parts made new."""
    tree = ast.parse(old)
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            documented(node, getattr(_native, node.name))
        if not isinstance(node, ast.ClassDef):
            continue
        own = getattr(_native, node.name)
        documented(node, own)
        if node.name == "Assessment":
            results = result_properties()
            text = "".join(
                f"    @property\n    def {name}(self) -> {kind}: ...\n"
                for name, kind in results.items()
            )
            new = ast.parse(f"class _:\n{text}").body[0]
            assert isinstance(new, ast.ClassDef)
            known = {
                item.name for item in node.body if isinstance(item, ast.FunctionDef)
            } - results.keys()
            kept = [
                item
                for item in node.body[1:]
                if not isinstance(item, ast.FunctionDef)
                or (item.name in known and hasattr(own, item.name))
            ]
            node.body = [node.body[0], *new.body, *kept]
        for item in node.body:
            if isinstance(item, ast.FunctionDef) and not is_overload(item):
                documented(item, getattr(own, item.name))
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"


def formatted(text: str, path: Path) -> str:
    """The text as the project's formatter leaves it."""
    for command in (["check", "--select", "I", "--fix"], ["format"]):
        text = subprocess.run(
            [sys.executable, "-m", "ruff", *command, "--quiet", "--stdin-filename", path, "-"],
            input=text,
            capture_output=True,
            encoding="utf-8",
            check=True,
            cwd=PACKAGE.parents[1],
        ).stdout
    return text


def wanted() -> dict[Path, str]:
    """Each file with what it should hold."""
    old = STUB.read_text(encoding="utf-8")
    return {STUB: formatted(stub(old), STUB), TYPES: formatted(types(), TYPES)}


def main() -> int:
    """Writes the files, or checks them."""
    check = sys.argv[1:] == ["--check"]
    stale = [
        (path, text)
        for path, text in wanted().items()
        if not path.exists() or path.read_text(encoding="utf-8") != text
    ]
    for path, text in stale:
        print(f"{'stale' if check else 'written'}: {path.relative_to(PACKAGE.parents[1])}")
        if not check:
            path.write_text(text, encoding="utf-8")
    return 1 if check and stale else 0


if __name__ == "__main__":
    raise SystemExit(main())
