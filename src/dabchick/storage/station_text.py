"""A station table as text: half-breadths over heights, which `station_table` reads back."""

from collections.abc import Iterable, Sequence


def station_text(
    stations: Iterable[tuple[float, Sequence[float], Sequence[float]]], notes: Sequence[str] = ()
) -> str:
    """The whole CSV file in millimetres from the stern, to a tenth of a micrometre.

    stations: x, heights and half-breadths [m] of each, from the stern; notes stand above as comments.
    """
    lines = [f"# {note}" for note in notes]
    lines += ["unit, mm", "measured from, stern", "station_x, height, half_breadth"]
    for x, heights, breadths in stations:
        lines += [
            f"{_mm(x)}, {_mm(height)}, {_mm(breadth)}"
            for height, breadth in zip(heights, breadths, strict=True)
        ]
    return "\n".join(lines) + "\n"


def _mm(value_m: float) -> str:
    text = f"{value_m * 1000.0:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
