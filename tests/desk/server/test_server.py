"""The desk's answers, asked in process: a request is a WSGI environ (PEP 3333) and nothing listens."""
from __future__ import annotations

import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urljoin

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from desk.server.http.guard import SAFE_HEADERS, TOKEN_HEADER, Guard
from desk.server.routes import Desk
from desk.server.app import LARGEST_PHOTO, create_app
from desk.server.http.body import LARGEST_JOB
from tests.support import corner_scene as scene
from tests.support import target_scene
from tests.support.drawn_edge import drawn, finger

HOST = "127.0.0.1:8123"


@dataclass(frozen=True)
class Answer:
    status: int
    headers: dict[str, str]
    data: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.data)


class Client:
    """Asks the application what the page would ask."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.app = create_app(desk)

    def ask(self, method: str, path: str, body: bytes = b"", *, media: str = "application/octet-stream",
            length: int | None = None, **headers: str) -> Answer:
        place, _, query = path.partition("?")
        environ = {"REQUEST_METHOD": method, "PATH_INFO": unquote(place, "latin-1"), "QUERY_STRING": query,
                   "SERVER_NAME": "127.0.0.1", "SERVER_PORT": "8123", "SERVER_PROTOCOL": "HTTP/1.1",
                   "wsgi.url_scheme": "http", "wsgi.input": io.BytesIO(body), "wsgi.errors": io.StringIO(),
                   "CONTENT_LENGTH": str(len(body) if length is None else length), "CONTENT_TYPE": media,
                   "HTTP_HOST": HOST, "HTTP_" + TOKEN_HEADER.upper().replace("-", "_"): self.desk.guard.token}
        environ |= {"HTTP_" + key.upper(): value for key, value in headers.items()}
        told: list[Any] = []
        data = b"".join(self.app(environ, lambda status, sent, exc_info=None: told.extend((status, sent))))
        return Answer(status=int(told[0][:3]), headers=dict(told[1]), data=data)

    def send(self, method: str, path: str, told: Any, **headers: str) -> Answer:
        return self.ask(method, path, json.dumps(told).encode(), media="application/json", **headers)

    def save(self, job: Any, revision: str) -> Answer:
        return self.send("PUT", "/api/job", job, if_match=f'"{revision}"')


@pytest.fixture
def client(tmp_path: Path, processes_kept: None) -> Iterator[Client]:
    desk = Desk(tmp_path / "job", Guard(hosts=(HOST,), token="a-token"))
    desk.keeper.open_or_start()
    yield Client(desk)
    desk.close()


def jpeg(width: int = 64, height: int = 48, tone: int = 90) -> bytes:
    target = io.BytesIO()
    Image.new("RGB", (width, height), (tone, tone, tone)).save(target, "JPEG")
    return target.getvalue()


def disk(client: Client) -> Any:
    return json.loads((client.desk.keeper.folder / "job.json").read_text("utf-8"))


def says(answer: Answer) -> str:
    """The sentence of a refusal: one line, with no trace of the program's insides."""
    sentence = answer.json["says"]
    assert sentence and "\n" not in sentence and "Traceback" not in sentence and ".py" not in sentence
    return sentence


# Reading and saving -----------------------------------------------------------------------------


def test_a_new_job_is_begun_empty_and_readable(client):
    told = client.ask("GET", "/api/job").json
    assert told["job"]["outline"] == [] and told["job"]["format"] == "tapegroove-job"
    assert told["defaults"] == {"gap": 10.0, "kerf": 3.0, "stagger": 300.0, "shortest": 300.0, "narrowest": 60.0,
                                "thickness": 8.0, "pack": 8}


def test_a_save_reaches_the_disk_and_gives_the_next_revision(client):
    told = client.ask("GET", "/api/job").json
    job = told["job"] | {"title": "Back bedroom", "outline": ["A", "B"], "keys of later versions": [1]}
    answer = client.save(job, told["revision"])
    assert answer.status == 200 and disk(client) == job
    assert client.ask("GET", "/api/job").json["revision"] == answer.json["revision"] != told["revision"]


def test_a_second_window_cannot_overwrite_what_it_has_not_seen(client):
    told = client.ask("GET", "/api/job").json
    client.save(told["job"] | {"title": "first"}, told["revision"])
    late = client.save(told["job"] | {"title": "second"}, told["revision"])
    assert late.status == 409 and "another window" in says(late)
    assert disk(client)["title"] == "first"


def test_a_change_made_by_hand_is_noticed_too(client):
    told = client.ask("GET", "/api/job").json
    path = client.desk.keeper.folder / "job.json"
    path.write_text(json.dumps(told["job"] | {"title": "by hand"}), "utf-8")
    assert client.save(told["job"], told["revision"]).status == 409
    assert disk(client)["title"] == "by hand"


