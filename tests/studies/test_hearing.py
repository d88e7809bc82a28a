"""A complaint as a rider says it: which lever it means, and what is near when nobody knows it."""

import pytest

from pullcurve.errors import BadInput
from pullcurve.studies.complaints import complaints, named


def heard(text: str, levers: tuple[str, ...] = ("brake", "clutch")) -> list[tuple[str, str]]:
    """Lever and name of every complaint that a phrase names."""
    return [(known.lever, known.name) for known in named(text, levers)]


def refusal(text: str, levers: tuple[str, ...] = ("brake", "clutch")) -> str:
    """What is said to a phrase that is not known; one line."""
    with pytest.raises(BadInput) as caught:
        named(text, levers)
    said = str(caught.value)
    assert len(caught.value.faults) == 1
    assert "\n" not in said
    assert caught.value.exit_code == 2
    return said


def test_a_bare_phrase_means_every_lever_that_has_it() -> None:
    assert heard("too heavy") == [("brake", "heavy"), ("clutch", "heavy")]


def test_a_leading_lever_keeps_to_it() -> None:
    assert heard("clutch too heavy") == [("clutch", "heavy")]
    assert heard("brake too heavy") == [("brake", "heavy")]


@pytest.mark.parametrize("text", ["Clutch  TOO-heavy", " clutch too heavy ", "clutch\ttoo heavy"])
def test_case_hyphens_and_spaces_do_not_matter(text: str) -> None:
    assert heard(text) == [("clutch", "heavy")]


def test_only_the_levers_of_the_unit_are_meant() -> None:
    assert heard("too heavy", ("brake",)) == [("brake", "heavy")]


@pytest.mark.parametrize(("text", "unit"), [("clutch too heavy", ("brake",)), ("brake grabs", ("clutch",))])
def test_a_lever_that_the_unit_lacks_is_not_answered_for_another(text: str, unit: tuple[str, ...]) -> None:
    lever = text.split(maxsplit=1)[0]
    assert refusal(text, unit) == f'complaint: "{text}" is about a {lever} that this unit does not work'


@pytest.mark.parametrize(
    ("text", "near"),
    [("too hevy", "too heavy"), ("clutch to far", "too far"), ("grabz", "grabs"), ("spungy", "spongy")],
)
def test_a_slip_of_the_pen_gets_what_is_near(text: str, near: str) -> None:
    said = refusal(text)
    assert said.startswith(f'complaint: "{text}" is not known here; did you mean ')
    assert near in said.partition("did you mean ")[2].rstrip("?").split(" or ")


def test_something_quite_else_gets_all_that_is_known() -> None:
    said = refusal("xyzzy qwfp")
    assert "; known are " in said
    assert "too heavy" in said


@pytest.mark.parametrize("text", ["clutch", "", "   ", "brake clutch", "\n", "-"])
def test_no_complaint_at_all_is_a_fault_and_no_crash(text: str) -> None:
    assert refusal(text)


def test_every_phrase_of_the_vocabulary_is_heard_on_its_lever() -> None:
    for known in complaints():
        for word in known.words:
            assert (known.lever, known.name) in heard(f"{known.lever} {word}"), word
            assert all(lever == known.lever for lever, _ in heard(f"{known.lever} {word}"))


def test_wants_point_one_way_or_the_other() -> None:
    assert {way for known in complaints() for way in known.wants.values()} == {-1, 1}
    with pytest.raises(TypeError):
        complaints()[0].wants["travel_lock"] = 3  # type: ignore[index]
