"""How the package is laid out: each step knows only those before it; modules are small, described and say what they offer."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import analyzer

HOME = Path(analyzer.__file__).parent
MODULES = {".".join(("analyzer", *path.relative_to(HOME).with_suffix("").parts)): path for path in sorted(HOME.rglob("*.py"))}

# Each package with those of ours that it may import, also for types only. In this order:
# the ground, from a log to findings, what is made of a flight and of many, what shows it, and who asks for it.
_FACTS = {"errors", "physics", "procedure", "track", "motion", "legs"}
MAY_IMPORT: dict[str, set[str]] = {
    "vocabulary": set(),
    "frozen": set(),
    "program": set(),
    "errors": set(),
    "files": set(),
    "toml_faults": set(),
    "toml_files": {"errors", "files", "toml_faults"},
    "temporary": set(),
    "safe_text": set(),
    "standards": set(),
    "physics": {"errors"},
    "track": {"errors", "files", "toml_files", "physics"},
    "procedure": {"errors", "files", "toml_files", "toml_faults", "temporary", "physics"},
    "motion": {"errors", "physics", "procedure", "track"},
    "legs": _FACTS - {"legs"},
    "checks": _FACTS | {"toml_files", "toml_faults", "standards"},
    "nominal": {"errors", "physics"},
    "lessons": _FACTS | {"checks", "nominal"},
    "draft": _FACTS | {"checks"},
    "doubts": _FACTS | {"checks"},
    "brief": _FACTS | {"files", "checks", "nominal"},
    "debriefs": _FACTS | {"checks", "doubts", "lessons", "brief"},
    "comparison": _FACTS | {"checks", "lessons", "debriefs"},
    "gradebook": _FACTS | {"files", "program", "toml_files", "toml_faults", "safe_text", "checks"},
    "report": _FACTS | {"files", "temporary", "program", "safe_text", "checks", "brief", "debriefs", "comparison", "gradebook"},
    "grade": _FACTS | {"files", "temporary", "safe_text", "checks", "doubts", "debriefs", "gradebook", "report"},
    "library": _FACTS | {"checks", "brief", "debriefs", "comparison", "report"},
    "desk": _FACTS
    | {
        "files",
        "temporary",
        "safe_text",
        "program",
        "toml_files",
        "checks",
        "brief",
        "draft",
        "debriefs",
        "comparison",
        "gradebook",
        "report",
        "grade",
    },
    "cli": _FACTS
    | {"files", "temporary", "checks", "draft", "brief", "debriefs", "gradebook", "report", "grade", "library", "desk"},
    "__main__": {"cli"},
}


@cache
def tree(name: str) -> ast.Module:
    return ast.parse(MODULES[name].read_text(encoding="utf-8"))


def statements(node: ast.AST) -> Iterator[ast.AST]:
    """A node and all statements below it, which no expression has in it."""
    yield node
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.stmt | ast.excepthandler | ast.match_case):
            yield from statements(child)


@cache
def imports_of(name: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every import of our own in a module."""
    return tuple(imports(tree(name)))


def imports(node: ast.AST) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Every import of our own below a node, inside functions and for types too: the module, and the names taken from it."""
    for child in statements(node):
        if isinstance(child, ast.ImportFrom):
            assert child.level == 0, "a relative import"
            if (child.module or "").partition(".")[0] == "analyzer":
                yield child.module or "", tuple(alias.name for alias in child.names)
        elif isinstance(child, ast.Import):
            for alias in child.names:
                if alias.name.partition(".")[0] == "analyzer":
                    yield alias.name, ()


def package(name: str) -> str:
    """The first part below `analyzer`: ``motion`` of ``analyzer.motion.wind``."""
    return name.split(".")[1] if "." in name else ""


def test_every_package_has_its_place():
    assert {package(name) for name in MODULES} - {"__init__"} == set(MAY_IMPORT)


def test_imports_go_one_way():
    astray = []
    for name in MODULES.keys() - {"analyzer.__init__"}:
        own = package(name)
        allowed = {own, "vocabulary", "frozen"} | MAY_IMPORT[own]
        for module, names in imports_of(name):
            targets = {module} if module != "analyzer" else {f"analyzer.{taken}" for taken in names}
            astray += [f"{name} imports {target}" for target in targets if package(target) not in allowed]
    assert astray == []


ROOMS_OF_REPORT = ("words", "documents", "pictures", "pages", "paper", "exports")


def test_rooms_of_reports_know_those_before_them():
    astray = []
    for name in MODULES:
        if name.count(".") == 3 and name.startswith("analyzer.report."):
            own = ROOMS_OF_REPORT.index(name.split(".")[2])
            ours = [module for module, _ in imports_of(name) if module.startswith("analyzer.report.")]
            astray += [f"{name} imports {module}" for module in ours if ROOMS_OF_REPORT.index(module.split(".")[2]) > own]
    assert astray == []


def test_no_package_goes_round_in_circles():
    """The order above is one: what a package may import may not import it."""
    for one, allowed in MAY_IMPORT.items():
        for other in allowed:
            assert one not in MAY_IMPORT[other]


def test_modules_are_small():
    lines = {name: len(path.read_text(encoding="utf-8").splitlines()) for name, path in MODULES.items()}
    assert {name: number for name, number in lines.items() if number >= 400} == {}


def test_modules_say_what_they_are_and_offer():
    for name in MODULES:
        module = tree(name)
        assert ast.get_docstring(module), name
        if len(module.body) == 1:
            continue  # a package whose docstring is all there is
        offered = [node for node in module.body if "__all__" in [ast.unparse(t) for t in _targets(node)]]
        assert len(offered) == 1, name
        names = ast.literal_eval(offered[0].value)
        assert len(set(names)) == len(names), name
        assert set(names) <= set(_defined(module)) | set(_imported(module)), name


def _targets(node: ast.AST) -> list[ast.expr]:
    if isinstance(node, ast.Assign):
        return node.targets
    return [node.target] if isinstance(node, ast.AnnAssign) else []


def _defined(module: ast.Module) -> Iterator[str]:
    for node in module.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            yield node.name
        for target in _targets(node):
            yield ast.unparse(target)


def _imported(node: ast.AST) -> Iterator[str]:
    for child in statements(node):
        if isinstance(child, ast.ImportFrom):
            yield from (alias.asname or alias.name for alias in child.names)


def test_only_the_command_line_prints():
    for name in MODULES:
        if package(name) != "cli":
            called = {ast.unparse(node.func) for node in ast.walk(tree(name)) if isinstance(node, ast.Call)}
            assert not called & {"print", "sys.stdout.write", "sys.stderr.write", "typer.echo", "input"}, name


def test_nothing_is_imported_from_a_star_or_caught_blindly():
    for name in MODULES:
        for node in ast.walk(tree(name)):
            if isinstance(node, ast.ImportFrom):
                assert all(alias.name != "*" for alias in node.names), name
            if isinstance(node, ast.ExceptHandler):
                assert node.type is not None, name
                assert ast.unparse(node.type) not in ("Exception", "BaseException"), name


def test_no_clock_and_no_chance_in_what_is_worked_out():
    sources = ("datetime.now", "time.time", "utcnow", "random.", "np.random", "os.environ", "date.today")
    for name in MODULES:
        if package(name) in ("physics", "motion", "legs", "checks"):
            text = ast.unparse(tree(name))
            assert [source for source in sources if source in text] == [], name
