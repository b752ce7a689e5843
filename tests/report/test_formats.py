"""Formats of a report as files: which are written, that others' files are left alone, and that no half of one stays behind."""

import errno
import io
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from matplotlib.image import imread
from patterns import TWO_OVER_RATE_S
from synthetic import CHARTED, Log, Segment, Straight, Turn, fly, standard_rate_bank

import analyzer
from analyzer.errors import AnalyzerError
from analyzer.report.exports import formats
from analyzer.report.exports.formats import FORMATS, Format, Output
from analyzer.report.exports.write import write_file, write_report

PICTURES = ("plan", "profile", "final", "strips")
STEM = "2026-06-14-0912-clean"  # when the log begins, and its name
FILES = {
    "html": [".html"],
    "pdf": [".pdf"],
    "png": [f"-{name}.png" for name in PICTURES],
    "svg": [f"-{name}.svg" for name in PICTURES],
    "json": [".json"],
    "csv": ["-track.csv", "-parts.csv", "-findings.csv"],
    "markdown": [".md"],
    "geojson": [".geojson"],
    "kml": [".kml"],
}


@pytest.fixture(scope="module")
def debrief(debriefs):
    return debriefs["clean.csv"]


@pytest.fixture(scope="module")
def written(debrief, tmp_path_factory) -> dict[str, list[Path]]:
    """A folder for each format, with its files in the order that they are told in."""
    folder = tmp_path_factory.mktemp("formats")
    return {name: list(write_report(debrief, folder / name, (name,))) for name in FORMATS}


@pytest.fixture
def ready(written, monkeypatch) -> None:
    """The formats with what they made above, so that nothing is drawn again for tests of where it is written."""

    def again(name: str) -> Format:
        made = [Output(path.name.removeprefix(STEM), path.read_bytes()) for path in written[name]]
        return replace(FORMATS[name], write=lambda _: iter(made))

    monkeypatch.setattr(formats, "FORMATS", {name: again(name) for name in FORMATS})


def test_these_are_all_formats():
    assert list(FORMATS) == list(FILES)
    assert {name for name, form in FORMATS.items() if form.one_file} == {
        name for name, files in FILES.items() if len(files) == 1
    }
    assert len({form.suffix for form in FORMATS.values()}) == len(FORMATS)


@pytest.mark.parametrize("name", FILES)
def test_each_writes_its_files(written, name):
    assert [path.name for path in written[name]] == [f"{STEM}{ending}" for ending in FILES[name]]
    assert sorted(written[name][0].parent.iterdir()) == sorted(written[name])
    assert all(path.suffix == FORMATS[name].suffix for path in written[name])
    assert all(path.stat().st_size > 100 for path in written[name])


def test_a_second_approach_has_pictures_of_its_own(debriefs, tmp_path):
    files = write_report(debriefs["two_approaches.csv"], tmp_path, ("png",))
    endings = [*(f"-{name}.png" for name in PICTURES), *(f"-{name}-2.png" for name in PICTURES)]
    assert [path.name for path in files] == [f"2026-06-14-0912-two_approaches{ending}" for ending in endings]
    # the two were flown alike, so that by distance to the threshold they are the same; by place and by time they are not
    assert len({path.read_bytes() for path in files if "final" not in path.name}) == 6


def test_several_formats_lie_beside_each_other(debrief, tmp_path):
    files = write_report(debrief, tmp_path, ("json", "markdown"))
    assert [path.name for path in files] == [f"{STEM}.json", f"{STEM}.md"]


@pytest.mark.usefixtures("ready")
@pytest.mark.parametrize("name", FILES)
def test_a_report_is_written_over_without_asking(debrief, written, name, tmp_path):
    for path in written[name]:
        (tmp_path / path.name).write_bytes(path.read_bytes())
    again = write_report(debrief, tmp_path, (name,))
    assert [path.read_bytes() for path in again] == [path.read_bytes() for path in written[name]]


@pytest.mark.usefixtures("ready")
@pytest.mark.parametrize("name", FILES)
def test_what_is_no_report_is_not_written_over(debrief, name, tmp_path):
    """Nor is anything else written then; `force` allows it."""
    mine = tmp_path / f"{STEM}{FILES[name][-1]}"
    mine.write_bytes(b"time,height\r\nmy own notes\r\n")
    with pytest.raises(
        AnalyzerError, match=r"is not a report; choose another place with -o, or overwrite it with --force"
    ) as told:
        write_report(debrief, tmp_path, ("html", name) if name != "html" else ("json", name))
    assert str(mine) in str(told.value)
    assert "\n" not in str(told.value)
    assert list(tmp_path.iterdir()) == [mine]
    assert mine.read_bytes() == b"time,height\r\nmy own notes\r\n"
    write_report(debrief, tmp_path, (name,), force=True)
    assert b"my own notes" not in mine.read_bytes()


