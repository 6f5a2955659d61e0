"""`dabchick new`: a small boat folder with comments, ready to edit."""

from importlib.resources import files
from pathlib import Path
from typing import Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import Json
from dabchick.model.advice import Advice, BoatError

NAME = "new"
EXAMPLE = "dabchick new petrel"


def command(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="The folder to make; it must not be there yet.")
    ],
    name: Annotated[
        str | None, typer.Option(metavar="TEXT", help="What you call her. Without it: the folder's name.")
    ] = None,
    json: Json = False,
) -> None:
    """Write a small boat folder with comments, which opens as it is, for you to edit."""
    face = Face(json)
    import tomlkit

    from dabchick.storage.atomic import write_atomic

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BoatError(
            Advice(
                what=f"{folder} is there already; nothing in it was touched.",
                todo="Choose another name, or move the old one away.",
                where=str(folder),
            )
        )
    called = name if name is not None else folder.resolve().name.capitalize()
    document = tomlkit.parse(_template("boat.toml"))
    document["name"] = called
    folder.mkdir(parents=True, exist_ok=True)
    write_atomic(folder / "hull-stations.csv", _template("hull-stations.csv").encode())
    write_atomic(folder / "boat.toml", tomlkit.dumps(document).encode())
    if json:
        face.give_json({"written": [str(folder / "boat.toml"), str(folder / "hull-stations.csv")]})
        return
    face.say(f"{called} is in {folder}. Open boat.toml in your editor: each line says what it is for.")
    face.say(f"Then: dabchick check {folder}")


def _template(name: str) -> str:
    return (files("dabchick") / "data" / "new" / name).read_text("utf-8")
