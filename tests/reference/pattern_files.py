# Pattern files by independent libraries, and the true geometry of what is in them.
# ezdxf==1.4.5 svgwrite==1.4.3 reportlab==5.1.0 fpdf2==2.8.9 pypdf==7.1.1 cryptography==50.0.2
#
# Parts of a house slipper, in mm, y up; every outline is a list of segments:
#   ("L", x, y)                    a straight edge to (x, y)
#   ("C", x1, y1, x2, y2, x, y)    a cubic Bezier
#   ("A", cx, cy, x, y, +1 / -1)   an arc of a circle, +1 counter-clockwise
# The truth of a piece is its corners (ends of segments) and points on its curves, worked
# out here from the segments; no library's reading of its own file is used.
import datetime
import io
import json
import math
import os

import ezdxf
import svgwrite
from fpdf import FPDF
from fpdf.drawing import DeviceGray
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import (ArrayObject, DecodedStreamObject, DictionaryObject, FloatObject,
                           NameObject, NumberObject, RectangleObject, TextStringObject)
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen import canvas

HERE = os.path.dirname(os.path.abspath(__file__))
OUT = os.path.join(HERE, "pattern_files")
MM = 72 / 25.4

UPPER = ((20, 20), [("L", 140, 20), ("C", 150, 60, 130, 110, 80, 130), ("C", 30, 110, 10, 60, 20, 20)])
BAND = ((170, 20), [("L", 370, 20), ("A", 370, 45, 370, 70, +1), ("L", 170, 70), ("L", 170, 20)])
SOLE = ((200, 120), [("C", 230, 85, 330, 90, 360, 115), ("C", 390, 150, 350, 175, 320, 165),
                     ("C", 280, 150, 220, 175, 200, 160), ("C", 185, 145, 185, 135, 200, 120)])
NET = ((180, 30), [("L", 370, 30), ("A", 370, 45, 370, 60, +1), ("L", 180, 60), ("L", 180, 30)])
NOTCHES = [((220, 20), (220, 25)), ((270, 70), (270, 64))]
GRAIN = ((300, 35), (200, 35))
DRILL = (240, 45)


def arc_angles(start, seg):
    _, cx, cy, x, y, way = seg
    a = math.atan2(start[1] - cy, start[0] - cx)
    b = math.atan2(y - cy, x - cx)
    while way > 0 and b <= a:
        b += 2 * math.pi
    while way < 0 and b >= a:
        b -= 2 * math.pi
    return (cx, cy), math.hypot(start[0] - cx, start[1] - cy), a, b


def walk(shape, n=400):
    """Corners, and points along the outline: n to a curve."""
    at, segs = shape
    corners, line = [at], [at]
    for s in segs:
        if s[0] == "L":
            end = s[1:3]
            line.append(end)
        elif s[0] == "C":
            p = [at, s[1:3], s[3:5], s[5:7]]
            for k in range(1, n + 1):
                t = k / n
                w = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t ** 3]
                line.append(tuple(sum(a * q[i] for a, q in zip(w, p)) for i in (0, 1)))
            end = s[5:7]
        else:
            c, r, a, b = arc_angles(at, s)
            for k in range(1, n + 1):
                v = a + (b - a) * k / n
                line.append((c[0] + r * math.cos(v), c[1] + r * math.sin(v)))
            end = s[3:5]
        corners.append(tuple(end))
        at = tuple(end)
    return corners, line


def truth(name, shape, scale=1.0, **more):
    corners, line = walk(shape)
    corners = corners[:-1] if corners[0] == corners[-1] else corners
    # Only as dense as 1 um needs.
    thin = [p for k, p in enumerate(line) if k % 2 == 0 or p in corners]
    xs, ys = [p[0] for p in line], [p[1] for p in line]
    mid = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    own = lambda p: [round((p[0] - mid[0]) * scale, 6), round((p[1] - mid[1]) * scale, 6)]
    out = {"name": name, "corners": [own(p) for p in corners], "line": [own(p) for p in thin]}
    for key, value in more.items():
        out[key] = [own(p) for p in value]
    return out