def test_a_save_without_a_revision_is_refused(client):
    assert client.send("PUT", "/api/job", disk(client)).status == 428


@pytest.mark.parametrize("job", [[], "job", {"format": "something-else"}, {"version": 99}, {"outline": "ABCD"},
                                 {"tape": [{"between": ["A", "A"], "mm": 5}]},
                                 {"photos": [{"file": "../../etc/passwd"}]}, {"photos": [{"file": "/etc/passwd"}]}])
def test_what_is_no_job_is_refused_and_the_disk_keeps_the_old_one(client, job):
    told = client.ask("GET", "/api/job").json
    answer = client.save(job, told["revision"])
    assert answer.status == 422 and says(answer)
    assert disk(client) == told["job"]


@pytest.mark.parametrize("body", [b"", b"{", b"\xff\xfe{}", b'{"a": NaN}', b'{"a": 1e999}', b'{"a": 1, "a": 2}',
                                  b"[" * 100_000])
def test_broken_json_is_refused_in_one_sentence(client, body):
    before = disk(client)
    answer = client.ask("PUT", "/api/job", body, media="application/json", if_match='"x"')
    assert answer.status == 422 and says(answer) and disk(client) == before


def test_a_job_that_was_cut_short_on_the_disk_is_named(client):
    path = client.desk.keeper.folder / "job.json"
    path.write_text(path.read_text("utf-8")[:40], "utf-8")
    answer = client.ask("GET", "/api/job")
    assert answer.status == 422 and "job.json" in says(answer)


def test_a_form_from_another_page_is_not_taken_for_a_job(client):
    assert client.ask("PUT", "/api/job", b"{}", media="text/plain", if_match='"x"').status == 415


# Photos -----------------------------------------------------------------------------------------


def test_a_photo_is_kept_as_it_came_and_shown_without_its_exif(client):
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: the upright picture is turned a quarter (EXIF 2.32, tag 274)
    exif[0x8298] = "somebody"  # Copyright
    target = io.BytesIO()
    Image.new("RGB", (64, 48), (9, 9, 9)).save(target, "JPEG", exif=exif)
    told = client.ask("POST", "/api/photos?name=IMG_1.JPG", target.getvalue()).json
    assert told["size"] == [48, 64]
    assert (client.desk.keeper.folder / told["file"]).read_bytes() == target.getvalue()
    shown = client.ask("GET", f"/api/{told['file']}")
    assert shown.headers["X-Photo-Size"] == "48 64" and shown.headers["Content-Type"] == "image/jpeg"
    assert b"Exif" not in shown.data and b"somebody" not in shown.data
    assert Image.open(io.BytesIO(shown.data)).size == (48, 64)


def test_the_same_photo_is_kept_once(client):
    files = {client.ask("POST", f"/api/photos?name={n}.jpg", jpeg()).json["file"] for n in range(3)}
    assert len(files) == 1 and len(list((client.desk.keeper.folder / "photos").iterdir())) == 1


@pytest.mark.parametrize("data", [b"", b"not a picture",
                                  b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
                                  b"GIF89a;<script>", jpeg()[:300], b"<!doctype html><script>alert(1)</script>",
                                  b"%PDF-1.4", b"\xff\xd8\xff*/alert(1)//"])
def test_what_is_no_picture_is_refused_and_not_kept(client, data):
    answer = client.ask("POST", "/api/photos?name=holiday.jpg", data)
    assert answer.status == 422 and "holiday.jpg" in says(answer)
    assert not (client.desk.keeper.folder / "photos").exists()


def with_comment(comment: bytes) -> bytes:
    """A sound JPEG picture with a comment."""
    out = io.BytesIO()
    Image.new("RGB", (64, 48)).save(out, "JPEG", comment=comment)
    return out.getvalue()


@pytest.mark.parametrize("data", [jpeg() + b"<!doctype html><script>alert(1)</script>",
                                  with_comment(b"*/=alert(1);/*<script>alert(1)</script>")])
