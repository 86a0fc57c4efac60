"""Judges one answer of the program from outside. Each difference from the drawing needs a finding, and each finding a difference.

In: the JSON document, the written files (None beside an error), the outlines from `findings.read`. Out: faults and counts.
S is an outline as drawn, R and r are the radii of bush and cutter, T is an opening as written.

* The recess is (T - R) + r, the inlay T - (R + r). The inlay *with its gap added again*, T - (R + r - gap), is compared with S
  like the recess. Without files T follows from the outline as made: S opened and closed by the radii in `corners`.
* Where the two differ from each other, their intersection and their union are compared with S as well.
* A *difference* is a connected component of S without the piece (inside), or of the piece without S (outside). HAIR is first
  taken off, because the reading of curves and the proof allow that much. The *depth* of a difference is the diameter of the
  largest disc inside it, plus HAIR. Deeper than DEEP, it must be owned. Above LISTED and up to BORDER above DEEP it is listed
  (*border*) and is no fault.
* A finding lies *under* a difference within AT of it. If nothing of an outline remains, anywhere in its bounding box counts.
* A finding *owns* a difference of its side on the same outline. Inside corners and necks count inside, outside corners and
  closed gaps outside, any other code with a box on both sides. One of these conditions must hold:
  - outside the boxes (`region_mm`) of these findings the difference is nowhere deeper than DEEP;
  - a finding without a box lies under it;
  - a finding without a box lies under another difference that contains most of it. (That one may be of the other piece, or
    between S and the result of the bare tools.)
* If the program gives no boxes, a difference beside a region that a neck or gap of the other side owns is listed (*beside*).
  It is no fault. Every other difference is *silent*.
* A finding of these codes is *idle* if no difference at least MAY deep lies above it. Differences of the pieces count, and
  those between S and the result of the bare tools. Necks and gaps by another rule (`needed_mm` null) are checked against that rule.
* *Figures* are worked out again without sampling (`measure`), with the tolerance EXACT. Gaps and distances from the drawing
  follow from the files, `short_mm` of corners from S and the bare tools. An error that the reading of curves explains is no
  fault. The figure then fits S as the program read it (within READ of S), or S grown and shrunk by READ.

A fault counts only if the sums on rotated copies agree.

Source: none outside; the check does the sums anew.
"""

from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass, field

import findings as regions
import flat
import measure
import numpy as np
import oracle
import pyclipper
import shapely
from check_openings import CUT, unplaced
from findings import MAY, away, deep, less, parts, there_and_back, turned
from names import BOX, CORNERS, GAP, INNER, ISLAND, NECK, OUTER, UNEXPLAINED, WIDE, get

DEEP, BORDER, LISTED, HAIR, AT = 0.04, 0.005, 0.02, 0.004, 0.03
# Ownership by a neck or gap beside the difference, used only while the program gives no boxes.
BESIDE = "with a neck or gap"
# A difference must also exist for radii smaller by this much, mm, since the program makes features of just the tool's size.
EPS = regions.SLACK / 2
EXACT, READ = 0.005, 0.003
# First pass: chords within COARSE of their arcs, and limits stricter by STRICT, mm. Then ARC, on copies rotated by TURNED.
COARSE, STRICT, ARC, TURNED = 5e-4, 1e-3, 1e-4, (0.3, 1.1)
# Pieces that differ by less than this area count as equal, mm2.
APART = 0.1
# Greatest distance of one place on two rotated copies, mm.
SAME = 0.5
# A sharp corner: a turn of more than SHARP radians over two arms of ARM mm, within NEARBY mm of the finding.
SHARP, NEARBY, ARM = 0.45, 0.003, 0.05


@dataclass(frozen=True)
class Fault:
    """kind: silent, beside, idle, figure, unexplained, other. number: depth, or error of the figure, mm."""

    kind: str
    outline: str
    what: str
    at: tuple
    number: float
    more: dict = field(default_factory=dict, compare=False)


