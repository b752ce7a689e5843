"""The program: ``python -m analyzer``, and the console script."""

from __future__ import annotations

import os
import signal

__all__ = ["main"]

_INTERRUPTED = 130  # as a shell tells of SIGINT


def main() -> None:
    """Run the command line. Interrupted while it loads, it ends without a word."""
    heeded = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if heeded:
        signal.signal(signal.SIGINT, lambda *_: os._exit(_INTERRUPTED))
    from analyzer.cli import main as run

    if heeded:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    run()


if __name__ == "__main__":
    main()
