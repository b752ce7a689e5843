"""XML from outside, parsed for the readers of XML logs: no document type, no deep nesting, no endless text.

The parser stops at a document type, so no entity can be declared and no other file read: the rule of the defusedxml
package, on the bare parser, which is twice as fast and reports the line of each point.
"""

from __future__ import annotations

from xml.parsers import expat

from analyzer.errors import LogError
from analyzer.track.limits import Limits
from analyzer.track.track import Note

__all__ = ["XmlLog"]

_DEEPEST = 100  # elements within elements; no log needs a tenth of it
_LONGEST_TEXT = 65536  # letters of one element that are kept: no value is as long
_MOST_COLUMNS = 500
_CUT_SHORT = frozenset(("no element found", "unclosed token", "unclosed CDATA section", "partial character"))


class _DocumentType(Exception):  # noqa: N818 (a signal, never shown)
    """The file declares a document type."""


class _TooDeep(Exception):  # noqa: N818 (a signal, never shown)
    """Elements are nested beyond reason."""


class XmlLog:
    """One parse of an XML log. A format's reader derives from it and collects in `start` and `end`.

    `text` is what stands in the element under way since its last tag, `line` the 1-based line that the parser has reached.
    """

    def __init__(self, file: str, limits: Limits) -> None:
        self.file = file
        self.limits = limits
        self.text = ""
        self._depth = 0
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        self._parser.StartDoctypeDeclHandler = self._refuse
        self._parser.StartElementHandler = self._start
        self._parser.CharacterDataHandler = self._characters
        self._parser.EndElementHandler = self._end

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element begins; `name` is its local name."""
        raise NotImplementedError

    def end(self, name: str) -> None:
        """An element ends."""
        raise NotImplementedError

    @property
    def line(self) -> int:
        """The line that the parser has reached."""
        return self._parser.CurrentLineNumber

    def read(self, data: bytes, *, kind: str) -> list[Note]:
        """Collect from a whole file; notes on what was amiss. `kind` names the format in messages.

        A file that breaks off is read as far as it goes. Raises `LogError` where the XML is not well formed, holds a document
        type or is nested too deep.
        """
        try:
            self._parser.Parse(data, True)
        except _DocumentType:
            raise LogError(
                f"{self.file}: holds an XML document type, which is refused. {kind} needs none: take the DOCTYPE out"
            ) from None
        except _TooDeep:
            raise LogError(
                f"{self.file}, line {self.line}: more than {_DEEPEST} XML elements within each other: no {kind} log is nested"
                " like that. Export the track again"
            ) from None
        except (LookupError, ValueError) as error:  # the codec of the encoding that the XML declares
            raise LogError(
                f"{self.file}: the encoding that the XML declares is not known ({error}): save it as UTF-8"
            ) from error
        except expat.ExpatError as error:
            message = expat.ErrorString(error.code)
            if message in _CUT_SHORT and self.has_samples():
                return [Note(f"the file breaks off on line {error.lineno}: read as far as it goes")]
            raise LogError(
                f"{self.file}, line {error.lineno}: not well-formed XML ({message}): export the track again"
            ) from error
        return []

    def has_samples(self) -> bool:
        """Whether anything was collected that a file that breaks off may be read for."""
        raise NotImplementedError

    def check_columns(self, count: int) -> None:
        """Refuse points of which each has elements of its own: no log has so many quantities."""
        if count > _MOST_COLUMNS:
            raise LogError(
                f"{self.file}, line {self.line}: more than {_MOST_COLUMNS} different elements in the points: export the track"
                " without extensions"
            )

    def _refuse(self, *_: object) -> None:
        raise _DocumentType

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > _DEEPEST:
            raise _TooDeep
        self.text = ""
        self.start(name.rpartition(":")[2] if ":" in name else name, attributes)

    def _characters(self, text: str) -> None:
        if len(self.text) < _LONGEST_TEXT:
            self.text += text

    def _end(self, name: str) -> None:
        self._depth -= 1
        self.end(name.rpartition(":")[2] if ":" in name else name)
        self.text = ""
