"""The source keeps to the house rules; these read it as text and as syntax trees."""

import ast
import re
import statistics
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("drivers", "daq", "api")
MODULES = sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))
MODULE_LINES_MEDIAN, MODULE_LINES_P90, MODULE_LINES_MOST = 120, 300, 400
FUNCTION_LINES_MOST = 70
# Put together from parts, so that this file does not name what it looks for.
REGISTRY_HOSTS = re.compile(
    r"(py" + r"pi|python" + r"hosted|npm" + r"js|deb\.deb" + r"ian)[a-z.]*\.(org|com)",
    re.IGNORECASE,
)
LEFT_BEHIND = re.compile(r"\b(TO" + r"DO|FIX" + r"ME|X" + r"XX|NotImplemented" + r"Error)\b")


def code_lines(tree: ast.Module, text: str) -> int:
    """Lines that are neither blank, comment nor docstring."""
    said = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            said.update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    return sum(
        1
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.strip().startswith("#") and number not in said
    )


def tracked() -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return [ROOT / line for line in listed.stdout.splitlines()]


def test_modules_stay_small():
    sizes = {p: code_lines(ast.parse(p.read_text()), p.read_text()) for p in MODULES}
    ordered = sorted(sizes.values())
    assert max(ordered) <= MODULE_LINES_MOST, max(sizes, key=sizes.get)
    assert statistics.median(ordered) <= MODULE_LINES_MEDIAN
    assert ordered[int(0.9 * len(ordered))] <= MODULE_LINES_P90


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_module_is_tidy(path):
    tree = ast.parse(path.read_text())
    if path.read_text().strip():
        assert ast.get_docstring(tree), f"{path} has no docstring"
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= FUNCTION_LINES_MOST, f"{path}: {node.name} has {length} lines"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id != "print" or path.name == "cli.py", f"{path} prints"


@pytest.mark.parametrize("pattern", [REGISTRY_HOSTS, LEFT_BEHIND], ids=["registry", "left-behind"])
def test_no_tracked_file_holds(pattern):
    for path in tracked():
        if path.suffix in {".webp", ".sqlite3"} or not path.is_file():
            continue
        found = pattern.search(path.read_text(encoding="utf-8", errors="replace"))
        assert found is None, f"{path}: {found.group(0)}"


def test_only_the_agreed_names_stand_at_the_top():
    top = {path.relative_to(ROOT).parts[0] for path in tracked()}
    assert top <= {
        *("README.md", "DEVELOPERS.md", "pyproject.toml", "daq", "api", "drivers", "tests"),
        *("fixtures", ".ci", ".gitignore", "LICENSE", "docs", "requirements.lock"),
    }


def test_every_folder_of_fixtures_names_its_source():
    folders = {path.parent for path in tracked() if ROOT / "fixtures" in path.parents}
    for folder in folders:
        readme = folder / "README.md"
        while not readme.exists() and folder != ROOT / "fixtures":
            folder = folder.parent
            readme = folder / "README.md"
        text = readme.read_text() if readme.exists() else ""
        assert re.search(r"source|invented", text, re.IGNORECASE), f"{readme} names no source"


def test_every_module_is_used_by_another():
    """No dead module: each is imported somewhere, or is the command's entry.

    A formula of metrology may wait for its caller, once it is checked against the outside.
    """
    checked = [*(ROOT / "tests/external").glob("*.py")]
    text = "\n".join(path.read_text() for path in (*MODULES, *checked))
    for path in MODULES:
        name = path.relative_to(ROOT).with_suffix("")
        if path.name in {"__init__.py", "cli.py", "env.py"} or "versions" in path.parts:
            continue
        package, stem = ".".join(name.parts[:-1]), name.parts[-1]
        dotted = re.escape(package)
        assert re.search(
            rf"(?:from|import) {dotted}\.{stem}\b|from {dotted} import [^\n]*\b{stem}\b"
            rf"|from {dotted} import \([^)]*\b{stem}\b",
            text,
        ), f"{name} is imported by nothing"