@pytest.mark.parametrize("failing", ["write", "rename"])
def test_a_file_is_whole_or_as_it_was(tmp_path, monkeypatch, failing):
    """The disk is full half-way, or the name cannot be given: what was there stays, and nothing is left beside it."""
    target = tmp_path / "page.html"
    target.write_bytes(b"as it was")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if failing == "rename":
        monkeypatch.setattr(Path, "replace", full)
    else:
        real = Path.open

        def half(path: Path, mode: str = "r", *arguments: object, **options: object):
            file = real(path, mode, *arguments, **options)  # type: ignore[call-overload]
            return Half(file) if mode == "xb" else file

        class Half:
            """A file that takes half of what is written and then has no room."""

            def __init__(self, file) -> None:
                self.file = file

            def __enter__(self):
                return self

            def __exit__(self, *_: object) -> None:
                self.file.close()

            def write(self, content: bytes) -> None:
                self.file.write(content[: len(content) // 2])
                self.file.flush()
                full()

        monkeypatch.setattr(Path, "open", half)
    with pytest.raises(AnalyzerError, match=r"page\.html: cannot be written: No space left on device; choose another place"):
        write_file(target, b"x" * 100_000)
    assert list(tmp_path.iterdir()) == [target]
    assert target.read_bytes() == b"as it was"


def test_the_pdf_is_a_pdf(written, documents):
    """As an independent reader has it: A4 sheets, with words that can be copied."""
    with pypdfium2.PdfDocument(written["pdf"][0]) as document:
        sizes = [page.get_size() for page in document]
        texts = [page.get_textpage().get_text_range() for page in document]
        looks = [np.asarray(page.render(scale=0.5).to_pil().convert("L")) for page in document]
        author = document.get_metadata_value("Author")
    assert author.startswith("approach-analyzer")
    for width, height in sizes:
        assert (width * 25.4 / 72.0, height * 25.4 / 72.0) == pytest.approx((210.0, 297.0), abs=0.2)  # ISO 216
    assert len(texts) >= 3
    assert "Wendle Island VOR 24" in texts[0].splitlines()
    assert all(look.min() < 128 for look in looks)  # small letters at half size are grey
    together = " ".join(" ".join(texts).split())
    assert together.count("never for navigation") >= len(texts)
    for part in documents["clean.csv"]["reversals"][0]["parts"]:
        assert part["part"].replace("_", " ") in together
    for words in ("farthest 7.17 NM", "limit 10 NM", "altitude, ft MSL", "turn rate, °/s", "distance to the threshold, NM"):
        assert words in together


def test_the_pngs_are_pictures(written):
    """The same width for all, in colour."""
    pictures = [imread(io.BytesIO(path.read_bytes())) for path in written["png"]]
    assert {picture.shape[1] for picture in pictures} == {924}  # 8.4 inches at 110 dots an inch
    for picture in pictures:
        red, green, blue = np.rint(picture[..., :3] * 255.0).astype(int).transpose(2, 0, 1)
        assert len(np.unique((red << 16) + (green << 8) + blue)) > 200


def two_hours() -> analyzer.Debrief:
    """One position a second over two hours: five approaches without a pause, the way back to each by a 90/270 far behind."""
    bank, cycle = standard_rate_bank(120.0), list[Segment]()
    for number in range(5):
        path = [
            Straight("arrival", 465.0), Straight("outbound", 120.0), Turn("offset_turn", 45.0, bank),
            Straight("offset_leg", TWO_OVER_RATE_S), Turn("reversal_turn", -225.0, bank), Straight("inbound", 610.0),
            Turn("away", -90.0, bank), Turn("back", 270.0, bank),
        ]  # fmt: skip
        cycle += [replace(segment, name=f"{segment.name} {number}") for segment in path]
    flown = fly(cycle, (0.0, -15.5), 0.0, 120.0)
    return analyzer.debrief(Log(noise_m=1.0).of(flown), CHARTED.at())


def test_the_page_of_two_hours_is_less_than_a_megabyte(tmp_path):
    debrief = two_hours()
    track = debrief.motion.track
    assert track.time_s[-1] - track.time_s[0] > 7200.0
    assert len(debrief.approaches) == 5
    (page,) = write_report(debrief, tmp_path)
    assert page.stat().st_size < 1_000_000