BAND_MORE = dict(notches=[n[0] for n in NOTCHES], grain=list(GRAIN), drills=[DRILL])


# ---- DXF, by ezdxf ------------------------------------------------------------------

def bulge(start, seg):
    _, _, a, b = arc_angles(start, seg)
    return math.tan((b - a) / 4)


def poly(space, shape, layer, per, new):
    """As one polyline with bulges, `per` mm a unit."""
    at, segs = shape
    rows = []
    for s in segs:
        rows.append((at[0] / per, at[1] / per, bulge(at, s) if s[0] == "A" else 0.0))
        at = s[-3:-1] if s[0] == "A" else s[-2:]
    if new:
        space.add_lwpolyline(rows, format="xyb", close=True, dxfattribs={"layer": layer})
    else:
        space.add_polyline2d(rows, format="xyb", close=True, dxfattribs={"layer": layer})


def strokes(space, shape, layer, per):
    """As lines, arcs and splines of their own, every second one drawn backwards."""
    at, segs = shape
    for k, s in enumerate(segs):
        if s[0] == "L":
            ends = [at, s[1:3]]
            if k % 2:
                ends.reverse()
            space.add_line(*[(x / per, y / per) for x, y in ends], dxfattribs={"layer": layer})
            at = s[1:3]
        elif s[0] == "C":
            p = [at, s[1:3], s[3:5], s[5:7]]
            if k % 2:
                p.reverse()
            space.add_open_spline([(x / per, y / per, 0) for x, y in p], degree=3, dxfattribs={"layer": layer})
            at = s[5:7]
        else:
            c, r, a, b = arc_angles(at, s)
            if b < a:
                a, b = b, a
            space.add_arc((c[0] / per, c[1] / per), r / per, math.degrees(a), math.degrees(b), dxfattribs={"layer": layer})
            at = s[3:5]


def marks(space, per, layer="marks"):
    on = {"layer": layer}
    at = lambda p: (p[0] / per, p[1] / per)
    for a, b in NOTCHES:
        space.add_line(at(a), at(b), dxfattribs=on)
    space.add_line(at(GRAIN[0]), at(GRAIN[1]), dxfattribs=on)
    tip = GRAIN[1]
    for dy in (-3, 3):
        space.add_line(at(tip), at((tip[0] + 6, tip[1] + dy)), dxfattribs=on)
    space.add_circle(at(DRILL), 1.5 / per, dxfattribs=on)


def loose_dxf(version, insunits, per, texts):
    doc = ezdxf.new(version)
    if insunits is not None:
        doc.header["$INSUNITS"] = insunits
    msp = doc.modelspace()
    new = version != "R12"
    poly(msp, BAND, "0", per, new)
    poly(msp, NET, "net", per, new)
    marks(msp, per)
    if new:
        strokes(msp, UPPER, "0", per)
        strokes(msp, SOLE, "0", per)
    for words, (x, y), h in texts:
        msp.add_text(words, height=h / per, dxfattribs={"insert": (x / per, y / per)})
    return doc


NAMES = [("upper", (60, 60), 10), ("heel band", (300, 48), 10), ("sole", (240, 130), 10)]


