#!/bin/sh
# Starts the desk from a double click (macOS, Linux). The first time it installs the program into .venv in this folder.
cd "$(dirname "$0")" || exit 1

fail() {
    echo "$1"
    echo "Press Enter to close."
    read -r _
    exit 1
}

# what the program needs may have changed with a new version in the same folder
if ! cmp -s pyproject.toml .venv/installed.toml; then
    for python in python3 python3.14 python3.13 python3.12 python3.11 ""; do
        [ -z "$python" ] && fail "Python 3.11 or newer is needed: install it from https://www.python.org and start this again."
        "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && break
    done
    echo "Installing, once. It takes a minute or two, and needs the internet."
    "$python" -m venv .venv && .venv/bin/python -m pip install --quiet --editable . && cp pyproject.toml .venv/installed.toml ||
        fail "It could not be installed, for the reason above. Start this again to try once more."
fi
echo "The desk opens in your browser."
.venv/bin/python -m analyzer desk || fail "The desk ended, for the reason above."
