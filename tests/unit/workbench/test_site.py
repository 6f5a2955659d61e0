"""What is served as a whole: the pages and how long they keep, and one error shape for everything that goes wrong."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.model.advice import Advice, BoatError
from dabchick.workbench import site as site_module
from dabchick.workbench.app import create_app
from dabchick.workbench.errors import Refused
from dabchick.workbench.settings import Settings
from dabchick.workbench.site import Site
from tests.support.workbench import LAPTOP, PORT, served, settings, words


@pytest.fixture
def pages(tmp_path: Path) -> Path:
    folder = tmp_path / "pages"
    (folder / "assets").mkdir(parents=True)
    (folder / "index.html").write_text("<title>Dabchick</title>")
    (folder / "assets" / "main-abc123.js").write_text("1;")
    (folder / "dabchick.svg").write_text("<svg/>")
    (tmp_path / "secret.txt").write_text("secret")
    return folder


@pytest.fixture
def laptop(tmp_path: Path, pages: Path) -> Iterator[TestClient]:
    with served(Site(settings(tmp_path), pages)) as client:
        yield client


def test_the_first_page_is_asked_for_anew_and_named_by_content_ones_never(laptop: TestClient) -> None:
    first = laptop.get("/")
    assert (first.status_code, first.text) == (200, "<title>Dabchick</title>")
    assert first.headers["content-type"] == "text/html; charset=utf-8"
    assert first.headers["cache-control"] == "no-cache"
    script = laptop.get("/assets/main-abc123.js")
    assert script.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert script.headers["content-type"].startswith("text/javascript")
    assert laptop.get("/dabchick.svg").headers["content-type"] == "image/svg+xml"
    head = laptop.head("/")
    assert (head.status_code, head.text, head.headers["content-length"]) == (200, "", str(len(first.text)))


@pytest.mark.parametrize(
    "path",
    [
        "/secret.txt",
        "/../secret.txt",
        "/assets/../../secret.txt",
        "/..%2fsecret.txt",
        "/%2e%2e/secret.txt",
        "/assets/none.js",
        "/assets",
    ],
)
def test_nothing_but_the_pages_is_found(laptop: TestClient, path: str) -> None:
    answer = laptop.get(path)
    assert answer.status_code == 404
    assert "secret" not in answer.text
    assert answer.headers["cache-control"] == "no-cache"


def test_pages_cannot_be_written_and_new_ones_are_found(laptop: TestClient, pages: Path) -> None:
    assert laptop.post("/", json={}).status_code == 405
    (pages / "assets" / "new-def.js").write_text("2;")
    (pages / "index.html").write_text("<title>New</title>")
    assert laptop.get("/assets/new-def.js").text == "2;"
    assert laptop.get("/").text == "<title>New</title>"


def test_missing_pages_are_said(tmp_path: Path) -> None:
    with served(Site(settings(tmp_path), tmp_path / "none")) as laptop:
        answer = laptop.get("/")
        assert answer.status_code == 404
        assert "make web" in answer.text


def test_there_are_no_pages_of_the_framework(laptop: TestClient) -> None:
    for path in ("/docs", "/redoc", "/api/docs", "/openapi.json"):
        assert laptop.get(path).status_code == 404
    assert laptop.get("/api/openapi.json").json()["info"]["title"] == "Dabchick workbench"


@pytest.mark.parametrize(
    ("method", "path", "sent", "status", "key"),
    [
        ("GET", "/api/nothing", None, 404, ""),
        ("PUT", "/api/boats", b"{}", 405, ""),
        ("POST", "/api/boats", b"{", 422, ""),
        ("POST", "/api/boats", b"[]", 422, ""),
        ("POST", "/api/pair", b'{"code": 7}', 422, "code"),
        ("POST", "/api/pair", b'{"code": "x", "more": 1}', 422, "more"),
        ("POST", "/api/uploads", b"x", 422, "name"),
        ("GET", "/api/boats/none/hull", None, 404, ""),
        ("GET", "/api/jobs/none", None, 404, ""),
        ("DELETE", "/api/jobs/none", None, 404, ""),
    ],
)
def test_whatever_is_wrong_has_one_shape_and_names_the_field(
    laptop: TestClient, method: str, path: str, sent: bytes | None, status: int, key: str
) -> None:
    answer = laptop.request(
        method, path, content=sent, headers={"content-type": "application/json"} if sent else {}
    )
    assert answer.status_code == status
    assert words(answer)
    assert set(answer.json()) == {"advice"}
    assert key in {entry["key"] for entry in answer.json()["advice"]}


def test_errors_inside_leave_as_advice_and_their_traceback_stays(tmp_path: Path) -> None:
    app = create_app(Settings(tmp_path))

    @app.get("/api/test/{what}")
    def fail(what: str) -> Any:
        raise {
            "boat": BoatError(Advice("The hull is open.", "Mend it."), Advice("And long.", "Cut it.")),
            "refused": Refused(413, Advice("Too large.", "Take less.")),
            "own": ZeroDivisionError("a secret of the program"),
        }[what]

    client = TestClient(app, raise_server_exceptions=False)
    answer = client.get("/api/test/boat")
    assert (answer.status_code, [entry["what"] for entry in answer.json()["advice"]]) == (
        422,
        ["The hull is open.", "And long."],
    )
    assert client.get("/api/test/refused").status_code == 413
    answer = client.get("/api/test/own")
    assert answer.status_code == 500
    assert "The workbench made a mistake" in words(answer)
    assert "secret" not in answer.text
    with pytest.raises(ZeroDivisionError):  # the server gets it too, and prints it
        TestClient(app).get("/api/test/own")


def test_every_answer_of_the_document_has_the_error_shape_beside_it(tmp_path: Path) -> None:
    document = create_app(Settings(tmp_path)).openapi()
    assert "HTTPValidationError" not in document["components"]["schemas"]
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            refused = operation["responses"]["422"]["content"]["application/json"]["schema"]
            assert refused == {"$ref": "#/components/schemas/Refusal"}, (method, path)


def test_a_workbench_that_cannot_be_put_together_says_so(
    tmp_path: Path, pages: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*given: object) -> None:
        raise ImportError("a library is missing")

    monkeypatch.setattr(site_module, "_create", broken)
    with TestClient(
        Site(settings(tmp_path), pages), base_url=f"http://127.0.0.1:{PORT}", client=LAPTOP
    ) as client:
        assert client.get("/").status_code == 200
        answer = client.get("/api/me")
        assert answer.status_code == 500
        assert "put together" in words(answer)
    assert "a library is missing" in caplog.text
