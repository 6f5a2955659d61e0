"""The workbench in this process: its API behind the guard, asked as by a browser on some machine."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient
from httpx import Client

from dabchick.workbench.settings import Settings
from dabchick.workbench.site import Site

PORT = 8720
LAPTOP = ("127.0.0.1", 50001)
PHONE = ("192.168.7.20", 50002)
LAN = "192.168.7.2"


def settings(shelf: Path, *, lan: bool = False, devices: Path | None = None) -> Settings:
    return Settings(
        shelf=shelf, port=PORT, lan=lan, lan_addresses=(LAN,) if lan else (), devices_file=devices
    )


@contextmanager
def served(site: Site) -> Iterator[TestClient]:
    """The site alive, asked by the browser on the laptop itself."""
    with TestClient(site, base_url=f"http://127.0.0.1:{PORT}", client=LAPTOP) as client:
        yield client


def phone(laptop: TestClient) -> TestClient:
    """A phone in the same network, asking the site that the laptop asks."""
    asking = TestClient(laptop.app, base_url=f"http://{LAN}:{PORT}", client=PHONE)
    asking.portal = laptop.portal  # one site lives in one loop
    return asking


def upload(client: Client, name: str, content: bytes) -> Any:
    return client.post(
        "/api/uploads",
        params={"name": name},
        content=content,
        headers={"content-type": "application/octet-stream"},
    )


def ended(client: Client, started: Any) -> Any:
    """A job after its end."""
    assert started.status_code == 200, started.text
    job = started.json()
    while job["state"] == "running":
        time.sleep(0.02)
        job = client.get(f"/api/jobs/{job['job']}").json()
    return job


def words(answer: Any) -> str:
    """All advice of a refusal, or of a failed job, as one text."""
    entries = answer["advice"] if isinstance(answer, dict) else answer.json()["advice"]
    assert entries
    for entry in entries:
        assert entry["what"]
        assert entry["todo"]
    return " ".join(" ".join(entry.values()) for entry in entries)
