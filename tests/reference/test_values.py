"""Every reference folder says where its numbers come from and how far each can be trusted."""

import pytest

from tests.reference.values import FOLDER, read, rows

SOURCES = sorted(folder.name for folder in FOLDER.iterdir() if (folder / "values.toml").exists())
KNOWN = {"published", "standard", "common practice, no source", "from memory", "computed"}
PROVENANCE = {"READ", "MEMORY", "COMPUTED", "CONSTRUCTED"}


def test_there_are_sources() -> None:
    assert len(SOURCES) >= 13


@pytest.mark.parametrize("source", SOURCES)
def test_source_is_told_and_every_table_tagged(source: str) -> None:
    text = (FOLDER / source / "SOURCE.md").read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert "Tolerance:" in text
    for table in read(source).values():
        assert table["known"] in KNOWN
        assert table["provenance"] in PROVENANCE


@pytest.mark.parametrize("source", SOURCES)
def test_values_remembered_are_called_so(source: str) -> None:
    text = (FOLDER / source / "SOURCE.md").read_text(encoding="utf-8")
    for table in read(source).values():
        if table["provenance"] == "MEMORY":
            assert table["known"] == "from memory"
            assert "FROM MEMORY" in text


@pytest.mark.parametrize("source", SOURCES)
def test_rows_fit_their_columns(source: str) -> None:
    for name, table in read(source).items():
        if "columns" in table:
            assert len(rows(source, name)) == len(table["rows"])
