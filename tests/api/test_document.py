"""Every answer of the API against its own OpenAPI document, with requests made up by schemathesis.

Made-up names and numbers alone would only ever meet "no such boat"; so names of things that there are, and the revision
that stands, are mixed in.
"""

import copy
import itertools
import re
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import hypothesis
import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase
from hypothesis import strategies as st
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from dabchick.workbench.app import create_app
from dabchick.workbench.settings import Settings
from dabchick.workbench.site import Site
from tests.support.plan_sheet import Sheet, traced
from tests.support.sample_boat import write_box_stl
from tests.support.serving import demo_shelf
from tests.support.workbench import LAN, LAPTOP, PORT, ended, upload

EXAMPLES = 12
"""Of each operation, for requests that fit the document and as many for those that do not."""
FEW_EXAMPLES = 4
"""Where nothing but a boat's name can be said."""
CHECKS = [
    schemathesis.checks.not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
    response_headers_conformance,
]
DOCUMENT = create_app(Settings(Path("no such shelf"))).openapi()
SCHEMA = schemathesis.openapi.from_dict(copy.deepcopy(DOCUMENT))
OPERATIONS = {
    f"{method.upper()} {path}": SCHEMA[path][method.upper()]
    for path, methods in DOCUMENT["paths"].items()
    for method in methods
}
schemathesis.serializer.alias("application/zip", "application/octet-stream")
SEARCH = hypothesis.settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)

Case = schemathesis.Case[Any]

FITTING, UNFIT = schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE


def says_something(name: str) -> bool:
    """The request has more to it than its address, so that it can be wrong in itself."""
    method, path = name.split(" ")
    described = DOCUMENT["paths"][path][method.lower()]
    # Of a file's bytes the document cannot say which are wrong.
    body = "application/json" in described.get("requestBody", {}).get("content", {})
    return body or any(place["in"] != "path" for place in described.get("parameters", []))


SAYING = {name for name in OPERATIONS if says_something(name)}


@dataclass
class Api:
    """The whole site in this process, with one of each thing that has an id."""

    client: TestClient
    shelf: Path
    text: str
    uploads: list[str]
    jobs: list[str]
    device: str

    def fresh(self) -> None:
        """The demo boat as she was delivered, whatever was done to her before."""
        (self.shelf / "wren" / "boat.toml").write_text(self.text, "utf-8")

    def revision(self) -> int:
        found = self.client.get("/api/boats/wren").json()["revision"]
        assert isinstance(found, int)
        return found

    def known(self, name: str) -> list[Any]:
        """Values for a parameter that lead somewhere."""
        steps = self.client.get("/api/boats/wren/steps").json()["steps"]
        return {
            "boat": ["wren"],
            "upload": self.uploads,
            "job": self.jobs,
            "step": [entry["step"] for entry in steps[:3]],
            "against": [entry["step"] for entry in steps[-3:]],
            "device": [self.device],
            "revision": [self.revision()],
        }.get(name, [])


@pytest.fixture(scope="module")
def api(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Api]:
    shelf = demo_shelf(tmp_path_factory.mktemp("api") / "shelf")
    settings = Settings(shelf=shelf, port=PORT, lan=True, lan_addresses=(LAN,))
    site = Site(settings, Path("no pages"))
    with TestClient(
        site, base_url=f"http://127.0.0.1:{PORT}", client=LAPTOP, raise_server_exceptions=False
    ) as client:
        stations = (shelf / "wren" / "wren-stations.csv").read_bytes()
        taken = [upload(client, f"hull {number}.csv", stations).json()["upload"] for number in (1, 2)]
        looked = ended(client, client.post(f"/api/uploads/{taken[0]}/look", json={"unit": None}))
        solved = ended(
            client, client.post("/api/boats/wren/trim", json={"gap": 0.05, "seconds": 5, "sheet": None})
        )
        code = client.get("/api/pairing").json()["code"]
        assert client.post("/api/pair", json={"code": code, "device": "phone"}).status_code == 200
        client.cookies.clear()
        device = client.get("/api/devices").json()[0]["device"]
        jobs = [looked["job"], solved["job"]]
        text = (shelf / "wren" / "boat.toml").read_text("utf-8")
        yield Api(client, shelf, text, taken, jobs, device)


