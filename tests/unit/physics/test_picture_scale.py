"""Pixels to lengths: lengths that are known before they are drawn come back, and marks that say nothing are refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dabchick.physics.picture_scale import picture_frame

START, END = np.array([0.1, -0.05]), np.array([0.7, 0.02])


@given(
    turn=st.floats(-np.pi, np.pi),
    skew=st.floats(-0.5, 0.5),
    along=st.floats(200.0, 9000.0),
    stretch=st.floats(0.5, 2.0),
    second=st.booleans(),
)
def test_lengths_drawn_on_a_picture_come_back(
    turn: float, skew: float, along: float, stretch: float, second: bool
) -> None:
    """An independent route: lengths are drawn by two directions in the picture, y down, and read back."""
    across = along * (stretch if second else 1.0)
    axis = along * np.array([np.cos(turn), -np.sin(turn)])
    up = across * np.array([np.cos(turn + np.pi / 2 - skew), -np.sin(turn + np.pi / 2 - skew)])

    def drawn(*lengths: tuple[float, float]) -> np.ndarray:
        return np.array([[[400.0, 300.0] + a * axis + b * up for a, b in lengths]])

    frame = picture_frame(
        drawn((0.0, 0.0), (0.5, 0.0)),
        drawn(tuple(START), tuple(END)),
        float(np.linalg.norm(END - START)),
        drawn((0.2, -0.1), (0.2, 0.3)),
        0.4 if second else None,
    )
    wanted = [(0.0, 0.0), (0.31, -0.2), (-1.0, 0.4)]
    assert frame.lengths(drawn(*wanted))[0] == pytest.approx(np.array(wanted), abs=1e-9)
    assert frame.pixels(np.array([wanted])) == pytest.approx(drawn(*wanted), abs=1e-6)
    assert frame.mirrored().lengths(drawn(*wanted))[0] == pytest.approx(
        np.array(wanted) * [1.0, -1.0], abs=1e-9
    )
    assert frame.scaled(np.array([2.0])).lengths(drawn(*wanted))[0] == pytest.approx(
        2.0 * np.array(wanted), abs=1e-9
    )


def marks(*points: tuple[float, float]) -> np.ndarray:
    return np.array([points], np.float64)


@pytest.mark.parametrize(
    ("level", "scale", "square", "square_length", "words"),
    [
        (marks((5, 5), (5, 5)), None, None, None, "level line lie at one place"),
        (marks((0, 0), (9, 0)), marks((4, 4), (4, 4)), None, None, "scale lie at one place"),
        (marks((0, 0), (9, 0)), None, marks((0, 0), (90, 5)), None, "nearly along"),
        (marks((0, 0), (9, 0)), None, marks((3, 3), (3, 3)), None, "square line lie at one place"),
        (marks((0, 0), (9, 0)), marks((0, 0), (0, 50)), marks((0, 0), (0, 50)), 1.0, "scale runs along"),
    ],
)
def test_marks_that_say_nothing_are_refused(
    level: np.ndarray,
    scale: np.ndarray | None,
    square: np.ndarray | None,
    square_length: float | None,
    words: str,
) -> None:
    with pytest.raises(ValueError, match=words):
        picture_frame(level, scale, 1.0, square, square_length)
