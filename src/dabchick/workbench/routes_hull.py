"""The hull: its figures, what does not fit, and a new file in the old one's place."""

import hashlib
from pathlib import Path
from typing import Any, Final

from fastapi import APIRouter

from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import HULL_FORMS
from dabchick.model.prints_ask import TextReader
from dabchick.model.vessel import Vessel
from dabchick.storage import edit_text
from dabchick.storage.atomic import write_atomic
from dabchick.studies import check, hull
from dabchick.studies.check import CheckResult
from dabchick.workbench import file_work
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.routes_uploads import LOOK_SECONDS, MEMORY_MB, NO_HULL
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.boat import BoatState
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.hull import CheckOut, HullFile, HullOut, SkinFound
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.new import FromUpload
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.uploads import Upload, Uploads
from dabchick.workbench.words import amount, measured

MESH_KEYS: Final = ("unit", "bow", "up", "solid_walled", "separate_shells")


def router(shelf: Shelf, jobs: Jobs, uploads: Uploads) -> APIRouter:
    """The routes about the hull."""
    routes = APIRouter(prefix="/api", tags=["hull"])

    @routes.get("/boats/{boat}/hull")
    def figures(boat: str) -> HullOut:
        """The hull as it stands."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel = last_right(now).vessel
        tables = now.content.get("hull")
        said = tables if isinstance(tables, dict) else {}
        return HullOut(
            revision=now.right_revision or 0,
            file=next((str(said[key]) for key in HULL_FORMS if said.get(key)), ""),
            lines=_lines(vessel),
        )

    @routes.post("/boats/{boat}/hull")
    def take(boat: str, wish: HullFile) -> BoatState:
        """Put an uploaded file into the boat's folder and make it her hull; the old file stays, so undo works."""
        bench = shelf.bench(boat)
        upload = uploads.get(wish.upload)
        check_skin(wish)
        proved(jobs, upload, wish)
        content = upload.file.read_bytes()
        name, is_new = free_name(bench.folder, upload.name, content)
        if is_new:
            write_atomic(bench.folder / name, content)
        try:
            bench.edit(
                f"Take {name} as the hull",
                lambda text: with_skin(with_hull(text, name, upload, wish), wish.skin),
                base=wish.base,
                by=wish.by,
            )
        except BaseException:
            if is_new:
                (bench.folder / name).unlink(missing_ok=True)
            raise
        return state_of(bench)

    @routes.post("/boats/{boat}/check")
    def begin(boat: str) -> JobOut:
        """Begin to look for all that does not fit or cannot be right; the answer is at /api/jobs/{job}/check."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel = last_right(now).vessel
        revision = now.right_revision or 0
        job = jobs.start(
            f"Check of {vessel.name}",
            check_fit,
            vessel,
            boat=bench.name,
            then=lambda result: _check_out(vessel, revision, result),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/check")
    def checked(job: str) -> CheckOut:
        """What the check found."""
        return jobs.answer(job, CheckOut)

    return routes


def check_fit(tell: Tell, vessel: Vessel) -> CheckResult:
    """The check, in a process of its own."""
    tell("Trying every part against the hull and the others", 0.1)
    return check.run(vessel)


def _check_out(vessel: Vessel, revision: int, result: CheckResult) -> CheckOut:
    more = [entry for entry in result.warnings if entry not in result.findings]
    return CheckOut(
        revision=revision,
        advice=[AdviceOut.of(entry) for entry in (*result.findings, *more)],
        lines=[
            Line(
                label=f"{clash.a} and {clash.b}",
                figure=amount(clash.volume_m3, "volume", vessel.units),
                note="shared room",
            )
            for clash in result.clashes
        ],
        assumptions=list(result.assumptions),
    )


def proved(jobs: Jobs, upload: Upload, how: HullFile | FromUpload) -> None:
    """Wait until the file has been read whole in a process of its own. Raises BoatError with all that is wrong."""
    if upload.kind == "plan":
        raise BoatError(NO_HULL)
    if upload.kind == "mesh" and how.bow[1] == how.up[1]:
        raise BoatError(
            Advice(
                what="Bow and up lie along the same axis of the file.",
                todo="Choose two axes.",
                key="up",
                given=f"bow {how.bow}, up {how.up}",
            )
        )
    job = jobs.start(
        f"Reading {upload.name}",
        file_work.prove,
        upload.file,
        how.unit,
        how.separate_shells,
        how.solid_walled,
        seconds=LOOK_SECONDS,
        memory_mb=MEMORY_MB,
    )
    job.over.wait()
    jobs.done(job.job)


def with_hull(text: str, name: str, upload: Upload, how: HullFile) -> str:
    """The boat's text with this file as the hull."""
    there = edit_text.content_of(text).get("hull")
    old: dict[str, Any] = there if isinstance(there, dict) else {}
    is_mesh = upload.kind == "mesh"
    new: dict[str, Any] = {"mesh" if is_mesh else "stations": name}
    if is_mesh:
        new["unit"] = how.unit
        new |= {"bow": how.bow} if how.bow != "+x" else {}
        new |= {"up": how.up} if how.up != "+z" else {}
        new |= {"solid_walled": True} if how.solid_walled else {}
        new |= {"separate_shells": True} if how.separate_shells else {}
    text = edit_text.puts(text, [(("hull", key), value) for key, value in new.items()])
    for key in (*HULL_FORMS, *MESH_KEYS):
        if key in old and key not in new:
            text = edit_text.drop(text, ("hull", key))
    skin = old.get("skin")
    if how.solid_walled and is_mesh and isinstance(skin, dict):
        for key in ("thickness", "spread", "outside"):
            if key in skin:
                text = edit_text.drop(text, ("hull", "skin", key))
    return text