def asked(api: Api, case: Case) -> Any:
    """The request as a browser on the laptop would send it."""
    wanted = case.as_transport_kwargs(base_url=f"http://127.0.0.1:{PORT}")
    wanted["headers"] = {k: v for k, v in wanted["headers"].items() if k.lower() != "user-agent"}
    content = wanted.pop("data", None)
    for unused in ("files", "timeout", "verify"):
        wanted.pop(unused, None)
    if content is not None:
        wanted["content"] = content
    return api.client.request(**wanted)


@pytest.mark.parametrize(
    ("name", "mode"),
    [(name, FITTING) for name in OPERATIONS] + [(name, UNFIT) for name in OPERATIONS if name in SAYING],
    ids=lambda value: value if isinstance(value, str) else value.value,
)
def test_every_answer_is_as_documented(api: Api, name: str, mode: schemathesis.GenerationMode) -> None:
    operation = OPERATIONS[name]
    api.fresh()
    count = itertools.count()

    @hypothesis.settings(SEARCH, max_examples=EXAMPLES if name in SAYING else FEW_EXAMPLES)
    @hypothesis.seed(1)
    @hypothesis.given(data=st.data())
    def ask(data: st.DataObject) -> None:
        case = data.draw(operation.as_strategy(generation_mode=mode))
        if data.draw(st.integers(0, 4)):
            fit(api, case, data)
        next(count)
        case.validate_response(asked(api, case), checks=CHECKS)

    ask()
    assert next(count) > 0


def fit(api: Api, case: Case, data: st.DataObject) -> None:
    """Put things that there are in place of made-up ones."""
    for place in (case.path_parameters, case.query):
        for key in place if isinstance(place, dict) else ():
            if known := api.known(key):
                place[key] = data.draw(st.sampled_from(known))
    if isinstance(case.body, dict):
        if isinstance(case.body.get("base"), int):
            case.body["base"] = api.revision()
        for key in ("job", "upload"):
            if isinstance(case.body.get(key), str):
                case.body[key] = data.draw(st.sampled_from(api.known(key)))


