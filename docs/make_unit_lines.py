"""Write src/dabchick/model/unit_lines.py: every conversion of the boat file, worked out once by pint.

Run `python docs/make_unit_lines.py` after a change to the definitions in model/units.py; a test fails until then.
"""

from pathlib import Path

from dabchick.model import units

TARGET = Path(__file__).parents[1] / "src" / "dabchick" / "model" / "unit_lines.py"


def main() -> None:
    TARGET.write_text(unit_lines_module(), encoding="utf-8")


def unit_lines_module() -> str:
    lines = {pair: units.line_by_registry(*pair) for pair in sorted(units.conversions())}
    rows = "\n".join(f"    {pair!r}: {line!r}," for pair, line in lines.items())
    return (
        '"""Factor and shift of every conversion, as pint gives them: written by docs/make_unit_lines.py.\n\n'
        "A test holds each row to pint. It is kept here because loading pint takes a good part of a short command.\n"
        '"""\n\n'
        f"UNIT_LINES: dict[tuple[str, str], tuple[float, float]] = {{\n{rows}\n}}\n"
    ).replace("'", '"')


if __name__ == "__main__":
    main()
