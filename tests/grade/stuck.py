"""The program, which sticks for an hour at a place of its work: ``python stuck.py PLACE ARGUMENTS``.

When it is there it makes the file ``.begun``.
"""

import sys
import time
from pathlib import Path

from analyzer.grade.one_log import grade_some

HOUR_S = 3600.0
BEGUN = ".begun"


def stick(*_: object, **__: object) -> None:
    Path(BEGUN).touch()
    time.sleep(HOUR_S)


def stuck_over_a_log(settings, tasks):
    """The work, whose last log takes an hour."""
    if any("flight003" in task.name for task in tasks):
        stick()
    return grade_some(settings, tasks)


def main() -> None:
    place = sys.argv.pop(1)
    if place == "loading":
        sys.meta_path.insert(0, Loading())
    elif place == "listing":
        import analyzer.grade.logs

        analyzer.grade.logs._entries = stick
    elif place == "work":
        import analyzer.grade.worker_pool
        from analyzer.grade.worker_processes import Processes

        analyzer.grade.worker_pool.grade_some = stuck_over_a_log
        analyzer.grade.worker_pool.Processes = lambda size, _work: Processes(size, stuck_over_a_log)
    elif place == "keeping":
        Path.replace = stick
    elif place == "publishing":
        import analyzer.grade.grading

        analyzer.grade.grading.publish = stick
    from analyzer.__main__ import main as run

    run()


class Loading:
    """Looks for a package for an hour."""

    def find_spec(self, name: str, *_: object) -> None:
        if name == "typer":
            stick()


if __name__ == "__main__":
    main()
