"""The command that scores tables, as a user runs it: in a process of its own."""

from __future__ import annotations

import contextlib
import csv
import gzip
import io
import os
import pty
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import studbay

HEADER = (
    "house_id,wall_area_ft2,series_r,heating_degree_days_f,heating_efficiency,fuel,fuel_price,"
    "installed_cost,county"
)
COMMAND = [sys.executable, "-m", "studbay.cli", "score"]


def table(rows: int, wrong: int = 0) -> str:
    """An invented table; the first rows may be wrong."""
    lines = [HEADER]
    for place in range(rows):
        area = "wide" if place < wrong else 1000 + place % 1000
        lines.append(f"h{place},{area},3.06,5600,0.8,natural_gas,1.5,2400,North")
    return "\n".join(lines) + "\n"


def run(
    *arguments: str | Path, stdin: str | None = None, cwd: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """Runs the command with its output in pipes."""
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        input=stdin,
        stdin=None if stdin is not None else subprocess.DEVNULL,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=120,
        cwd=cwd,
    )


def names(folder: Path) -> list[str]:
    """The files of a folder."""
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture
def houses(tmp_path: Path) -> Path:
    """A table that is in order."""
    path = tmp_path / "houses.csv"
    path.write_text(table(20), encoding="utf-8")
    return path


def test_a_table_is_scored(houses: Path) -> None:
    out = houses.with_name("out.csv")
    done = run(houses, "-o", out)
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr.splitlines() == ["read 20, scored 20, rejected 0, on hold 0"]
    assert names(houses.parent) == ["houses.csv", "out.csv"]
    rows = list(csv.DictReader(io.StringIO(out.read_text(encoding="utf-8"))))
    figures = studbay.assess(
        house_id="h3",
        wall_area_ft2=1003,
        series_r=3.06,
        heating_degree_days_f=5600,
        heating_efficiency=0.8,
        fuel="natural_gas",
        fuel_price=1.5,
        installed_cost=2400,
    )
    assert rows[3]["house_id"] == "h3"
    assert rows[3]["county"] == "North"
    for name, value in figures.to_dict().items():
        cell = rows[3][name]
        if isinstance(value, float):
            assert float(cell) == value
        elif value is None:
            assert cell == ""


def test_rejects_are_status_1_and_stand_beside_the_output(tmp_path: Path) -> None:
    houses = tmp_path / "houses.csv"
    houses.write_text(table(5, wrong=2), encoding="utf-8")
    done = run(houses, "-o", tmp_path / "out.csv.gz")
    assert done.returncode == 1
    last = done.stderr.splitlines()[-1]
    kept = tmp_path / "out.rejects.csv"
    assert last == f"read 5, scored 3, rejected 2, on hold 0; rejects in {kept}"
    rejects = list(csv.DictReader(io.StringIO(kept.read_text(encoding="utf-8"))))
    assert [(row["row"], row["line"]) for row in rejects] == [("1", "2"), ("2", "3")]
    assert rejects[0]["faults"].startswith("wall_area_ft2 = wide: is not a number")
    assert rejects[0]["county"] == "North"
    with gzip.open(tmp_path / "out.csv.gz", "rt", encoding="utf-8") as scored:
        assert [line.split(",")[0] for line in scored] == ["house_id", "h2", "h3", "h4"]
    # In SI, and the rejects elsewhere.
    done = run(
        houses, "-o", tmp_path / "si.parquet", "--units", "si", "--rejects", tmp_path / "r.csv"
    )
    assert done.returncode == 1
    assert (tmp_path / "r.csv").exists()
    back = run(tmp_path / "r.csv", "-o", "-", "--quiet")
    assert back.returncode == 1, "the rejects are a table too"


def test_in_a_pipe(tmp_path: Path) -> None:
    done = run("-", "-o", "-", stdin=table(30, wrong=12), cwd=tmp_path)
    assert done.returncode == 1
    assert len(done.stdout.splitlines()) == 19
    told = done.stderr.splitlines()
    assert told[0].startswith("row 1 (line 2): wall_area_ft2 = wide")
    assert told[10] == "... and 2 more"
    assert told[11].startswith("read 30, scored 18, rejected 12, on hold 0; --rejects")
    assert names(tmp_path) == []


