"""The page of a comparison leads to the debriefs of its attempts, wherever they were written, and nowhere else."""

import re
from pathlib import Path
from urllib.parse import unquote

from command_line import CLEAN, PROCEDURE, STRONG_WIND, Outcome

BOTH = ("compare", str(CLEAN), str(STRONG_WIND), "--procedure", str(PROCEDURE))


def links(page: Path) -> dict[str, Path]:
    """The logs that the table links to a page, each with the file that a browser would open."""
    found = re.findall(r'<td data-label="log"><a href="([^"]+)">([^<]+)</a>', page.read_text(encoding="utf-8"))
    return {log: (page.parent / unquote(link)).resolve() for link, log in found}


def debriefed(here, folder: Path) -> Path:
    ran: Outcome = here("debrief", str(CLEAN), "--procedure", str(PROCEDURE), "-o", str(folder))
    assert ran.code == 0, ran.err
    (page,) = folder.glob("*.html")
    return page


def test_debriefs_in_another_folder_are_linked_by_a_path_that_moves_with_them(here, tmp_path):
    page = debriefed(here, tmp_path / "all" / "my debriefs #1")
    made = tmp_path / "all" / "compared" / "deeper"
    ran: Outcome = here(*BOTH, "-o", str(made), "--debriefs", str(page.parent))
    assert ran.code == 0, ran.err
    (compared,) = made.glob("*.html")
    assert links(compared) == {"clean.csv": page.resolve()}
    assert "so not linked: strong_wind.csv" in " ".join(ran.out.split())
    (tmp_path / "all").rename(tmp_path / "moved")
    (moved,) = (tmp_path / "moved").rglob("*attempts*.html")
    assert links(moved)["clean.csv"].is_file()


def test_without_the_folder_only_debriefs_next_to_the_page_are_linked(here, tmp_path):
    page = debriefed(here, tmp_path / "here")
    here(*BOTH, "-o", str(tmp_path / "elsewhere"))
    (elsewhere,) = (tmp_path / "elsewhere").glob("*.html")
    assert links(elsewhere) == {}
    here(*BOTH, "-o", str(tmp_path / "here"))
    (beside,) = (tmp_path / "here").glob("*attempts*.html")
    assert links(beside) == {"clean.csv": page.resolve()}


def test_a_folder_that_is_not_there_is_refused(here, tmp_path):
    ran: Outcome = here(*BOTH, "-o", str(tmp_path / "out"), "--debriefs", str(tmp_path / "lost"))
    assert ran.code == 2
    assert "no folder there" in ran.err
    assert not (tmp_path / "out").exists()
