"""Where values come from: given, measured, prior, and that no number is without an origin."""

import tomllib

from pullcurve.parts.facts import known
from pullcurve.parts.origin import PLAIN, Origin, origins
from tests.parts.jobs import CABLE, DIAPHRAGM, TORSION, edited, job


def test_given() -> None:
    found = origins(job())
    assert found["motorcycle.mass_kg"] == Origin(112.0, "given", "")
    assert found["unit.levers.0.rockers.0.plunger.bore_mm"] == Origin(9.5, "given", "")
    assert found["rider.brake_fingers"] == Origin("index middle", "given", "")


def test_measured() -> None:
    assert origins(job())["rider.mass_kg"] == Origin(82.0, "measured", "2026-05-14, 81 to 83")


def test_prior_with_source_and_mark() -> None:
    found = origins(job())
    gap = known("brake_circuit.pad_gap_mm")
    assert found["brake_circuit.pad_gap_mm"] == Origin(0.1, "prior", f"{gap.source} ({gap.mark})")
    hose = known("hose_expansion_mm3_per_m_bar", "braided")
    assert found["brake_circuit.hose_expansion_mm3_per_m_bar"] == Origin(1.5, "prior", hose.note)
    assert found["rider.clutch_fingers"].value == "middle ring"
    assert found["rider.grip_newton"].note == known("rider.grip_newton").note


def test_plain_meaning() -> None:
    assert origins(job())["unit.levers.0.rockers.0.turns"] == Origin("opposite", "prior", PLAIN)


def test_surfaces_that_stand_in_and_surfaces_given() -> None:
    found = origins(job())
    assert found["surfaces.2.grip"] == Origin(0.2, "prior", known("surface_list", "wet grass").note)
    given = origins(job(("[rider]", '[[surfaces]]\nname = "clay"\ngrip = 0.3\n[rider]')))
    assert given["surfaces.0.grip"] == Origin(0.3, "given", "")
    assert "surfaces.1.grip" not in given


def test_tables_of_a_diaphragm() -> None:
    found = origins(job(*DIAPHRAGM))
    assert found["clutch.table_lift_mm"] == Origin("0 0.5 1 2", "given", "")
    assert "clutch.table_lift_mm" not in origins(job())


def test_what_is_wish_cam_or_remark_has_no_origin() -> None:
    paths = set(origins(job()))
    assert not {
        path for path in paths if path.split(".")[0] in ("notes", "rack", "measured", "wishes", "fitted")
    }


def test_every_given_number_has_an_origin() -> None:
    for edits in ((), CABLE, TORSION, DIAPHRAGM):
        found = origins(job(*edits))
        typed = tomllib.loads(edited(*edits))
        leaves = dict(numbers({key: part for key, part in typed.items() if key not in ("rack", "measured")}))
        wanted = {path: value for path, value in leaves.items() if not path.startswith(("fitted", "wishes"))}
        assert {path: found[path].value for path in wanted} == wanted
        given = {path for path, origin in found.items() if origin.source != "prior"}
        assert {path for path in given if isinstance(found[path].value, int | float)} == set(wanted)


def test_a_part_that_stands_in_whole_is_no_given_one() -> None:
    whole = job()
    copy = whole.model_copy(update={"title": "copy"})
    object.__setattr__(copy, "__pydantic_fields_set__", copy.model_fields_set - {"motorcycle"})
    assert origins(copy)["motorcycle.mass_kg"] == Origin(112.0, "prior", PLAIN)


def numbers(node: object, path: str = "") -> list[tuple[str, float]]:
    """Every number of a file by its path; lists of numbers are no numbers."""
    if isinstance(node, dict):
        pairs = [(f"{path}.{key}" if path else key, inner) for key, inner in node.items()]
    elif isinstance(node, list) and node and isinstance(node[0], dict):
        pairs = [(f"{path}.{row}", inner) for row, inner in enumerate(node)]
    else:
        return [(path, float(node))] if isinstance(node, int | float) else []
    return [found for inner_path, inner in pairs for found in numbers(inner, inner_path)]