def test_a_picture_that_is_a_script_too_is_served_as_a_picture_drawn_anew(client, data):
    told = client.ask("POST", "/api/photos?name=holiday.jpg", data).json
    for query in ("", "?small=1"):
        shown = client.ask("GET", f"/api/{told['file']}{query}")
        assert shown.status == 200 and b"alert" not in shown.data
        assert (shown.headers["Content-Type"], shown.headers["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")


def test_a_picture_that_claims_to_be_huge_is_refused(client):
    import struct
    import zlib
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    # A PNG of 60000 x 60000 pixels in a few bytes (PNG specification, W3C, section 11.2.1).
    header = struct.pack(">IIBBBBB", 60000, 60000, 8, 2, 0, 0, 0)
    bomb = (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")
    )
    answer = client.ask("POST", "/api/photos?name=bomb.png", bomb)
    assert answer.status == 422 and "megapixels" in says(answer)


def test_an_oversize_upload_is_refused_before_it_is_read(client):
    answer = client.ask("POST", "/api/photos?name=big.jpg", b"", length=LARGEST_PHOTO + 1)
    assert answer.status == 413 and "60 MB" in says(answer)
    assert client.ask("PUT", "/api/job", b"", media="application/json", if_match='"x"',
                      length=LARGEST_JOB + 1).status == 413


def test_an_upload_that_breaks_off_is_refused(client):
    assert client.ask("POST", "/api/photos?name=a.jpg", jpeg()[:200], length=5000).status == 400


@pytest.mark.parametrize("name", ["../../evil.jpg", "..\\evil.jpg", "/etc/cron.d/evil.jpg", ".hidden.jpg", "a\0b.jpg",
                                  "<script>.jpg", "x" * 500 + ".jpg", ""])
def test_a_photo_name_never_chooses_where_it_lies(client, name):
    told = client.ask("POST", f"/api/photos?name={quote(name)}", jpeg()).json
    assert told["file"].startswith("photos/1.")
    assert [p.name for p in client.desk.keeper.folder.parent.iterdir()] == ["job"]


@pytest.mark.parametrize("path", ["/api/photos/../job.json", "/api/photos/..%2fjob.json", "/api/photos/%2e%2e/job.json",
                                  "/api/photos/..", "/api/photos/.", "/api/photos/",
                                  "/api/photos/%2e%2e%2f%2e%2e%2fsecret.jpg", "/../desk/server.py", "/desk.py",
                                  "/api/../index.html", "/pack/../job.json", "/pack/x/..%2f..%2fjob.json", "/job.json",
                                  "/.git/config", "/photos/1.jpg", "/api/photos/1.jpg%00.txt"])
def test_no_path_climbs_out(client, path, tmp_path):
    (tmp_path / "secret.jpg").write_bytes(jpeg())
    answer = client.ask("GET", path)
    assert answer.status in (403, 404, 422)
    assert b"tapegroove-job" not in answer.data and not answer.data.startswith(b"\xff\xd8")


def test_a_link_out_of_the_folder_is_not_followed(client, tmp_path):
    (tmp_path / "secret.jpg").write_bytes(jpeg())
    (client.desk.keeper.folder / "photos").mkdir()
    (client.desk.keeper.folder / "photos" / "1.jpg").symlink_to(tmp_path / "secret.jpg")
    answer = client.ask("GET", "/api/photos/1.jpg")
    assert answer.status in (403, 404, 422) and not answer.data.startswith(b"\xff\xd8")


def corner_on_disk(client) -> tuple[str, tuple[float, float]]:
    """A drawn corner taken in as a photo: its name, and its true foot by cv2.projectPoints."""
    target = io.BytesIO()
    Image.fromarray(scene.picture(scene.Corner())).save(target, "JPEG", quality=92)
    return client.ask("POST", "/api/photos?name=room.jpg",
                      target.getvalue()).json["file"], scene.foot_px(scene.Corner())


def test_a_mark_is_snapped_on_the_full_size_picture(client):
    file, (x, y) = corner_on_disk(client)
    told = client.send("POST", f"/api/{file}/snap", {"x": x + 9.0, "y": y - 6.0}).json
    assert (told["x"], told["y"]) == pytest.approx((x, y), abs=3.0 * told["sd"]) and 0.3 < told["sd"] < 2.5
    assert told["moved"] == pytest.approx(((told["x"] - x - 9.0) ** 2 + (told["y"] - y + 6.0) ** 2) ** 0.5, abs=0.1)
    assert all(start == pytest.approx((told["x"], told["y"]), abs=0.01)
               for start, _ in told["lines"]) and len(told["lines"]) >= 2
    assert disk(client)["photos"] == [], "asking changes nothing: the page keeps the answer, or not"


def test_a_mark_with_no_corner_beside_it_is_refused_in_a_sentence(client):
    file = client.ask("POST", "/api/photos?name=plain.jpg", jpeg(400, 300)).json["file"]
    answer = client.send("POST", f"/api/{file}/snap", {"x": 200, "y": 150})
    assert answer.status == 422 and answer.json["slug"] == "no-crossing" and "by eye" in says(answer)
    assert client.send("POST", f"/api/{file}/snap", {"x": 900, "y": 150}).json["slug"] == "mark-outside"


@pytest.mark.parametrize("told", [{}, {"x": 5}, {"x": "5", "y": 5}, {"x": True, "y": 5}, {"x": 1e12, "y": 5},
                                  {"x": None, "y": 5}, []])
def test_a_place_that_is_none_is_turned_away(client, told):
    answer = client.send("POST", "/api/photos/1.jpg/snap", told)
    assert answer.status == 400 and says(answer)


def stroke_of(places: np.ndarray) -> dict[str, Any]:
    return {"places": [{"x": float(x), "y": float(y)} for x, y in places]}


def test_a_stroke_along_a_walls_foot_gives_points_on_its_line(client):
    """Truth: the place at which the edge was drawn."""
    pixels, edge = drawn()
    target = io.BytesIO()
    Image.fromarray(pixels).save(target, "PNG")
    file = client.ask("POST", "/api/photos?name=wall.png", target.getvalue()).json["file"]
    points = client.send("POST", f"/api/{file}/stroke", stroke_of(finger(edge, 1))).json["points"]
    assert [y for _, y in points] == pytest.approx([edge[round(x)] for x, _ in points], abs=0.4)
    short = client.send("POST", f"/api/{file}/stroke", stroke_of(np.array([[5, 5], [9, 5]])))
    assert short.status == 422 and short.json["slug"] == "short-stroke"


@pytest.mark.parametrize("places", [None, [], [{"x": 1, "y": 2}], [[1, 2], [3, 4]], [{"x": 1}, {"x": 2, "y": 3}],
                                    [{"x": 1, "y": "2"}, {"x": 2, "y": 3}], [{"x": 1, "y": 2}] * 3000])
def test_a_stroke_that_is_none_is_turned_away(client, places):
    assert client.send("POST", "/api/photos/1.jpg/stroke", {"places": places}).status == 400


def test_a_picture_that_is_not_there_cannot_be_snapped_in(client):
    assert client.send("POST", "/api/photos/9.jpg/snap", {"x": 5, "y": 5}).status == 404
    assert client.send("POST", "/api/photos/..%2fjob.json/snap", {"x": 5, "y": 5}).status in (404, 422)


def test_targets_seen_in_a_photo_are_named(client):
    picture = target_scene.photograph(target_scene.floor_picture(list(target_scene.TARGETS.items())),
                                      target_scene.NORTH, np.random.default_rng(31))
    target = io.BytesIO()
    Image.fromarray(picture).save(target, "JPEG", quality=92)
    file = client.ask("POST", "/api/photos?name=floor.jpg", target.getvalue()).json["file"]
    seen = client.ask("GET", f"/api/{file}/targets").json["seen"]
    assert seen and set(seen) <= {f"T{number}" for number in target_scene.TARGETS}
    assert client.ask("GET", "/api/photos/9.jpg/targets").json == {"seen": []}


@pytest.mark.parametrize(("show", "size"), [("metric", (595.28, 841.89)), ("imperial", (612.0, 792.0))])
def test_target_sheets_come_as_a_pdf_on_the_paper_at_hand(client, show, size):
    """A4 by ISO 216 and Letter by ANSI, in points of 1/72 inch."""
    told = client.ask("GET", "/api/job").json
    client.save(told["job"] | {"show": show}, told["revision"])
    answer = client.ask("GET", client.send("POST", "/api/targets", {}).json["href"])
    pages = list(pypdfium2.PdfDocument(answer.data))
    assert answer.headers["Content-Type"] == "application/pdf" and len(pages) == 7
    assert pages[0].get_size() == pytest.approx(size, abs=0.1)


# Lengths and work -------------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "mm"), [("4.312 m", 4312.0), ("4,312 m", 4312.0), ("3412", 3412.0),
                                          ("11' 2 3/8\"", 3413.125)])
