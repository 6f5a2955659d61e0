"""Writes src/frame/types.ts from the API's own document; `--check` only says whether it is as new."""

import hashlib
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from dabchick.workbench import bundle
from dabchick.workbench.app import create_app
from dabchick.workbench.settings import Settings
from dabchick.workbench.shapes.live import Ask, Told

TYPES = Path(__file__).parent / "src" / "frame" / "types.ts"
HEAD = "// Written by `make types` from the API with digest "


def document() -> dict[str, Any]:
    """The OpenAPI document, and with it what goes over the live channel, of which OpenAPI knows nothing."""
    with tempfile.TemporaryDirectory() as shelf:
        whole = create_app(Settings(shelf=Path(shelf))).openapi()
    schemas = whole["components"]["schemas"]
    for name, shape, mode in (("Ask", Ask, "validation"), ("Told", Told, "serialization")):
        schema = TypeAdapter(shape).json_schema(ref_template="#/components/schemas/{model}", mode=mode)  # type: ignore[arg-type]
        for inner, told in schema.pop("$defs", {}).items():
            schemas.setdefault(inner, told)
        schemas[name] = schema
    # A new version of the program alone changes no type.
    whole["info"]["version"] = ""
    return whole


def digest(whole: dict[str, Any]) -> str:
    """Digest of the document, whatever the order of its keys."""
    return hashlib.sha256(json.dumps(whole, sort_keys=True).encode()).hexdigest()


def is_new() -> bool:
    """The types that lie there were made from the API as it is."""
    return TYPES.is_file() and TYPES.read_text("utf-8").startswith(f"{HEAD}{digest(document())}\n")


def write() -> None:
    """Make the types anew."""
    whole = document()
    with tempfile.TemporaryDirectory() as scratch:
        source, made = Path(scratch) / "openapi.json", Path(scratch) / "types.ts"
        source.write_text(json.dumps(whole), "utf-8")
        node = bundle.find_node()
        bundle.install(node)
        tool = bundle.WEB / "node_modules" / "openapi-typescript" / "bin" / "cli.js"
        command = [node.node, str(tool), str(source), "-o", str(made), "--default-non-nullable=false"]
        subprocess.run(command, cwd=bundle.WEB, check=True, stdout=subprocess.DEVNULL)
        TYPES.write_text(f"{HEAD}{digest(whole)}\n{made.read_text('utf-8')}", "utf-8")


if __name__ == "__main__":
    if "--check" in sys.argv[1:]:
        sys.exit(0 if is_new() else "web/src/frame/types.ts is older than the API: make types")
    write()
