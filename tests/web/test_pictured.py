"""The page of pictures: none is named that is not there, none is there that is not named, all are
small, and what they were taken of is still a page of whoever it was taken for."""

from __future__ import annotations

import re

import pytest
from PIL import Image

from tests.web.conftest import Opened
from tests.web.pictured import ALL, EACH, FOLDER, PICTURES, Picture

PAGE = FOLDER.parent / "pages.md"
_SHOWN = re.compile(r"^!\[(.+)\]\((.+)\)$", re.MULTILINE)


def test_every_picture_is_named_and_every_one_named_is_there() -> None:
    """Each once, by what is seen on it in words, and taken by the script."""
    shown = _SHOWN.findall(PAGE.read_text("utf-8"))
    names = [address for _, address in shown]

    assert sorted(names) == sorted(f"pictures/{one.name}.png" for one in PICTURES)
    assert sorted(names) == sorted(f"pictures/{one.name}" for one in FOLDER.iterdir())
    assert all(len(words) > 80 and words.endswith(".") for words, _ in shown)


def test_no_link_of_the_page_leads_nowhere() -> None:
    """Beside the pictures."""
    links = re.findall(r"(?<!!)\[[^]]+\]\(([^)]+)\)", PAGE.read_text("utf-8"))

    assert len(links) == 1
    assert [one for one in links if not (PAGE.parent / one).is_file()] == []


def test_the_pictures_are_small() -> None:
    """Each and all together; a picture of few colours, as large as the script says."""
    sizes = [path.stat().st_size for path in FOLDER.iterdir()]

    assert max(sizes) <= EACH
    assert sum(sizes) <= ALL
    for one in PICTURES:
        with Image.open(FOLDER / f"{one.name}.png") as picture:
            assert (picture.mode, picture.size) == ("P", one.size)


@pytest.mark.parametrize("picture", PICTURES, ids=lambda one: one.name)
def test_what_was_pictured_is_there(picture: Picture, opened: Opened) -> None:
    """For the one who is seen to look at it; a part by the heading it is begun from."""
    answer = opened(picture.role).get(picture.path)

    assert answer.status_code == 200
    assert f"<summary><h2>{picture.part}" in answer.text or not picture.part
