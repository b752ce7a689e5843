"""The command line: arguments in, one call of the library, text out. Everything heavy is loaded inside the commands."""

from analyzer.cli.app import app, main

__all__ = ["app", "main"]