@dataclass
class Setting:
    """Radii and gap, mm; r: cutter radius of the recess, o: largest offset."""

    mode: str
    start: str | None
    recess: tuple | None
    inlay: tuple | None
    gap: float
    ease: tuple
    hair: float

    @property
    def r(self):
        return self.recess[1]

    @property
    def o(self):
        return max(self.recess[0] - self.recess[1], sum(self.inlay) - self.gap)


def setting(document, start):
    pair = lambda t: None if t is None else (t["bush_mm"] / 2, t["cutter_mm"] / 2)
    c, tools = document["corners"], document["tools"]
    ease = (c["inside_radius_mm"] or 0.0, get(c, "outside_radius_mm") or 0.0)
    flatten = (document.get("writing") or {}).get("flatten_mm") or 0.0
    return Setting(c["mode"], start, pair(tools["recess"]), pair(get(tools, "inlay")), tools["gap_mm"], ease, HAIR + flatten)


# ---- The pieces ----


def openings(document, folder, shapes):
    """The written openings by outline and duty, each as paths of a region, and the openings that belong to no outline."""
    files, found, lost = {}, {}, []
    for o in document["openings"]:
        for name in o["files"]:
            if name.endswith(".dxf"):
                files.setdefault((name, o["duty"]), []).append(o)
    for (name, _), of in files.items():
        rings = unplaced(of[0]["place"], written(folder / name))
        engine = pyclipper.Pyclipper()
        engine.AddPaths(oracle.to_grid(rings), pyclipper.PT_SUBJECT, True)
        for island in parts(engine.Execute2(pyclipper.CT_UNION, pyclipper.PFT_EVENODD, pyclipper.PFT_EVENODD)):
            shared = [covered(island, shapes[o["outline"]]) if o["outline"] in shapes else 0.0 for o in of]
            if max(shared) <= 0:
                lost.append((name, tuple(np.array(island[0][0]) * oracle.GRID)))
                continue
            o = of[int(np.argmax(shared))]
            found.setdefault((o["outline"], "recess" if o["duty"] == "recess" else "inlay"), []).extend(island)
    return found, lost


def written(path):
    before, flat.FLAT = flat.FLAT, ARC
    try:
        return flat.dxf_rings(path, CUT)[0]
    finally:
        flat.FLAT = before


def covered(a, b):
    """Area of the intersection of two regions, mm2."""
    return combined(pyclipper.CT_INTERSECTION, a, b, True)


def made(s, k):
    """The outline as made: opened, then closed. For something in hand, the result of the job."""
    if k.start == "part":
        return oracle.offset(s, k.gap)
    if k.start == "template":
        return through(s, k)
    inside, outside = k.ease
    s = there_and_back(s, Limits.eps - inside) if inside else s
    return there_and_back(s, outside - Limits.eps) if outside and s else s


def through(t, k):
    """The recess cut through an opening."""
    return oracle.offset(oracle.offset(t, Limits.eps - k.recess[0]), k.r - Limits.eps)


def pieces(s, t, k):
    """Recess, and inlay with its gap added again, from the openings `t` or the outline as made. None: not cut."""
    if t is None:
        star = made(s, k)
        recess = inlay = None
        if k.recess and k.start != "recess":
            # S may be closed and opened by less than the tools do; the tools then do the rest.
            reach = k.recess[0] - k.r
            closed = there_and_back(star, reach - Limits.eps) if star and reach > k.ease[1] else star
            recess = there_and_back(closed, Limits.eps - k.r) if closed and k.r > k.ease[0] else closed
        if k.inlay and k.start != "part":
            reach = sum(k.inlay) - k.gap
            inlay = there_and_back(star, reach - Limits.eps) if star and reach > k.ease[1] else star
        return recess, inlay
    recess, inlay = t.get("recess"), t.get("inlay")
    if recess is not None:
        recess = through(recess, k)
    if inlay is not None:
        inlay = oracle.offset(inlay, -(sum(k.inlay) - k.gap))
    return recess, inlay


