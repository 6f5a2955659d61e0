"""The built pages: a folder of files, each asked for by a name that was found there, never by a path put together."""

from pathlib import Path
from typing import Final

from starlette.types import Receive, Scope, Send

FOREVER: Final = b"public, max-age=31536000, immutable"
"""For files whose name holds a digest of their content."""
ASK_AGAIN: Final = b"no-cache"

KINDS: Final = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".ico": "image/x-icon",
    ".woff2": "font/woff2",
    ".woff": "font/woff",
    ".txt": "text/plain; charset=utf-8",
    ".map": "application/json",
}
NO_PAGES: Final = b"The pages of the workbench have not been built yet. In a source checkout: make web\n"


class Pages:
    """ASGI: the files of the bundle; `/` is its index."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files: dict[str, Path] = {}
        self._built = -1

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["method"] not in ("GET", "HEAD"):
            await _send(send, 405, b"text/plain", ASK_AGAIN, b"Pages can only be read.\n", False)
            return
        path = "/index.html" if scope["path"] == "/" else scope["path"]
        file = self._found().get(path)
        status, content, kind = 200, b"", KINDS.get(Path(path).suffix, "application/octet-stream").encode()
        if file is not None:
            content = file.read_bytes()
        else:
            status, kind = 404, b"text/plain; charset=utf-8"
            content = (
                NO_PAGES
                if path == "/index.html"
                else b"There is no such page. Go back to the address's start.\n"
            )
        kept = FOREVER if file is not None and path.startswith("/assets/") else ASK_AGAIN
        await _send(send, status, kind, kept, content, scope["method"] == "HEAD")

    def _found(self) -> dict[str, Path]:
        """Every file by its address; read anew when the bundle was built anew."""
        index = self._folder / "index.html"
        built = index.stat().st_mtime_ns if index.is_file() else -1
        if built != self._built or built == -1:
            self._files = {
                f"/{file.relative_to(self._folder).as_posix()}": file
                for file in self._folder.rglob("*")
                if file.is_file() and not file.is_symlink()
            }
            self._built = built
        return self._files


async def _send(send: Send, status: int, kind: bytes, kept: bytes, content: bytes, head: bool) -> None:
    headers = [
        (b"content-type", kind),
        (b"content-length", str(len(content)).encode()),
        (b"cache-control", kept),
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if head else content})
