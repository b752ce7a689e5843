"""A folder that is watched: new logs come, nothing in it is touched, and what is still written is waited for."""

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk_served import CLEAN, STRONG_WIND

from analyzer.desk import watching
from analyzer.desk.asked import Watched
from analyzer.desk.cards import read_settings
from analyzer.desk.store import Store, open_store
from analyzer.desk.watching import look_for_logs, watch
from analyzer.errors import DeskError

AGO_S = 3600.0


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_store(tmp_path / "desk")


@pytest.fixture
def source(tmp_path: Path) -> Iterator[Path]:
    """A folder with a log that is there before; afterwards the folder must hold what the test put there and nothing else."""
    folder = tmp_path / "simulator"
    folder.mkdir()
    put(folder / "old.csv", CLEAN.read_bytes())
    yield folder
    assert not [path.name for path in folder.glob(".*")]


def put(path: Path, content: bytes, ago_s: float = AGO_S) -> None:
    """A log that was written to so long ago."""
    path.write_bytes(content)
    at = time.time() - ago_s
    os.utime(path, (at, at))


def looked(store: Store, times: int = 2) -> Watched:
    """So many looks, one after the other; the logs that came at any of them."""
    seen, came = Watched(), list[str]()
    for _ in range(times):
        seen = look_for_logs(str(store.folder), seen.files)
        came += seen.came
    return Watched(seen.folder, seen.said, tuple(came), seen.files, seen.gone)


def logs(store: Store) -> list[str]:
    return sorted(entry.name for entry in store.entries("logs"))


def state(folder: Path) -> dict[str, tuple[int, int, int, bytes]]:
    return {
        path.name: (path.stat().st_mtime_ns, path.stat().st_size, path.stat().st_mode, path.read_bytes())
        for path in folder.iterdir()
        if path.is_file()
    }


def test_new_logs_come_and_nothing_there_is_touched(store: Store, source: Path):
    watch(str(store.folder), str(source), already=False)
    assert looked(store).came == ()
    put(source / "new flight.csv", STRONG_WIND.read_bytes())
    (source / "below").mkdir()
    put(source / "below" / "deeper.csv", STRONG_WIND.read_bytes())
    before = state(source)
    assert looked(store).came == ("new flight.csv",)
    assert looked(store).came == ()
    assert logs(store) == ["new flight.csv"]
    assert store.there("logs", "new flight.csv").read_bytes() == STRONG_WIND.read_bytes()
    assert state(source) == before


def test_what_is_there_already_comes_when_it_is_asked_for(store: Store, source: Path):
    watch(str(store.folder), str(source), already=True)
    assert looked(store).came == ("old.csv",)


