"""Opening, starting and showing jobs: what a formula finds wrong, what is written, what is left as it is."""

from pathlib import Path

import pytest

import pullcurve
from pullcurve.errors import BadInput
from pullcurve.parts.facts import data_text
from pullcurve.verbs.jobs import demo_job, demo_names, make_folder, open_job, start, write_job


def opened(folder: Path, old: str, new: str, name: str = "enduro-300.toml", count: int = 1) -> list[str]:
    """Lines that a demo job with one edit gets when it is opened."""
    text = data_text(f"demo/{name}")
    assert old in text
    path = folder / "job.toml"
    path.write_text(text.replace(old, new, count), encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        open_job(path)
    return str(caught.value).splitlines()


# What a formula finds ---------------------------------------------------------------------------------------


def test_a_lever_without_room_to_travel(tmp_path: Path) -> None:
    (line,) = opened(tmp_path, "rest_angle_deg = 27", "rest_angle_deg = 2")
    assert line.startswith("job.toml [unit.levers.0]: rest_angle_deg is 2; allowed is ")
    least = float(line.split("allowed is ")[1].split()[0])
    assert 2.0 < least < 27.0
    text = (tmp_path / "job.toml").read_text(encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        text.replace("rest_angle_deg = 2\n", f"rest_angle_deg = {least + 0.1}\n"), encoding="utf-8"
    )
    assert open_job(tmp_path / "job.toml").unit.levers[0].rest_angle_deg == least + 0.1


def test_a_roller_that_the_cam_cannot_carry(tmp_path: Path) -> None:
    lines = opened(tmp_path, "roller_radius_mm = 4", "roller_radius_mm = 16")
    assert len(lines) == 1
    assert lines[0].startswith(
        "job.toml [unit.levers.0.rockers.0]: roller_radius_mm is 16; allowed is less than "
    )
    assert "the fitted brake cam is undercut" in lines[0]


def test_an_assist_that_turns_its_rocker_past_its_own_line(tmp_path: Path) -> None:
    # Some 20 degrees of lever, less 10 of neutral part and half of 8 of blend, times 1.0: back by 6 degrees or so.
    text = data_text("demo/enduro-300.toml")
    text = text.replace("rest_angle_deg = 65", "rest_angle_deg = 5").replace("fall = 0.4 }", "fall = 1.0 }")
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        open_job(path)
    (line,) = str(caught.value).splitlines()
    assert line.startswith(
        "job.toml [unit.levers.1.rockers.1]: rest_angle_deg is 5 and the fitted assist cam turns the "
    )
    assert line.endswith("; allowed is to stay within 0 to 180")


def test_a_missing_dot_in_a_table_of_spring_forces(tmp_path: Path) -> None:
    assert opened(
        tmp_path,
        "[1080, 1085, 1075, 1050, 1010, 960]",
        "[1080, 108.5, 1075, 1050, 1010, 960]",
        "motocross-450.toml",
    ) == [
        "job.toml [clutch]: table_force_newton falls so steeply that the force between two entries is below zero; "
        "allowed is a smoother table"
    ]


def test_a_table_that_falls_faster_than_the_line_gives(tmp_path: Path) -> None:
    """A soft line behind a steep fall: the slave would run away from the lever."""
    text = data_text("demo/motocross-450.toml").replace(
        "[1080, 1085, 1075, 1050, 1010, 960]", "[1080, 1085, 1075, 1050, 700, 300]"
    )
    text = text.replace(
        'kind = "hydraulic"\n',
        'kind = "hydraulic"\nhose_expansion_mm3_per_m_bar = 60\nhose_length_m = 5\n'
        "housing_expansion_mm3_per_bar = 30\n",
    )
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        open_job(path)
    assert "falls so steeply that the plates would jump" in str(caught.value)


def test_all_faults_of_all_levers_come_at_once(tmp_path: Path) -> None:
    lines = opened(tmp_path, "roller_radius_mm = 4", "roller_radius_mm = 16", count=2)
    assert [line.split("]")[0] for line in lines] == [
        "job.toml [unit.levers.0.rockers.0",
        "job.toml [unit.levers.1.rockers.0",
    ]


# Starting and writing ---------------------------------------------------------------------------------------


def test_start_writes_the_template_and_leaves_what_is_there(tmp_path: Path) -> None:
    written = start(tmp_path / "a" / "b")
    assert written == tmp_path / "a" / "b" / "job.toml"
    assert open_job(written).rack is not None
    written.write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match="is there already and stays as it is"):
        start(tmp_path / "a" / "b")
    assert written.read_text(encoding="utf-8") == "mine"


def test_start_does_not_follow_a_link_to_somewhere_else(tmp_path: Path) -> None:
    (tmp_path / "job.toml").symlink_to(tmp_path / "elsewhere.toml")
    with pytest.raises(BadInput, match="is there already"):
        start(tmp_path)
    assert not (tmp_path / "elsewhere.toml").exists()


def test_no_folder_where_a_file_is(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.touch()
    with pytest.raises(BadInput, match="is a file; give a folder"):
        make_folder(file)
    with pytest.raises(BadInput, match="cannot be written: "):
        make_folder(file / "below")


@pytest.mark.parametrize("name", demo_names())
def test_a_demo_job_written_and_read_again_is_the_same(name: str, tmp_path: Path) -> None:
    job = demo_job(name)
    write_job(job, tmp_path / "again.toml")
    assert open_job(tmp_path / "again.toml") == job


def test_a_demo_job_that_is_not_there_names_those_that_are() -> None:
    with pytest.raises(BadInput, match=r"known are electric\.toml, enduro-125\.toml"):
        demo_job("none.toml")


def test_open_takes_a_path_as_text(tmp_path: Path) -> None:
    path = start(tmp_path)
    assert open_job(str(path)) == open_job(path)


def test_the_interface_is_the_verbs() -> None:
    assert pullcurve.open_job is open_job
    assert pullcurve.demo_job is demo_job
