"""`dabchick schema`: the boat file as a JSON Schema."""

from pathlib import Path
from typing import Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import Json

NAME = "schema"
EXAMPLE = "dabchick schema --out boat.schema.json"


def command(
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write it there instead of on the screen.")
    ] = None,
    json: Json = False,
) -> None:
    """The boat file's JSON Schema, for editors that complete and check keys while one types."""
    face = Face(json)
    import json as text

    from dabchick.model.schema import boat_schema
    from dabchick.storage.atomic import write_atomic

    wanted = boat_schema()
    if out is None:
        face.give_json(wanted)
        return
    write_atomic(out, (text.dumps(wanted, indent=2, ensure_ascii=False) + "\n").encode())
    if json:
        face.give_json({"written": str(out)})
    else:
        face.say(f"Wrote {out}.")
