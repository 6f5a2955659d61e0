"""Tracing a plan: its pictures, the document, faired curves while a point is dragged, and the hull of it all."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Response
from pydantic import ValidationError

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import UnitSet
from dabchick.storage import edit_text
from dabchick.storage.atomic import write_atomic
from dabchick.storage.plan_picture import picture_size
from dabchick.workbench import plan_work
from dabchick.workbench.bench import Bench
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.errors import NotThere, Refused
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.routes_hull import MESH_KEYS, free_name
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.boat import Base, BoatState
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.trace import (
    CurveDrawn,
    FairAsk,
    FairOut,
    FairWish,
    NewView,
    PictureOut,
    PlanAsk,
    PlanOut,
    Trace,
    TracedCurve,
    TraceFigures,
    TraceIn,
    TraceOut,
)
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.trace_curves import drawn, drawn_all
from dabchick.workbench.trace_desk import Found, TraceDesk
from dabchick.workbench.trace_out import figures_of, trace_work
from dabchick.workbench.trace_pictures import SmallPictures, picture_mark
from dabchick.workbench.uploads import Upload, Uploads

LOOK_SECONDS: Final = 60.0
FIGURES_SECONDS: Final = 60.0
MEMORY_MB: Final = 2500
_USUAL_CURVES: Final = {
    "side": ({"name": "upper edge", "role": "upper"}, {"name": "lower edge", "role": "lower"}),
    "top": ({"name": "half breadth", "role": "half_breadth"},),
    "section": ({"name": "section", "role": "section"},),
}
_JPEG: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}}}
}


def router(shelf: Shelf, jobs: Jobs, uploads: Uploads) -> APIRouter:
    """The routes about traced plans."""
    routes = APIRouter(prefix="/api", tags=["trace"])
    desk, small = TraceDesk(), SmallPictures()

    @routes.post("/uploads/{upload}/plan")
    def look(upload: str, how: PlanAsk) -> JobOut:
        """Unpack a picture, or draw a page of a document; the answer is at /api/jobs/{job}/plan."""
        found = _plan(uploads, upload)
        out = uploads.new_file(f"{Path(found.name).stem[:60]}-page-{how.page}.png")
        job = jobs.start(
            f"Looking at {found.name}",
            plan_work.look,
            found.file,
            how.page,
            out,
            seconds=LOOK_SECONDS,
            memory_mb=MEMORY_MB,
            then=lambda seen: _plan_out(uploads, found, seen),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/plan")
    def looked(job: str) -> PlanOut:
        """What was found."""
        return jobs.answer(job, PlanOut)

    @routes.get("/uploads/{upload}/plan.jpg", response_class=Response, responses=_JPEG)
    def upload_picture(upload: str) -> Response:
        """The picture small enough to show."""
        file = _plan(uploads, upload).file.parent / plan_work.SHOWN
        if not file.is_file():
            raise NotThere("This plan has not been looked at yet.", "Look at it first.")
        return Response(file.read_bytes(), media_type="image/jpeg")

    @routes.get("/boats/{boat}/trace")
    def trace(boat: str) -> TraceOut:
        """The document as it stands."""
        bench = shelf.bench(boat)
        return _trace_out(bench, desk.found(bench))

    @routes.post("/boats/{boat}/trace")
    def keep(boat: str, wish: TraceIn) -> TraceOut:
        """Write the document whole, saved at once."""
        bench = shelf.bench(boat)
        return _trace_out(bench, desk.keep(bench, tables_of(wish.trace), wish.base))

    @routes.post("/boats/{boat}/trace/views")
    def add_view(boat: str, wish: NewView) -> TraceOut:
        """Add a view; its picture goes into the boat's folder in the same step."""
        bench = shelf.bench(boat)
        found = desk.found(bench)
        picture, made = _picture_for(bench, uploads, jobs, small, wish)
        try:
            tables = _with_view(found.tables, wish, picture)
            return _trace_out(bench, desk.keep(bench, tables, wish.base))
        except BaseException:
            if made is not None:
                made.unlink(missing_ok=True)
            raise

    @routes.get("/boats/{boat}/trace/picture.jpg", response_class=Response, responses=_JPEG)
    def picture(
        boat: str, name: Annotated[str, Query(min_length=1, max_length=200)], mark: str = ""
    ) -> Response:
        """A picture of the document, small enough to show; with its mark, the browser may keep it."""
        bench = shelf.bench(boat)
        file = _inner(bench, name)

        def make() -> bytes:
            job = jobs.start(
                f"Unpacking {file.name}",
                plan_work.small_picture,
                file,
                seconds=LOOK_SECONDS,
                memory_mb=MEMORY_MB,
            )
            job.over.wait()
            content: bytes = jobs.done(job.job)
            return content

        content = small.get(file, make)
        kept = {"Cache-Control": "private, max-age=86400"} if mark == picture_mark(file) else {}
        return Response(content, media_type="image/jpeg", headers=kept)

    @routes.post("/trace/fair")
    def fair(wish: FairAsk) -> FairOut:
        """Faired curves through these points, with their combs; nothing is saved."""
        return FairOut(curves=drawn_all(wish.curves))

    @routes.post("/boats/{boat}/trace/figures")
    def figures(boat: str) -> JobOut:
        """Work out what the trace amounts to; the answer is at /api/jobs/{job}/trace."""
        bench = shelf.bench(boat)
        found = desk.found(bench)
        if not found.mark:
            raise BoatError(_NOTHING_TRACED)
        now = bench.now
        units: UnitSet = "inch" if now.content.get("units") == "inch" else "metric"
        pictures = {name: size for name, (size, _) in _sizes(bench, found.tables).items() if size[0] > 0}
        job = jobs.start(
            f"Figures of {found.file.name}",
            trace_work,
            dict(found.tables),
            pictures,
            found.file.name,
            boat=bench.name,
            seconds=FIGURES_SECONDS,
            then=lambda result: figures_of(found.mark, result, units),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/trace")
    def worked_out(job: str) -> TraceFigures:
        """What the trace amounts to."""
        return jobs.answer(job, TraceFigures)

    @routes.post("/boats/{boat}/trace/use")
    def use(boat: str, base: Base) -> BoatState:
        """Make the trace her hull: one step, which undo takes back. Her old hull's file stays."""
        bench = shelf.bench(boat)
        found = desk.found(bench)
        if not found.mark:
            raise BoatError(_NOTHING_TRACED)
        bench.edit(
            f"Take {found.file.name} as the hull",
            lambda text: with_trace(text, found.file.name),
            base=base.base,
            by=base.by,
        )
        return state_of(bench)

    return routes


def with_trace(text: str, name: str) -> str:
    """The boat's text with this trace as the hull."""
    there = edit_text.content_of(text).get("hull")
    old: dict[str, Any] = there if isinstance(there, dict) else {}
    text = edit_text.put(text, ("hull", "trace"), name)
    for key in ("mesh", "stations", *MESH_KEYS):
        if key in old:
            text = edit_text.drop(text, ("hull", key))
    return text


def tables_of(trace: Trace) -> dict[str, Any]:
    """The document as plain tables; what is left open is left out."""
    tables: dict[str, Any] = trace.model_dump(mode="json", by_alias=True, exclude_none=True)
    section = tables.get("section")
    if isinstance(section, dict) and not section.get("exponents"):
        section.pop("exponents", None)
    for body in tables["body"]:
        if body["part_of_hull"]:
            del body["part_of_hull"]
    for view in tables["view"]:
        for curve in view["curve"]:
            if not curve["corners"]:
                del curve["corners"]
            if not curve["body"]:
                del curve["body"]
    return tables


def _trace_out(bench: Bench, found: Found) -> TraceOut:
    trace = _shape(found)
    told: list[AdviceOut] = []
    pictures: list[PictureOut] = []
    for name, (size, wrong) in _sizes(bench, found.tables).items():
        told += [AdviceOut.of(entry) for entry in wrong]
        mark = picture_mark(bench.folder / name) if not wrong else ""
        pictures.append(PictureOut(name=name, width=size[0], height=size[1], mark=mark))
    curves: list[list[CurveDrawn]] = [[drawn(_wish(curve)) for curve in view.curve] for view in trace.view]
    return TraceOut(
        base=found.mark,
        file=found.file.name,
        used=found.used,
        trace=trace,
        pictures=pictures,
        drawn=curves,
        advice=told,
    )


def _wish(curve: TracedCurve) -> FairWish:
    return FairWish(points=curve.points, corners=curve.corners, closed=curve.role == "outline")


def _shape(found: Found) -> Trace:
    """The document as pages read it. Raises BoatError for one with more in it than a page can hold."""
    tables = {key: value for key, value in found.tables.items() if key != "dabchick_trace"}
    try:
        return Trace.model_validate(tables)
    except ValidationError as fault:
        first = fault.errors(include_url=False)[0]
        raise BoatError(
            Advice(
                what=f"The page cannot show this trace: {first['msg'][:1].lower()}{first['msg'][1:]}.",
                todo="Put it right in an editor.",
                where=found.file.name,
                key=".".join(str(step) for step in first["loc"]),
            )
        ) from fault


def _sizes(bench: Bench, tables: Mapping[str, Any]) -> dict[str, tuple[tuple[int, int], tuple[Advice, ...]]]:
    """Width and height of each picture that the views name, or what is wrong with it."""
    found: dict[str, tuple[tuple[int, int], tuple[Advice, ...]]] = {}
    for view in tables.get("view", ()):
        name = view.get("picture")
        if not isinstance(name, str) or not name or name in found:
            continue
        try:
            found[name] = picture_size(_inner(bench, name)), ()
        except BoatError as fault:
            found[name] = (0, 0), fault.advice
    return found


def _inner(bench: Bench, name: str) -> Path:
    """A picture in the boat's folder. Raises BoatError for a name that leads out of it."""
    file = bench.folder / name
    if "\0" in name or not file.resolve().is_relative_to(bench.folder.resolve()):
        raise BoatError(
            Advice(
                what="The picture lies outside the boat's folder.",
                todo="Copy it into the folder and give its name alone: a boat is passed on as one folder.",
                key="picture",
                given=name[:80],
            )
        )
    if not file.is_file():
        raise NotThere(
            f"The picture {name[:80]} is not in the boat's folder.",
            "Put it back there, or bring the plan in again.",
        )
    return file


def _plan(uploads: Uploads, upload: str) -> Upload:
    found = uploads.get(upload)
    if found.kind != "plan":
        raise BoatError(
            Advice(
                what="This file is no picture of a plan.",
                todo="Choose a PNG, a JPEG or a PDF.",
                key="upload",
                given=found.name,
            )
        )
    return found


def _plan_out(uploads: Uploads, old: Upload, seen: plan_work.PlanLook) -> PlanOut:
    is_drawn = seen.file != old.file
    picture = uploads.add("plan", seen.file) if is_drawn else old
    notes: list[str] = []
    if plan_work.drawn_more_coarsely(seen.dpi):
        notes.append(f"The sheet is so large that it was drawn with {seen.dpi:.0f} dots per inch.")
    if seen.shown_width < seen.width:
        share = 100.0 * seen.shown_width / seen.width
        notes.append(f"Kept whole; shown at {share:.0f} % of its size, points count in whole pixels.")
    return PlanOut(
        upload=picture.upload,
        name=picture.name,
        pages=seen.pages,
        page=seen.page,
        width=seen.width,
        height=seen.height,
        note=" ".join(notes),
    )


def _picture_for(
    bench: Bench, uploads: Uploads, jobs: Jobs, small: SmallPictures, wish: NewView
) -> tuple[str, Path | None]:
    """Name of the picture in the boat's folder, and the file where it was put there just now."""
    if (wish.upload is None) == (wish.picture is None):
        raise BoatError(
            Advice(
                what="A view needs one picture.",
                todo="Give an upload, or the name of a picture in the boat's folder.",
                key="upload",
            )
        )
    if wish.picture is not None:
        picture_size(_inner(bench, wish.picture))
        return wish.picture, None
    upload = _plan(uploads, str(wish.upload))
    shown = upload.file.parent / plan_work.SHOWN
    if upload.file.suffix.lower() == ".pdf" or not shown.is_file():
        raise Refused(422, Advice(what="This plan has not been looked at yet.", todo="Look at it first."))
    content = upload.file.read_bytes()
    name, is_new = free_name(bench.folder, upload.name, content)
    file = bench.folder / name
    if is_new:
        write_atomic(file, content)
    small.put(file, shown.read_bytes())
    return name, file if is_new else None


def _with_view(tables: Mapping[str, Any], wish: NewView, picture: str) -> dict[str, Any]:
    """The document with one view more, its usual curves empty and ready to be traced."""
    views = list(tables.get("view", ()))
    taken = {str(view.get("name")) for view in views}
    wanted = wish.name.strip() or wish.kind
    name, number = wanted, 1
    while name in taken:
        number += 1
        name = f"{wanted} {number}"
    curves = [{**curve, "points": []} for curve in _USUAL_CURVES[wish.kind]]
    view = {"name": name, "kind": wish.kind, "picture": picture, "bow": "right", "curve": curves}
    if wish.kind == "section":
        del view["bow"]
    rest = {key: value for key, value in tables.items() if key != "dabchick_trace"}
    return {**rest, "view": [*views, view]}


_NOTHING_TRACED: Final = Advice(
    what="Nothing has been traced yet.",
    todo="Bring in a picture of the plan and set points along its lines.",
)
