"""The pack as files: names, the same bytes twice, the cut list read back, the DXF judged by its own library."""
from __future__ import annotations

import csv
import hashlib
import io
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import ezdxf
import pikepdf
import pypdfium2
import pytest
from shapely.geometry import Polygon

from layout.plan import Cut, Row
from printpack.outputs.cuts_csv import COLUMNS, cuts_csv
from printpack.outputs.dxf import LAYERS, plan_dxf, templates_dxf
from printpack.errors import PrintError
from printpack.outputs.pack import make_pack
from printpack.paper import A4, LETTER
from printpack.fullsize.templates import find_templates, names_by_piece
from tests.support.looks import all_text
from tests.support.plans import RECTANGLE, SLANTED, breast_job, job_of

JOB = breast_job()
HOUSE = Path(__file__).parents[3]

DIGEST = """
import hashlib
from printpack.outputs.pack import make_pack
from printpack.paper import A4
from tests.support.plans import breast_job
for name, data in sorted(make_pack(breast_job(), A4).items()):
    print(name, hashlib.sha256(data).hexdigest())
"""


@pytest.fixture(scope="module")
def pack():
    return make_pack(JOB, A4)


def test_the_pack_has_the_files_of_the_contract(pack):
    fixed = {"booklet.pdf", "booklet.html", "templates.pdf", "templates.dxf", "plan.svg", "plan.dxf", "cuts.csv"}
    rest = set(pack) - fixed
    assert fixed <= set(pack) and len(rest) == len(find_templates(JOB.plan))
    assert all(name.startswith("templates/T") and name.endswith(".svg") for name in rest)
    assert all(isinstance(data, bytes) and data for data in pack.values())


@pytest.mark.parametrize("name", ["booklet.pdf", "templates.pdf"])
def test_the_pdfs_are_sound_by_qpdf(pack, name):
    """qpdf (inside pikepdf) finds nothing wrong with structure or streams; every font is embedded; nothing is active
    in the file."""
    with pikepdf.open(io.BytesIO(pack[name])) as pdf:
        assert not pdf.check_pdf_syntax()
        fonts = {font.objgen: font for page in pdf.pages for font in page.Resources.Font.values()}
        assert fonts and all("/FontFile2" in font.DescendantFonts[0].FontDescriptor for font in fonts.values())
        assert not {"/AA", "/AcroForm", "/Names"} & set(pdf.Root.keys()) and b"Exif" not in pack[name]


@pytest.mark.parametrize("seed", ["4", "7"])
def test_the_same_job_gives_the_same_bytes_in_another_process(pack, seed):
    """Another process, another hash seed (two, because the order of a set may agree by chance)."""
    done = subprocess.run([sys.executable, "-c", DIGEST], capture_output=True, text=True, check=True, cwd=HOUSE,
                          env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(HOUSE)})
    assert done.stdout.splitlines() == [f"{name} {hashlib.sha256(data).hexdigest()}"
                                        for name, data in sorted(pack.items())]


def test_paper_changes_the_sheets_only(pack):
    other = make_pack(JOB, LETTER)
    same = {name for name in pack if pack[name] == other[name]}
    assert same == {name for name in pack if name.startswith("templates/")} | {"plan.dxf", "templates.dxf", "cuts.csv",
                                                                               "booklet.html"}


@pytest.mark.parametrize("job", [JOB, job_of(SLANTED)], ids=["breast", "slant"])
def test_the_cut_list_reads_back_as_the_plan(job):
    names = names_by_piece(find_templates(job.plan))
    lines = list(csv.DictReader(io.StringIO(cuts_csv(job.plan, names))))
    assert tuple(lines[0]) == COLUMNS
    for piece in job.plan.pieces:
        mine = [line for line in lines if line["piece"] == piece.id]
        assert [float(mine[0][k]) for k in ("from_mm", "to_mm", "near_mm", "far_mm")] == pytest.approx(
            [piece.from_mm, piece.to_mm, piece.near_mm, piece.far_mm], abs=5e-4)
        assert mine[0]["keeps"].split() == list(piece.keeps) and mine[0]["takes"] == piece.takes
        assert mine[0]["leaves"].split() == list(piece.leaves) and mine[0]["templates"].split() == list(
            names.get(piece.id, ()))
        read = [cut_of(line) for line in mine if line["cut"] != "none"]
        assert len(read) == len(piece.cuts)
        for got, cut in zip(read, piece.cuts):
            assert (got.kind, got.kept, got.pipe) == (cut.kind, cut.kept, cut.pipe)
            assert [*got.at, *got.centre, got.diameter] == pytest.approx([*cut.at, *cut.centre, cut.diameter], abs=5e-4)
            assert [v for p in got.shape for v in p] == pytest.approx([v for p in cut.shape for v in p], abs=5e-4)


