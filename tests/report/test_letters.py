"""Letters that the font of pictures and PDFs lacks, against that font."""

import logging
from pathlib import Path

import matplotlib as mpl
import pytest
from matplotlib.ft2font import FT2Font

from analyzer.report.pictures.figures import look
from analyzer.report.words.letters import beyond_dejavu, width_em

HAS = set(FT2Font(Path(mpl.get_data_path(), "fonts", "ttf", "DejaVuSans.ttf")).get_charmap())


def test_a_letter_is_only_looked_for_elsewhere_if_the_font_lacks_it():
    assert [chr(code) for code in HAS if code < 0x10000 and chr(code).isalpha() and beyond_dejavu(chr(code))] == []


@pytest.mark.parametrize("name", ["風見", "ヴェンドル", "바람섬", "ลม", "पवन", "Wendle 島"])
def test_names_in_letters_that_it_lacks_are_known(name):
    assert beyond_dejavu(name)
    assert any(ord(letter) not in HAS for letter in name)


@pytest.mark.parametrize("name", ["Wendle Island", "Jürgen Ångström", "Ветер", "Άνεμος", "רוח", "± 1° → 2′"])
def test_the_rest_is_written_in_it(name):
    assert not beyond_dejavu(name)
    assert all(ord(letter) in HAS for letter in name)


def test_a_chinese_character_is_as_wide_as_it_is_high():
    # Unicode Standard Annex 11: wide characters take the room of a square
    assert width_em("風見島") == pytest.approx(3.0)
    assert width_em("WND") < 3 * 0.75  # of capitals in a common sans-serif


def test_the_settings_of_the_caller_stay():
    logger, family = logging.getLogger("matplotlib.font_manager"), list(mpl.rcParams["font.family"])
    before = logger.level
    with look():
        assert logger.level >= logging.ERROR
    assert (logger.level, mpl.rcParams["font.family"]) == (before, family)