def test_a_length_is_echoed_both_ways(client, text, mm):
    told = client.send("POST", "/api/length", {"text": text, "show": "metric"}).json
    assert told["mm"] == mm and told["metric"].endswith(" mm") and told["imperial"].endswith('"')


@pytest.mark.parametrize("text", ["", "abc", "-5", "3.420", "4.", "1e3", "9" * 70, "\N{SNOWMAN}"])
def test_an_unclear_length_is_asked_back(client, text):
    answer = client.send("POST", "/api/length", {"text": text, "show": "metric"})
    assert answer.status == 200 and answer.json["mm"] is None and says(answer)


def test_a_floor_without_corners_ends_the_survey_with_a_sentence(client):
    answer = client.send("POST", "/api/survey", {})
    while not answer.json["done"]:
        answer = client.ask("GET", f"/api/tasks/{answer.json['task']}")
    assert "corners" in answer.json["refused"]["says"] and answer.json["refused"]["where"] == "outline"


def test_a_task_nobody_began_is_over(client):
    assert client.ask("GET", "/api/tasks/survey-99").json["refused"]["slug"] == "replaced"


def test_a_pack_is_found_by_its_key_only(client):
    place = client.desk.packs.hold({"booklet.pdf": b"%PDF-1.7", "templates/1.1.svg": b"<svg/>"})
    opened = client.ask("GET", f"{place}/booklet.pdf")
    assert opened.data == b"%PDF-1.7" and "attachment" not in opened.headers.get("Content-Disposition", "")
    assert "attachment" in client.ask("GET", f"{place}/templates/1.1.svg").headers["Content-Disposition"]
    assert client.ask("GET", f"{place}/pack.zip").data.startswith(b"PK")
    for path in ("/pack/other/booklet.pdf", f"{place}/plan.json", f"{place}/../{place[6:]}/booklet.pdf"):
        assert client.ask("GET", path).status == 404