def test_a_pipe_that_closes_early_ends_it_without_a_word(houses: Path) -> None:
    houses.write_text(table(30_000), encoding="utf-8")
    with subprocess.Popen(
        [*COMMAND, str(houses), "-o", "-"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline().startswith(b"house_id")
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(timeout=60) == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the file is empty"),
        ("house_id,fuel\n", "there is no column wall_area_ft2"),
        (HEADER.replace(",", ";") + "\n", "semicolons"),
        (f"{HEADER},fuel\n", "the column fuel stands twice"),
        (f"{HEADER},npv\n", "a name that a result takes"),
    ],
)
def test_an_unusable_input_is_status_2_and_one_line(tmp_path: Path, text: str, words: str) -> None:
    houses = tmp_path / "houses.csv"
    houses.write_text(text, encoding="utf-8")
    done = run(houses, "-o", tmp_path / "out.csv")
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1
    assert words in done.stderr
    assert str(houses) in done.stderr
    assert names(tmp_path) == ["houses.csv"]


def test_paths_that_are_no_use(houses: Path) -> None:
    folder = houses.parent
    (folder / "old.csv").write_text("keep", encoding="utf-8")
    for arguments, words in [
        ((folder / "none.csv", "-o", folder / "out.csv"), "No such file"),
        ((folder, "-o", folder / "out.csv"), "must end in"),
        ((houses, "-o", folder / "old.csv"), "File exists; --force replaces it"),
        ((houses, "-o", houses, "--force"), "this file is also the input"),
        ((houses, "-o", folder / "none" / "out.csv"), "No such file"),
        ((houses, "-o", "-", "--rejects", "-"), "cannot both go to standard output"),
        ((houses, "-o", folder / "out.csv", "--rejects", folder / "out.csv"), "also the output"),
    ]:
        done = run(*arguments)
        assert done.returncode == 2, done
        assert len(done.stderr.splitlines()) == 1, done.stderr
        assert words in done.stderr
    assert (folder / "old.csv").read_text(encoding="utf-8") == "keep"
    assert names(folder) == ["houses.csv", "old.csv"]
    done = run(houses, "-o", folder / "old.csv", "--force", "--quiet")
    assert (done.returncode, done.stderr) == (0, "")
    assert (folder / "old.csv").read_text(encoding="utf-8") != "keep"


@pytest.mark.parametrize(
    ("number", "status", "words"),
    [(signal.SIGINT, 130, "studbay: stopped\n"), (signal.SIGTERM, 143, "")],
)
@pytest.mark.parametrize("source", ["file", "pipe"])
def test_a_signal_leaves_no_half_file(
    tmp_path: Path, number: signal.Signals, status: int, words: str, source: str
) -> None:
    text = table(50_000)
    fifo = tmp_path / "houses"
    os.mkfifo(fifo)
    given = "-" if source == "pipe" else fifo
    with subprocess.Popen(
        [*COMMAND, str(given), "-o", str(tmp_path / "out.csv")],
        stdin=subprocess.PIPE if source == "pipe" else None,
        stderr=subprocess.PIPE,
        text=True,
        # Whoever runs the tests may have told its children to ignore Ctrl-C.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as process:
        # The input never ends, so the run is surely under way when the signal comes.
        feed = process.stdin if source == "pipe" else fifo.open("w", encoding="utf-8")
        assert feed is not None
        feed.write(text)
        feed.flush()
        deadline = time.monotonic() + 60
        while not any(name.endswith(".part") for name in names(tmp_path)):
            assert time.monotonic() < deadline
            time.sleep(0.02)
        start = time.monotonic()
        process.send_signal(number)
        try:
            assert process.wait(timeout=10) == status
        finally:
            process.kill()
        assert time.monotonic() - start < 5
        assert process.stderr is not None
        assert process.stderr.read() == words
        with contextlib.suppress(BrokenPipeError):
            feed.close()
    assert names(tmp_path) == ["houses"]


def test_no_room_for_the_output(houses: Path) -> None:
    houses.write_text(table(5_000), encoding="utf-8")

    def little_room() -> None:
        # Writing beyond the limit is then an error, as on a full disk.
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    for output in ("out.csv", "out.parquet"):
        done = subprocess.run(
            [*COMMAND, str(houses), "-o", str(houses.with_name(output))],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
            preexec_fn=little_room,
        )
        assert done.returncode == 2
        assert "File too large" in done.stderr
        assert len(done.stderr.splitlines()) == 1
        assert names(houses.parent) == ["houses.csv"]


def test_a_full_device(houses: Path) -> None:
    """What goes to a device without room is an error, and no traceback."""
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [*COMMAND, str(houses), "-o", "-"], stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == 2
    assert b"No space left on device" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_full_disk(tmp_path: Path) -> None:
    """A disk of 64 KiB: the output does not fit, and nothing of it stays behind."""
    disk = tmp_path / "disk"
    disk.mkdir()
    options = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    if subprocess.run(options, capture_output=True, check=False).returncode != 0:
        pytest.skip("a disk can be mounted by the system's administrator alone")
    try:
        source = tmp_path / "houses.csv"
        source.write_text(table(20_000), encoding="utf-8")
        for output in ("out.csv", "out.csv.gz", "out.parquet"):
            done = run(source, "-o", disk / output)
            assert done.returncode == 2
            assert "No space left on device" in done.stderr
            assert len(done.stderr.splitlines()) == 1
            assert names(disk) == []
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_line_of_a_gigabyte(tmp_path: Path) -> None:
    """It is one reject; the rows around it are scored, and memory does not grow with it."""
    rejects = tmp_path / "rejects.csv"
    output = tmp_path / "out.csv"

    def little_memory() -> None:
        resource.setrlimit(resource.RLIMIT_DATA, (700 << 20, 700 << 20))

    process = subprocess.Popen(
        [*COMMAND, "-", "-o", str(output), "--rejects", str(rejects)],
        stdin=subprocess.PIPE,
        stderr=subprocess.PIPE,
        preexec_fn=little_memory,
    )
    assert process.stdin is not None
    lines = table(2).splitlines(keepends=True)
    with process.stdin as feed:
        feed.write("".join(lines[:2]).encode())
        piece = b"a" * (1 << 20)
        for _ in range(1024):
            feed.write(piece)
        feed.write(b"\n" + lines[2].encode())
    assert process.stderr is not None
    with process.stderr as said:
        words = said.read().decode()
    assert process.wait(timeout=120) == 1, words
    with output.open(encoding="utf-8", newline="") as file:
        assert [row["house_id"] for row in csv.DictReader(file)] == ["h0", "h1"]
    with rejects.open(encoding="utf-8", newline="") as file:
        (reject,) = csv.DictReader(file)
    assert "longer than" in reject["faults"]


def test_a_bar_on_a_terminal_alone(houses: Path) -> None:
    master, slave = pty.openpty()
    done = subprocess.run(
        [*COMMAND, str(houses), "-o", str(houses.with_name("out.csv"))],
        stdin=slave,
        stdout=slave,
        stderr=slave,
        check=False,
        timeout=60,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "120"},
    )
    os.close(slave)
    shown = b""
    with contextlib.suppress(OSError):
        while part := os.read(master, 4096):
            shown += part
    os.close(master)
    assert done.returncode == 0
    text = shown.decode()
    assert "rows" in text
    assert "rejects" in text
    assert "read 20, scored 20" in text