def test_a_good_request_to_each_operation_is_answered_as_documented(api: Api) -> None:
    """Each operation once with what a page would send; the requests made up above may all have been refused."""
    api.fresh()
    client, boat = api.client, "/api/boats/wren"
    done: set[str] = set()

    def good(method: str, path: str, address: str = "", **more: Any) -> Any:
        operation = OPERATIONS[f"{method} {path}"]
        answer = client.request(method, address or path, **more)
        assert answer.status_code == 200, (method, path, answer.text)
        named = re.fullmatch(path.replace("{", "(?P<").replace("}", ">[^/]+)"), address or path)
        assert named
        case = operation.Case(path_parameters=named.groupdict())
        case.validate_response(answer, checks=CHECKS)
        done.add(f"{method} {path}")
        return answer

    def base(**more: Any) -> dict[str, Any]:
        return {"json": {"base": api.revision(), "by": "laptop", **more}}

    def job(path: str, address: str, **more: Any) -> str:
        ended_job = ended(client, good("POST", path, address, **more))
        assert ended_job["state"] == "done", ended_job
        return str(ended_job["job"])

    one = "/api/boats/{boat}"
    good("GET", "/api/me")
    good("GET", "/api/boats")
    good("GET", one, boat)
    good("GET", f"{one}/text", f"{boat}/text")
    put = {"op": "put", "path": ["scale"], "value": 72}
    good("POST", f"{one}/edits", f"{boat}/edits", **base(what="Scale", ops=[put]))
    good("POST", f"{one}/undo", f"{boat}/undo", **base())
    good("POST", f"{one}/redo", f"{boat}/redo", **base())
    steps = good("GET", f"{one}/steps", f"{boat}/steps").json()["steps"]
    step = f"{boat}/steps/{steps[0]['step']}"
    good("POST", f"{one}/steps/{{step}}/name", f"{step}/name", json={"name": "First afloat"})
    good(
        "GET", f"{one}/steps/{{step}}/difference", f"{step}/difference", params={"against": steps[-1]["step"]}
    )
    beside = job(f"{one}/steps/{{step}}/compare", f"{step}/compare", params={"against": steps[-1]["step"]})
    good("GET", "/api/jobs/{job}/compare", f"/api/jobs/{beside}/compare")
    good("POST", f"{one}/steps/{{step}}/restore", f"{step}/restore", **base())
    good("GET", f"{one}/scene", f"{boat}/scene")
    good("GET", f"{one}/meshes", f"{boat}/meshes", params={"revision": api.revision()})
    good("GET", f"{one}/hull", f"{boat}/hull")
    checked = job(f"{one}/check", f"{boat}/check")
    good("GET", "/api/jobs/{job}/check", f"/api/jobs/{checked}/check")
    looked_into = job(f"{one}/space", f"{boat}/space", json={"cell": "6 mm"})
    good("GET", "/api/jobs/{job}/space", f"/api/jobs/{looked_into}/space")
    good("POST", f"{one}/split", f"{boat}/split", json={"points": [["0", "60 mm"]]})
    fitted = job(f"{one}/fit", f"{boat}/fit", json={})
    good("GET", "/api/jobs/{job}/fit", f"/api/jobs/{fitted}/fit")
    slid = job(f"{one}/fit/slide", f"{boat}/fit/slide", json={"part": "cylinder"})
    good("GET", "/api/jobs/{job}/slide", f"/api/jobs/{slid}/slide")
    longest = job(f"{one}/fit/cylinder", f"{boat}/fit/cylinder", json={"diameter": "80 mm"})
    good("GET", "/api/jobs/{job}/cylinder", f"/api/jobs/{longest}/cylinder")
    good("GET", f"{one}/air", f"{boat}/air", params={"pitch": 12.5, "depth": "3 ft"})
    leaked = job(f"{one}/leak", f"{boat}/leak", json={"hole": "1 mm", "depth": "1 m", "wall": "2.5 mm"})
    good("GET", "/api/jobs/{job}/leak", f"/api/jobs/{leaked}/leak")
    vented = job(f"{one}/air/vents", f"{boat}/air/vents", json={"leave": "2 ml"})
    good("GET", "/api/jobs/{job}/vents", f"/api/jobs/{vented}/vents")
    good("POST", f"{one}/squeeze", f"{boat}/squeeze", json={"fills": {"main": 0.5}, "depth": "12 ft"})
    squeezed = job(f"{one}/squeeze/air", f"{boat}/squeeze/air", json={})
    good("GET", "/api/jobs/{job}/squeeze", f"/api/jobs/{squeezed}/squeeze")
    drained = job(f"{one}/drain", f"{boat}/drain", json={"blow": "10 s", "fill": "0.5 min"})
    good("GET", "/api/jobs/{job}/drain", f"/api/jobs/{drained}/drain")
    pushed = {"power": "9 W", "rpm": "2500", "gust": "6 m/s", "fill": "50%"}
    good("POST", f"{one}/heel", f"{boat}/heel", json=pushed)
    heeled = job(f"{one}/heel/least", f"{boat}/heel/least", json=pushed)
    good("GET", "/api/jobs/{job}/heel", f"/api/jobs/{heeled}/heel")
    followed = job(f"{one}/stability", f"{boat}/stability", json={"stages": 3})
    for found in ("stability", "dive", "dive/waters"):
        good("GET", f"/api/jobs/{{job}}/{found}", f"/api/jobs/{followed}/{found}")
    for name in ("stability-sheet.pdf", "righting-arms.svg", "dive-strip.png", "stability-stages.csv"):
        good("GET", "/api/jobs/{job}/stability/{file}", f"/api/jobs/{followed}/stability/{name}")
    good("GET", f"{one}/weights", f"{boat}/weights")
    sheet = good("GET", f"{one}/weights.csv", f"{boat}/weights.csv").text
    good("POST", f"{one}/weights/pasted", f"{boat}/weights/pasted", json={"text": sheet})
    cell = {
        "table": "part",
        "row": 3,
        "row_name": "battery",
        "column": "mass",
        "text": "18 oz",
        "was": "506 g",
    }
    good("POST", f"{one}/weights/cell", f"{boat}/weights/cell", **base(**cell))
    tank = good("GET", f"{one}/tank", f"{boat}/tank").json()
    chosen: dict[str, Any] = {"proposal": 0, "title": tank["proposals"][0]["title"]}
    good("POST", f"{one}/tank/apply", f"{boat}/tank/apply", **base(**chosen))
    api.fresh()
    api.revision()
    solved = job(f"{one}/trim", f"{boat}/trim", json={"seconds": 5})
    good("GET", "/api/jobs/{job}/trim", f"/api/jobs/{solved}/trim")
    good("POST", f"{one}/trim/apply", f"{boat}/trim/apply", **base(job=solved))
    good("GET", f"{one}/trim", f"{boat}/trim")
    for name in ("sheet.pdf", "sheet.svg", "pieces.csv"):
        good("GET", f"{one}/trim/{name}", f"{boat}/trim/{name}")
    judged = job(f"{one}/criteria", f"{boat}/criteria", json={"gm": "3 mm"})
    good("GET", "/api/jobs/{job}/criteria", f"/api/jobs/{judged}/criteria")
    cured = job(f"{one}/cure", f"{boat}/cure", json={"gm": "5 mm", "bg": "0 mm"})
    good("GET", "/api/jobs/{job}/cure", f"/api/jobs/{cured}/cure")
    good("POST", f"{one}/cure/apply", f"{boat}/cure/apply", **base(job=cured, number=0))
    good("GET", "/api/jobs/{job}", f"/api/jobs/{solved}")
    good("DELETE", "/api/jobs/{job}", f"/api/jobs/{solved}")
    hull = box_stl(api.shelf.parent / "box.stl")
    raw: dict[str, Any] = {"content": hull, "headers": {"content-type": "application/octet-stream"}}
    taken = good("POST", "/api/uploads", params={"name": "box.stl"}, **raw).json()["upload"]
    how = {"json": {"unit": "mm"}}
    looked = job("/api/uploads/{upload}/look", f"/api/uploads/{taken}/look", **how)
    good("GET", "/api/jobs/{job}/look", f"/api/jobs/{looked}/look")
    mended = job("/api/uploads/{upload}/repair", f"/api/uploads/{taken}/repair", **how)
    good("GET", "/api/jobs/{job}/repair", f"/api/jobs/{mended}/repair")
    joined = job(f"{one}/prints", f"{boat}/prints", json={"pieces": [{"upload": taken}], "material": "PLA"})
    good("GET", "/api/jobs/{job}/prints", f"/api/jobs/{joined}/prints")
    good("POST", f"{one}/hull", f"{boat}/hull", **base(upload=taken, unit="mm"))
    api.fresh()
    sheet_file = Sheet().save(api.shelf.parent / "plan.png").read_bytes()
    raw = {"content": sheet_file, "headers": {"content-type": "application/octet-stream"}}
    plan = good("POST", "/api/uploads", params={"name": "plan.png", "purpose": "plan"}, **raw).json()[
        "upload"
    ]
    seen = job("/api/uploads/{upload}/plan", f"/api/uploads/{plan}/plan", json={"page": 1})
    good("GET", "/api/jobs/{job}/plan", f"/api/jobs/{seen}/plan")
    good("GET", "/api/uploads/{upload}/plan.jpg", f"/api/uploads/{plan}/plan.jpg")
    mark = good("GET", f"{one}/trace", f"{boat}/trace").json()["base"]
    view = {"base": mark, "kind": "side", "upload": plan}
    mark = good("POST", f"{one}/trace/views", f"{boat}/trace/views", json=view).json()["base"]
    whole = {"base": mark, "trace": traced(Sheet(), "plan.png")}
    good("POST", f"{one}/trace", f"{boat}/trace", json=whole)
    good("GET", f"{one}/trace/picture.jpg", f"{boat}/trace/picture.jpg", params={"name": "plan.png"})
    good("POST", "/api/trace/fair", json={"curves": [{"points": Sheet().side.upper(9)}]})
    worked_out = job(f"{one}/trace/figures", f"{boat}/trace/figures")
    good("GET", "/api/jobs/{job}/trace", f"/api/jobs/{worked_out}/trace")
    good("POST", f"{one}/trace/use", f"{boat}/trace/use", **base())
    good("GET", f"{one}/measures", f"{boat}/measures")
    rows = [["0", "0", "0", "50", ""], *([f"{x}", "90", "90", "5", "283"] for x in (90, 300, 600, 800))]
    rows.append(["900", "0", "0", "50", ""])
    table: dict[str, Any] = {"unit": "mm", "measured_from": "bow", "girth": "whole", "rows": rows}
    begun = good("POST", f"{one}/measures", f"{boat}/measures", json=table).json()["job"]["job"]
    while client.get(f"/api/jobs/{begun}").json()["state"] == "running":
        time.sleep(0.02)
    good("GET", "/api/jobs/{job}/measures", f"/api/jobs/{begun}/measures")
    good("POST", f"{one}/measures/use", f"{boat}/measures/use", **base(table=table))
    full = {"length": "62 m", "beam": "6.2 m", "draught": "4.3 m", "displacement": "620 t"}
    good("GET", "/api/scale", params=full)
    good("GET", "/api/parts", params={"length": "0.9 m"})
    good("GET", "/api/forms", params={"length": "0.9 m", "beam": "96 mm", "height": "104 mm"})
    good("GET", "/api/materials")
    good("POST", "/api/boats", json={"name": "Second Wren", "hull": {"source": "demo"}})
    packed = good("GET", f"{one}/zip", "/api/boats/second-wren/zip").content
    good("POST", "/api/boats/zip", content=packed, headers={"content-type": "application/zip"})
    code = good("GET", "/api/pairing").json()["code"]
    good("POST", "/api/pair", json={"code": code, "device": "second phone"})
    client.cookies.clear()
    second = good("GET", "/api/devices").json()[0]["device"]
    good("DELETE", "/api/devices/{device}", f"/api/devices/{second}")
    assert done == set(OPERATIONS)


