"""What a log leaves open and only the user can settle: asked all at once, with the options that settle it."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import LogError
from analyzer.frozen import dataclass

__all__ = ["OpenError", "Question"]


@dataclass(frozen=True)
class Question:
    """What is open, in a sentence or two, the options that settle it, and where in the file it stands, if anywhere."""

    text: str
    options: tuple[str, ...]
    place: str = ""


class OpenError(LogError):
    """A log that leaves something open. The message has all questions; `options` settle them together on a command line."""

    def __init__(self, file: str, questions: Sequence[Question]) -> None:
        self.questions = tuple(questions)
        said = [f"{question.place}: {question.text}" if question.place else question.text for question in questions]
        if len(said) == 1:
            message = f"{file}{', ' if questions[0].place else ': '}{said[0]}"
        else:
            message = f"{file}: {len(said)} things are open. " + ". ".join(f"({k}) {text}" for k, text in enumerate(said, 1))
        super().__init__(message)
        self.options = tuple(dict.fromkeys(option for question in questions for option in question.options))
