"""What heels her over HTTP: the study's own figures, texts refused at their field, the least stable moment as work."""

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import heel
from dabchick.studies.heel_causes import Torque, Wind
from tests.support.workbench import ended, words

HEEL = "/api/boats/wren/heel"


def asked(laptop: TestClient, **ask: Any) -> Any:
    return laptop.post(HEEL, json=ask)


def test_the_figures_are_those_of_the_study(laptop: TestClient, shelf: Path) -> None:
    shown = asked(laptop, power="9 W", rpm="2500", wind="3 m/s", gust="5 m/s", fill="40%").json()
    result = heel.run(
        open_boat(shelf / "wren").vessel, torque=Torque(9.0, 2500.0 / 60.0), wind=Wind(3.0, 5.0), fills=[0.4]
    )
    assert [state["title"] for state in shown["states"]] == ["Surfaced", "Dived", "As filled, tanks 40 %"]
    for out, state in zip(shown["states"], result.states, strict=True):
        assert out["arms_n_m"] == pytest.approx(state.arms_n_m, rel=1e-9, abs=1e-12)
        assert len(out["causes"]) == len(state.caused) > 1
        for cause, entry in zip(out["causes"], state.caused, strict=True):
            assert cause["heel_deg"] == pytest.approx(entry.likely.heel_deg, rel=1e-9)
            assert cause["line_n_m"] == pytest.approx(entry.line_n_m, rel=1e-9, abs=1e-12)
    assert (shown["moment_unit"], shown["moment_unit_n_m"]) == ("N mm", 0.001)
    assert shown["states"][0]["causes"][0]["name"] == "Propeller ahead"
    assert shown["states"][0]["notes"][0].startswith("2")


def test_nothing_asked_says_how_much_she_bears(laptop: TestClient) -> None:
    shown = asked(laptop).json()
    assert "10 g moved 10 mm" in shown["sentence"]
    assert not shown["verdict_bad"]
    assert [state["causes"] for state in shown["states"]] == [[], []]
    assert shown["states"][0]["figures"][2]["figure"]["text"].endswith("°")


@pytest.mark.parametrize(
    ("ask", "keys"),
    [
        ({"power": "much", "rpm": "1000 deg"}, {"power", "rpm"}),
        ({"power": "5 W", "rpm": "nan"}, {"rpm"}),
        ({"power": "5 W"}, {"rpm"}),
        ({"turn": "1 m"}, {"speed"}),
        ({"side": "heavy"}, {"side"}),
        ({"fill": "half"}, {"fill"}),
        ({"fill": "150%"}, {"fill"}),
        ({"gust": "5 m/s", "drag": "inf"}, {"drag"}),
    ],
)
def test_what_cannot_be_read_is_said_at_its_field(
    laptop: TestClient, ask: dict[str, str], keys: set[str]
) -> None:
    refused = asked(laptop, **ask)
    assert refused.status_code == 422
    assert {one["key"] for one in refused.json()["advice"]} == keys


def test_the_least_stable_moment_is_found_as_work(laptop: TestClient) -> None:
    job = ended(laptop, laptop.post(f"{HEEL}/least", json={"side": "20g@10mm"}))
    assert job["state"] == "done", words(job)
    shown = laptop.get(f"/api/jobs/{job['job']}/heel").json()
    assert shown["states"][2]["title"].startswith("Least stable")
    assert shown["states"][2]["causes"][0]["name"] == "20\u00a0g by 10\u00a0mm to starboard"
