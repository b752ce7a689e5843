"""``python -m analyzer``: the same as the console script."""

from analyzer.cli import main

__all__: list[str] = []

if __name__ == "__main__":
    main()
