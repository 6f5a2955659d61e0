"""A new boat: the usual gear to choose from, and a folder made from a hull and that choice."""

import secrets
import shutil
from pathlib import Path
from typing import Annotated, Final

from fastapi import APIRouter, Query

from dabchick.model.advice import Advice, BoatError
from dabchick.model.materials import materials
from dabchick.model.units import UnitError, UnitSet, parse, shown
from dabchick.storage import new_boat
from dabchick.storage.hull_form import Form, form_outlines, station_table
from dabchick.storage.mesh_size import HULL_LENGTH_M
from dabchick.storage.new_boat import SKIN_M, HullFile, Order
from dabchick.storage.starter_parts import USUAL_LENGTH_M, size_class, starter_parts
from dabchick.storage.starter_parts import StarterPart as Usual
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.routes_hull import proved
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.boat import BoatName
from dabchick.workbench.shapes.new import (
    FormOut,
    FormsOut,
    FromSize,
    FromUpload,
    MaterialOut,
    NewBoat,
    StarterPart,
)
from dabchick.workbench.shapes.scene import Outlines
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.uploads import Uploads

FORMS: Final[tuple[Form, ...]] = ("round", "flat deck", "slender")
STATIONS_FILE: Final = "hull-stations.csv"
SLENDEREST, STOUTEST = 25.0, 2.0
"""Length over beam or height that is still a submarine; common practice, no source."""
MAKING_SECONDS: Final = 120.0
MAKING_MB: Final = 3000
BUILDING: Final = ".new-"


def router(shelf: Shelf, jobs: Jobs, uploads: Uploads) -> APIRouter:
    """The routes about new boats."""
    routes = APIRouter(prefix="/api", tags=["new boat"])

    @routes.get("/parts")
    def parts(
        length: Annotated[str, Query(max_length=40)] = "", units: UnitSet = "metric"
    ) -> list[StarterPart]:
        """The usual gear in the sizes that suit a boat of this length."""
        faults: list[Advice] = []
        length_m = _length(length, "length", faults) if length else USUAL_LENGTH_M
        if faults or length_m is None:
            raise BoatError(*faults)
        return [_part(part, units) for part in starter_parts(length_m)]

    @routes.get("/forms")
    def forms(
        length: Annotated[str, Query(max_length=40)],
        beam: Annotated[str, Query(max_length=40)],
        height: Annotated[str, Query(max_length=40)],
        units: UnitSet = "metric",
    ) -> FormsOut:
        """The hull forms that can be made from three sizes, as they would look."""
        faults: list[Advice] = []
        sizes = _sizes(FromSize(source="size", length=length, beam=beam, height=height, form="round"), faults)
        if faults or sizes is None:
            # asked while the builder types, so a size that is not whole yet is an answer like any other
            return FormsOut(size="", skin="", forms=[], advice=[AdviceOut.of(entry) for entry in faults])
        return FormsOut(
            size=" × ".join(shown(side, "length", units) for side in sizes),
            skin=shown(SKIN_M[size_class(sizes[0])], "length", units),
            forms=[FormOut(form=form, outlines=_outlines(form, sizes)) for form in FORMS],
            advice=[],
        )

    @routes.get("/materials")
    def densities(units: UnitSet = "metric") -> list[MaterialOut]:
        """The materials that the boat file knows by name."""
        return [
            MaterialOut(name=entry.name, density=shown(entry.typical_kg_m3, "density", units))
            for entry in materials()
        ]

    @routes.post("/boats")
    def make(wish: NewBoat) -> BoatName:
        """Make a boat's folder on the shelf."""
        building = shelf.folder / f"{BUILDING}{secrets.token_hex(6)}"
        order = None if wish.hull.source == "demo" else _order(wish, jobs, uploads)
        try:
            if order is None:
                new_boat.write_demo(building, wish.name.strip(), wish.units)
            else:
                # a hull from outside is worked on in a process of its own, like every other look at it
                job = jobs.start(
                    f"Making {order.name}",
                    make_boat,
                    building,
                    order,
                    seconds=MAKING_SECONDS,
                    memory_mb=MAKING_MB,
                )
                job.over.wait()
                jobs.done(job.job)
            return BoatName(boat=shelf.take_in(building, wish.name))
        finally:
            shutil.rmtree(building, ignore_errors=True)

    return routes


def make_boat(tell: Tell, building: Path, order: Order) -> None:
    """The work of `make` in a process of its own."""
    tell("Laying out her inside", 0.1)
    new_boat.write_boat(building, order)