def test_from_python(houses: Path) -> None:
    seen: list[tuple[int, int, int, int | None]] = []
    out = houses.with_name("out.csv")

    def progress(rows: int, rejects: int, done: int, total: int | None) -> None:
        seen.append((rows, rejects, done, total))

    report = studbay.score_file(houses, out, progress=progress)
    size = houses.stat().st_size
    assert seen[-1] == (20, 0, size, size)
    assert (report.counts.read, report.counts.scored) == (20, 20)
    assert report.rejects is None
    assert report.first_rejects == []
    assert repr(report) == "<FileReport: 20 read, 20 scored (0 on hold), 0 rejected>"
    with pytest.raises(FileExistsError):
        studbay.score_file(houses, out)
    with pytest.raises(FileNotFoundError):
        studbay.score_file(houses.with_name("none.csv"), out, force=True)
    with pytest.raises(IsADirectoryError):
        _into_folder(houses)
    with pytest.raises(studbay.errors.InputError, match="also the input"):
        studbay.score_file(houses, houses, force=True)
    with pytest.raises(studbay.errors.InputError, match="threads"):
        studbay.score_file(houses, out, force=True, threads=0)

    def stop(*_: object) -> None:
        raise RuntimeError("enough")

    out.unlink()
    with pytest.raises(RuntimeError, match="enough"):
        studbay.score_file(houses, out, progress=stop)
    assert names(houses.parent) == ["folder.csv", "houses.csv"]
    houses.write_text("house_id\n", encoding="utf-8")
    with pytest.raises(studbay.errors.SchemaError) as caught:
        studbay.score_file(houses, out)
    assert len(caught.value.faults) > 5


def _into_folder(houses: Path) -> None:
    folder = houses.with_name("folder.csv")
    folder.mkdir()
    studbay.score_file(houses, folder, force=True)


@pytest.mark.parametrize("ending", ["csv", "csv.gz", "csv.zst", "parquet"])
def test_threads_change_nothing(tmp_path: Path, ending: str) -> None:
    houses = tmp_path / "houses.csv"
    houses.write_text(table(3_000, wrong=3), encoding="utf-8")
    made = []
    for threads in (1, 2, 4):
        out = tmp_path / f"out.{ending}"
        studbay.score_file(houses, out, force=True, threads=threads)
        made.append((out.read_bytes(), (tmp_path / "out.rejects.csv").read_bytes()))
    assert made[0] == made[1] == made[2]
