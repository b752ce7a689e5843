"""The program: ``python -m analyzer``, and the console script."""

from __future__ import annotations

import os
import sys

from analyzer.cli.commands import help_asked_for, print_help

__all__ = ["main"]

_INTERRUPTED = 130  # as a shell tells of SIGINT


def main() -> None:
    """Run the command line. Interrupted while it loads, it ends without a word."""
    if help_asked_for(sys.argv[1:]) and print_help():
        return
    import signal  # not for the help: it takes as long to load

    heeded = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if heeded:
        signal.signal(signal.SIGINT, lambda *_: os._exit(_INTERRUPTED))
    from analyzer.cli.app import main as run

    if heeded:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    run()


if __name__ == "__main__":
    main()