def packed(client, options) -> dict:
    answer = client.send("POST", "/api/pack", options)
    while not answer.json["done"]:
        answer = client.ask("GET", f"/api/tasks/{answer.json['task']}")
    return answer.json


def test_a_pack_takes_the_typed_rulers(client, closet):
    """Both rulers of the check sheet, as texts in the job's unit: two eighths of an inch off is a viewer's scale, a
    sixteenth the printer's."""
    client.desk.keeper.folder.joinpath("job.json").write_text(json.dumps(closet))
    refused = packed(client, {"paper": "letter", "rulers": {"across": "6 1/2", "down": "9"}})["refused"]
    assert (refused["slug"], refused["where"]) == ("printer-scale", "rulers.across") and "3 %" in refused["says"]
    assert packed(client, {"paper": "letter",
                           "rulers": {"across": "six", "down": "9"}})["refused"]["slug"] == "unreadable-length"
    files = packed(client, {"paper": "letter", "rulers": {"across": "6 11/16", "down": "9"}})["result"]["files"]
    assert "templates.pdf" in {file["name"] for file in files}


# Every answer -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("method", "path"),
                         [("GET", "/"), ("GET", "/main.js"), ("GET", "/nothing"), ("GET", "/api/job"),
                          ("GET", "/api/photos/9.jpg"), ("POST", "/api/nothing"), ("DELETE", "/api/job"),
                          ("PUT", "/api/job")])
def test_every_answer_carries_the_safe_headers(client, method, path):
    answer = client.ask(method, path)
    for name, value in SAFE_HEADERS:
        assert answer.headers[name] == value
    assert not any(name.lower().startswith("access-control") for name in answer.headers)
    if answer.status >= 400:
        assert says(answer) and answer.headers["Content-Type"] == "application/json"


def test_the_guard_stands_before_everything(client):
    assert client.ask("GET", "/api/job", host="evil.example").status == 421
    assert client.ask("GET", "/api/job", sec_fetch_site="cross-site").status == 403
    assert client.ask("GET", "/api/job", x_desk_token="wrong").status == 403


def test_a_fault_of_ours_shows_no_insides(client, monkeypatch, capsys):
    monkeypatch.setattr(client.desk, "open_job", lambda wishes: {}["inside"])
    answer = client.ask("GET", "/api/job")
    assert answer.status == 500 and "inside'" not in says(answer)
    told = capsys.readouterr().err
    assert "KeyError" in told and told.count("\n") == 1


def test_every_part_the_page_names_is_served(client):
    import re
    page = client.ask("GET", "/").data.decode()
    parts = set(re.findall(r'(?:href|src)="(/[^"#]+)"', page))
    seen = set()
    while parts - seen:
        part = (parts - seen).pop()
        seen.add(part)
        answer = client.ask("GET", part)
        assert answer.status == 200, part
        if part.endswith(".js"):
            parts |= {urljoin(part, name) for name in re.findall(r"from '(\.[a-z./]+\.js)'", answer.data.decode())}
    assert {"/main.js", "/desk.css", "/corners/stage.js", "/icon.svg"} <= seen


def test_the_page_asks_nothing_of_the_outside():
    web = Path(__file__).resolve().parents[3] / "desk" / "web"
    for path in (path for path in web.rglob("*") if path.is_file()):
        text = path.read_text("utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http:" not in text and "https:" not in text and "//" not in text.replace("// ", ""), path.name
