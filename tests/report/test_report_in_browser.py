"""The page as a browser shows it, opened from disk: whole, with its pictures, at the width of a desk and of a hand."""

import subprocess
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from matplotlib.image import imread
from test_report_page import Page

from analyzer.report.style import LEG_COLOUR, WARN

CHROMIUM = Path("/usr/bin/chromium")  # Debian's
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars",
)  # fmt: skip
WIDTHS = (1200, 400)
HEIGHT = 2400

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="needs Debian's chromium")


@pytest.fixture(scope="module")
def shown(pages, tmp_path_factory) -> Mapping[int, tuple[str, Path]]:
    """What the browser made of the page, and where its picture of it is, by width."""
    folder = tmp_path_factory.mktemp("browser")
    page = folder / "strong wind.html"
    page.write_text(pages["strong_wind.csv"], encoding="utf-8")

    def browse(width: int) -> tuple[str, Path]:
        picture = folder / f"{width}.png"
        asked = ["--dump-dom", f"--screenshot={picture}", f"--window-size={width},{HEIGHT}"]
        command = [CHROMIUM, *FLAGS, f"--user-data-dir={folder / f'profile-{width}'}", *asked, page.as_uri()]
        done = subprocess.run(  # noqa: S603 (the browser, on our own page)
            command, capture_output=True, encoding="utf-8", timeout=60, check=True
        )
        return done.stdout, picture

    with ThreadPoolExecutor(2) as pool:
        return dict(zip(WIDTHS, pool.map(browse, WIDTHS), strict=True))


def pixels(path: Path) -> np.ndarray:
    """The colour of every pixel as one number, red first: 0xffffff is white."""
    channels = np.rint(np.asarray(imread(path))[..., :3] * 255.0).astype(np.int32)
    return (channels[..., 0] << 16) + (channels[..., 1] << 8) + channels[..., 2]


def dark(picture: np.ndarray) -> np.ndarray:
    """Where none of the three colours is more than half lit."""
    return (picture & 0x808080) == 0


@pytest.mark.parametrize("width", WIDTHS)
def test_the_browser_finds_the_whole_page(shown, pages, documents, width):
    """The same text and the same pictures as were written; the browser closes nothing that was left open."""
    seen, written = Page(shown[width][0]), Page(pages["strong_wind.csv"])
    assert len(seen.all("svg")) == 3
    assert seen.text("main") == written.text("main")
    assert [tag for tag, *_ in seen.elements if tag != "tbody"] == [tag for tag, *_ in written.elements if tag != "tbody"]
    farthest = documents["strong_wind.csv"]["reversals"][0]["farthest"]["distance_nm"]
    assert f"farthest {farthest:.2f} NM" in seen.text("svg")


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_is_not_blank(shown, width):
    picture = pixels(shown[width][1])
    assert picture.shape == (HEIGHT, width)
    assert len(np.unique(picture)) > 100
    assert all(dark(tenth).any() for tenth in np.array_split(picture, 10))


@pytest.mark.parametrize("width", WIDTHS)
def test_the_pictures_are_in_colour_in_spite_of_the_policy(shown, width):
    """Every leg's colour and that of the limits: styles inside the pictures are allowed by the page's own policy."""
    picture = pixels(shown[width][1])
    for colour in (*LEG_COLOUR.values(), WARN):
        assert (picture == int(colour[1:], 16)).sum() > 20, colour


def test_the_pictures_fill_the_column_and_no_more(shown):
    """At either width there is a margin left and right with nothing in it."""
    for width, margin in ((1200, 100), (400, 15)):
        picture = pixels(shown[width][1])
        assert (picture[:, :margin] == 0xFFFFFF).all()
        assert (picture[:, -margin:] == 0xFFFFFF).all()
        ink = np.flatnonzero(dark(picture).any(axis=0))
        assert ink[0] < margin + 40
        assert ink[-1] > width - margin - 80
