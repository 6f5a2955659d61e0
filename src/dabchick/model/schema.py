"""The boat file's format as a JSON Schema, for editors that help while typing."""

from typing import Any

from dabchick.model.boat import FORMAT_VERSION, Boat


def boat_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of boat.toml; it checks each value, not what has to fit together."""
    schema = Boat.model_json_schema(by_alias=True, mode="validation")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:dabchick:boat:{FORMAT_VERSION}",
        **schema,
    }
