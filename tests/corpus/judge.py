"""Judges one answer of the program from outside: does each difference from the drawing have a finding, each finding a difference?

In: the JSON document, the written files (or None where an error stands), the outlines as `findings.read` sees them. Out: faults
and counts. What is worked out, with S an outline as drawn, R and r the radii of bush and cutter, T an opening as written:

* recess = (T - R) + r; inlay = T - (R + r); and the inlay *with its gap put on again*, T - (R + r - gap), which is held
  against S like the recess. Without files T follows from the outline as made: S opened and closed by the radii in `corners`.
* Where the two differ from one another, their intersection and their union are held against S as well.
* A *difference* is a connected part of S without the piece (inside) or of the piece without S (outside), once HAIR is taken
  off, for so much the reading of curves and the proof let pass. Its *depth* is the diameter of the widest disc in it, with
  HAIR added again. Deeper than DEEP, a disc of radius 0.02 mm, it must be owned. From LISTED up to BORDER above DEEP it is listed
  (*border*), and is no fault.
* A finding lies *under* a difference within AT of it; of an outline of which nothing is left, anywhere in its box.
* A difference is *owned* by a finding of its side (inside: inside corner or neck; outside: outside corner or closed gap; any other
  code with a box: both) on the same outline: what lies outside the boxes (`region_mm`) of these findings is nowhere deeper than DEEP, or one that has no box
  lies under it, or under another difference (of the other piece, or of S and what the bare tools make of it) that most of it is in;
  or, where the program gives no boxes, it lies at a region of the other side that a neck or gap owns (*beside*: listed, no fault).
  Else it is *silent*.
* A finding of these codes is *idle* when no difference MAY deep lies under it: neither of the pieces, nor of S and what
  the bare tools make of it. Necks and gaps that rest on another rule (`needed_mm` null) are held against that rule.
* *Figures* are worked out again to the end (`measure`) and may be out by EXACT: gaps and distances off the drawing from the
  files; `short_mm` of corners from S and the bare tools. What only the reading of curves explains is no fault: the same
  figure with S as the program says it read it (which must lie within READ of S), or S grown and shrunk by READ.

What differs is worked out again on turned copies, and counts only where all agree.
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
# A corner at the edge of a neck or gap that is told goes with it, as long as the program gives no boxes.
BESIDE = "with a neck or gap"
# Radii smaller by so much must agree that something differs: limbs and gaps of just the tool's size are made, mm.
EPS = regions.SLACK / 2
EXACT, READ = 0.005, 0.003
# Arcs are made of chords within this of them at first, with limits stricter by STRICT, mm; then, on turned copies.
COARSE, STRICT, ARC, TURNED = 5e-4, 1e-3, 1e-4, (0.3, 1.1)
# Pieces that differ by less than this are one and the same, mm2.
APART = 0.1
# The same place on turned copies, mm.
SAME = 0.5
# A corner drawn sharp: a turn of the outline by more than this, radians, over two arms of so many mm, within NEARBY of the finding.
SHARP, NEARBY, ARM = 0.45, 0.003, 0.05


@dataclass(frozen=True)
class Fault:
    """kind: silent, beside, idle, figure, unexplained, other. number: depth, or how far a figure is out, mm."""

    kind: str
    outline: str
    what: str
    at: tuple
    number: float
    more: dict = field(default_factory=dict, compare=False)


@dataclass
class Setting:
    """Radii and gap, mm; r: the recess's cutter, o: the largest offset."""

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
    """The written openings by outline and duty, each the paths of a region; and what of the files belongs to none."""
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
    """Area that two regions share, mm2."""
    return combined(pyclipper.CT_INTERSECTION, a, b, True)


def made(s, k):
    """The outline as it is made: opened, then closed. Of something in hand: what the job makes of it."""
    if k.start == "part":
        return oracle.offset(s, k.gap)
    if k.start == "template":
        return through(s, k)
    inside, outside = k.ease
    s = there_and_back(s, Limits.eps - inside) if inside else s
    return there_and_back(s, outside - Limits.eps) if outside and s else s


def through(t, k):
    """The recess that comes out of an opening."""
    return oracle.offset(oracle.offset(t, Limits.eps - k.recess[0]), k.r - Limits.eps)


def pieces(s, t, k):
    """Recess, and inlay with its gap put on again: of the openings `t`, or of the outline as made. None: not cut here."""
    if t is None:
        star = made(s, k)
        recess = inlay = None
        if k.recess and k.start != "recess":
            # S may be closed and opened by less than the tools do: then they do the rest.
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
    """What is held against what: (side, region, region that should cover it)."""
    if k.start == "template":
        star = made(s, k)
        return [("inside", star, inlay), ("outside", inlay, star)] if inlay is not None else []
    out = []
    # Where the cutter does not come in at all, what an inlay would have more is not asked.
    for piece in (recess,) if recess == [] else (recess, inlay):
        if piece is not None:
            target = oracle.offset(s, k.gap) if k.start == "part" else s
            out += [("inside", target, piece), ("outside", piece, target)]
    if recess and inlay and not k.start and combined(pyclipper.CT_XOR, recess, inlay, True) > APART:
        # Where the pieces differ from one another: what one of them lacks, and what either has.
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
    """What the bare tools make: (side, shape, radius, what is added to a depth for the figure told)."""
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
    """Regions that a bare tool leaves or fills."""
    back = there_and_back(shape, -radius if side == "inside" else radius)
    a, b = (shape, back) if side == "inside" else (back, shape)
    return deep_parts(a, b, back, Limits.hair, radius)


