"""No test that never runs, no file too long, nothing half done, and no address or path of one machine."""

from __future__ import annotations

import ast
import re
from collections import Counter
from pathlib import Path

MOST_LINES = 400
#: Generated or third-party files, and lists that are long by nature.
LONG_BY_NATURE = re.compile(
    r"/vendor/|/migrations/versions/|/translations/|seed_catalog/|requirements\.lock|LICENSE"
)
TEXT = {".py", ".html", ".css", ".js", ".md", ".toml", ".csv", ".lock", ".mako", ".txt", ".po", ".pot", ""}


def text_files(files: list[Path]) -> list[Path]:
    return [file for file in files if file.suffix in TEXT and "/vendor/" not in file.as_posix()]


def functions(file: Path) -> list[ast.FunctionDef]:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]


def test_every_test_function_runs(files: list[Path]) -> None:
    tests = [file for file in files if file.suffix == ".py" and "tests" in file.parts]
    used = Counter(re.findall(r"\w+", "\n".join(file.read_text(encoding="utf-8") for file in tests)))
    dead = [
        f"{file.name}: {function.name}"
        for file in tests
        if file.name.startswith("test_")
        for function in functions(file)
        if not function.name.startswith("test_")
        and any(isinstance(node, ast.Assert) for node in ast.walk(function))
        and used[function.name] == 1
    ]

    assert dead == []


def test_no_test_hides_another_of_the_same_name(files: list[Path]) -> None:
    hidden = [
        f"{file.name}: {name}"
        for file in files
        if file.name.startswith("test_") and file.suffix == ".py"
        for name, count in Counter(function.name for function in functions(file)).items()
        if name.startswith("test_") and count > 1
    ]

    assert hidden == []


def test_every_test_asserts_something(files: list[Path]) -> None:
    idle = [
        f"{file.name}: {function.name}"
        for file in files
        if file.name.startswith("test_") and file.suffix == ".py"
        for function in functions(file)
        if function.name.startswith("test_") and not checks_something(function)
    ]

    assert idle == []


def checks_something(function: ast.FunctionDef) -> bool:
    """An assert, an expected error, or a call of a helper that is named for what it expects."""
    for node in ast.walk(function):
        if isinstance(node, ast.Assert):
            return True
        if isinstance(node, ast.Call):
            called = called_name(node.func)
            if called == "raises" or re.match(r"(assert|check|expect|_assert|_check|_expect)", called):
                return True
    return False


def called_name(function: ast.expr) -> str:
    """The name by which a function is called: plain, of a module, or looked up by its name."""
    if isinstance(function, ast.Subscript):
        return str(function.slice.value) if isinstance(function.slice, ast.Constant) else ""
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def test_files_are_small(files: list[Path]) -> None:
    long = [
        f"{file.name}: {lines}"
        for file in text_files(files)
        if not LONG_BY_NATURE.search(file.as_posix())
        and (lines := len(file.read_text(encoding="utf-8").splitlines())) > MOST_LINES
    ]

    assert long == []


def test_nothing_is_half_done_or_skipped(files: list[Path]) -> None:
    # Bracketed letters, so that this file does not find itself.
    marks = re.compile(
        r"\bTO[D]O\b|\bFIX[M]E\b|raise NotImplemented[E]rror|mark\.(sk[i]p|xf[a]il)|pytest\.(sk[i]p|xf[a]il)\("
    )
    found = [file.name for file in text_files(files) if marks.search(file.read_text(encoding="utf-8"))]

    assert found == []


def test_no_file_names_a_registry_or_a_place_on_one_machine(files: list[Path]) -> None:
    forbidden = re.compile(r"py[p]i\.org|python[h]osted|np[m]js\.|debi[a]n\.org|/w[o]rk/|/r[o]ot/|/opt/py[p]i")
    found = [
        f"{file.name}: {line}"
        for file in text_files(files)
        for line in file.read_text(encoding="utf-8").splitlines()
        if forbidden.search(line)
    ]

    assert found == []


def test_the_top_level_holds_what_was_asked_for(files: list[Path], root: Path) -> None:
    top = {file.relative_to(root).parts[0] for file in files}

    assert top == {
        ".ci", ".gitignore", "DEVELOPERS.md", "LICENSE", "README.md", "migrations", "nursery", "pyproject.toml",
        "requirements.lock", "seed_catalog", "templates", "tests",
    }  # fmt: skip
