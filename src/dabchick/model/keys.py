"""Keys of the boat file: `part[3].mass.value` for people, counting from 1, and paths for lookups."""

import re
from collections.abc import Sequence
from typing import Any

Step = str | int
Path = tuple[Step, ...]

_STEP = re.compile(r"\.?(?P<name>\"[^\"]*\"|[^.\[\]]+)|\[(?P<number>\d+)\]")


def dotted(path: Sequence[Step]) -> str:
    """`("part", 2, "mass")` as `part[3].mass`."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            name = f'"{step}"' if re.search(r"[.\[\]]", step) else step
            text += f".{name}" if text else name
    return text


def path_of(key: str) -> Path:
    """The inverse of `dotted`."""
    steps: list[Step] = []
    for found in _STEP.finditer(key):
        if found["number"] is not None:
            steps.append(int(found["number"]) - 1)
        else:
            steps.append(found["name"].strip('"'))
    return tuple(steps)


def present(path: Sequence[Step], content: Any) -> Path:
    """The longest beginning of a path that stands in the content."""
    here = content
    done: list[Step] = []
    for step in path:
        if isinstance(step, int):
            if not isinstance(here, list | tuple) or not 0 <= step < len(here):
                break
            here = here[step]
        elif isinstance(here, dict) and step in here:
            here = here[step]
        else:
            break
        done.append(step)
    return tuple(done)


def value_at(path: Sequence[Step], content: Any) -> Any:
    """What stands at a path that is present."""
    for step in path:
        content = content[step]
    return content