def blocks_dxf():
    """Pieces in blocks: mirrored, turned, scaled, one within another; an ellipse; from below."""
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = 4
    msp = doc.modelspace()
    half = doc.blocks.new("HALF")
    half.base_point = (10, 10)
    half.add_lwpolyline([(10, 10, 0), (110, 10, 0.5), (110, 60, 0), (10, 40, 0)], format="xyb", close=True)
    outer = doc.blocks.new("OUTER")
    outer.add_blockref("HALF", (5, 0), dxfattribs={"rotation": 30, "xscale": 0.5, "yscale": 0.5})
    msp.add_blockref("OUTER", (300, 0), dxfattribs={"xscale": -2, "yscale": 2})
    msp.add_ellipse((600, 100), major_axis=(80, 30), ratio=0.5)
    # Seen from below, an own plane's x is mirrored.
    msp.add_lwpolyline([(-800, 0), (-900, 0), (-900, 50)], close=True, dxfattribs={"extrusion": (0, 0, -1)})
    msp.add_lwpolyline([(1000, 0), (1050, 0), (1050, 40)], close=True, dxfattribs={"elevation": 3})
    t = math.radians(30)

    def there(x, y):
        x, y = 0.5 * (x - 10), 0.5 * (y - 10)
        x, y = x * math.cos(t) - y * math.sin(t) + 5, x * math.sin(t) + y * math.cos(t)
        return (300 - 2 * x, 2 * y)

    # The bulge 0.5 from (110, 10) to (110, 60): radius = c (1 + b^2) / (4 b).
    c, b = 50.0, 0.5
    r = c * (1 + b * b) / (4 * b)
    centre = (110 - c * (1 - b * b) / (4 * b), 35)
    a0 = math.atan2(10 - centre[1], 110 - centre[0])
    arc = [(centre[0] + r * math.cos(a0 + (-2 * a0) * k / 400), centre[1] + r * math.sin(a0 + (-2 * a0) * k / 400)) for k in range(401)]
    line = [there(*p) for p in [(10, 10), *arc, (10, 40)]]
    pieces = [exact("piece 1", line, [there(10, 10), there(110, 10), there(110, 60), there(10, 40)])]
    ring = []
    for k in range(800):
        v = 2 * math.pi * k / 800
        ring.append((600 + 80 * math.cos(v) - 15 * math.sin(v), 100 + 30 * math.cos(v) + 40 * math.sin(v)))
    pieces.append(exact("piece 2", ring, []))
    pieces.append(exact("piece 3", *[[(800, 0), (900, 0), (900, 50)]] * 2))
    pieces.append(exact("piece 4", *[[(1000, 0), (1050, 0), (1050, 40)]] * 2))
    return doc, pieces


def exact(name, line, corners):
    xs, ys = [p[0] for p in line], [p[1] for p in line]
    mid = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    own = lambda p: [round(p[0] - mid[0], 6), round(p[1] - mid[1], 6)]
    return {"name": name, "corners": [own(p) for p in corners], "line": [own(p) for p in line]}


def sewn_dxf():
    """Layers of ASTM D6673, one block a piece, R12, inches."""
    per = 25.4
    doc = ezdxf.new("R12")
    for name in "1 2 3 4 6 7 8 11 13 14 15".split():
        doc.layers.add(name)
    band = doc.blocks.new("BAND-M")
    poly(band, BAND, "1", per, False)
    poly(band, NET, "14", per, False)
    on = lambda layer, **more: {"layer": layer, **more}
    at = lambda p: (p[0] / per, p[1] / per)
    for (a, b) in NOTCHES:
        depth = math.dist(a, b) / per
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        band.add_point((*at(a), depth), dxfattribs=on("4", angle=turn))
    band.add_line(at(GRAIN[0]), at(GRAIN[1]), dxfattribs=on("7"))
    band.add_point(at(DRILL), dxfattribs=on("13"))
    band.add_line(at((170, 20)), at((170, 70)), dxfattribs=on("6"))
    band.add_line(at((300, 40)), at((320, 60)), dxfattribs=on("8"))
    band.add_circle(at((200, 50)), 4 / per, dxfattribs=on("11"))
    for x, y in [(170, 20), (370, 20)]:
        band.add_point(at((x, y)), dxfattribs=on("2"))
    for k, words in enumerate(["Piece Name: heel band", "Quantity: 1,1", "Size: M", "Material: canvas"]):
        band.add_text(words, height=0.2, dxfattribs=on("15", insert=at((250, 60 - 5 * k))))
    msp = doc.modelspace()
    msp.add_blockref("BAND-M", (0, 0), dxfattribs=on("1"))
    msp.add_text("Units: ENGLISH", height=0.2, dxfattribs=on("1", insert=(0, -1)))
    return doc


# ---- PDF ----------------------------------------------------------------------------

