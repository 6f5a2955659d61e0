"""Pages are found where they were shipped, and in a source checkout built when they are missing or old."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from dabchick.model.advice import BoatError
from dabchick.workbench import bundle

ROOT = Path(__file__).parents[3]

TOOL = """\
const fs = require("node:fs");
const path = require("node:path");
const out = process.argv[process.argv.indexOf("--outDir") + 1];
if (fs.existsSync("broken")) { console.error("src/main.ts: ( expected"); process.exit(3); }
fs.mkdirSync(out, { recursive: true });
fs.writeFileSync(path.join(out, "index.html"), fs.readFileSync("index.html"));
fs.appendFileSync("builds", "x");
"""


@pytest.fixture
def web(tmp_path: Path) -> Path:
    """Sources as small as can be, with a tool in place of the real one, and libraries that count as installed."""
    web = tmp_path / "web"
    (web / "src").mkdir(parents=True)
    (web / "package.json").write_text("{}", "utf-8")
    (web / "package-lock.json").write_text(json.dumps({"lockfileVersion": 3, "packages": {}}), "utf-8")
    (web / "index.html").write_text("one", "utf-8")
    (web / "src" / "main.ts").write_text("main", "utf-8")
    tool = web / "node_modules" / "vite" / "bin" / "vite.js"
    tool.parent.mkdir(parents=True)
    tool.write_text(TOOL, "utf-8")
    lock = bundle.hashlib.sha256((web / "package-lock.json").read_bytes()).hexdigest()
    (web / "node_modules" / bundle.LOCK_STAMP).write_text(lock, "utf-8")
    return web


def builds(web: Path) -> int:
    made = web / "builds"
    return len(made.read_text("utf-8")) if made.exists() else 0


def test_pages_are_built_once_and_again_when_a_source_changes(web, tmp_path):
    folder = tmp_path / "pages"
    assert bundle.pages(folder, web) == folder
    assert (folder / "index.html").read_text("utf-8") == "one"
    bundle.pages(folder, web)
    assert builds(web) == 1
    (web / "index.html").write_text("two", "utf-8")
    bundle.pages(folder, web)
    assert builds(web) == 2
    assert (folder / "index.html").read_text("utf-8") == "two"
    # the old pages and the scratch folder are gone
    assert sorted(path.name for path in tmp_path.iterdir()) == ["pages", "web"]


def test_half_built_pages_are_built_again(web, tmp_path):
    folder = tmp_path / "pages"
    bundle.pages(folder, web)
    (folder / bundle.STAMP).unlink()
    assert bundle.stale(folder, web)
    bundle.pages(folder, web)
    assert builds(web) == 2


def test_a_failed_build_leaves_the_old_pages_and_says_what_the_tool_said(web, tmp_path):
    folder = tmp_path / "pages"
    bundle.pages(folder, web)
    (web / "broken").touch()
    (web / "index.html").write_text("two", "utf-8")
    with pytest.raises(BoatError) as raised:
        bundle.pages(folder, web)
    assert "src/main.ts: ( expected" in raised.value.advice[0].given
    assert (folder / "index.html").read_text("utf-8") == "one"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["pages", "web"]


def test_the_digest_is_of_what_is_built_from_and_of_nothing_else(web):
    before = bundle.digest(web)
    (web / "src" / "main.test.ts").write_text("a test", "utf-8")
    (web / "node_modules" / "anything").write_text("x", "utf-8")
    (web / "README").write_text("x", "utf-8")
    assert bundle.digest(web) == before
    # a name belongs to it, and where one file ends and the next begins
    (web / "src" / "main.ts").rename(web / "src" / "other.ts")
    renamed = bundle.digest(web)
    assert renamed != before
    (web / "src" / "other.ts").write_text("mai", "utf-8")
    (web / "src" / "pther.ts").write_text("n", "utf-8")
    assert bundle.digest(web) not in (before, renamed)


def test_line_ends_of_a_checkout_do_not_count(web):
    (web / "src" / "main.ts").write_bytes(b"one\ntwo\n")
    before = bundle.digest(web)
    (web / "src" / "main.ts").write_bytes(b"one\r\ntwo\r\n")
    assert bundle.digest(web) == before


def test_an_installation_has_its_pages_or_says_that_they_are_missing(tmp_path):
    with pytest.raises(BoatError) as raised:
        bundle.pages(tmp_path / "pages", tmp_path / "no-web")
    assert raised.value.advice[0].where == str(tmp_path / "pages")
    (tmp_path / "pages").mkdir()
    (tmp_path / "pages" / "index.html").touch()
    assert bundle.pages(tmp_path / "pages", tmp_path / "no-web") == tmp_path / "pages"


def stand_in(folder: Path, name: str, says: str) -> Path:
    """A program that only says something."""
    folder.mkdir(exist_ok=True)
    program = folder / name
    program.write_text(f"#!/bin/sh\necho {says}\n", "utf-8")
    program.chmod(0o755)
    return program


@pytest.mark.skipif(os.name == "nt", reason="the stand-ins are shell scripts")
@pytest.mark.parametrize(
    ("version", "good"),
    # 20.19 is the first that the building tools start on; 22 is more than 20.19 although 22.1 is less than 22.19
    [("v20.19.0", True), ("v22.1.0", True), ("v20.18.9", False), ("v9.99.0", False), ("none", False)],
)
def test_the_machines_own_node_serves_when_it_is_new_enough(version, good, tmp_path, monkeypatch):
    own = stand_in(tmp_path / "bin", "node", version)
    npm = stand_in(tmp_path / "bin", "npm", "")
    monkeypatch.setattr(bundle.importlib.util, "find_spec", lambda _name: None)
    monkeypatch.setenv("PATH", str(own.parent))
    if good:
        assert bundle.find_node() == bundle.Node(str(own), (str(npm),), version)
        return
    with pytest.raises(BoatError) as raised:
        bundle.find_node()
    advice = raised.value.advice[0]
    assert version in advice.given
    assert bundle.NODE_PACKAGE in advice.todo


def test_without_any_node_it_says_how_to_get_one(monkeypatch, tmp_path):
    monkeypatch.setattr(bundle.importlib.util, "find_spec", lambda _name: None)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(BoatError) as raised:
        bundle.find_node()
    assert raised.value.advice[0].given == "no Node found"


def test_the_lock_names_no_registry():
    lock = json.loads((bundle.WEB / "package-lock.json").read_text("utf-8"))
    assert len(lock["packages"]) > 100
    assert [name for name, package in lock["packages"].items() if "resolved" in package] == []
    assert "omit-lockfile-registry-resolved=true" in (bundle.WEB / ".npmrc").read_text("utf-8")


def test_it_needs_nothing_but_the_standard_library():
    # the build of a wheel imports it where nothing is installed; -S leaves the installed packages out
    code = "import sys; sys.path.insert(0, sys.argv[1]); import dabchick.workbench.bundle as b; print(b.stale.__name__)"
    done = subprocess.run(
        [sys.executable, "-S", "-c", code, str(ROOT / "src")], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (0, "stale\n"), done.stderr
