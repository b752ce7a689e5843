"""A PDF as an independent reader (PDFium) has it: sheets, letters with their places and sizes, fonts, tags."""

import ctypes
import re
from dataclasses import dataclass

import pypdfium2
import pypdfium2.raw as pdfium

POINTS_MM = 72.0 / 25.4


@dataclass(frozen=True)
class Letter:
    """A letter: its place in millimetres from the left and the bottom of its sheet, and the size of its type in points."""

    text: str
    left: float
    bottom: float
    right: float
    top: float
    size: float


@dataclass(frozen=True)
class Sheet:
    width_mm: float
    height_mm: float
    text: str  # blanks and line ends as one blank
    letters: tuple[Letter, ...]
    images: int  # made of pixels
    alternatives: tuple[str, ...]  # words that stand for pictures
    kinds: tuple[str, ...]  # of the tagged elements, in the order read


@dataclass(frozen=True)
class Printed:
    sheets: tuple[Sheet, ...]
    title: str
    author: str
    made: str  # when
    language: str
    tagged: bool
    fonts: dict[str, bool]  # by name, whether embedded

    @property
    def text(self) -> str:
        return " ".join(sheet.text for sheet in self.sheets)


def read_pdf(content: bytes) -> Printed:
    with pypdfium2.PdfDocument(content) as document:
        fonts: dict[str, bool] = {}
        sheets = tuple(_sheet(page, fonts) for page in document)
        return Printed(
            sheets=sheets,
            title=document.get_metadata_value("Title"),
            author=document.get_metadata_value("Author"),
            made=document.get_metadata_value("CreationDate"),
            language=_wide(pdfium.FPDFCatalog_GetLanguage, document),
            tagged=bool(pdfium.FPDFCatalog_IsTagged(document)),
            fonts=fonts,
        )


def in_order(text: str, *words: str) -> bool:
    """Whether words stand in a text one after the other, other words between them allowed."""
    at = 0
    for word in words:
        found = text.find(word, at)
        if found < 0:
            return False
        at = found + len(word)
    return True


def _sheet(page: pypdfium2.PdfPage, fonts: dict[str, bool]) -> Sheet:
    width, height = (side / POINTS_MM for side in page.get_size())
    written = page.get_textpage()
    letters = []
    for k in range(written.count_chars()):
        text = chr(pdfium.FPDFText_GetUnicode(written, k))
        if text.isspace() or pdfium.FPDFText_IsGenerated(written, k) == 1:
            continue
        box = [side / POINTS_MM for side in written.get_charbox(k)]
        matrix = pdfium.FS_MATRIX()
        pdfium.FPDFText_GetMatrix(written, k, matrix)
        scale = (matrix.a**2 + matrix.b**2) ** 0.5
        letters.append(Letter(text, *box, size=pdfium.FPDFText_GetFontSize(written, k) * scale))
    images = 0
    for thing in page.get_objects(max_depth=15):
        images += thing.type == pdfium.FPDF_PAGEOBJ_IMAGE
        if thing.type == pdfium.FPDF_PAGEOBJ_TEXT:
            font = pdfium.FPDFTextObj_GetFont(thing)
            name = ctypes.create_string_buffer(256)
            pdfium.FPDFFont_GetBaseFontName(font, name, 256)
            fonts[name.value.decode()] = pdfium.FPDFFont_GetIsEmbedded(font) == 1
    alternatives, kinds = _tags(page)
    text = re.sub(r"\s+", " ", written.get_text_range())
    return Sheet(width, height, text, tuple(letters), images, alternatives, kinds)


def _tags(page: pypdfium2.PdfPage) -> tuple[tuple[str, ...], tuple[str, ...]]:
    tree = pdfium.FPDF_StructTree_GetForPage(page)
    alternatives, kinds = [], []

    def walk(element) -> None:
        kinds.append(_wide(pdfium.FPDF_StructElement_GetType, element))
        words = _wide(pdfium.FPDF_StructElement_GetAltText, element)
        if words:
            alternatives.append(words)
        for k in range(pdfium.FPDF_StructElement_CountChildren(element)):
            child = pdfium.FPDF_StructElement_GetChildAtIndex(element, k)
            if child:
                walk(child)

    for k in range(pdfium.FPDF_StructTree_CountChildren(tree)):
        walk(pdfium.FPDF_StructTree_GetChildAtIndex(tree, k))
    pdfium.FPDF_StructTree_Close(tree)
    return tuple(alternatives), tuple(kinds)


def _wide(function, thing) -> str:
    """A text that PDFium gives in UTF-16."""
    size = function(thing, None, 0)
    buffer = ctypes.create_string_buffer(size)
    pointer = ctypes.cast(buffer, function.argtypes[1])
    function(thing, pointer, size)
    return buffer.raw[: max(0, size - 2)].decode("utf-16-le")
