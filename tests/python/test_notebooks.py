"""Each notebook runs from a clean kernel, and none is committed with its output."""

from __future__ import annotations

from pathlib import Path

import nbclient
import nbformat
import pytest

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
CELL_TIMEOUT_S = 120

every_notebook = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)


def read(path: Path) -> nbformat.NotebookNode:
    notebook: nbformat.NotebookNode = nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    nbformat.validate(notebook)
    return notebook


@pytest.mark.skipif(not FOLDER.is_dir(), reason="there is no notebooks folder")
def test_there_are_notebooks() -> None:
    assert NOTEBOOKS, f"no notebook in {FOLDER.name}/"


@every_notebook
def test_holds_no_output(path: Path) -> None:
    """A stored output goes stale unseen; clear all outputs before saving."""
    stale = [
        number
        for number, cell in enumerate(read(path).cells, start=1)
        if cell.cell_type == "code" and (cell.outputs or cell.execution_count is not None)
    ]
    assert not stale, f"{path.name}: clear the output of cells {stale}"


@every_notebook
def test_runs_from_a_clean_kernel(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # No start-up file or setting of the person at the machine takes part.
    for variable in ("IPYTHONDIR", "MPLCONFIGDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR"):
        monkeypatch.setenv(variable, str(tmp_path / variable.lower()))

    # The folder is where a person's Jupyter would run it, so relative paths mean the same.
    nbclient.NotebookClient(
        read(path),
        timeout=CELL_TIMEOUT_S,
        kernel_name="python3",
        resources={"metadata": {"path": str(FOLDER)}},
    ).execute()
