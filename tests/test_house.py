"""The rules of the house that a program can check."""
from __future__ import annotations

import ast
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import grimp
import pytest

HOUSE = Path(__file__).parent.parent
PURE_ROOMS = ("capture", "layout", "printpack")
MODULES = sorted(path for room in (*PURE_ROOMS, "desk") for path in (HOUSE / room).rglob("*.py"))
PURE_MODULES = [path for path in MODULES if path.relative_to(HOUSE).parts[0] in PURE_ROOMS]

#: Built-in functions that reach outside, or run text as a program.
CALLS = {"open", "print", "input", "exec", "eval", "breakpoint", "__import__"}
#: Modules that touch disk, network, clock, process or environment. (`io` is allowed: bytes in memory are no file.)
IMPORTS = {"os", "pathlib", "shutil", "tempfile", "glob", "fileinput", "subprocess", "multiprocessing", "threading",
           "socket", "ssl", "http", "urllib", "time", "random", "secrets", "uuid", "logging", "sys", "locale",
           "getpass", "platform", "webbrowser", "sqlite3"}
#: Methods that ask the clock or the disk whatever they are called on.
METHODS = {"now", "utcnow", "today", "read_text", "write_text", "read_bytes", "write_bytes", "tofile", "fromfile",
           "imread", "imwrite", "savetxt", "loadtxt"}


def named(path: Path) -> str:
    return str(path.relative_to(HOUSE))


def outside_reach(tree: ast.AST) -> list[str]:
    """What a module does that a pure room may not, with its lines."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            found.append(f"line {node.lineno}: {node.func.id}()")
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and (node.func.attr in METHODS
                                                                                    or _unseeded(node)):
            found.append(f"line {node.lineno}: .{node.func.attr}()")
        if isinstance(node, ast.Import):
            found += [f"line {node.lineno}: import {a.name}" for a in node.names if a.name.split(".")[0] in IMPORTS]
        if isinstance(node, ast.ImportFrom) and (node.level or (node.module or "").split(".")[0] in IMPORTS):
            found.append(f"line {node.lineno}: from {node.module}")
    return found


def _unseeded(call: ast.Call) -> bool:
    """numpy.random without a seed, or by its hidden global state."""
    owner = call.func.value
    on_random = isinstance(owner, ast.Attribute) and owner.attr == "random"
    return on_random and not (call.func.attr == "default_rng" and bool(call.args))


@pytest.mark.parametrize("path", PURE_MODULES, ids=named)
def test_the_lower_rooms_reach_nothing_outside(path):
    assert outside_reach(ast.parse(path.read_text())) == []


@pytest.mark.parametrize("code", ["open('x')", "print(1)", "eval('1')", "import os.path", "from pathlib import Path",
                                  "import time", "from . import x", "datetime.date.today()", "numpy.random.rand()",
                                  "np.random.default_rng()"])
def test_a_planted_breach_is_found(code):
    assert outside_reach(ast.parse(code))


@pytest.mark.parametrize("code", ["np.random.default_rng(3)", "io.BytesIO(data)", "image.open(x)", "re.compile('a')"])
def test_what_is_allowed_is_let_through(code):
    assert outside_reach(ast.parse(code)) == []


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_modules_open_with_their_purpose_and_stay_small(path):
    text = path.read_text()
    assert ast.get_docstring(ast.parse(text)), "a module opens with its purpose"
    assert len(text.splitlines()) <= 390
    assert not any(alias.name == "*" for node in ast.walk(ast.parse(text)) if isinstance(node, ast.ImportFrom)
                   for alias in node.names)


FOLDERS = sorted({path.parent for path in MODULES})


@pytest.mark.parametrize("folder", FOLDERS, ids=named)
def test_a_folder_holds_at_most_fifteen_modules(folder):
    assert len([path for path in folder.glob("*.py") if path.name != "__init__.py"]) <= 15


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    """Which module of the rooms imports which."""
    return grimp.build_graph(*PURE_ROOMS, "desk", cache_dir=None)


def function_sizes() -> list[int]:
    """Lines of every function of the rooms, rising."""
    functions = (node for path in MODULES for node in ast.walk(ast.parse(path.read_text()))
                 if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
    return sorted(node.end_lineno - node.lineno + 1 for node in functions)


def test_functions_do_one_thing():
    sizes = function_sizes()
    assert sizes[len(sizes) // 2] <= 12 and sizes[int(0.9 * len(sizes))] <= 40


def test_no_module_imports_itself_by_way_of_others(graph):
    """Imports inside functions count too."""
    order = TopologicalSorter({module: graph.find_modules_directly_imported_by(module)
                               for module in graph.modules}).static_order()
    assert set(order) >= graph.modules


def test_imports_go_one_way():
    """The contracts of pyproject.toml, by import-linter."""
    done = subprocess.run([str(Path(sys.executable).parent / "lint-imports"), "--no-cache"], cwd=HOUSE,
                          capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_rooms_are_typed_and_a_planted_none_is_found(request, tmp_path):
    """mypy under the rules of pyproject.toml, once: its one complaint is of what was planted. What it remembers lies
    in pytest's own cache."""
    planted = tmp_path / "planted.py"
    planted.write_text("from layout.room import Wishes\ngap: float = Wishes().gap_mm\n")
    done = subprocess.run([sys.executable, "-m", "mypy", "--cache-dir", str(request.config.cache.mkdir("mypy")),
                           *PURE_ROOMS, "desk", str(planted)], cwd=HOUSE, capture_output=True, text=True, check=False)
    (complaint,) = [line for line in done.stdout.splitlines() if ": error: " in line] or [done.stdout + done.stderr]
    assert "planted.py" in complaint and 'expression has type "float | None"' in complaint, done.stdout


def test_the_code_keeps_to_the_lint_rules():
    """The rules of pyproject.toml, by ruff."""
    done = subprocess.run([sys.executable, "-m", "ruff", "check", "--no-cache", "--output-format", "concise", "."],
                          cwd=HOUSE, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_command_s_help_loads_nothing_heavy():
    code = ("import sys, desk.cli; desk.cli.main(['--help']); print(sorted({m.split('.')[0] for m in sys.modules} & "
            "set(sys.argv[1:])))")
    heavy = ["numpy", "scipy", "cv2", "shapely", "fpdf", "PIL", "bottle", "ezdxf", "svgwrite", "tornado", "http",
             "pebble", "platformdirs", "dask", "distributed"]
    done = subprocess.run([sys.executable, "-c", code, *heavy], cwd=HOUSE, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
