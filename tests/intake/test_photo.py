"""A photo is looked at without unpacking it; what is none, spoilt or a bomb is one line."""

from pathlib import Path

import pytest
from PIL import Image

from pullcurve.errors import BadInput
from pullcurve.intake.photo import MOST_PIXELS, check_photo
from tests.intake.photos import NO_PHOTOS, encoded, png


@pytest.mark.parametrize("how", ["jpeg", "png", "webp"])
def test_photos_are_let_through(tmp_path: Path, how: str) -> None:
    file = tmp_path / "photo"
    file.write_bytes(encoded(how))
    check_photo(file)


def test_a_telephone_puts_several_pictures_into_one_jpeg(tmp_path: Path) -> None:
    file = tmp_path / "photo.jpg"
    first, second = Image.new("RGB", (48, 32)), Image.new("RGB", (24, 16))
    first.save(file, "MPO", save_all=True, append_images=[second])
    assert file.read_bytes().startswith(b"\xff\xd8\xff")
    check_photo(file)


@pytest.mark.parametrize("name", [name for name in NO_PHOTOS if name != "empty"])
def test_what_is_no_photo_is_one_line(tmp_path: Path, name: str) -> None:
    content, said = NO_PHOTOS[name]
    file = tmp_path / "photo"
    file.write_bytes(content)
    with pytest.raises(BadInput, match=said) as refused:
        check_photo(file)
    assert str(refused.value).startswith("photo: ") and "\n" not in str(refused.value)


def test_the_largest_photo_is_let_through_and_not_unpacked(tmp_path: Path) -> None:
    file = tmp_path / "photo"
    file.write_bytes(png(12_000, MOST_PIXELS // 12_000))
    check_photo(file)
    file.write_bytes(png(12_000, MOST_PIXELS // 12_000 + 1))
    with pytest.raises(BadInput, match="allowed is up to 120 million"):
        check_photo(file)
