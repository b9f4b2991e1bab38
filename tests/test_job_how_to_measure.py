"""The page "How to measure": every measurement is drawn, the drawings are true, and they can be read."""

import math
import re
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from railbook.basics.drawing import MEASURE, OUTLINE, SURFACE, Drawing, Extent, Label, Point, Stroke
from railbook.basics.kinds import INCH
from railbook.blank_form import draw_form
from railbook.job.cautions import CAUTIONS
from railbook.job.how_to_measure import PAGE
from railbook.report.chart import frame, text_box
from railbook.report.page import GREATEST_DRAWING, PAGE_WIDTH
from tests.recalculation import LibreOffice

MEASUREMENTS = (
    "Clear at top", "Clear at bottom", "Rise", "Slope length", "Angle", "Lower setback", "Upper setback",
    "Total rise", "Riser", "Tread", "Nosing overhang", "Direction", "Drop", "Face width", "Below surface",
    "Standing height", "Gap beyond", "Top rail width", "Spacer", "From deck corner", "Finished face", "Bare post",
)  # fmt: skip
DRAWINGS = {drawing.title.split()[0]: drawing for drawing in PAGE.drawings}
STAIR, FLIGHT, RAMP, DROP = (DRAWINGS[title] for title in ("Stair", "Flight", "Ramp", "Drop"))
CORNER = next(drawing for drawing in PAGE.drawings if drawing.title.startswith("A corner"))


def measures(drawing: Drawing) -> list[Stroke]:
    """Straight dimensions of a drawing."""
    return [stroke for stroke in drawing.strokes if stroke.style == MEASURE and len(stroke.points) == 2]


def at(drawing: Drawing, text: str) -> Point:
    """Where a label stands."""
    label = next(label for label in drawing.labels if label.text == text)
    return label.x, label.y


def dimension(drawing: Drawing, text: str) -> Stroke:
    """The dimension nearest to a label: the one that a reader takes it to name."""
    spot = LineString([at(drawing, text), at(drawing, text)])
    return min(measures(drawing), key=lambda stroke: LineString(stroke.points).distance(spot))


def level(stroke: Stroke) -> float:
    """Level distance between a stroke's ends."""
    return abs(stroke.points[-1][0] - stroke.points[0][0])


def plumb(stroke: Stroke) -> float:
    """Height between a stroke's ends."""
    return abs(stroke.points[-1][1] - stroke.points[0][1])


def ground(drawing: Drawing) -> Stroke:
    """The longest walked line of a drawing."""
    return max((s for s in drawing.strokes if s.style == SURFACE), key=lambda s: len(s.points))


def nosings(drawing: Drawing) -> list[Point]:
    """Corners of the walked line where a plumb edge is followed by a level one: front upper edges."""
    points = ground(drawing).points
    return [
        here
        for before, here, after in zip(points, points[1:], points[2:], strict=False)
        if before[0] == here[0] and before[1] < here[1] and after[0] > here[0]
    ]


def straightedge(drawing: Drawing) -> Stroke:
    """The only closed outline whose first edge is neither level nor plumb; that edge."""
    found = [
        s for s in drawing.strokes
        if s.style == OUTLINE and len(s.points) == 5 and level(Stroke(s.points[:2])) and plumb(Stroke(s.points[:2]))
    ]  # fmt: skip
    (bar,) = found
    return Stroke(bar.points[:2])


def post_faces(drawing: Drawing) -> tuple[float, float]:
    """Uphill face of the left post and downhill face of the right one: the two widest apart boxes 5 wide."""
    boxes = [LineString(s.points).bounds for s in drawing.strokes if s.style == OUTLINE and len(s.points) == 5]
    posts = sorted(bounds for bounds in boxes if bounds[2] - bounds[0] == pytest.approx(5))
    return posts[0][2], posts[-1][0]


@pytest.mark.parametrize("measurement", MEASUREMENTS)
def test_every_measurement_has_its_name_on_a_drawing(measurement: str) -> None:
    labels = [label.text for drawing in PAGE.drawings for label in drawing.labels]

    assert any(text.removesuffix(" +").removesuffix(" -") == measurement for text in labels)


@pytest.mark.parametrize("measurement", [*MEASUREMENTS[:-2], "Risers", "From, To", "Measured to"])
def test_every_measurement_is_put_in_words(measurement: str) -> None:
    terms = [term for drawing in PAGE.drawings for term in drawing.caption if term.name == measurement]

    assert terms
    assert all(term.meaning.endswith(".") for term in terms)


def test_stair_straightedge_lies_on_every_nosing() -> None:
    edge = LineString(straightedge(STAIR).points)

    assert len(nosings(STAIR)) == 4
    for nosing in nosings(STAIR):
        assert edge.distance(LineString([nosing, nosing])) == pytest.approx(0, abs=1e-9)


