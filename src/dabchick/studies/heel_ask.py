"""What heels her, as the builder types it: texts with units become causes, all mistakes at once."""

from collections.abc import Callable
from dataclasses import dataclass

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import Dimension, UnitError, parse
from dabchick.model.vessel import Vessel
from dabchick.studies.heel_causes import Side, Torque, Turn, Wind, checked

Where = Callable[[str], str]


@dataclass(frozen=True)
class HeelTexts:
    """Each as typed, None or empty where not asked."""

    power: str | None = None
    rpm: str | None = None
    """A bare number counts turns in a minute."""
    efficiency: str | None = None
    """Such as `65%` or `0.65`."""
    left_handed: bool = False
    turn: str | None = None
    """Radius."""
    rate: str | None = None
    speed: str | None = None
    wind: str | None = None
    gust: str | None = None
    drag: str | None = None
    side: str | None = None
    """`50g@20mm` moved across, or `50g@x,y,z` hung at a place from the builder's zeros."""


@dataclass(frozen=True)
class Causes:
    torque: Torque | None = None
    turn: Turn | None = None
    wind: Wind | None = None
    side: Side | None = None


class _Reader:
    def __init__(self, texts: HeelTexts, where: Where) -> None:
        self.texts = texts
        self.where = where
        self.faults: list[Advice] = []

    def text(self, key: str) -> str:
        return (getattr(self.texts, key) or "").strip()

    def value(self, key: str, dimension: Dimension, bare: str = "") -> float | None:
        """In SI; None where nothing is typed or it cannot be read. A bare number is in the unit `bare`."""
        text = self.text(key)
        if not text:
            return None
        try:
            return parse(f"{text} {bare}" if bare and _is_number(text) else text, dimension)
        except UnitError as fault:
            self.fault(key, fault.what, fault.todo, fault.allowed)
            return None

    def share(self, key: str, allowed: str, todo: str, *, percent: bool) -> float | None:
        text = self.text(key)
        bare = text.removesuffix("%").strip() if percent else text
        if not text:
            return None
        if not _is_number(bare):
            self.fault(key, f"'{text}' is no number that can be used here.", todo, allowed)
            return None
        return float(bare) / (100.0 if text.endswith("%") else 1.0)

    def fault(self, key: str, what: str, todo: str, allowed: str = "") -> None:
        self.faults.append(
            Advice(
                what=what, todo=todo, where=self.where(key), key=key, given=self.text(key), allowed=allowed
            )
        )

    def given(self, *keys: str) -> list[bool]:
        return [bool(self.text(key)) for key in keys]


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return text.strip().lower().lstrip("+-") not in ("nan", "inf", "infinity")


def causes_from(vessel: Vessel, texts: HeelTexts, where: Where = lambda key: "") -> Causes:
    """The causes that are asked for; BoatError with everything that cannot be read or does not go together."""
    reader = _Reader(texts, where)
    found = Causes(_torque(reader), _turn(reader), _wind(reader), _side(reader, vessel))
    if reader.faults:
        raise BoatError(*reader.faults)
    checked(found.torque, found.turn, found.wind, found.side)
    return found


def fill_from(text: str | None) -> float | None:
    """The share of all tanks, from `50%` or `0.5`; None where nothing is typed. Raises BoatError."""
    typed = (text or "").strip()
    if not typed:
        return None
    bare = typed.removesuffix("%").strip()
    if not _is_number(bare):
        raise BoatError(
            Advice(
                what=f"'{typed}' is no tank fill.",
                todo="Write it like 50%.",
                key="fill",
                given=typed,
                allowed="0 to 100 %",
            )
        )
    return float(bare) / (100.0 if typed.endswith("%") else 1.0)


def _torque(reader: _Reader) -> Torque | None:
    power, rotation = reader.value("power", "power"), reader.value("rpm", "rotation", bare="rpm")
    share = reader.share(
        "efficiency", "above 0 to 100 %", "Write the share of the power like 65% or 0.65.", percent=True
    )
    has_power, has_rpm, has_share = reader.given("power", "rpm", "efficiency")
    if has_power != has_rpm:
        missing = "rpm" if has_power else "power"
        reader.fault(
            missing,
            "The propeller's torque needs both the power and the turns.",
            "Give the power, such as 20 W, and the propeller's turns, such as 3000 rpm.",
        )
    elif not has_power and (has_share or reader.texts.left_handed):
        reader.fault(
            "power",
            "A share of the power or a left-handed propeller says nothing without a power.",
            "Give the power and the turns too.",
        )
    if power is None or rotation is None:
        return None
    return Torque(power, rotation, share, reader.texts.left_handed)


def _turn(reader: _Reader) -> Turn | None:
    radius, rate = reader.value("turn", "length"), reader.value("rate", "turn rate")
    speed = reader.value("speed", "speed")
    has_radius, has_rate, has_speed = reader.given("turn", "rate", "speed")
    if not (has_radius or has_rate or has_speed):
        return None
    if has_radius and has_rate:
        reader.fault("rate", "A turn has a radius or a rate; both are given.", "Leave out one of them.")
    elif not has_speed:
        reader.fault("speed", "A turn needs her speed.", "Give it, such as 0.5 m/s.")
    elif not has_radius and not has_rate:
        reader.fault(
            "turn",
            "A turn needs its radius or its rate.",
            "Give the radius, such as 0.8 m, or the rate, 30 deg/s.",
        )
    if speed is None or (radius is None and rate is None):
        return None
    if rate is None:
        return Turn(speed, radius or 0.0)
    if rate <= 0.0:
        reader.fault("rate", "A turn needs a rate above zero.", "Write it like 30 deg/s.", "above 0")
        return None
    return Turn(speed, speed / rate)


def _wind(reader: _Reader) -> Wind | None:
    wind, gust = reader.value("wind", "speed"), reader.value("gust", "speed")
    drag = reader.share("drag", "above 0", "Write it like 1.1.", percent=False)
    has_wind, has_gust, has_drag = reader.given("wind", "gust", "drag")
    if has_drag and not (has_wind or has_gust):
        reader.fault(
            "wind", "The drag of her side says nothing without wind.", "Give the wind, such as 5 m/s."
        )
    if (has_wind and wind is None) or (has_gust and gust is None) or not (has_wind or has_gust):
        return None
    return Wind(wind or 0.0, gust, drag)


def _side(reader: _Reader, vessel: Vessel) -> Side | None:
    text = reader.text("side")
    if not text:
        return None
    allowed = "MASS@LENGTH, such as 50g@20mm, or MASS@X,Y,Z"
    mass, at, place = text.partition("@")
    parts = place.split(",")
    if not at or len(parts) not in (1, 3):
        reader.fault("side", f"'{text}' is no weight and place.", "Write it like 50g@20mm.", allowed)
        return None
    try:
        mass_kg, lengths = parse(mass, "mass"), [parse(part, "length") for part in parts]
    except UnitError as fault:
        reader.fault("side", fault.what, fault.todo, allowed)
        return None
    if len(lengths) == 1:
        return Side(mass_kg, moved_m=lengths[0])
    return Side(mass_kg, at_m=vessel.datum.to_house((lengths[0], lengths[1], lengths[2])))