def trace(path, shape, f):
    at, segs = shape
    path.moveTo(*f(at))
    for s in segs:
        if s[0] == "L":
            path.lineTo(*f(s[1:3]))
            at = s[1:3]
        elif s[0] == "C":
            path.curveTo(*f(s[1:3]), *f(s[3:5]), *f(s[5:7]))
            at = s[5:7]
        else:
            c, r, a, b = arc_angles(at, s)
            n = 8
            for k in range(n):
                u, v = a + (b - a) * k / n, a + (b - a) * (k + 1) / n
                h = 4 / 3 * math.tan((v - u) / 4) * r
                p = lambda w: (c[0] + r * math.cos(w), c[1] + r * math.sin(w))
                d = lambda w: (-math.sin(w), math.cos(w))
                p1 = (p(u)[0] + h * d(u)[0], p(u)[1] + h * d(u)[1])
                p2 = (p(v)[0] - h * d(v)[0], p(v)[1] - h * d(v)[1])
                path.curveTo(*f(p1), *f(p2), *f(p(v)))
            at = s[3:5]
    path.close()


def paint(c, f=lambda p: (p[0] * MM, p[1] * MM), words=True):
    for shape in (UPPER, BAND, SOLE):
        path = c.beginPath()
        trace(path, shape, f)
        c.drawPath(path)
    c.setDash(6, 3)
    path = c.beginPath()
    trace(path, NET, f)
    c.drawPath(path)
    c.setDash()
    for a, b in NOTCHES:
        c.line(*f(a), *f(b))
    c.line(*f(GRAIN[0]), *f(GRAIN[1]))
    tip = GRAIN[1]
    for dy in (-3, 3):
        c.line(*f(tip), *f((tip[0] + 6, tip[1] + dy)))
    x, y = f(DRILL)
    c.circle(x, y, 1.5 * math.dist(f((1, 0)), f((0, 0))))
    if words:
        for text, at, size in NAMES:
            c.setFont("Helvetica", size * MM)
            c.drawString(*f(at), text)


def new_canvas(buffer, w, h, **more):
    return canvas.Canvas(buffer, pagesize=(w * MM, h * MM), invariant=1, **more)


def plain_pdf(square=50.0, said="5 cm", **more):
    buffer = io.BytesIO()
    c = new_canvas(buffer, 420, 297, **more)
    paint(c)
    c.rect(20 * MM, 200 * MM, square * MM, square * MM)
    c.setFont("Helvetica", 12)
    c.drawString(25 * MM, 225 * MM, said)
    c.drawString(300 * MM, 225 * MM, "cut 2 of each")
    c.save()
    return buffer.getvalue()


def forms_pdf():
    """Nested forms, each with a matrix of its own, and a clip that hides one path wholly."""
    buffer = io.BytesIO()
    c = new_canvas(buffer, 420, 297)
    c.beginForm("inner", 0, 0, 420 * MM, 297 * MM)
    paint(c)
    c.endForm()
    c.beginForm("outer", -1000, -1000, 2000, 2000)
    c.saveState()
    c.scale(0.5, 0.5)
    c.doForm("inner")
    c.restoreState()
    c.endForm()
    c.saveState()
    c.translate(10 * MM, 5 * MM)
    c.scale(2, 2)
    c.doForm("outer")
    c.restoreState()
    c.saveState()
    clip = c.beginPath()
    clip.rect(0, 0, 10, 10)
    c.clipPath(clip, stroke=0)
    c.rect(300 * MM, 220 * MM, 60 * MM, 40 * MM)
    c.restoreState()
    c.save()
    return buffer.getvalue()