def test_stair_triangle_closes() -> None:
    """Rise and Clear give the tangent riser over tread (7.5 in 11), Slope length their hypotenuse."""
    clear, rise, slope = (dimension(STAIR, name) for name in ("Clear", "Rise", "Slope length"))

    assert plumb(rise) / level(clear) == pytest.approx(7.5 / 11)
    assert math.dist(*slope.points) == pytest.approx(math.hypot(level(clear), plumb(rise)))


def test_stair_dimensions_run_from_face_to_face() -> None:
    faces = post_faces(STAIR)

    for name in ("Clear", "Slope length"):
        ends = sorted(x for x, _ in dimension(STAIR, name).points)
        assert ends == pytest.approx(faces)
    assert straightedge(STAIR).points[0][0] == pytest.approx(faces[0])


def test_stair_rise_is_not_drawn_from_floor_to_floor() -> None:
    """Drawn: 4 risers of 7.5 are 30 floor to floor; the straightedge gains (4 + 33 + 3) x 7.5 / 11 = 27.27."""
    walked = ground(STAIR).points

    assert walked[-1][1] - walked[0][1] == pytest.approx(30)
    assert plumb(dimension(STAIR, "Rise")) == pytest.approx(27.27, abs=0.01)


def test_stair_angle_spans_level_to_straightedge() -> None:
    """atan(7.5 / 11) = 34.29 degrees."""
    (swept,) = [s for s in STAIR.strokes if s.style == MEASURE and len(s.points) > 2]
    top = straightedge(STAIR).points[1]
    on_level, on_edge = swept.points[0], swept.points[-1]
    swept_angle = math.degrees(math.atan2(top[1] - on_edge[1], top[0] - on_edge[0]))

    assert on_level[1] == pytest.approx(top[1])
    assert swept_angle == pytest.approx(34.29, abs=0.01)


def test_flight_dimensions_are_those_of_its_steps() -> None:
    """Four risers make the total rise; tread and riser from nosing to nosing."""
    steps = nosings(FLIGHT)
    counted = [label.text for label in FLIGHT.labels if label.text.isdigit()]

    assert counted == ["1", "2", "3", "4"]
    assert plumb(dimension(FLIGHT, "Total rise")) == pytest.approx(4 * plumb(dimension(FLIGHT, "Riser")))
    assert level(dimension(FLIGHT, "Tread")) == pytest.approx(steps[1][0] - steps[0][0])
    assert plumb(dimension(FLIGHT, "Riser")) == pytest.approx(steps[1][1] - steps[0][1])


def test_flight_overhang_is_from_riser_to_nosing() -> None:
    overhang = sorted(x for x, _ in min(measures(FLIGHT), key=lambda s: math.dist(*s.points)).points)
    risers = {x for x, y in ground(FLIGHT).points if y == 7.5}

    assert overhang[0] == pytest.approx(nosings(FLIGHT)[1][0])
    assert any(overhang[1] == pytest.approx(x) for x in risers)


@pytest.mark.parametrize(
    ("text", "sign"), [("Lower setback", 1), ("Upper setback", 1), ("Lower setback", -1), ("Upper setback", -1)]
)
def test_setbacks_are_drawn_with_their_sign(text: str, sign: int) -> None:
    """Lower: nosing less uphill face. Upper: downhill face less nosing."""
    drawing = DRAWINGS["Setbacks"]
    name = f"{text} {'+' if sign > 0 else '-'}"
    ends = {x for x, _ in dimension(drawing, name).points}
    y = dimension(drawing, name).points[0][1]
    posts = [s for s in drawing.strokes if s.style == OUTLINE and LineString(s.points).bounds[3] > y]
    post = min(
        posts, key=lambda s: box(*LineString(s.points).bounds).distance(LineString(dimension(drawing, name).points))
    )
    left, _, right, _ = LineString(post.points).bounds
    face = right if text == "Lower setback" else left
    (nosing,) = ends - {face}

    assert face in ends
    assert math.copysign(1, nosing - face if text == "Lower setback" else face - nosing) == sign


def test_ramp_straightedge_is_parallel_to_the_ramp() -> None:
    start, end = ground(RAMP).points[1:3]
    edge = straightedge(RAMP)
    slope = plumb(edge) / level(edge)

    assert (end[1] - start[1]) / (end[0] - start[0]) == pytest.approx(slope)
    assert plumb(dimension(RAMP, "Rise")) / level(dimension(RAMP, "Clear")) == pytest.approx(slope)


def test_ramp_setback_is_from_the_uphill_face_to_where_the_ramp_starts() -> None:
    ends = sorted(x for x, _ in dimension(RAMP, "Lower setback").points)

    assert ends == pytest.approx([post_faces(RAMP)[0], ground(RAMP).points[1][0]])


