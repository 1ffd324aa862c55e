"""The house keeps its rules: engines without Django, files of a readable size, no words of others."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
BUILDS = ROOT / "builds"


def python_files(folder: Path) -> list[Path]:
    return [p for p in sorted(folder.rglob("*.py")) if "migrations" not in p.parts]


def test_engines_load_without_django():
    names = [
        ".".join(p.relative_to(ROOT).with_suffix("").parts)
        for p in python_files(BUILDS / "engines")
        if p.name != "__init__.py"
    ]
    code = (
        f"import sys, importlib\nfor n in {names!r}: importlib.import_module(n)\n"
        "print([m for m in sys.modules if m.split('.')[0] == 'django'])"
    )

    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)

    assert found.stdout.strip() == "[]"


def test_engines_read_no_clock():
    clock = re.compile(r"datetime\.now\(|date\.today\(|time\.time\(|utcnow\(")

    readers = [p.name for p in python_files(BUILDS / "engines") if clock.search(p.read_text())]

    assert readers == []


@pytest.mark.parametrize("folder", ["engines", "models", "actions", "queries", "screens", "reports"])
def test_no_file_has_two_subjects(folder):
    long_ones = {
        str(p.relative_to(ROOT)): n
        for p in python_files(BUILDS / folder)
        if (n := len(p.read_text().splitlines())) > 420
    }

    assert long_ones == {}


def test_nothing_imports_a_screen():
    importers = []
    for path in python_files(BUILDS):
        if "screens" in path.parts:
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            importers += [str(path) for n in names if n.startswith("builds.screens")]

    assert importers == []


def test_no_room_is_called_by_what_it_is_not():
    vague = {"utils.py", "helpers.py", "manager.py", "service.py", "common.py", "misc.py"}

    found = [str(p) for p in python_files(BUILDS) if p.name in vague]

    assert found == []


def templates() -> list[Path]:
    return sorted((ROOT / "templates").rglob("*.html"))


def test_every_template_is_used():
    places = [*python_files(BUILDS), *python_files(ROOT / "workshop"), *templates()]
    texts = {p: p.read_text() for p in places}
    told_by_django = {"errors/400.html", "errors/403.html", "errors/404.html", "errors/500.html"}

    unused = []
    for path in templates():
        name = str(path.relative_to(ROOT / "templates"))
        elsewhere = (text for place, text in texts.items() if place != path)
        if name not in told_by_django and not any(name in text for text in elsewhere):
            unused.append(name)

    assert unused == []


def test_no_template_has_inline_script_or_style():
    inline = re.compile(r"<script(?![^>]*\bsrc=)[^>]*>|<style|\sstyle=|\son[a-z]+=\"", re.I)
    on_paper = ROOT / "templates" / "reports"

    offenders = [str(p) for p in templates() if on_paper not in p.parents and inline.search(p.read_text())]

    assert offenders == []


def test_fragments_have_one_root_with_an_id_and_extend_nothing():
    extending = [str(p) for p in templates() if p.name.startswith("_") and "{% extends" in p.read_text()]

    assert extending == []