def layered_pdf():
    """The upper on a layer that is on, the band on one that is off, by marked content."""
    buffer = io.BytesIO()
    c = new_canvas(buffer, 420, 297)
    for name, shape in (("L1", UPPER), ("L2", BAND)):
        c._code.append(f"/OC /{name} BDC")
        path = c.beginPath()
        trace(path, shape, lambda p: (p[0] * MM, p[1] * MM))
        c.drawPath(path)
        c._code.append("EMC")
    c.save()
    w = PdfWriter(clone_from=PdfReader(buffer))
    refs = []
    for name in ("size 40", "size 42"):
        group = DictionaryObject({NameObject("/Type"): NameObject("/OCG"), NameObject("/Name"): TextStringObject(name)})
        refs.append(w._add_object(group))
    w.pages[0]["/Resources"][NameObject("/Properties")] = DictionaryObject(
        {NameObject("/L1"): refs[0], NameObject("/L2"): refs[1]})
    config = DictionaryObject({NameObject("/OFF"): ArrayObject([refs[1]]), NameObject("/Order"): ArrayObject(refs)})
    w.root_object[NameObject("/OCProperties")] = DictionaryObject(
        {NameObject("/OCGs"): ArrayObject(refs), NameObject("/D"): config})
    return written(w)


def written(w):
    buffer = io.BytesIO()
    w.write(buffer)
    return buffer.getvalue()


def turned_pdf():
    """UserUnit 2, /Rotate 90 and a CropBox away from the corner: the same pieces."""
    buffer = io.BytesIO()
    c = new_canvas(buffer, 300, 300)
    paint(c, lambda p: ((150 - p[1] / 2) * MM, (20 + p[0] / 2) * MM))
    c.save()
    w = PdfWriter(clone_from=PdfReader(buffer))
    page = w.pages[0]
    page[NameObject("/UserUnit")] = FloatObject(2.0)
    page[NameObject("/CropBox")] = RectangleObject((20 * MM, 15 * MM, 290 * MM, 280 * MM))
    page[NameObject("/Rotate")] = NumberObject(90)
    return written(w)


def encrypted_pdf(user, algorithm):
    w = PdfWriter(clone_from=PdfReader(io.BytesIO(plain_pdf())))
    w.encrypt(user, "owner's own", algorithm=algorithm)
    return written(w)


def tiled_pdf(labels=True, overlap=15.0, pages=(2, 2), frame=True):
    """The drawing over several A4 pages that overlap, row by row from the upper left."""
    columns, rows = pages
    buffer = io.BytesIO()
    w, h = 210.0, 190.0
    # What a page shows: a frame 5 mm in.
    fw, fh = w - 10, h - 10
    c = new_canvas(buffer, w, h)
    top = 200.0
    for row in range(rows):
        for col in range(columns):
            x0 = 15 + col * (fw - overlap)
            y1 = top - row * (fh - overlap)
            c.saveState()
            clip = c.beginPath()
            clip.rect(5 * MM, 5 * MM, fw * MM, fh * MM)
            c.clipPath(clip, stroke=0)
            paint(c, lambda p: ((p[0] - x0 + 5) * MM, (p[1] - (y1 - fh) + 5) * MM), words=True)
            c.restoreState()
            if frame:
                c.rect(5 * MM, 5 * MM, fw * MM, fh * MM)
            if labels:
                c.setFont("Helvetica", 9)
                c.drawString(7 * MM, (h - 10) * MM, f"{'AB'[row]}{col + 1}")
            c.showPage()
    c.save()
    return buffer.getvalue()


def raster_pdf():
    buffer = io.BytesIO()
    c = new_canvas(buffer, 210, 297)
    c.drawImage(ImageReader(Image.new("L", (40, 40), 128)), 10, 10, 300, 300)
    c.save()
    return buffer.getvalue()