def cut_of(line: dict[str, str]) -> Cut:
    number = {k: float(v) if v else 0.0 for k, v in line.items() if k.endswith("_mm") and k != "shape_mm"}
    shape = tuple(tuple(map(float, pair.split())) for pair in line["shape_mm"].split(";")) if line["shape_mm"] else ()
    return Cut(kind=line["cut"], kept=line["kept"], at=(number["at_first_mm"], number["at_second_mm"]), shape=shape,
               centre=(number["centre_x_mm"], number["centre_y_mm"]), diameter=number["diameter_mm"], pipe=line["pipe"])


def test_the_templates_dxf_is_sound_and_full_size():
    """Every hole of the cut list is a circle of its size, as far below its template's near edge and as far along the
    board as listed."""
    templates = find_templates(JOB.plan)
    drawing = ezdxf.read(io.StringIO(templates_dxf(JOB, templates).decode()))
    assert not drawing.audit().errors and drawing.header["$INSUNITS"] == 4
    circles = sorted((c.dxf.center.x, c.dxf.radius) for c in drawing.modelspace().query('CIRCLE[layer=="cut"]'))
    holes = sorted((cut.centre[0], cut.diameter / 2) for t in templates for cut in t.cuts if cut.kind == "hole")
    whole = [hole for hole in holes if any(abs(hole[0] - x) < 1e-6 for x, _ in circles)]
    assert len(circles) == len(whole) >= 3 and [v for pair in circles
                                                for v in pair] == pytest.approx([v for pair in whole for v in pair])
    near = [line.dxf.start.y for line in drawing.modelspace().query('LINE[layer=="edge"]')
            if abs(line.dxf.start.y - line.dxf.end.y) < 1e-9]
    first = next(c for c in drawing.modelspace().query('CIRCLE[layer=="cut"]')
                 if abs(c.dxf.center.x - templates[0].cuts[0].centre[0]) < 1e-6)
    away = templates[0].cuts[0].centre[1] - templates[0].piece.near_mm
    assert min(abs(y - away - first.dxf.center.y) for y in near) < 1e-6
    names = {text.dxf.text.split(":")[0] for text in drawing.modelspace().query("TEXT")}
    assert {template.name for template in templates} <= names


def test_the_dxf_is_sound_and_in_millimetres():
    drawing = ezdxf.read(io.StringIO(plan_dxf(JOB).decode()))
    assert not drawing.audit().errors and drawing.header["$INSUNITS"] == 4
    space = drawing.modelspace()
    assert {layer.dxf.name for layer in drawing.layers} >= set(LAYERS)
    boards = [Polygon([p[:2] for p in line.get_points()]) for line in space.query('LWPOLYLINE[layer=="boards"]')]
    assert sum(b.area for b in boards) == pytest.approx(sum(Polygon(p.outline_mm).area for p in JOB.plan.pieces),
                                                        rel=1e-9)
    assert {text.dxf.text for text in space.query('TEXT[layer=="board numbers"]')} == {piece.id
                                                                                       for piece in JOB.plan.pieces}
    assert sorted(c.dxf.radius for c in space.query("CIRCLE")) == sorted(h.diameter_mm / 2 for h in JOB.plan.holes)
    door = space.query('LINE[layer=="doors"]')[0]
    assert (door.dxf.end - door.dxf.start).magnitude == pytest.approx(762.0)
    assert ezdxf.options.write_fixed_meta_data_for_testing is False


@pytest.mark.parametrize("title", ["", "房間 🏠 \x00\x07\ud83c", "x" * 1000, "wort " * 300, "a&b<c>\"'", "שלום"])
def test_any_title_makes_a_sound_pack_without_a_murmur(title, capfd):
    made = make_pack(job_of(RECTANGLE, title=title), LETTER)
    ET.fromstring(made["plan.svg"])
    assert len(pypdfium2.PdfDocument(made["booklet.pdf"])) >= 10
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("title, printed",
                         [("房間", "FangJian"), ("Салон Ωμέγα łazienka", "Салон Ωμέγα łazienka"), ("שלום", "SLVM"),
                          ("nook 🏠", "nook :house:")])
def test_letters_the_typeface_has_not_are_written_in_latin_ones_and_that_is_said(title, printed):
    words = all_text(make_pack(job_of(RECTANGLE, title=title), LETTER)["booklet.pdf"])
    assert printed.lower() in words.lower() and ("Letters this typeface has not" in words) == (printed != title)


def test_a_plan_with_an_empty_row_is_refused():
    with pytest.raises(PrintError) as refusal:
        make_pack(replace(JOB, plan=replace(JOB.plan,
                                            rows=(*JOB.plan.rows, Row(number=99, near_mm=0.0, far_mm=1.0, runs=())))),
                  A4)
    assert refusal.value.slug == "empty-plan"
