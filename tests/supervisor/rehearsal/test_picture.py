"""The strip of a rehearsal as a picture."""

import xml.etree.ElementTree as ET
from itertools import combinations

from supervisor.strip import SIGN, Mark, Point, svg

SVG = "{http://www.w3.org/2000/svg}"


def drawn(points: list[Point], marks: list[Mark]) -> ET.Element:
    return ET.fromstring(svg("Ingots & <two> kg", points, marks, caption="minutes; °C"))


def test_the_title_is_text_whatever_it_holds() -> None:
    assert drawn([Point(0, 20, 20)], []).findtext(f"{SVG}title") == "Ingots & <two> kg"


def test_a_gap_in_the_readings_stays_a_gap() -> None:
    picture = drawn([Point(0, 20, 20), Point(1, None, 30), Point(2, 40, 40)], [])
    hot = picture.findall(f"{SVG}path")[-1].attrib["d"]
    assert hot.count("M") == 2
    assert "L" not in hot


def test_words_never_stand_on_each_other() -> None:
    marks = [Mark(100.0, word) for word in ("go on", "skim", "press: resume", "running", "go on")] + [
        Mark(99.0, "pour")
    ]
    picture = drawn([Point(0, 20, 20), Point(100, 740, 740)], marks)
    found = [text for text in picture.findall(f"{SVG}text") if text.text in {mark.words for mark in marks}]
    assert len(found) == len(marks)
    for one, other in combinations(found, 2):
        left, right = sorted((one, other), key=lambda text: float(text.attrib["x"]))
        apart = float(right.attrib["x"]) - float(left.attrib["x"]) > SIGN * len(left.text or "")
        assert apart or one.attrib["y"] != other.attrib["y"]