def test_drop_is_to_the_lowest_ground_within_reach_of_the_edge() -> None:
    """IRC 2018 R312.1.1: any point within 36 inches (914 mm) of the edge; farther out it is lower still."""
    reach, fall = dimension(DROP, "36 in (914 mm)"), dimension(DROP, "Drop")
    low, high = sorted(x for x, _ in reach.points)
    inside = [y for x, y in ground(DROP).points if low <= x <= high]

    assert high - low == 36
    assert min(y for _, y in fall.points) == min(inside)
    assert max(y for _, y in fall.points) == 0
    assert min(y for _, y in ground(DROP).points) < min(inside)


def test_plan_directions_are_compass_bearings_of_its_runs() -> None:
    """Bearing clockwise from up: 0 up, 90 right, 180 down, 270 left; the deck lies to the right of the walk."""
    plan = DRAWINGS["Plan:"]
    corners = [(20, 24), (20, 12), (9, 12), (9, 0), (0, 0), (0, 24)]
    written = {text.split()[1].rstrip(","): int(text.split()[2]) for text in labels(plan, "run ")}
    runs = [s.points for s in plan.strokes if s.style == OUTLINE and len(s.points) == 2]
    bearings = [math.degrees(math.atan2(b[0] - a[0], b[1] - a[1])) % 360 for a, b in runs]

    assert runs == list(pairwise(corners))
    assert [written[run] for run in "ABCDE"] == pytest.approx(bearings)


def labels(drawing: Drawing, start: str) -> list[str]:
    """Texts of the labels that start alike."""
    return [label.text for label in drawing.labels if label.text.startswith(start)]


def shrunk(extent: Extent, scale: float) -> BaseGeometry:
    """A label's ink: its box less the room of 3 px around the words."""
    room = 3 / scale
    return box(extent.left + room, extent.bottom + room, extent.right - room, extent.top - room)


def words(drawing: Drawing) -> list[tuple[Label, BaseGeometry]]:
    """Labels with the room that they take on the page."""
    scale = frame(drawing, width=PAGE_WIDTH, greatest_height=GREATEST_DRAWING).scale
    return [(label, shrunk(text_box(label, scale), scale)) for label in drawing.labels]


@pytest.mark.parametrize("drawing", PAGE.drawings, ids=lambda drawing: drawing.title)
def test_no_two_labels_overlap(drawing: Drawing) -> None:
    for (label, ink), (other, other_ink) in combinations(words(drawing), 2):
        assert not ink.intersects(other_ink), f"{label.text} on {other.text}"


@pytest.mark.parametrize("drawing", PAGE.drawings, ids=lambda drawing: drawing.title)
def test_no_solid_line_strikes_a_label(drawing: Drawing) -> None:
    solid = [s for s in drawing.strokes if s.style in {OUTLINE, SURFACE, MEASURE}]

    for label, ink in words(drawing):
        assert not any(LineString(s.points).intersects(ink) for s in solid), label.text


def test_page_tells_how_to_write_a_length_and_what_a_blank_means() -> None:
    told = " ".join(sentence for passage in PAGE.notes for sentence in passage.sentences)

    for word in ("90 3/8", "7' 6-3/8\"", "2296 mm", "blank", "twice"):
        assert word in told


def test_cautions_are_on_the_page() -> None:
    assert PAGE.notes[-1].sentences == CAUTIONS


@pytest.mark.parametrize(
    "subject",
    [
        "local code",
        "inspector",
        "licensed design professional",
        "maker's instructions",
        "dry",
        "eye and hearing",
        "open edge",
    ],
)
def test_every_caution_is_given(subject: str) -> None:
    assert any(subject in caution for caution in CAUTIONS)


def test_libreoffice_shows_every_drawing_in_its_own_proportion(tmp_path: Path, libreoffice: LibreOffice) -> None:
    """Width over height of each chart as it opens the form; 676 px used to become 715 while heights stayed."""
    draw_form(tmp_path / "form.xlsx", INCH)
    (opened,) = libreoffice.converted([tmp_path / "form.xlsx"], "fods")
    sizes = re.findall(r'<draw:frame [^>]*svg:width="([\d.]+)in" svg:height="([\d.]+)in"', opened.read_text())
    wanted = [frame(drawing, width=PAGE_WIDTH, greatest_height=GREATEST_DRAWING) for drawing in PAGE.drawings]

    assert [float(wide) / float(high) for wide, high in sizes] == [
        pytest.approx(size.width / size.height, rel=0.005) for size in wanted
    ]


def test_rails_of_a_corner_end_on_the_faces_of_its_post() -> None:
    """The post is turned half way between both runs: each rail ends along one of its sides, and nowhere inside it."""
    rails_and_post = [
        Polygon(stroke.points) for stroke in CORNER.strokes if len(stroke.points) == 5 and stroke.style == OUTLINE
    ]
    post = min(rails_and_post, key=lambda shape: abs(shape.area - 25.0))

    for rail in (shape for shape in rails_and_post if shape is not post and shape.area > 50.0):
        assert rail.intersection(post).area < 1e-9
        assert rail.buffer(1e-6).intersection(post.exterior).length == pytest.approx(
            2.5 / math.cos(math.radians(22.5)), abs=1e-4
        )
