"""What the trim sheet says, as plain strings in the builder's units; its looks are the template's matter."""

from collections.abc import Sequence
from typing import Any, Final

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report import svg
from dabchick.report.builder_units import (
    NO_VALUE,
    across,
    degrees,
    figure,
    length_unit,
    number,
    place_words,
    short_with_unit,
    with_unit,
)
from dabchick.report.drawing import LETTERS
from dabchick.report.trim_words import amount_words, count_words
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from dabchick.studies.trim_result import Move, Piece, Sensitivities, TrimResult

Words = dict[str, Any]

# Common practice, no source.
CAUTION: Final = (
    "Lead: wash your hands after handling it and before you eat, make no dust, keep bare lead away from "
    "children, seal or paint what goes into the boat, and follow your local rules for its use in water and "
    "for scrap."
)
_UNIT_WORDS: Final = {"in": "inches"}
_OUNCE_G: Final = 28.349523125


def sheet_words(vessel: Vessel, result: TrimResult, csv_name: str) -> Words:
    """Everything on the sheet but its drawing and date."""
    units = vessel.units
    unit, _ = length_unit(units)
    datum = vessel.datum
    return {
        "name": svg.plain(vessel.name) or "Unnamed boat",
        "water": [
            f"Water {with_unit(vessel.water_temperature_c, 'temperature', units)}, "
            f"salt {short_with_unit(vessel.water_salinity_g_kg, 'salinity', units)}",
            f"Density {with_unit(vessel.water_density_kg_m3, 'density', units)}",
            f"Lengths in {_UNIT_WORDS.get(unit, unit)}, "
            f"from the {datum.x_from} and up from the {datum.z_from}",
        ],
        "heroes": _heroes(vessel, result),
        "feasible": result.feasible,
        "obstacles": [svg.plain(obstacle.text) for obstacle in result.obstacles],
        "pieces": [_piece_row(index, piece, vessel) for index, piece in enumerate(result.pieces, start=1)],
        "piece_heads": [f"from {datum.x_from}", "off centre", f"up from {datum.z_from}"],
        "unit": unit,
        "csv": csv_name,
        "moves": [
            _move_words(letter, move, vessel)
            for letter, move in zip(_letters(result.moves), result.moves, strict=True)
        ],
        "figures": _figure_rows(vessel, result),
        "states": [_state_words(lie) for lie in result.after],
        "changes": _changes(result.sensitivities, units),
        "notes": _notes(vessel, result),
        "steps": _steps(vessel, result),
        "caution": CAUTION if any(piece.material == "lead" for piece in result.pieces) else "",
    }


def _letters(moves: Sequence[Move]) -> list[str]:
    return [LETTERS[at] if at < len(LETTERS) else str(at + 1) for at in range(len(moves))]


def _heroes(vessel: Vessel, result: TrimResult) -> list[Words]:
    """The six figures that are read from across the bench."""
    units = vessel.units
    surfaced, dived = result.after
    unit, _ = length_unit(units)
    return [
        _hero("Lead to add", short_with_unit(result.added_lead_kg, "mass", units), _places(result, "lead")),
        _hero("Foam to add", short_with_unit(result.added_foam_m3, "volume", units), _places(result, "foam")),
        _hero(
            "Draught stern | bow",
            f"{_length(surfaced.draught_stern_m, units)} | "
            f"{_length(surfaced.draught_bow_m, units)}\u00a0{unit}",
            f"wished {figure(result.wished_draught_stern_m, 'length', units)} | "
            f"{figure(result.wished_draught_bow_m, 'length', units)}",
        ),
        _hero("Trim dived", degrees(dived.trim_deg.value), "bow up is +"),
        _hero(
            "Lift dived",
            short_with_unit(dived.lift_kg.value, "mass", units),
            f"wished {short_with_unit(result.wished_lift_kg, 'mass', units)}",
        ),
        _hero(
            "BG dived",
            with_unit(dived.bg_m.value, "length", units),
            f"at least {short_with_unit(result.wished_bg_m, 'length', units)}",
        ),
    ]


def _hero(label: str, value: str, note: str) -> Words:
    amount, _, unit = value.partition("\u00a0")
    return {"label": label, "value": amount, "unit": unit, "note": note}


def _places(result: TrimResult, material: str) -> str:
    count = sum(piece.material == material for piece in result.pieces)
    return "none" if count == 0 else "in 1 place" if count == 1 else f"in {count} places"


def _length(entry: Figure, units: UnitSet) -> str:
    return figure(entry.value, "length", units)


def _piece_row(index: int, piece: Piece, vessel: Vessel) -> Words:
    units = vessel.units
    along, athwart, up = place_words(piece.centre_m, vessel.datum, units)
    return {
        "number": str(index),
        "material": piece.material,
        "place": svg.shortened(piece.place, 34),
        "amount": amount_words(piece, units),
        "counts": svg.plain(count_words(piece)),
        "size": " × ".join(figure(side, "length", units) for side in piece.size_m),
        "at": [along, athwart, up],
    }