def deep_parts(a, b, edge, hair, tool):
    """The parts of a without b, each a Region with `paths` and `whole`; depths are measured to the edge of `edge`."""
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
    """The finding's box as a path of the turned frame, larger by AT."""
    x0, y0, x1, y1 = f[BOX]
    corners = np.array([(x0 - AT, y0 - AT), (x1 + AT, y0 - AT), (x1 + AT, y1 + AT), (x0 - AT, y1 + AT)])
    return oracle.to_grid([oracle.turned(corners, angle)])


def boxed(g, boxes):
    """What of the difference lies outside the boxes is nowhere deeper than DEEP."""
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
    """How a difference is owned, or None. `tools`: what the bare tools make of S, by side."""
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
    """Faults and counts of one outline, all of it turned by `angle`."""
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
    """Necks and gaps without a width that is wanted: that the way, or the template, comes in other pieces than the outline."""
    if f["at"] is None or any(g.disc > DEEP and away(g, f["at"]) <= AT for g in found):
        return True
    if k.start or not k.recess:
        return True
    if f["code"] in NECK:
        # Of the outline as drawn; or as eased, where two parts may just hang together.
        ways = [oracle.offset(s, -k.r), oracle.offset(made(s, k), -k.r - EPS)] if k.ease[0] else [oracle.offset(s, -k.r)]
        return any(len(regions.positive(w)) != 1 for w in ways)
    if f["code"] in GAP and "run into one another" not in f["message"]:
        star = made(s, k)
        rings = [oracle.offset(star, d) for d in (k.recess[0] - k.r, sum(k.inlay) - k.gap)]
        holes = lambda p: len(p) - len(regions.positive(p))
        return any(holes(x) > holes(s) for x in rings)
    return True


def figures_of(f, own, cut, s, k, side, outline, wide):
    """A corner's `short_mm` against its region, and a radius told of a corner that is drawn sharp. `own`: what the bare tools make
    there; `cut`: what the pieces lack or have more, which counts where only a margin makes it."""
    out = []
    if not own or any(away(h, n["at"]) <= AT for h, _ in own for n in wide):
        # Its region hangs on that of a neck or gap.
        return out
    depths = [add + deepest(h) for h, add in own] + [deepest(g) for g in cut]
    off, told = min((abs(f["short_mm"] - d), d) for d in depths)
    if off > EXACT - Limits.strict and not explained_by_reading(f, s, k, side):
        out.append(Fault("figure", outline, f"{f['code']} short_mm {f['short_mm']}, not {told:.4f}", tuple(f["at_mm"]), off))
    if f["measured_mm"] and f["measured_mm"] > 10 * EXACT and sharp(s, f["at"]):
        what = f"{f['code']} measured_mm {f['measured_mm']} of a corner drawn sharp"
        out.append(Fault("figure", outline, what, tuple(f["at_mm"]), f["measured_mm"]))
    return out


def deepest(h):
    """Greatest distance of a point of the region's edge from the edge of what is made, to the end; the region without a hair off."""
    if not h.edge:
        return h.depth
    engine = pyclipper.Pyclipper()
    engine.AddPaths([p for island in less(*h.of) for p in island] if h.of[1] else h.of[0], pyclipper.PT_SUBJECT, True)
    # A hair off blunts a sharp corner by many.
    engine.AddPaths(oracle.offset(h.paths, 20 * h.hair), pyclipper.PT_CLIP, True)
    rings = engine.Execute(pyclipper.CT_INTERSECTION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return measure.farthest(oracle.from_grid(rings), oracle.from_grid(h.edge))[0]


def off_of(f, near, flatten, outline):
    """`off_mm`: how far a piece lies off the drawing in the finding's region, which is one of those under it; chords in the files
    may add what `--flatten` lets pass."""
    off, told = min((abs(f["off_mm"] - d), d) for d in map(deepest, near))
    what = f"{f['code']} off_mm {f['off_mm']}, not {told:.4f}"
    return [Fault("figure", outline, what, tuple(f["at_mm"] or f[BOX][:2]), off)] if off > EXACT + flatten - Limits.strict else []


def explained_by_reading(f, s, k, side):
    """Whether curves read within READ could give that depth."""
    lows = []
    for d in (-READ, READ):
        shaken = oracle.offset(s, d)
        for v, shape, radius, add in views(shaken, k):
            if v == side and radius > 0:
                lows += [add + deepest(h) for h in lost_to(side, shape, radius) if away(h, f["at"]) <= AT + 10 * READ]
    return bool(lows) and min(lows) - EXACT <= f["short_mm"] <= max(lows) + EXACT


def sharp(s, at):
    """Whether the outline has a sharp corner at that place: seen over an arm of ARM to either side, so that kinks of a hair are none."""
    for path in oracle.from_grid(s):
        d = np.hypot(*(path - at).T)
        i = int(np.argmin(d))
        if d[i] <= NEARBY:
            # The first points ARM away, going back and going on.
            far = np.hypot(*(path - path[i]).T) >= ARM
            if far.any():
                back, on = np.roll(path[::-1], i + 1, axis=0), np.roll(path, -i, axis=0)
                a, b = (q[np.argmax(np.hypot(*(q - path[i]).T) >= ARM)] for q in (back, on))
                a, b = path[i] - a, b - path[i]
                if abs(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)) > SHARP:
                    return True
    return False


def merged(faults):
    """Recess and inlay differ at the same places: each silent place once, the deepest."""
    out = []
    for f in sorted(faults, key=lambda f: -f.number):
        if f.kind in ("silent", "beside") and any(g.kind == f.kind and g.what == f.what and np.hypot(*np.subtract(g.at, f.at)) <= SAME for g in out):
            continue
        out.append(f)
    return out


def settled(s, t, fs, k, outline):
    """What is found coarsely, and again finely however the outline is turned."""
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
    """What the limits are less by, what radii are less by, and the hair between two shapes that are worked out, mm."""

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