def test_a_file_that_is_written_is_waited_for(store: Store, source: Path, monkeypatch: pytest.MonkeyPatch):
    watch(str(store.folder), str(source), already=False)
    lines = STRONG_WIND.read_bytes().splitlines(keepends=True)
    log = source / "growing.csv"
    seen = Watched()
    for part in range(1, 6):
        log.write_bytes(b"".join(lines[: part * len(lines) // 5]))
        seen = look_for_logs(str(store.folder), seen.files)
        assert seen.came == ()
        assert "still being written" in seen.said
    assert looked(store, 3).came == ()  # it was written to a moment ago
    monkeypatch.setattr(watching, "_QUIET_S", 0.0)
    assert looked(store).came == ("growing.csv",)
    assert store.there("logs", "growing.csv").read_bytes() == STRONG_WIND.read_bytes()


def test_a_file_with_a_time_ahead_of_ours_comes_too(store: Store, source: Path, monkeypatch: pytest.MonkeyPatch):
    """A drive on another computer, whose clock is an hour ahead."""
    watch(str(store.folder), str(source), already=False)
    put(source / "ahead.csv", CLEAN.read_bytes(), ago_s=-3600.0)
    assert looked(store).came == ()
    monkeypatch.setattr(watching, "_QUIET_S", 0.05)
    seen = look_for_logs(str(store.folder), {})
    time.sleep(0.1)
    assert look_for_logs(str(store.folder), seen.files).came == ("ahead.csv",)


def test_a_log_that_goes_on_is_one_log(store: Store, source: Path):
    """Written in pieces far apart: what was taken in goes on, as long as it is how the file begins."""
    watch(str(store.folder), str(source), already=False)
    content = STRONG_WIND.read_bytes()
    put(source / "flight.csv", content[: content.index(b"\n", len(content) // 2) + 1])
    assert looked(store).came == ("flight.csv",)
    put(source / "flight.csv", content, ago_s=1800.0)
    assert looked(store).came == ("flight.csv",)
    assert logs(store) == ["flight.csv"]
    assert store.there("logs", "flight.csv").read_bytes() == content
    put(source / "flight.csv", CLEAN.read_bytes(), ago_s=900.0)  # another flight under the same name
    assert looked(store).came == ("flight-2.csv",)
    assert store.there("logs", "flight.csv").read_bytes() == content


def test_what_was_taken_out_does_not_come_again(store: Store, source: Path):
    watch(str(store.folder), str(source), already=True)
    looked(store)
    store.take_out("logs", "old.csv")
    assert looked(store, 4).came == ()


def test_links_and_what_is_no_log_stay_out(store: Store, source: Path, tmp_path: Path):
    outside = tmp_path / "secret.csv"
    outside.write_bytes(CLEAN.read_bytes())
    watch(str(store.folder), str(source), already=False)
    (source / "link.csv").symlink_to(outside)
    (source / "folder.csv").symlink_to(tmp_path)
    os.mkfifo(source / "pipe.csv")
    put(source / "notes.txt", b"no log at all\n")
    put(source / ".hidden.csv", CLEAN.read_bytes())
    put(source / "picture.png", b"\x89PNG")
    put(source / "empty.csv", b"")
    seen = looked(store)
    assert seen.came == ()
    assert logs(store) == []
    assert "notes.txt is no log" in seen.said
    assert looked(store).said == f"Watching {source}."  # which is said once
    (source / ".hidden.csv").unlink()


def test_a_link_in_the_place_of_a_log_is_not_followed(store: Store, source: Path, tmp_path: Path):
    """The log is exchanged for a link between the look and the copy."""
    outside = tmp_path / "secret.csv"
    outside.write_bytes(CLEAN.read_bytes())
    (source / "log.csv").symlink_to(outside)
    about = outside.stat()
    made = watching._taken_in(store, source, "log.csv", (about.st_size, about.st_mtime_ns))
    assert made.log == ""
    assert logs(store) == []


def test_too_large_and_too_many(store: Store, source: Path, monkeypatch: pytest.MonkeyPatch):
    watch(str(store.folder), str(source), already=False)
    monkeypatch.setattr(watching, "UPLOAD_BYTES", 1000)
    put(source / "large.csv", CLEAN.read_bytes())
    seen = looked(store)
    assert seen.came == ()
    assert "large.csv is larger" in seen.said
    monkeypatch.setattr(watching, "_MOST_FILES", 1)
    assert "more than 1 logs" in looked(store).said


def test_a_folder_that_disappears_says_so_and_goes_on_when_it_is_back(store: Store, source: Path, tmp_path: Path):
    watch(str(store.folder), str(source), already=False)
    source.rename(tmp_path / "away")
    gone = looked(store)
    assert gone.gone
    assert str(source) in gone.said
    (tmp_path / "away").rename(source)
    put(source / "new.csv", STRONG_WIND.read_bytes())
    back = looked(store)
    assert not back.gone
    assert back.came == ("new.csv",)


@pytest.mark.parametrize("place", ["logs", ".", "..", "reports"])
def test_the_desk_s_own_folder_is_not_watched(store: Store, place: str):
    with pytest.raises(DeskError, match="own folder"):
        watch(str(store.folder), str((store.folder / place).resolve()), already=True)


@pytest.mark.parametrize("place", ["/no/such/folder", "relative", __file__])
def test_what_is_no_folder_is_not_watched(store: Store, place: str):
    with pytest.raises(DeskError):
        watch(str(store.folder), place, already=False)
    assert read_settings(store).watched == ""


def test_two_desks_take_a_log_in_once(store: Store, source: Path):
    watch(str(store.folder), str(source), already=False)
    put(source / "new.csv", STRONG_WIND.read_bytes())
    one, other = (look_for_logs(str(store.folder), {}) for _ in range(2))
    came = [*look_for_logs(str(store.folder), one.files).came, *look_for_logs(str(store.folder), other.files).came]
    assert came == ["new.csv"]
    assert logs(store) == ["new.csv"]


def test_without_what_is_known_nothing_old_comes(store: Store, source: Path):
    """``watched.txt`` may be lost: what is there then is not new."""
    watch(str(store.folder), str(source), already=False)
    (store.folder / "watched.txt").unlink()
    assert looked(store, 3).came == ()
    put(source / "new.csv", STRONG_WIND.read_bytes())
    assert looked(store).came == ("new.csv",)