def _move_words(letter: str, move: Move, vessel: Vessel) -> Words:
    """Where a part stands, where it goes, and which way that is."""
    units, datum = vessel.units, vessel.datum
    shift = tuple(there - here for here, there in zip(move.from_m, move.to_m, strict=True))
    ways = []
    for distance, forth, back in (
        (shift[0], "towards the bow", "towards the stern"),
        (shift[1], "to port", "to starboard"),
        (shift[2], "up", "down"),
    ):
        if any(digit in "123456789" for digit in figure(abs(distance), "length", units)):
            ways.append(
                f"{short_with_unit(abs(distance), 'length', units)} {forth if distance > 0 else back}"
            )
    start, end = (place_words(point, datum, units) for point in (move.from_m, move.to_m))
    changed = [index for index in range(3) if start[index] != end[index]] or [0]
    return {
        "letter": letter,
        "part": svg.shortened(move.part, 34),
        "way": ", ".join(ways) or "stays",
        "from": ", ".join(_place_word(start, index) for index in changed),
        "to": ", ".join(_place_word(end, index) for index in changed),
    }


def _place_word(place: tuple[str, str, str], index: int) -> str:
    return f"↑ {place[2]}" if index == 2 else place[index]


def _figure_rows(vessel: Vessel, result: TrimResult) -> list[Words]:
    """Name, unit and for both states the wish, what to expect, and its spread."""
    units = vessel.units
    unit, unit_m = length_unit(units)
    surfaced, dived = result.after
    decimals = 1 if units == "metric" else 3

    def length(wish: str, entry: Figure) -> list[str]:
        return [wish, number(entry.value / unit_m, decimals), number(entry.spread / unit_m, decimals)]

    def mass(wish: str, entry: Figure) -> list[str]:
        return [wish, with_unit(entry.value, "mass", units), with_unit(entry.spread, "mass", units)]

    def angle(wish: str, entry: Figure) -> list[str]:
        return [wish, degrees(entry.value), degrees(entry.spread, plus=False)]

    nothing = ["", "", ""]
    rows = [
        ("Draught, bow mark", unit, length(figure(result.wished_draught_bow_m, "length", units),
                                                 surfaced.draught_bow_m), nothing),
        ("Draught, stern mark", unit, length(figure(result.wished_draught_stern_m, "length", units),
                                                   surfaced.draught_stern_m), nothing),
        ("Trim, + bow up", "", angle("0°", surfaced.trim_deg), angle("0°", dived.trim_deg)),
        ("Heel, + to starboard", "", angle("0°", surfaced.heel_deg), angle("0°", dived.heel_deg)),
        ("Lift", "", nothing, mass(short_with_unit(result.wished_lift_kg, "mass", units), dived.lift_kg)),
        ("BG", unit, length("", surfaced.bg_m),
         length(f"≥ {figure(result.wished_bg_m, 'length', units)}", dived.bg_m)),
        ("GM across", unit, length("", surfaced.gm_transverse_m), length("", dived.gm_transverse_m)),
        ("Mass with tank water", "", mass("", surfaced.mass_kg), mass("", dived.mass_kg)),
    ]  # fmt: skip
    return [
        {"name": name, "unit": unit_, "surfaced": _tidy(one), "dived": _tidy(other)}
        for name, unit_, one, other in rows
    ]


def _tidy(cells: list[str]) -> list[str]:
    """No lone dashes where a state simply has no such figure."""
    return ["" if cell == NO_VALUE else cell for cell in cells]


def _state_words(lie: Lie) -> Words:
    fills = ", ".join(f"{svg.shortened(name, 18)} {100.0 * share:.0f} %" for name, share in lie.fills.items())
    return {
        "condition": lie.condition,
        "stable": lie.stable,
        "expected": lie.condition == ("floats" if lie.name == "surfaced" else "hangs"),
        "fills": fills,
    }


def _changes(found: Sensitivities, units: UnitSet) -> list[Words]:
    """Small changes in the builder's words: what one does, what it does to her surfaced and dived."""
    metric = units == "metric"
    weight, times = ("10 g", 1.0) if metric else ("0.5 oz", _OUNCE_G * 0.5 / 10.0)
    far, far_times = ("100 mm", 1.0) if metric else ("4 in", 101.6 / 100.0)
    near, near_times = ("10 mm", 1.0) if metric else ("0.5 in", 12.7 / 10.0)
    warmer, degrees_c = ("1 °C", 1.0) if metric else ("10 °F", 10.0 / 1.8)

    def pitch(value: float) -> str:
        text = number(abs(value), 1 if abs(value) >= 0.95 else 2)
        return text if text == NO_VALUE else f"{text}° bow {'up' if value > 0 else 'down'}"

    def turn(value: float) -> str:
        text = number(abs(value), 1 if abs(value) >= 0.95 else 2)
        return text if text == NO_VALUE else f"{text}°"

    deeper = with_unit(found.draught_mm_per_10g * times / 1000.0, "length", units)
    if metric:
        deeper = f"{number(found.draught_mm_per_10g, 2)}\u00a0mm"

    def lift(grams: float) -> str:
        return with_unit(grams / 1000.0, "mass", units, plus=True)

    rows = [
        (f"{weight} at the bow mark", pitch(found.pitch_surfaced_deg_per_10g_at_bow * times),
         pitch(found.pitch_dived_deg_per_10g_at_bow * times)),
        (f"{weight} at the stern mark", pitch(found.pitch_surfaced_deg_per_10g_at_stern * times),
         pitch(found.pitch_dived_deg_per_10g_at_stern * times)),
        (f"{weight} moved {far} along",
         turn(found.pitch_surfaced_deg_per_10g_moved_100mm * times * far_times),
         turn(found.pitch_dived_deg_per_10g_moved_100mm * times * far_times)),
        (f"{weight} moved {near} across",
         turn(found.heel_surfaced_deg_per_10g_moved_10mm * times * near_times),
         turn(found.heel_dived_deg_per_10g_moved_10mm * times * near_times)),
        (f"{weight} more amidships", f"{deeper} deeper", f"{lift(-10.0 * times)} lift"),
        (f"Water {warmer} warmer", "", f"{lift(found.lift_g_per_degc * degrees_c)} lift"),
        ("1 g/kg more salt", "", f"{lift(found.lift_g_per_g_kg_salt)} lift"),
    ]  # fmt: skip
    return [{"cause": cause, "surfaced": one, "dived": other} for cause, one, other in rows]


