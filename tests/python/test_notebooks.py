"""Each notebook runs from a clean kernel without a network; none is committed with its output."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import nbclient
import nbformat
import pytest

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
CELL_TIMEOUT_S = 120
#: Kernels side by side.
KERNELS = 2

#: Runs before the first cell. Python asks audit hooks before it connects or looks up a name, and a
#: hook cannot be taken off again. Programs that a cell would start are not watched.
NO_NETWORK = """
import sys as _sys

def _refuse(event, arguments):
    if event == "socket.connect":
        address = arguments[1]
        host = address[0] if isinstance(address, tuple) else "localhost"
    elif event in {"socket.getaddrinfo", "socket.gethostbyname", "socket.gethostbyaddr"}:
        host = arguments[0]
    else:
        return
    if host not in {None, "", "localhost", "127.0.0.1", "::1"}:
        raise RuntimeError(f"a notebook must not use the network: {host}")

_sys.addaudithook(_refuse)
del _refuse, _sys
"""

every_notebook = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)


def read(path: Path) -> nbformat.NotebookNode:
    notebook: nbformat.NotebookNode = nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    nbformat.validate(notebook)
    return notebook


def code_cells(notebook: nbformat.NotebookNode) -> list[Any]:
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


async def run(notebook: nbformat.NotebookNode) -> None:
    """Runs all cells from a clean kernel."""
    guard = nbformat.v4.new_code_cell(NO_NETWORK)  # type: ignore[no-untyped-call]
    notebook.cells.insert(0, guard)
    # The folder is where a person's Jupyter would run it, so relative paths mean the same.
    await nbclient.NotebookClient(
        notebook,
        timeout=CELL_TIMEOUT_S,
        kernel_name="python3",
        resources={"metadata": {"path": str(FOLDER)}},
    ).async_execute()


async def run_all(notebooks: list[nbformat.NotebookNode]) -> list[BaseException | None]:
    """Runs notebooks, a few side by side, each in a kernel of its own; what failed."""
    free = asyncio.Semaphore(KERNELS)

    async def one(notebook: nbformat.NotebookNode) -> None:
        async with free:
            await run(notebook)

    return await asyncio.gather(*map(one, notebooks), return_exceptions=True)


def made(*sources: str) -> nbformat.NotebookNode:
    """A notebook of these cells."""
    cells = [nbformat.v4.new_code_cell(source) for source in sources]  # type: ignore[no-untyped-call]
    notebook: nbformat.NotebookNode = nbformat.v4.new_notebook(cells=cells)  # type: ignore[no-untyped-call]
    return notebook


@pytest.fixture(scope="module", autouse=True)
def no_settings_of_the_person(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No start-up file or setting of the person at the machine takes part."""
    settings = tmp_path_factory.mktemp("settings")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("IPYTHONDIR", "MPLCONFIGDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR"):
            patch.setenv(name, str(settings / name.lower()))
        patch.delenv("PYTHONSTARTUP", raising=False)
        yield


@pytest.fixture(scope="module")
def runs(
    request: pytest.FixtureRequest, no_settings_of_the_person: None
) -> dict[Path, tuple[nbformat.NotebookNode, BaseException | None]]:
    """Those of the notebooks that were asked for, and what came of each."""
    asked: set[Any] = {
        item.callspec.params["path"]
        for item in request.session.items
        if isinstance(item, pytest.Function)
        and item.module.__name__ == __name__
        and "runs" in item.fixturenames
    }
    notebooks: dict[Path, nbformat.NotebookNode] = {path: read(path) for path in sorted(asked)}
    came = asyncio.run(run_all(list(notebooks.values())))
    return dict(zip(notebooks, zip(notebooks.values(), came, strict=True), strict=True))


def test_there_are_notebooks_and_each_is_in_the_list() -> None:
    assert NOTEBOOKS
    listed = (FOLDER / "README.md").read_text(encoding="utf-8")
    missing = [path.name for path in NOTEBOOKS if f"({path.name})" not in listed]
    assert not missing, f"notebooks/README.md does not say what {missing} are for"


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
def test_the_code_passes_the_checks_that_all_code_passes(path: Path) -> None:
    for command in (["check"], ["format", "--check"]):
        done = subprocess.run(
            [sys.executable, "-m", "ruff", *command, str(path)],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
            cwd=FOLDER.parent,
            env={**os.environ, "NO_COLOR": "1"},
        )
        assert done.returncode == 0, done.stdout + done.stderr


@every_notebook
def test_runs_from_a_clean_kernel(
    path: Path, runs: dict[Path, tuple[nbformat.NotebookNode, BaseException | None]]
) -> None:
    notebook, came = runs[path]
    if isinstance(came, BaseException):
        raise came
    # What is drawn is also seen.
    for cell in code_cells(notebook):
        if "studbay.plot." in cell.source or "plot." in cell.source.partition("(")[0]:
            seen = [kind for output in cell.outputs for kind in output.get("data", {})]
            assert "image/png" in seen, f"{path.name}: no picture under\n{cell.source}"


def test_a_cell_that_fails_fails_the_notebook() -> None:
    with pytest.raises(nbclient.exceptions.CellExecutionError, match="ZeroDivisionError"):
        asyncio.run(run(made("fine = 1", "1 / 0")))


def test_a_cell_that_fetches_fails_the_notebook() -> None:
    fetch = "import urllib.request\nurllib.request.urlopen('http://example.invalid/data.csv')"
    with pytest.raises(nbclient.exceptions.CellExecutionError, match="must not use the network"):
        asyncio.run(run(made(fetch)))
    connect = "import socket\nsocket.create_connection(('192.0.2.1', 80), timeout=1)"
    with pytest.raises(nbclient.exceptions.CellExecutionError, match="must not use the network"):
        asyncio.run(run(made(connect)))