def recursive_pdf():
    """A form that draws itself."""
    buffer = io.BytesIO()
    c = new_canvas(buffer, 210, 297)
    c.rect(10, 10, 200, 200)
    c.save()
    w = PdfWriter(clone_from=PdfReader(buffer))
    form = DecodedStreamObject()
    form.set_data(b"/F Do /F Do 0 0 m 9 9 l S")
    form.update({NameObject("/Type"): NameObject("/XObject"), NameObject("/Subtype"): NameObject("/Form"),
                 NameObject("/BBox"): ArrayObject([NumberObject(n) for n in (0, 0, 500, 500)])})
    ref = w._add_object(form)
    own = DictionaryObject({NameObject("/XObject"): DictionaryObject({NameObject("/F"): ref})})
    form[NameObject("/Resources")] = own
    page = w.pages[0]
    page[NameObject("/Resources")][NameObject("/XObject")] = DictionaryObject({NameObject("/F"): ref})
    stream = DecodedStreamObject()
    stream.set_data(page.get_contents().get_data() + b"\n/F Do\n")
    page[NameObject("/Contents")] = w._add_object(stream)
    return written(w)


def fpdf_pdf():
    """By another library, with its own path drawing and a compressed stream."""
    pdf = FPDF(unit="mm", format=(420, 297))
    pdf.set_creation_date(datetime.datetime(2020, 1, 1, tzinfo=datetime.timezone.utc))
    pdf.add_page()
    f = lambda p: (p[0], 297 - p[1])
    with pdf.drawing_context() as gc:
        from fpdf.drawing import PaintedPath
        for shape in (UPPER, SOLE):
            at, segs = shape
            path = PaintedPath(*f(at))
            path.style.fill_color = None
            path.style.stroke_color = DeviceGray(0)
            for s in segs:
                if s[0] == "L":
                    path.line_to(*f(s[1:3]))
                else:
                    path.curve_to(*f(s[1:3]), *f(s[3:5]), *f(s[5:7]))
            path.close()
            gc.add_item(path)
    pdf.set_font("helvetica", size=28)
    pdf.text(*f((60, 60)), "upper")
    pdf.text(*f((240, 130)), "sole")
    return bytes(pdf.output())


# ---- SVG, by svgwrite ---------------------------------------------------------------

def roles_svg():
    d = svgwrite.Drawing(size=("420mm", "297mm"), viewBox="0 0 420 297", debug=False)
    group = d.g(id="piece-upper")
    f = lambda p: f"{p[0]:g} {297 - p[1]:g}"
    at, segs = UPPER
    data = "M" + f(at)
    for s in segs:
        data += "L" + f(s[1:3]) if s[0] == "L" else "C" + " ".join(f(s[i:i + 2]) for i in (1, 3, 5))
    group.add(d.path(d=data + "Z", class_="cut"))
    d.add(group)
    return d.tostring()


# ---- Read back, by ezdxf -----------------------------------------------------------

def check_written():
    """What our own writer wrote (`written_r12.dxf`), as ezdxf reads it."""
    path = os.path.join(OUT, "written_r12.dxf")
    if not os.path.exists(path):
        return
    doc = ezdxf.readfile(path)
    assert doc.dxfversion == "AC1009" and not doc.audit().has_errors
    texts = [e.dxf.text for e in doc.modelspace().query("TEXT")]
    assert texts == ["Units: METRIC"], texts
    assert len(doc.modelspace().query("INSERT")) == 2
    block = doc.blocks.get("PIECE_1")
    by_layer = lambda layer, kind: [e for e in block if e.dxf.layer == layer and e.dxftype() == kind]

    def ring(e):
        return [(round(v.dxf.location.x, 6), round(v.dxf.location.y, 6)) for v in e.vertices], e.is_closed

    assert [ring(e) for e in by_layer("1", "POLYLINE")] == [
        ([(-100, -25), (100, -25), (90, 0), (100, 25), (-100, 25)], True)]
    assert [ring(e) for e in by_layer("11", "POLYLINE")] == [([(-50, 0), (-50, 10), (-40, 10), (-40, 0)], True)]
    assert [ring(e) for e in by_layer("6", "POLYLINE")] == [([(-100, 25), (-100, -25)], False)]
    assert len(by_layer("14", "POLYLINE")) == 1 and len(by_layer("8", "POLYLINE")) == 2
    notches = [(e.dxf.location.x, e.dxf.location.y, e.dxf.location.z) for e in by_layer("4", "POINT")]
    assert sorted(notches) == [(-60, -25, 3), (7, 25, 4.5), (13, 25, 4.5), (40, -25, 2.5)], notches
    (grain,) = by_layer("7", "LINE")
    assert (grain.dxf.start.x, grain.dxf.end.x) == (70, -20)
    words = [e.dxf.text for e in by_layer("15", "TEXT")]
    assert words[1] == "Quantity: 2,2" and "\\U+00F6" in words[0] or "ö" in words[0], words
    disc = [e for e in doc.blocks.get("PIECE_2") if e.dxftype() == "POLYLINE"]
    assert len(disc) == 1 and len(disc[0].vertices) == 90
    assert all(abs(math.hypot(*v.dxf.location.vec2) - 60) < 2e-6 for v in disc[0].vertices)