def check_skin(wish: HullFile) -> None:
    """Raise BoatError unless the walls' mass can be written as it is said."""
    if wish.skin is None:
        return
    read = TextReader()
    read.amount("skin.mass", wish.skin.mass or "?", "mass")
    read.amount("skin.spread", wish.skin.spread, "mass")
    if not wish.solid_walled:
        read.wrong.append(
            Advice(
                what="The mass of the walls belongs to a mesh that is the material itself.",
                todo="Say that it is, or leave the mass out.",
                key="solid_walled",
            )
        )
    read.done()


def with_skin(text: str, skin: SkinFound | None) -> str:
    """The boat's text with the mass of the hull's walls, and what they are made of."""
    if skin is None:
        return text
    mass = {"value": skin.mass, "known": skin.known}
    mass |= {"spread": skin.spread} if skin.spread else {}
    puts: list[tuple[tuple[str, ...], Any]] = [(("hull", "skin", "mass"), mass)]
    if skin.material:
        puts.append((("hull", "skin", "material"), skin.material))
    return edit_text.puts(text, puts)


def free_name(folder: Path, wanted: str, content: bytes) -> tuple[str, bool]:
    """A name in the folder that is free, or that holds this very content already."""
    stem, suffix = Path(wanted).stem, Path(wanted).suffix.lower()
    digest = hashlib.sha256(content).digest()
    taken = {entry.name.casefold(): entry for entry in folder.iterdir()}
    number = 1
    while True:
        name = f"{stem}{suffix}" if number == 1 else f"{stem}-{number}{suffix}"
        there = taken.get(name.casefold())
        if there is None:
            return name, True
        if there.is_file() and hashlib.sha256(there.read_bytes()).digest() == digest:
            return there.name, False
        number += 1


def _lines(vessel: Vessel) -> list[Line]:
    found = hull.run(vessel)
    units = vessel.units
    lines = [
        Line(label="Length", figure=amount(found.length_m, "length", units)),
        Line(label="Beam", figure=amount(found.beam_m, "length", units)),
        Line(label="Height", figure=amount(found.height_m, "length", units)),
        Line(label="Volume of the form", figure=amount(found.form_volume_m3, "volume", units)),
        Line(label="Area of the form", figure=amount(found.area_m2, "area", units)),
        Line(label="Mass of the skin", figure=measured(found.skin_mass_kg, "mass", units)),
        Line(label="Volume of the skin's material", figure=measured(found.skin_volume_m3, "volume", units)),
    ]
    count = Shown(text=f"{found.triangles}", spread="", value=float(found.triangles))
    return [*lines, Line(label="Triangles", figure=count)]