def _order(wish: NewBoat, jobs: Jobs, uploads: Uploads) -> Order:
    """What was chosen, in SI. Raises one BoatError with all that cannot be."""
    faults: list[Advice] = []
    if not wish.name.strip():
        faults.append(Advice("She has no name yet.", "Give her one.", key="name"))
    skin = _length(wish.skin, "skin", faults) if wish.skin else None
    waterline = _length(wish.waterline, "waterline", faults) if wish.waterline else None
    if isinstance(wish.hull, FromSize):
        file = _from_size(wish.hull, waterline, faults)
    elif isinstance(wish.hull, FromUpload):
        file = _from_upload(wish.hull, jobs, uploads)
    else:
        raise TypeError("A copy of the demo boat needs no order.")
    if faults or file is None:
        raise BoatError(*faults)
    return Order(
        name=wish.name.strip(),
        hull=file,
        units=wish.units,
        skin_m=skin,
        material=wish.skin_material.strip(),
        waterline_m=waterline,
        parts=tuple(wish.parts),
    )


def _from_size(size: FromSize, waterline: float | None, faults: list[Advice]) -> HullFile | None:
    sizes = _sizes(size, faults)
    if sizes is not None and waterline is not None and not waterline < sizes[2]:
        faults.append(
            Advice(
                what="The waterline lies above the hull.",
                todo="Give a height over the keel that is less than the hull's.",
                key="waterline",
                allowed=f"above 0, below {size.height}",
            )
        )
    if faults or sizes is None:
        return None
    table = station_table(size.form, *(1000.0 * side for side in sizes))
    return HullFile(STATIONS_FILE, table.encode())


def _sizes(size: FromSize, faults: list[Advice]) -> tuple[float, float, float] | None:
    """Length, beam and height [m]; advice on all that cannot be a submarine's."""
    length, beam, height = (
        _length(getattr(size, key), f"hull.{key}", faults) for key in ("length", "beam", "height")
    )
    if length is None or beam is None or height is None:
        return None
    low, high = HULL_LENGTH_M
    if not low <= length <= high:
        faults.append(
            Advice(
                what="A model submarine of this length is not likely.",
                todo="Check the number and its unit.",
                key="hull.length",
                given=size.length,
                allowed=f"{low * 1000:.0f} mm to {high:g} m",
            )
        )
    for key, side in (("beam", beam), ("height", height)):
        if not STOUTEST <= length / side <= SLENDEREST:
            faults.append(
                Advice(
                    what=f"With this {key} she is no submarine's shape.",
                    todo="Check the number and its unit.",
                    key=f"hull.{key}",
                    given=getattr(size, key),
                    allowed=f"{length / SLENDEREST * 1000:.0f} mm to {length / STOUTEST * 1000:.0f} mm for her length",
                )
            )
    return length, beam, height


def _outlines(form: Form, sizes: tuple[float, float, float]) -> Outlines:
    drawn = form_outlines(form, *sizes)
    return Outlines(side=[list(drawn.side)], top=[list(drawn.top)], end=[list(drawn.end)])


def _from_upload(chosen: FromUpload, jobs: Jobs, uploads: Uploads) -> HullFile:
    upload = uploads.get(chosen.upload)
    proved(jobs, upload, chosen)
    is_mesh = upload.kind == "mesh"
    return HullFile(
        name=upload.name,
        content=upload.file.read_bytes(),
        unit=chosen.unit if is_mesh else None,
        bow=chosen.bow,
        up=chosen.up,
        solid_walled=chosen.solid_walled and is_mesh,
        separate_shells=chosen.separate_shells,
    )


def _length(text: str, key: str, faults: list[Advice]) -> float | None:
    """A length above 0 [m]; None and advice otherwise."""
    try:
        value = parse(text, "length")
    except UnitError as fault:
        faults.append(Advice(what=fault.what, todo=fault.todo, key=key, given=text, allowed=fault.allowed))
        return None
    if not value > 0.0:
        faults.append(
            Advice(what="This must be above 0.", todo="Correct it.", key=key, given=text, allowed="above 0")
        )
        return None
    return value


def _part(part: Usual, units: UnitSet) -> StarterPart:
    if part.from_hull:
        size, mass = "made to fit the hull", "worked out from its size"
    else:
        sides = part.size_m[:2] if part.size_m and part.is_round else part.size_m
        size = " × ".join(shown(side, "length", units) for side in sides) if sides else "all over the place"
        mass = shown(part.mass_kg or 0.0, "mass", units)
    return StarterPart(
        part=part.part,
        name=part.name,
        group=part.group,
        size=size,
        mass=mass,
        about=part.about,
        usual=part.usual,
    )
