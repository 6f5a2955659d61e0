"""`dabchick afloat`: how she lies now, at any tank fill, in any water."""

from typing import Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, Salinity, Temperature, si_values
from dabchick.model.advice import Advice, BoatError

NAME = "afloat"
EXAMPLE = "dabchick afloat wren --fill main=0.5"


def command(
    boat: BoatPath = HERE,
    fill: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SHARE",
            help="How full the tanks are, 0 to 1: 0.5 for all, or main=0.5 for one tank. May be repeated.",
        ),
    ] = None,
    dived: Annotated[bool, typer.Option("--dived", help="All tanks full.")] = False,
    temperature: Temperature = None,
    salinity: Salinity = None,
    every: Annotated[
        bool, typer.Option("--all", help="Find every other way she could come to rest, stable or not.")
    ] = False,
    air: Annotated[
        bool, typer.Option("--air", help="Count the air that stays in her flooded space as she lies.")
    ] = False,
    json: Json = False,
) -> None:
    """How she lies now, at any tank fill in any water: draughts, heel, trim, freeboard, GM or BG, lift."""
    face = Face(json)
    share = fills_from(fill or [], dived)
    temperature_c, salinity_g_kg = si_values(
        ("--temperature", temperature, "temperature"), ("--salinity", salinity, "salinity")
    )
    with face.busy("Putting her into the water"):
        from dabchick.storage.folder import open_boat
        from dabchick.studies.afloat import run
        from dabchick.studies.result import as_json

        vessel = open_boat(boat).vessel
        result = run(
            vessel, share, temperature_c=temperature_c, salinity_g_kg=salinity_g_kg, every=every, air=air
        )
    if json:
        face.give_json(as_json(result))
    else:
        from dabchick.cli.lies import table
        from dabchick.report.builder_units import with_unit
        from dabchick.report.lie_words import sentence

        states = [result.lie] if result.lie.condition != "floats" else [result.lie, result.under]
        face.say(sentence(vessel, result.lie, result.under))
        face.say(f"Water of {with_unit(result.water_density_kg_m3, 'density', vessel.units)}.")
        face.show(table(states, vessel.units))
        if air:
            from dabchick.cli.air import pocket_table

            for name, pockets in (("As she lies", result.air), ("Wholly under", result.air_under)):
                face.say()
                face.say(f"{name}, she keeps {'this air:' if pockets else 'no air worth naming.'}")
                if pockets:
                    face.show(pocket_table(vessel, pockets))
        if every:
            face.say()
            face.say(_count(len(result.others), result.complete))
            for first in range(0, len(result.others), 2):
                face.show(table(result.others[first : first + 2], vessel.units))
        face.close(result, vessel)
    if result.lie.condition == "sinks" or not result.lie.stable:
        finish(ExitCode.FINDINGS)


def fills_from(texts: list[str], dived: bool) -> float | dict[str, float]:
    """The fills asked for on the command line; BoatError names every text that is none."""
    faults, by_name, everywhere = [], {}, []
    for text in texts:
        name, equals, amount = text.rpartition("=")
        try:
            share = float(amount.removesuffix("%")) / (100.0 if amount.endswith("%") else 1.0)
        except ValueError:
            faults.append(_bad_fill(text))
            continue
        if equals:
            by_name[name.strip()] = share
        else:
            everywhere.append(share)
    if dived and texts:
        faults.append(
            Advice(
                what="--dived already fills all tanks.",
                todo="Leave out --fill or --dived.",
                where="command line",
            )
        )
    if len(everywhere) > 1 or (everywhere and by_name):
        faults.append(
            Advice(
                what="One share for all tanks stands beside another --fill.",
                todo="Give one share for all, or NAME=SHARE for each tank.",
                where="command line",
            )
        )
    if faults:
        raise BoatError(*faults)
    if dived:
        return 1.0
    return by_name or (everywhere[0] if everywhere else 0.0)


def _bad_fill(text: str) -> Advice:
    return Advice(
        what=f"'{text}' is no tank fill.",
        todo="Write --fill 0.5 for all tanks or --fill main=0.5 for one.",
        where="command line --fill",
        given=text,
        allowed="0 to 1, or NAME=0 to NAME=1",
    )


def _count(others: int, complete: bool) -> str:
    proof = (
        "the count of all agrees with theory, so none is missing"
        if complete
        else "there may be more that the search did not meet"
    )
    if others == 0:
        return f"She has no other way to rest; {proof}."
    return f"{others} other way{'s' if others > 1 else ''} to rest; {proof}."
