"""Logs whose recorder lost its power: blocks of NULs at the end or within cost their own line, and nothing else."""

import pytest
from flights import Reader, csv_text, flown

from analyzer.errors import LogError

TEXT = csv_text(flown(100)).encode()


@pytest.mark.parametrize("count", [1, 64, 4096])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_nuls_at_the_end_are_cut_off(read: Reader, count: int, end: bytes) -> None:
    """What file systems of memory cards leave: the length of the file is known, its last blocks were never written."""
    track = read(TEXT.replace(b"\n", end) + bytes(count))
    assert len(track) == 100
    assert any(f"{count:,} NUL byte" in note.text and "line 102" in note.text for note in track.notes)


@pytest.mark.parametrize("at", [0.3, 0.5, 0.9])
@pytest.mark.parametrize("count", [1, 64, 400])
def test_nuls_within_cost_the_rows_that_they_touch(read: Reader, at: float, count: int) -> None:
    begin = round(at * len(TEXT))
    spoiled = TEXT[:begin] + bytes(count) + TEXT[begin + count :]
    touched = TEXT[:begin].rpartition(b"\n")[2] + TEXT[begin : begin + count] + TEXT[begin + count :].partition(b"\n")[0]
    track, whole = read(spoiled), read(TEXT)
    lost = touched.count(b"\n") + 1
    assert len(track) == 100 - lost
    assert set(track.time_s.tolist()) <= set(whole.time_s.tolist())
    assert set(track.latitude_rad.tolist()) <= set(whole.latitude_rad.tolist())


@pytest.mark.parametrize("content", [bytes(100), b"a,b\0\0", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + 20 * b"\n\0", b"1,2\0\n" * 50])
def test_what_is_no_text_stays_refused(read: Reader, content: bytes) -> None:
    with pytest.raises(LogError, match=r"not a text file|the file is empty|a picture, not a log"):
        read(content)
