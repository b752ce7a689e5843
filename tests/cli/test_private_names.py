"""Names that other libraries keep to themselves may move with any release: none is used but those that a test watches."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import analyzer

HOME = Path(analyzer.__file__).parent
MODULES = sorted(path.relative_to(HOME).as_posix() for path in HOME.rglob("*.py"))
# `os._exit` is documented. The fork server's process is watched by tests/grade/test_server_of_workers.py.
ALLOWED = {"_exit": None, "_forkserver": "grade/worker_processes.py", "_forkserver_pid": "grade/worker_processes.py"}


def private(name: str) -> bool:
    return name.startswith("_") and not name.endswith("__")


def _names(node: ast.expr, *names: str) -> bool:
    return isinstance(node, ast.Name) and node.id in names


def used(tree: ast.Module) -> Iterator[str]:
    """Private names that a module imports from elsewhere, or reads of anything but its own values."""
    nodes = list(ast.walk(tree))
    own = {node.name for node in nodes if isinstance(node, ast.FunctionDef | ast.ClassDef)}
    own |= {node.target.id for node in nodes if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name)}
    own |= {node.attr for node in nodes if isinstance(node, ast.Attribute) and _names(node.value, "self")}
    for node in nodes:
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] != "analyzer":
            yield from (
                name for name in [*(node.module or "").split("."), *(alias.name for alias in node.names)] if private(name)
            )
        elif isinstance(node, ast.Import):
            yield from (name for alias in node.names for name in alias.name.split(".") if private(name))
        elif isinstance(node, ast.Attribute) and private(node.attr) and node.attr not in own:
            yield node.attr
        elif isinstance(node, ast.Call) and _names(node.func, "getattr", "hasattr", "setattr") and len(node.args) > 1:
            name = node.args[1]
            if isinstance(name, ast.Constant) and isinstance(name.value, str) and private(name.value):
                yield name.value


@pytest.mark.parametrize("module", MODULES)
def test_no_private_name_of_another_library(module):
    tree = ast.parse((HOME / module).read_text("utf-8"))
    assert [name for name in used(tree) if name not in ALLOWED or ALLOWED[name] not in (None, module)] == []


def test_such_a_name_would_be_found():
    text = "from typer._click import x\nimport a._b\nfrom c import _d\ne._f()\ngetattr(g, '_h')\nself._mine = self._mine"
    assert sorted(used(ast.parse(text))) == ["_b", "_click", "_d", "_f", "_h"]