def main():
    os.makedirs(OUT, exist_ok=True)
    upper, band, sole = (truth("upper", UPPER), truth("heel band", BAND, **BAND_MORE), truth("sole", SOLE))
    bare = truth("heel band", BAND)
    files = {}

    def put(name, data, pieces):
        with open(os.path.join(OUT, name), "wb") as f:
            f.write(data if isinstance(data, bytes) else data.encode())
        files[name] = pieces

    def dxf(doc):
        s = io.StringIO()
        doc.write(s)
        # R12 to R2004 files are written in a code page.
        return s.getvalue().encode("utf-8")

    metric = [("Units: METRIC", (20, -30), 5)]
    put("ezdxf_r12.dxf", dxf(loose_dxf("R12", None, 1.0, metric + NAMES[1:2])), [band])
    put("ezdxf_r2000_cm.dxf", dxf(loose_dxf("R2000", 5, 10.0, NAMES)), [band, upper, sole])
    put("ezdxf_r2010_in.dxf", dxf(loose_dxf("R2010", 1, 25.4, NAMES)), [band, upper, sole])
    put("ezdxf_r2018_mm.dxf", dxf(loose_dxf("R2018", 4, 1.0, NAMES)), [band, upper, sole])
    doc, pieces = blocks_dxf()
    put("ezdxf_blocks.dxf", dxf(doc), pieces)
    put("ezdxf_sewn_r12.dxf", dxf(sewn_dxf()), [band])
    put("svgwrite.svg", roles_svg(), [upper])
    put("reportlab_plain.pdf", plain_pdf(), [upper, band, sole])
    put("reportlab_shrunk.pdf", plain_pdf(square=48.5), [])
    put("reportlab_inch.pdf", plain_pdf(square=50.8, said='2" x 2"'), [upper, band, sole])
    put("reportlab_forms.pdf", forms_pdf(), [upper, band, sole])
    put("pypdf_layers.pdf", layered_pdf(), [truth("piece 1", UPPER)])
    put("pypdf_turned.pdf", turned_pdf(), [upper, band, sole])
    put("pypdf_rc4.pdf", encrypted_pdf("", "RC4-128"), [upper, band, sole])
    put("pypdf_aes.pdf", encrypted_pdf("", "AES-256"), [upper, band, sole])
    put("pypdf_password.pdf", encrypted_pdf("canvas", "AES-128"), [])
    put("pypdf_recursive.pdf", recursive_pdf(), [])
    put("reportlab_raster.pdf", raster_pdf(), [])
    put("reportlab_tiled.pdf", tiled_pdf(), [upper, band, sole])
    put("reportlab_tiled_bare.pdf", tiled_pdf(labels=False, frame=False), [upper, band, sole])
    put("fpdf2.pdf", fpdf_pdf(), [upper, sole])
    with open(os.path.join(HERE, "pattern_files.json"), "w") as f:
        # A piece that is in several files is written once.
        known, rows = [], []
        for name, pieces in files.items():
            for p in pieces:
                if p not in known:
                    known.append(p)
            rows.append(f'  "{name}": {[known.index(p) for p in pieces]}')
        f.write('{"pieces": [\n' + ",\n".join(json.dumps(p) for p in known))
        f.write('\n], "files": {\n' + ",\n".join(rows) + "\n}}\n")
    check_written()


main()