def box_stl(file: Path) -> bytes:
    write_box_stl(file)
    return file.read_bytes()


def test_every_refusal_is_documented_in_the_one_error_shape() -> None:
    for path, methods in DOCUMENT["paths"].items():
        for method, described in methods.items():
            for status, answer in described["responses"].items():
                if status.startswith(("4", "5")):
                    shape = answer["content"]["application/json"]["schema"]
                    assert shape == {"$ref": "#/components/schemas/Refusal"}, (path, method, status)


def test_the_document_is_served_as_it_is_written_down(api: Api) -> None:
    assert api.client.get("/api/openapi.json").json() == DOCUMENT


def test_the_app_is_whole() -> None:
    """Each page's question has its operation; a router that fell out would go unnoticed above."""
    tags = {
        tag for methods in DOCUMENT["paths"].values() for entry in methods.values() for tag in entry["tags"]
    }
    pages = {
        "shelf",
        "new boat",
        "scale",
        "boat",
        "scene",
        "weights",
        "tank",
        "trim",
        "hull",
        "trace",
        "measures",
        "prints",
        "fit",
        "space",
        "air",
        "leak",
        "heel",
        "compare",
        "drain",
        "split",
        "squeeze",
        "stability",
        "criteria",
        "history",
    }
    assert tags == pages | {"jobs", "uploads", "pairing"}