def _notes(vessel: Vessel, result: TrimResult) -> list[Words]:
    """Warnings first, then what is left out, then what is assumed; each once."""
    notes: dict[str, str] = {}
    for advice in (*result.warnings, *vessel.advice):
        notes.setdefault(svg.plain(f"{advice.what} {advice.todo}"), "warning")
    if vessel.unweighed:
        names = ", ".join(svg.shortened(name, 24) for name in vessel.unweighed[:5])
        more = f" and {len(vessel.unweighed) - 5} more" if len(vessel.unweighed) > 5 else ""
        notes.setdefault(f"Not weighed and left out of every sum: {names}{more}.", "warning")
    for line in (*result.assumptions, *vessel.assumptions):
        notes.setdefault(svg.plain(line), "assumed")
    return [{"kind": kind, "text": svg.shortened(text, 220)} for text, kind in notes.items() if text]


def _steps(vessel: Vessel, result: TrimResult) -> list[Words]:
    """The order of work: moves, lead, foam, bath; where wishes stand in the way, first the boat."""
    if not result.feasible:
        return [
            {"title": "Change", "text": "Change the boat as boxed above, in her file and on the bench."},
            {"title": "Again", "text": "Run dabchick trim and print this sheet afresh."},
        ]
    letters = _letters(result.moves)
    lead, foam = (
        [str(index) for index, piece in enumerate(result.pieces, start=1) if piece.material == material]
        for material in ("lead", "foam")
    )
    unit, _ = length_unit(vessel.units)
    moves = (
        f"Shift {_listed(letters)} as below."
        if letters
        else "Nothing to shift: see that each part stands as listed."
    )
    return [
        {"title": "Move", "text": moves},
        {"title": "Lead",
         "text": f"Fix {_listed(lead)}, with tape until the bath is passed." if lead else "None to add."},
        {"title": "Foam", "text": f"Cut and fix {_listed(foam)}." if foam else "None to add."},
        {"title": "Bath", "text": "Let the air out, measure both states, write down:",
         "blanks": [f"stern {unit}", f"bow {unit}", "heel °", "trim °", "lift"]},
    ]  # fmt: skip


def _listed(numbers: Sequence[str]) -> str:
    if len(numbers) > 9:
        return f"{', '.join(numbers[:8])} … {numbers[-1]}"
    return numbers[0] if len(numbers) == 1 else f"{', '.join(numbers[:-1])} and {numbers[-1]}"


def csv_rows(vessel: Vessel, result: TrimResult) -> list[list[str]]:
    """The whole list of pieces as a table, units in the head, one figure a cell with a plain minus sign."""
    units = vessel.units
    unit, _ = length_unit(units)
    datum = vessel.datum
    head = ["number", "material", "place", "mass", "pieces", "volume", f"length_{unit}", f"width_{unit}",
            f"height_{unit}", f"from_{datum.x_from}_{unit}", "off_centre",
            f"up_from_{datum.z_from}_{unit}"]  # fmt: skip
    rows = [head]
    for index, piece in enumerate(result.pieces, start=1):
        along, _, up = datum.to_builder(piece.centre_m)
        cells = [
            str(index), piece.material, _cell(piece.place), with_unit(piece.mass_kg, "mass", units),
            count_words(piece), with_unit(piece.volume_m3, "volume", units),
            *(figure(side, "length", units) for side in piece.size_m),
            figure(along, "length", units), across(piece.centre_m[1], units), figure(up, "length", units),
        ]  # fmt: skip
        rows.append([cell.replace("\u00a0", " ").replace("−", "-") for cell in cells])
    return rows


def _cell(text: str) -> str:
    """The builder's text, never to be taken for a formula by a spreadsheet."""
    clean = svg.plain(text)
    return f"'{clean}" if clean[:1] in ("=", "+", "-", "@") else clean
