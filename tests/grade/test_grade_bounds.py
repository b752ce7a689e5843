"""How much a log may cost: what is too large is a row with its reason, and takes no memory to speak of."""

import gzip
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from class_logs import csv_text, write_procedure

from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.settings import LIMITS, read_settings

MIB = 2**20
HEADER = "time_utc,latitude_deg,longitude_deg,altitude_ft\n"
# one chunk of work in a process of its own, and the most memory that it had, in KiB
MEASURED = """
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from analyzer.gradebook.settings import read_settings
from analyzer.grade.one_log import grade_some
from analyzer.grade.task import Task
log = Path(sys.argv[2])
(graded,) = grade_some(read_settings(Path(sys.argv[1])), [Task(log.name, str(log), log.stat().st_size)])
sys.stdout.write(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0])
"""


def sparse(path: Path, size: int) -> Path:
    """A file of so many bytes of nothing, which takes no room on the disk."""
    with path.open("wb") as file:
        file.truncate(size)
    return path


def packed(path: Path, beginning: str, piece: str, pieces: int) -> Path:
    with gzip.open(path, "wb", compresslevel=1) as file:
        file.write(beginning.encode())
        for _ in range(pieces):
            file.write(piece.encode())
    return path


def twenty_million(path: Path) -> Path:
    """Twenty million samples, packed: the same thousand over and over, so that their times are not in order."""
    return packed(path, HEADER, "2026-06-01T10:00:00Z,41.2,-38.4,3000\n" * 1000, 20_000)


def points(path: Path, number: int) -> Path:
    point = '<trkpt lat="41.2" lon="-38.4"><ele>900</ele></trkpt>'
    return packed(path, '<gpx version="1.1"><trk><trkseg>', point * 1000, number // 1000)


def an_hour_apart(path: Path) -> Path:
    """A small log that lasts for two years: a second each would be 60 million."""
    times = (datetime(2026, 6, 1, tzinfo=UTC) + timedelta(hours=k) for k in range(17_000))
    rows = "".join(f"{time:%Y-%m-%dT%H:%M:%SZ},{41.2 + k * 1e-5:.5f},-38.4,3000\n" for k, time in enumerate(times))
    path.write_text(HEADER + rows, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """A class of logs that are too much, each by its own way, and one that is not; and what their rows say."""
    base = tmp_path_factory.mktemp("bounds")
    logs = base / "logs"
    logs.mkdir()
    sparse(logs / "gigabyte.csv", 1000 * MIB)
    packed(logs / "bomb.csv.gz", HEADER, "\n" * MIB, 2000)
    packed(logs / "lines.csv.gz", HEADER, "\n" * MIB, 60)
    twenty_million(logs / "samples.csv.gz")
    points(logs / "points.gpx.gz", 1_000_000)
    an_hour_apart(logs / "years.csv")
    (logs / "good.csv").write_text(csv_text(), encoding="utf-8")
    settings = read_settings(write_procedure(base / "quorl.toml"))
    with local_pool(1) as pool:
        done = grade(str(logs), settings, pool, str(base / "out"), formats=("csv",))
    return base, {listed.row["file"]: listed.row for listed in done.published.tally.worst()}


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("gigabyte.csv", "1,048.6 MB, more than the 33.5544 MB that --largest allows"),
        ("bomb.csv.gz", "larger than 64 MiB unpacked: cut the log down to the flight, or allow more with --max-bytes"),
        (
            "lines.csv.gz",
            (
                "more than 20,000,000 values, 50 for each sample allowed: cut the log down to the flight, "
                "or allow more with --max-samples"
            ),
        ),
        ("samples.csv.gz", "larger than 64 MiB unpacked: cut the log down to the flight, or allow more with --max-bytes"),
        ("points.gpx.gz", "more than 400,000 samples: cut the log down to the flight, or allow more with --max-samples"),
        ("years.csv", "lasts more than 400,000 s: cut the log down to the flight, or allow more with --max-samples"),
    ],
)
def test_what_is_too_much_is_a_row_with_its_reason(outcomes, name, reason):
    row = outcomes[1][name]
    assert (row["status"], row["reason"]) == ("not read", reason)


def test_the_others_are_graded(outcomes):
    assert outcomes[1]["good.csv"]["verdict"] == "inside"


@pytest.mark.skipif(sys.platform != "linux", reason="needs Linux to tell a program's memory")
@pytest.mark.parametrize(
    "name", ["gigabyte.csv", "bomb.csv.gz", "lines.csv.gz", "samples.csv.gz", "points.gpx.gz", "years.csv"]
)
def test_none_takes_more_than_the_text_that_is_allowed_and_a_bit(outcomes, name):
    base, _ = outcomes

    def peak_mib(log: Path) -> float:
        command = [sys.executable, "-c", MEASURED, str(base / "quorl.toml"), str(log)]
        done = subprocess.run(command, check=True, capture_output=True, text=True)  # noqa: S603
        return float(done.stdout) / 1024.0

    usual = peak_mib(base / "logs" / "good.csv")
    assert peak_mib(base / "logs" / name) < usual + 4 * LIMITS.max_bytes / MIB  # bytes, the pieces of them, and the text