def held(s, recess, inlay, k):
    """The comparisons: (side, region, region that should cover it)."""
    if k.start == "template":
        star = made(s, k)
        return [("inside", star, inlay), ("outside", inlay, star)] if inlay is not None else []
    out = []
    # Where the cutter does not enter at all, excess of the inlay does not matter.
    for piece in (recess,) if recess == [] else (recess, inlay):
        if piece is not None:
            target = oracle.offset(s, k.gap) if k.start == "part" else s
            out += [("inside", target, piece), ("outside", piece, target)]
    if recess and inlay and not k.start and combined(pyclipper.CT_XOR, recess, inlay, True) > APART:
        # Where the pieces differ from each other: the wood that one of them lacks, and the wood that either has.
        out += [("inside", s, combined(pyclipper.CT_INTERSECTION, recess, inlay)), ("outside", combined(pyclipper.CT_UNION, recess, inlay), s)]
    return out


def combined(how, a, b, area=False):
    """The paths of two regions combined, or their area, mm2."""
    engine = pyclipper.Pyclipper()
    engine.AddPaths(a, pyclipper.PT_SUBJECT, True)
    engine.AddPaths(b, pyclipper.PT_CLIP, True)
    paths = engine.Execute(how, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return sum(map(pyclipper.Area, paths)) * oracle.GRID**2 if area else paths



def views(s, k):
    """The bare tools: (side, shape, radius, addition to a depth for the stated figure)."""
    if k.start == "part":
        return [("inside", s, k.r - k.gap, -k.gap), ("outside", s, k.recess[0] - k.r + k.gap, k.gap)]
    if k.start == "template":
        star = made(s, k)
        out = [("inside", s, k.recess[0], 0.0)]
        return out + ([("inside", star, k.r, 0.0), ("outside", star, k.o, 0.0)] if star else [])
    if k.start == "recess":
        return [("outside", s, sum(k.inlay) - k.gap, 0.0)]
    return [("inside", s, k.r, 0.0), ("outside", s, k.o, 0.0)]


def lost_to(side, shape, radius):
    """The regions that a bare tool leaves or fills."""
    back = there_and_back(shape, -radius if side == "inside" else radius)
    a, b = (shape, back) if side == "inside" else (back, shape)
    return deep_parts(a, b, back, Limits.hair, radius)


def deep_parts(a, b, edge, hair, tool):
    """The components of a without b, each a Region with `paths` and `whole`. Depths are measured to the edge of `edge`."""
    found = []
    for island in less(a, oracle.offset(b, hair)) if b else parts_of(a):
        if abs(pyclipper.Area(island[0])) * oracle.GRID**2 > regions.CRUMB:
            for g in deep([island], edge or None, tool):
                g.paths, g.whole, g.edge, g.of, g.hair = island, not b, edge, (a, b), hair
                found.append(g)
    return found


def parts_of(paths):
    engine = pyclipper.Pyclipper()
    engine.AddPaths(paths, pyclipper.PT_SUBJECT, True)
    return parts(engine.Execute2(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO))


def differences(comparisons, hair):
    """The differences by side, each a Region with `paths`, `whole` and `disc`, its depth."""
    found = {"inside": [], "outside": []}
    for side, a, b in comparisons:
        for g in deep_parts(a, b, b if side == "inside" else a, hair, np.inf) if a else []:
            g.disc, g.middle = measure.widest(g.polygon)
            g.disc += hair
            found[side].append(g)
    return found


# ---- Who owns what ----


def box_of(f, angle):
    """The finding's box, larger by AT, as a path in the rotated frame."""
    x0, y0, x1, y1 = f[BOX]
    corners = np.array([(x0 - AT, y0 - AT), (x1 + AT, y0 - AT), (x1 + AT, y1 + AT), (x0 - AT, y1 + AT)])
    return oracle.to_grid([oracle.turned(corners, angle)])


def boxed(g, boxes):
    """True if the difference outside the boxes is nowhere deeper than DEEP."""
    if not boxes:
        return False
    rest = less(g.paths, boxes)
    return all(measure.widest(regions.polygon(p))[0] <= DEEP for p in rest)


def under(g, f, reach):
    if f.get(BOX):
        return covered(g.paths, f["box"]) > 0
    if f["at"] is None:
        return False
    if g.whole and shapely.box(*g.polygon.bounds).distance(shapely.Point(f["at"])) <= reach:
        return True
    return away(g, f["at"]) <= reach or regions.told_by(g, f)


def owned(g, side, found, tools, mine, reach, boxes_used):
    """How a difference is owned, or None. `tools`: the regions of the bare tools, by side."""
    if boxed(g, [p for f in mine if f.get(BOX) for p in f["box"]]):
        return "box"
    placed = [f for f in mine if not f.get(BOX)]
    if any(under(g, f, reach) for f in placed):
        return "place"
    around = (h for h in [*found[side], *tools[side]] if h is not g and h.polygon.intersects(g.polygon))
    if any(any(under(h, f, reach) for f in placed) and covered(g.paths, h.paths) > g.area / 2 for h in around):
        return "a place in what it lies in"
    if boxes_used:
        return None
    other = "outside" if side == "inside" else "inside"
    return BESIDE if beside(g, [*found[other], *tools[other]], found["wide"], reach) else None


def beside(g, others, wide, reach):
    for f in wide:
        by = regions.BLUNTED if f["measured_mm"] is None else reach
        if any(away(h, g.at) <= by and away(h, f["at"]) <= by for h in others):
            return True
    return False


# ---- One outline ----


def judged(s, t, fs, k, angle, outline):
    """Faults and counts of one outline, all rotated by `angle`."""
    turn = lambda p: oracle.turned(np.array([p], dtype=float), angle)[0]
    fs = [{**f, "at": None if f["at_mm"] is None else turn(f["at_mm"])} for f in fs]
    fs = [{**f, "box": box_of(f, angle)} if f.get(BOX) else f for f in fs]
    s = turned(s, angle)
    t = None if t is None else {d: turned(p, angle) for d, p in t.items()}
    recess, inlay = pieces(s, t, k)
    found = differences(held(s, recess, inlay, k), k.hair)
    tool = {"inside": [], "outside": []}
    for side, shape, radius, add in views(s, k):
        if radius > 0:
            tool[side] += [(g, add) for g in lost_to(side, shape, radius)]
    reach = AT + (3 * k.gap if k.start == "part" else 0.0)
    found["wide"] = [f for f in fs if f["code"] in WIDE and f["at"] is not None]
    used = any(BOX in f for f in fs)
    faults, counts = [], Counter()
    home = lambda p: tuple(float(v) for v in np.round(oracle.turned(np.array([p], dtype=float), -angle)[0], 4))
    for side, codes in (("inside", INNER), ("outside", OUTER)):
        mine = [f for f in fs if f["code"] in codes or (f.get(BOX) and f["code"] not in INNER | OUTER | {UNEXPLAINED})]
        for g in found[side]:
            if g.disc <= LISTED - Limits.strict or g.middle is None:
                continue
            counts["regions"] += 1
            how = owned(g, side, found, {v: [h for h, _ in of] for v, of in tool.items()}, mine, reach, used)
            counts[f"owned: {how}"] += bool(how)
            if how and how != BESIDE:
                continue
            margin = not any(away(h, g.middle) <= 1.0 for h, _ in tool[side])
            more = {"area_mm2": round(g.area, 4), "farthest_mm": None if g.whole else round(g.depth, 4), "of_the_margin": margin}
            faults.append(Fault("beside" if how else "silent", outline, side, home(g.middle), g.disc, more))
        for f in mine:
            if (f["at"] is None and not f.get(BOX)) or f["code"] not in codes:
                continue
            counts["findings"] += 1
            own = [h for h, _ in tool[side] if under(h, f, reach)]
            if f["needed_mm"] is None:
                counts["findings by another rule"] += 1
                if not by_rule(s, f, k, found[side]):
                    faults.append(Fault("idle", outline, f["code"], tuple(f["at_mm"]), 0.0))
            elif not own and not any(under(g, f, reach) for g in found[side]):
                faults.append(Fault("idle", outline, f["code"], tuple(f["at_mm"]), f["short_mm"] or 0.0))
            if f.get("off_mm") is not None and f.get(BOX) and (near := [g for g in found[side] if under(g, f, reach)]):
                counts["off_mm"] += 1
                faults += off_of(f, near, k.hair - HAIR, outline)
            if own and f["code"] in CORNERS and f["short_mm"] is not None and f["at"] is not None:
                counts["short_mm"] += 1
                pieces_own = [g for g in found[side] if under(g, f, reach)]
                faults += figures_of(f, [(h, add) for h, add in tool[side] if h in own], pieces_own, s, k, side, outline, found["wide"])
    for f in fs:
        if f["code"] == ISLAND and f["at"] is not None and len(s) > 0:
            holes = [p for p in s if pyclipper.Area(p) < 0]
            near = any(away_path(p, f["at"]) <= 1.0 for p in holes)
            if not f.get("accepted") and not near:
                faults.append(Fault("idle", outline, ISLAND, tuple(f["at_mm"]), 0.0))
    return merged(faults), counts


def away_path(path, at):
    return shapely.distance(shapely.Polygon(np.array(path) * oracle.GRID), shapely.Point(at))


def by_rule(s, f, k, found):
    """Checks a neck or gap without a needed width: the cutter's way, or the template, differs from the outline in its pieces."""
    if f["at"] is None or any(g.disc > DEEP and away(g, f["at"]) <= AT for g in found):
        return True
    if k.start or not k.recess:
        return True
    if f["code"] in NECK:
        # The way in the outline as drawn, or in the eased outline, where two parts may barely hang together.
        ways = [oracle.offset(s, -k.r), oracle.offset(made(s, k), -k.r - EPS)] if k.ease[0] else [oracle.offset(s, -k.r)]
        return any(len(regions.positive(w)) != 1 for w in ways)
    if f["code"] in GAP and "run into one another" not in f["message"]:
        star = made(s, k)
        rings = [oracle.offset(star, d) for d in (k.recess[0] - k.r, sum(k.inlay) - k.gap)]
        holes = lambda p: len(p) - len(regions.positive(p))
        return any(holes(x) > holes(s) for x in rings)
    return True


def figures_of(f, own, cut, s, k, side, outline, wide):
    """Compares a corner's `short_mm` with its region, and rejects a radius given for a sharp corner. `own`: regions of the bare
    tools there. `cut`: differences of the pieces there, which count where only a margin causes them."""
    out = []
    if not own or any(away(h, n["at"]) <= AT for h, _ in own for n in wide):
        # Its region is connected to that of a neck or gap.
        return out
    depths = [add + deepest(h) for h, add in own] + [deepest(g) for g in cut]
    off, told = min((abs(f["short_mm"] - d), d) for d in depths)
    if off > EXACT - Limits.strict and not explained_by_reading(f, s, k, side):
        out.append(Fault("figure", outline, f"{f['code']} short_mm {f['short_mm']}, expected {told:.4f}", tuple(f["at_mm"]), off))
    if f["measured_mm"] and f["measured_mm"] > 10 * EXACT and sharp(s, f["at"]):
        what = f"{f['code']} measured_mm {f['measured_mm']} for a corner drawn sharp"
        out.append(Fault("figure", outline, what, tuple(f["at_mm"]), f["measured_mm"]))
    return out


def deepest(h):
    """Greatest distance of the region's edge from the edge of the made shape, without sampling or HAIR."""
    if not h.edge:
        return h.depth
    engine = pyclipper.Pyclipper()
    engine.AddPaths([p for island in less(*h.of) for p in island] if h.of[1] else h.of[0], pyclipper.PT_SUBJECT, True)
    # A small erosion blunts a sharp corner by many times its amount.
    engine.AddPaths(oracle.offset(h.paths, 20 * h.hair), pyclipper.PT_CLIP, True)
    rings = engine.Execute(pyclipper.CT_INTERSECTION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return measure.farthest(oracle.from_grid(rings), oracle.from_grid(h.edge))[0]


def off_of(f, near, flatten, outline):
    """Checks `off_mm`, the greatest distance of a piece from the drawing in the finding's region. It must fit one of the regions
    under the finding; `--flatten` adds its tolerance."""
    off, told = min((abs(f["off_mm"] - d), d) for d in map(deepest, near))
    what = f"{f['code']} off_mm {f['off_mm']}, expected {told:.4f}"
    return [Fault("figure", outline, what, tuple(f["at_mm"] or f[BOX][:2]), off)] if off > EXACT + flatten - Limits.strict else []


def explained_by_reading(f, s, k, side):
    """True if curves read within READ could give that depth."""
    lows = []
    for d in (-READ, READ):
        shaken = oracle.offset(s, d)
        for v, shape, radius, add in views(shaken, k):
            if v == side and radius > 0:
                lows += [add + deepest(h) for h in lost_to(side, shape, radius) if away(h, f["at"]) <= AT + 10 * READ]
    return bool(lows) and min(lows) - EXACT <= f["short_mm"] <= max(lows) + EXACT


def sharp(s, at):
    """True if the outline has a sharp corner there. Arms of ARM to both sides ignore tiny kinks."""
    for path in oracle.from_grid(s):
        d = np.hypot(*(path - at).T)
        i = int(np.argmin(d))
        if d[i] <= NEARBY:
            # The first points at least ARM away, backwards and forwards.
            far = np.hypot(*(path - path[i]).T) >= ARM
            if far.any():
                back, on = np.roll(path[::-1], i + 1, axis=0), np.roll(path, -i, axis=0)
                a, b = (q[np.argmax(np.hypot(*(q - path[i]).T) >= ARM)] for q in (back, on))
                a, b = path[i] - a, b - path[i]
                if abs(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)) > SHARP:
                    return True
    return False


def merged(faults):
    """Keeps one fault per place, the deepest, since recess and inlay differ at the same places."""
    out = []
    for f in sorted(faults, key=lambda f: -f.number):
        if f.kind in ("silent", "beside") and any(g.kind == f.kind and g.what == f.what and np.hypot(*np.subtract(g.at, f.at)) <= SAME for g in out):
            continue
        out.append(f)
    return out


def settled(s, t, fs, k, outline):
    """Faults of the coarse pass that the fine passes on rotated copies confirm."""
    kept = None
    for arc, strict, eps, angle in ((COARSE, STRICT, 0.0, 0.0), (COARSE, STRICT, EPS, 0.0), *((ARC, 0.0, 0.0, turn) for turn in TURNED)):
        with fineness(arc, strict, eps):
            thin = lambda paths: [oracle.thinned(p) for p in paths]
            faults, n = judged(thin(s), t and {d: thin(p) for d, p in t.items()}, fs, k, angle, outline)
        kept, counts = (faults, n) if kept is None else ([f for f in faults if any(alike(f, g) for g in kept)], counts)
        if not kept:
            break
    return kept, counts


class Limits:
    """Reduction of the limits, reduction of the radii, and the hair between two computed shapes, mm."""

    strict, eps, hair = 0.0, 0.0, regions.HAIR


@contextmanager
def fineness(arc, strict, eps):
    before = regions.FINE, oracle.ARC, oracle.THIN, Limits.strict, Limits.eps, Limits.hair
    regions.FINE, oracle.ARC, oracle.THIN, Limits.strict, Limits.eps = arc, arc, arc / 4, strict, eps
    Limits.hair = max(regions.HAIR, 4 * arc)
    try:
        yield
    finally:
        regions.FINE, oracle.ARC, oracle.THIN, Limits.strict, Limits.eps, Limits.hair = before


def alike(f, g):
    return f.kind == g.kind and f.what.split()[0] == g.what.split()[0] and np.hypot(*np.subtract(f.at, g.at)) <= SAME
