"""Classes in the folder of a desk, for its tests."""

import shutil
from pathlib import Path

from desk_served import CHART, SAMPLES

from analyzer.desk.class_changes import new_class
from analyzer.desk.class_files import ClassFiles
from analyzer.desk.class_run import grade_class
from analyzer.desk.store import Store, open_store
from analyzer.grade.worker_pool import local_pool

__all__ = ["LOGS", "ROSTER", "graded", "many_alike", "spring"]

LOGS = ("clean.csv", "early_descent.gpx", "strong_wind.csv")
ROSTER = (
    "file,student,aircraft,remark\nclean,Ada Quorl,PA-28,Good briefing.\nearly_descent,Bo Wendle,C172,\n"
    "strong_wind,Cy Tarn,C172,\n"
)


def spring(folder: Path, *logs: str, roster: str = ROSTER) -> ClassFiles:
    """A class of sample flights by their chart, not graded yet."""
    store = open_store(folder)
    shutil.copy(CHART, store.folder / "procedures" / "vor24.toml")
    files = ClassFiles(Store(store.folder), new_class(str(store.folder), "Spring"))
    for log in logs or LOGS:
        shutil.copy(SAMPLES / log, files.folder / log)
    if roster:
        (files.folder / "roster.csv").write_text(roster, encoding="utf-8")
    return files


def graded(files: ClassFiles, *, sheets: bool = False) -> list[tuple[int, int]]:
    """Grade a class in this process. Returns how far it said it was."""
    progress: list[tuple[int, int]] = []
    with local_pool(1) as pool:
        grade_class(files, pool, lambda done, total: progress.append((done, total)), sheets=sheets)
    return progress


def many_alike(files: ClassFiles, number: int) -> None:
    """Copies of a log that differ in nothing but blank lines at their end, so that each is graded."""
    text = (SAMPLES / "clean.csv").read_text(encoding="utf-8")
    for k in range(number):
        (files.folder / f"more{k:03d}.csv").write_text(text + "\n" * k, encoding="utf-8")
