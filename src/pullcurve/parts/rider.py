"""The rider: a need, a hand, and what it wishes for."""

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field

from pullcurve.parts.facts import hand_breadth, mean_grip, word
from pullcurve.parts.fields import Part, Span, Text, computed_prior, prior, prior_word, refuse_all

Finger = Literal["index", "middle", "ring", "little"]


def _each_once(fingers: tuple[Finger, ...]) -> tuple[Finger, ...]:
    twice = next((finger for finger in fingers if fingers.count(finger) > 1), None)
    if twice:
        raise refuse_all([((), f'names "{twice}" twice; allowed is each finger once')])
    return fingers


Fingers = Annotated[tuple[Finger, ...], Field(min_length=1, max_length=4), AfterValidator(_each_once)]


def _fingers(path: str) -> Any:
    """Fingers from a prior that lists them, a word each."""
    return computed_prior(path, lambda _: tuple(word(path).split(" ")), needs=())


def _breadth(data: dict[str, Any]) -> float:
    """Hand breadth from hand length, by the line of the hand survey for the rider's sex."""
    return round(hand_breadth(data["sex"], data["hand_length_mm"]), 1)


def _grip(data: dict[str, Any]) -> float:
    """Mean left-hand grip of the rider's sex and age."""
    return round(mean_grip(data["sex"], data["age_years"]), 0)


class Rider(Part):
    """Rider, described by need; strength and reach of the left hand."""

    need: Annotated[str, Text(200)]
    mass_kg: Annotated[float, Span(25, 200)]
    hand_length_mm: Annotated[float, Span(120, 250)]
    sex: Literal["woman", "man", "unstated"] = prior_word("rider.sex")
    hand_breadth_mm: Annotated[float, Span(50, 130)] = computed_prior(
        "rider.hand_breadth_mm", _breadth, needs=("sex", "hand_length_mm")
    )
    age_years: Annotated[float, Span(8, 100)] | None = None
    grip_newton: Annotated[float, Span(30, 1000)] = computed_prior(
        "rider.grip_newton", _grip, needs=("sex", "age_years")
    )
    glove: Literal["none", "thin", "armoured", "winter"] = prior_word("rider.glove")
    brake_fingers: Fingers = _fingers("rider.brake_fingers")
    clutch_fingers: Fingers = _fingers("rider.clutch_fingers")
    measured_reach_mm: Annotated[float, Span(40, 130)] | None = None
    resting_finger_mm: Annotated[float, Span(0, 30)] = prior("rider.resting_finger_mm")
    hold_share: Annotated[float, Span(0, 0.5)] = prior("rider.hold_share")
    duty: Annotated[float, Span(0.01, 0.9)] = prior("rider.duty")


Gap = Annotated[float, Span(0, 120)]
Force = Annotated[float, Span(1, 400)]
Way = Annotated[float, Span(0.5, 80)]


class BrakeWishes(Part):
    """What the rider wants of the brake lever."""

    gap_rest_mm: Gap | None = None
    gap_bite_mm: Gap | None = None
    travel_bite_mm: Way | None = None
    force_lock_newton: Force | None = None
    modulation_mm: Way | None = None


class ClutchWishes(Part):
    """What the rider wants of the clutch lever."""

    gap_rest_mm: Gap | None = None
    gap_free_mm: Gap | None = None
    force_peak_newton: Force | None = None
    force_hold_newton: Force | None = None
    friction_zone_mm: Way | None = None


WISH_KEYS = tuple(
    f"{kind}.{key}"
    for kind, model in (("brake", BrakeWishes), ("clutch", ClutchWishes))
    for key in model.model_fields
)


class Wishes(Part):
    """Targets per read-out, complaints in the trade's words, and how much each target matters."""

    brake: BrakeWishes | None = None
    clutch: ClutchWishes | None = None
    complaints: Annotated[tuple[Annotated[str, Text(80)], ...], Field(max_length=12)] = ()
    importance: dict[str, Annotated[float, Span(0.1, 10)]] = Field(default_factory=dict)
