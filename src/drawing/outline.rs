//! Turns shapes into outlines: finds the regions and their nesting.
//!
//! In: shapes whose open lines are joined. Out: outlines, each a connected region with its holes, and the troubles that
//! prevent one. A filled shape encloses what its fill rule defines. A loop without a fill encloses its inside and must
//! not cross itself. Shapes drawn twice count once. Nesting then alternates material and hole, whatever the colours
//! are. Outlines are numbered in file order.

use super::{Fill, Path, Shape, Source};
use crate::budget::{Budget, Stopped};
use crate::geom::inside::Filled;
use crate::geom::{self, BoxTree, Certified, FillRule, GeomError, Point, Rect, Region, Ring, Segment};
use crate::tolerance::{
    AREA_SHARE, CLEARLY_MENDED, LARGEST_OUTLINE, LARGEST_SPREAD, SAME_PLACE, SPECK, TRACE, WIDTH_SLACK,
};
use std::cell::OnceCell;

/// A ring with at least this many edges is a trace: see [`geom::simplified`].
const DENSE: usize = 512;

/// One outline: a connected region with its holes, certified for the operations.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Number from 1, in file order.
    pub number: usize,
    pub region: Certified<Region>,
    pub source: Source,
    /// The holes, in the order of the region's clockwise rings.
    pub holes: Vec<Hole>,
}

/// A hole of an outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// A point of its edge, mm in the drawing frame.
    pub at: Point,
    /// Area of the hole, mm².
    pub area: f64,
    /// Source of the hole's edge: the same shape, whose fill leaves the hole, or another shape inside it.
    pub source: Source,
    /// True if the same shape drew the hole and the outline.
    pub same_shape: bool,
    /// Source of the next outline inside the hole, which counts as an outline of its own.
    pub holds: Option<Source>,
}

/// A fault that prevents outlines.
#[derive(Clone, Debug, PartialEq)]
pub enum Trouble {
    /// A loop without a fill crosses itself here.
    SelfCrossing { at: Point, source: Source },
    /// The edges of two shapes cross here.
    Crossing { at: Point, sources: [Source; 2] },
    /// Two shapes share a line or point here without crossing, or come within `gap` mm, less than [`WIDTH_SLACK`].
    Touching { at: Point, gap: f64, sources: [Source; 2] },
    /// Two outlines of one shape come within `gap` mm here. Usually they meet in one point, and the shape is pinched
    /// there.
    TouchingParts { at: Point, gap: f64, source: Source },
    /// Larger than any template: `size` is width and height, mm. Without a source, all shapes together are too large.
    TooLarge { at: Point, size: (f64, f64), source: Option<Source> },
    /// The geometry could not be certified here; `why` gives the reason.
    Uncertified { at: Option<Point>, source: Source, why: String },
}

/// A part of a closed line that encloses no area, because it returns along itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Flat {
    pub source: Source,
    /// A point of the part, mm in the drawing frame.
    pub at: Point,
    /// Length out and back, mm.
    pub length: f64,
    /// True if the part is the whole line.
    pub whole: bool,
}

/// The outlines of a drawing, and its faults.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outlines {
    pub outlines: Vec<Outline>,
    pub troubles: Vec<Trouble>,
    /// Shapes with the same edges as an earlier shape, left out.
    pub doubled: Vec<Source>,
    /// Loops too small to be intended: outlines that were left out, and holes that were filled.
    pub specks: Vec<Hole>,
    /// Closed lines, or parts of them, that enclose no area and were left out.
    pub flat: Vec<Flat>,
    /// Outlines inside an island, left out with it, each with a point of its edge, mm. Filled only by
    /// [`super::islands`], for outlines let in whole.
    pub inside: Vec<(Source, Point)>,
    /// The islands of outlines that are let in whole. Each is an outline of its own, without the outlines inside it.
    pub islands: Vec<Outline>,
}

/// Builds the outlines of the closed paths of `shapes`. Open paths are skipped, because joining already reports them.
///
/// # Errors
/// [`Stopped`] by the budget.
pub fn outlines(shapes: &[Shape], budget: &Budget) -> Result<Outlines, Stopped> {
    let mut out = Outlines::default();
    let mut drawn: Vec<Drawn> = Vec::new();
    for (index, shape) in shapes.iter().enumerate() {
        for loops in loops(shape) {
            budget.check()?;
            match enclosed(&loops, shape, budget) {
                Ok(region) => {
                    out.flat.extend(flat(&loops, &region, shape));
                    if !region.is_empty() {
                        drawn.push(Drawn { shape: index, region });
                    }
                }
                Err(GeomError::Stopped(s)) => return Err(s),
                Err(e) => out.troubles.push(trouble(&e, &loops, shape)),
            }
        }
    }
    drop_doubled(&mut drawn, shapes, &mut out);
    drop_specks(&mut drawn, shapes, &mut out);
    if !meetings(&drawn, shapes, &mut out, budget)? {
        return Ok(out);
    }
    let owners = nest(&drawn, shapes, &mut out, budget)?;
    touching_parts(&owners, &mut out, budget)?;
    Ok(out)
}

/// The part of a shape's closed lines that is not in its region. The fill rule removes inner lines of a filled shape,
/// so a filled shape counts only if it encloses nothing.
fn flat(loops: &[Ring], region: &Region, shape: &Shape) -> Option<Flat> {
    let first = loops.iter().flat_map(|r| &r.segments).next()?;
    let all: f64 = loops.iter().map(Ring::perimeter).sum();
    let source = shape.source.clone();
    if region.is_empty() {
        return Some(Flat { source, at: first.at(0.5), length: all, whole: true });
    }
    let length = all - region.perimeter();
    if shape.fill != Fill::None || length <= CLEARLY_MENDED {
        return None;
    }
    let off = |p: Point| region.nearest(p).map_or(0.0, |n| n.0);
    let far = loops.iter().flat_map(|r| &r.segments).map(|s| s.at(0.5)).max_by(|a, b| off(*a).total_cmp(&off(*b)));
    Some(Flat { source, at: far?, length, whole: false })
}

/// The closed shapes that are larger than any template, or the whole drawing if all shapes together are. Runs before
/// any geometry is computed, because that cost grows with the size.
#[must_use]
pub fn too_large(shapes: &[Shape]) -> Vec<Trouble> {
    let bounds = |s: &Shape| {
        let closed = s.paths.iter().filter(|p| p.closed).flat_map(|p| &p.segments);
        closed.map(Segment::bounds).reduce(|a, b| a.union(b))
    };
    let boxes: Vec<(Rect, &Shape)> = shapes.iter().filter_map(|s| Some((bounds(s)?, s))).collect();
    let beyond = |b: Rect, most: f64| b.width().max(b.height()) > most;
    let reported = |b: Rect, source| Trouble::TooLarge { at: b.center(), size: (b.width(), b.height()), source };
    let each = boxes.iter().filter(|(b, _)| beyond(*b, LARGEST_OUTLINE));
    let mut all: Vec<Trouble> = each.map(|(b, s)| reported(*b, Some(s.source.clone()))).collect();
    let whole = boxes.iter().map(|b| b.0).reduce(|a, b| a.union(b));
    all.extend(whole.filter(|b| all.is_empty() && beyond(*b, LARGEST_SPREAD)).map(|b| reported(b, None)));
    all
}

/// A distance and its place. Where lines meet, the lowest place counts, then the leftmost.
type DistanceAt = (f64, Point);

fn nearer(a: &DistanceAt, b: &DistanceAt) -> bool {
    let gap = |p: &DistanceAt| if p.0 <= SAME_PLACE { 0.0 } else { p.0 };
    gap(a).total_cmp(&gap(b)).then(a.1.y.total_cmp(&b.1.y)).then(a.1.x.total_cmp(&b.1.x)).is_lt()
}

/// Reports outlines of one shape that touch. They touch at corners, or else they would be one outline. Removes all
/// outlines if any touch. `owners` gives the shape of each outline.
fn touching_parts(owners: &[usize], out: &mut Outlines, budget: &Budget) -> Result<(), Stopped> {
    if out.outlines.len() < 2 {
        return Ok(());
    }
    let all = out.outlines.iter().enumerate().flat_map(|(i, o)| o.region.segments().map(move |s| boxed(i, s)));
    let tree = BoxTree::new(all);
    let mut reported = Vec::new();
    for (i, o) in out.outlines.iter().enumerate() {
        budget.check()?;
        let near = o.region.segments().flat_map(|s| {
            tree.meeting(around(s, WIDTH_SLACK)).into_iter().filter_map(move |(_, (j, t))| {
                let gap = (*j > i && owners[*j] == owners[i]).then(|| geom::distance::between(s, t))?;
                (gap < WIDTH_SLACK).then(|| (*j, (gap, geom::distance::nearest_place(s, t))))
            })
        });
        // Keep one place for each pair of outlines.
        let mut first: std::collections::BTreeMap<usize, DistanceAt> = std::collections::BTreeMap::new();
        for (j, place) in near {
            if first.get(&j).is_none_or(|p| nearer(&place, p)) {
                first.insert(j, place);
            }
        }
        let source = || o.source.clone();
        reported.extend(first.values().map(|&(gap, at)| Trouble::TouchingParts { at, gap, source: source() }));
    }
    if !reported.is_empty() {
        out.troubles.extend(reported);
        out.outlines.clear();
    }
    Ok(())
}

/// A region and the index of its shape.
struct Drawn {
    shape: usize,
    region: Certified<Region>,
}

/// The sets of rings that form one region each: all closed paths of a filled shape, or each closed path of an unfilled
/// one.
fn loops(shape: &Shape) -> Vec<Vec<Ring>> {
    let closed = shape.paths.iter().filter(|p| p.closed && !p.segments.is_empty());
    let ring = |p: &Path| Ring::new(p.segments.clone());
    match shape.fill {
        Fill::None => closed.map(|p| vec![ring(p)]).collect(),
        _ => vec![closed.map(ring).collect()],
    }
}

fn enclosed(loops: &[Ring], shape: &Shape, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let rule = match shape.fill {
        Fill::NonZero => FillRule::NonZero,
        Fill::EvenOdd => FillRule::EvenOdd,
        Fill::None => {
            let region = geom::enclosed(loops, FillRule::EvenOdd, budget)?;
            let signed: f64 = loops.iter().map(Ring::area).sum();
            let round = geom::enclosed(loops, FillRule::NonZero, budget)?;
            // Every winding number of a simple loop is 0 or ±1. Otherwise the loop crosses itself.
            let slack = AREA_SHARE * (1.0 + round.area());
            let simple = (region.area() - signed.abs()).abs() < slack && (round.area() - signed.abs()).abs() < slack;
            return if simple { Ok(region) } else { Err(GeomError::NotARegion(SELF_CROSSING)) };
        }
    };
    geom::enclosed(loops, rule, budget)
}

const SELF_CROSSING: &str = "the loop crosses itself";

fn trouble(e: &GeomError, loops: &[Ring], shape: &Shape) -> Trouble {
    let source = shape.source.clone();
    match e {
        GeomError::NotARegion(SELF_CROSSING) => {
            let at = loops.first().map_or(Point::ORIGIN, crossing_of);
            Trouble::SelfCrossing { at, source }
        }
        GeomError::Uncertified { at, .. } => Trouble::Uncertified { at: Some(*at), source, why: e.to_string() },
        _ => Trouble::Uncertified { at: None, source, why: e.to_string() },
    }
}

fn boxed(owner: usize, s: &Segment) -> (Rect, (usize, Segment)) {
    (s.bounds(), (owner, *s))
}

fn around(s: &Segment, reach: f64) -> Rect {
    s.bounds().inflate(reach, reach)
}

/// The first self-crossing of a ring, in its direction of travel.
fn crossing_of(ring: &Ring) -> Point {
    let n = ring.segments.len();
    let tree = BoxTree::new(ring.segments.iter().map(|s| (s.bounds(), s)));
    for (i, s) in ring.segments.iter().enumerate() {
        let others = tree.meeting(s.bounds()).into_iter();
        let mut apart = others.filter(|(k, _)| *k != i && (k + 1) % n != i && (i + 1) % n != *k);
        if let Some((_, o)) = apart.find(|(_, o)| geom::distance::between(s, o) == 0.0) {
            return geom::distance::nearest_place(s, o);
        }
    }
    ring.segments.first().map_or(Point::ORIGIN, Segment::start)
}

/// Keeps only the first of several shapes with the same edges.
fn drop_doubled(drawn: &mut Vec<Drawn>, shapes: &[Shape], out: &mut Outlines) {
    let mut kept: Vec<Drawn> = Vec::new();
    // Equal shapes share the lower left corner of their bounding boxes.
    let corner = |d: &Drawn| d.region.bounds().map_or(Point::ORIGIN, |b| b.origin());
    let corners = BoxTree::new(drawn.iter().map(|d| (Rect::from_points(corner(d), corner(d)), ())));
    // The place among the kept ones.
    let mut place: Vec<Option<usize>> = vec![None; drawn.len()];
    for (i, d) in drawn.drain(..).enumerate() {
        let reach = 2.0 * WIDTH_SLACK;
        let beside = Rect::from_points(corner(&d), corner(&d)).inflate(reach, reach);
        let mut near = corners.meeting(beside).into_iter().filter_map(|(k, ())| place[k]);
        if near.any(|k| same(&kept[k].region, &d.region)) {
            out.doubled.push(shapes[d.shape].source.clone());
        } else {
            place[i] = Some(kept.len());
            kept.push(d);
        }
    }
    *drawn = kept;
}

/// True if two regions have the same edges within [`WIDTH_SLACK`].
fn same(a: &Region, b: &Region) -> bool {
    let (Some(p), Some(q)) = (a.bounds(), b.bounds()) else { return false };
    let near = |x: f64, y: f64| (x - y).abs() < WIDTH_SLACK;
    let boxes = near(p.x0, q.x0) && near(p.y0, q.y0) && near(p.x1, q.x1) && near(p.y1, q.y1);
    let on = |r: &Region, s: &Region| {
        r.segments().all(|e| [0.0, 0.5].iter().all(|&t| s.nearest(e.at(t)).is_some_and(|n| n.0 < WIDTH_SLACK)))
    };
    boxes && (a.area() - b.area()).abs() <= WIDTH_SLACK * a.perimeter() && on(a, b) && on(b, a)
}

/// Removes shapes too small to be intended. If every shape is that small, the unit is wrong and all stay.
fn drop_specks(drawn: &mut Vec<Drawn>, shapes: &[Shape], out: &mut Outlines) {
    let tiny = |b: Option<Rect>| b.is_some_and(|b| b.width().max(b.height()) <= SPECK);
    if drawn.iter().all(|d| tiny(d.region.bounds())) {
        return;
    }
    drawn.retain(|d| {
        let small = tiny(d.region.bounds());
        if small {
            out.specks.extend(d.region.rings.first().map(|r| speck(r, &shapes[d.shape].source, false)));
        }
        !small
    });
}

fn speck(ring: &Ring, source: &Source, same_shape: bool) -> Hole {
    let at = ring.segments.first().map_or(Point::ORIGIN, Segment::start);
    Hole { at, area: ring.area().abs(), source: source.clone(), same_shape, holds: None }
}

/// Reports shapes whose edges meet. Returns `false` if any do, because nesting is then undefined.
fn meetings(drawn: &[Drawn], shapes: &[Shape], out: &mut Outlines, budget: &Budget) -> Result<bool, Stopped> {
    if drawn.len() < 2 {
        return Ok(true);
    }
    let all = drawn.iter().enumerate().flat_map(|(i, d)| d.region.segments().map(move |s| boxed(i, s)));
    let tree = BoxTree::new(all);
    // For each pair of shapes: the first place found, where they may cross, and the nearest place.
    let mut met: std::collections::BTreeMap<(usize, usize), (Point, DistanceAt)> = std::collections::BTreeMap::new();
    for (i, d) in drawn.iter().enumerate() {
        budget.check()?;
        for s in d.region.segments() {
            for (_, (j, other)) in tree.meeting(around(s, WIDTH_SLACK)) {
                if *j <= i {
                    continue;
                }
                let gap = geom::distance::between(s, other);
                if gap < WIDTH_SLACK {
                    let at = geom::distance::nearest_place(s, other);
                    let place = met.entry((i, *j)).or_insert((at, (gap, at)));
                    if nearer(&(gap, at), &place.1) {
                        place.1 = (gap, at);
                    }
                }
            }
        }
    }
    for (&(i, j), &(at, (gap, nearest))) in &met {
        let sources = [shapes[drawn[i].shape].source.clone(), shapes[drawn[j].shape].source.clone()];
        let common = match geom::and(&drawn[i].region, &drawn[j].region, budget) {
            Ok(region) => region.area(),
            Err(GeomError::Stopped(s)) => return Err(s),
            Err(e) => {
                let [source, _] = sources;
                out.troubles.push(Trouble::Uncertified { at: Some(at), source, why: e.to_string() });
                continue;
            }
        };
        let least = drawn[i].region.area().min(drawn[j].region.area());
        let sliver = WIDTH_SLACK * drawn[i].region.perimeter().min(drawn[j].region.perimeter());
        let crosses = common > sliver && common < least - sliver;
        out.troubles.push(if crosses {
            Trouble::Crossing { at, sources }
        } else {
            Trouble::Touching { at: nearest, gap, sources }
        });
    }
    Ok(met.is_empty())
}

/// A ring inside an even number of other rings is an outline. The rings directly inside it are its holes. Returns the
/// shape of each outline.
fn nest(drawn: &[Drawn], shapes: &[Shape], out: &mut Outlines, budget: &Budget) -> Result<Vec<usize>, Stopped> {
    let mut owners = Vec::new();
    let rings: Vec<(usize, &Ring)> =
        drawn.iter().enumerate().flat_map(|(i, d)| d.region.rings.iter().map(move |r| (i, r))).collect();
    let tiny = |r: &Ring| r.bounds().is_some_and(|b| b.width().max(b.height()) <= SPECK);
    let (specks, rings): (Vec<_>, Vec<_>) = if rings.iter().all(|(_, r)| tiny(r)) {
        (Vec::new(), rings)
    } else {
        rings.into_iter().partition(|(_, r)| tiny(r))
    };
    out.specks.extend(specks.into_iter().map(|(i, r)| speck(r, &shapes[drawn[i].shape].source, true)));
    let filled: Vec<OnceCell<Filled>> = rings.iter().map(|_| OnceCell::new()).collect();
    let holds = |j: usize, p: Point| filled[j].get_or_init(|| Filled::new(rings[j].1)).contains(p);
    let areas: Vec<f64> = rings.iter().map(|(_, r)| r.area().abs()).collect();
    let mut depth = vec![0usize; rings.len()];
    let mut parent: Vec<Option<usize>> = vec![None; rings.len()];
    let tree = BoxTree::new(rings.iter().enumerate().filter_map(|(i, (_, r))| Some((r.bounds()?, i))));
    for i in 0..rings.len() {
        budget.check()?;
        let probe = rings[i].1.segments.first().map_or(Point::ORIGIN, |s| s.at(0.5));
        let mut round: Vec<usize> = tree.at(probe).into_iter().map(|(_, &j)| j).collect();
        round.retain(|&j| j != i && areas[j] > areas[i] && holds(j, probe));
        depth[i] = round.len();
        parent[i] = round.into_iter().min_by(|&a, &b| areas[a].total_cmp(&areas[b]));
    }
    let mut next_inside = vec![Vec::new(); rings.len()];
    for (j, p) in parent.iter().enumerate() {
        p.iter().for_each(|&i| next_inside[i].push(j));
    }
    for i in (0..rings.len()).filter(|&i| depth[i].is_multiple_of(2)) {
        let owner = rings[i].0;
        let inner = &next_inside[i];
        let mut parts = vec![rings[i].1];
        parts.extend(inner.iter().map(|&j| rings[j].1));
        let source = shapes[drawn[owner].shape].source.clone();
        let whole = drawn[owner].region.rings.len() == parts.len() && inner.iter().all(|&j| rings[j].0 == owner);
        match region(&parts, whole.then_some(&drawn[owner].region), budget) {
            Ok(region) => {
                let holes = inner.iter().map(|&j| Hole {
                    at: rings[j].1.segments.first().map_or(Point::ORIGIN, Segment::start),
                    area: areas[j],
                    source: shapes[drawn[rings[j].0].shape].source.clone(),
                    same_shape: drawn[rings[j].0].shape == drawn[owner].shape,
                    holds: next_inside[j].first().map(|&k| shapes[drawn[rings[k].0].shape].source.clone()),
                });
                let number = out.outlines.len() + 1;
                out.outlines.push(Outline { number, region, source, holes: holes.collect() });
                owners.push(drawn[owner].shape);
            }
            Err(GeomError::Stopped(s)) => return Err(s),
            Err(e) => out.troubles.push(Trouble::Uncertified { at: None, source, why: e.to_string() }),
        }
    }
    Ok(owners)
}

/// Builds the region of an outline. `whole` is the region of its shape, if the shape is this outline alone. Dense
/// traces are simplified first, unless that makes rings meet.
fn region(parts: &[&Ring], whole: Option<&Certified<Region>>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let as_drawn = |rings: Vec<Ring>| geom::enclosed(&rings, FillRule::EvenOdd, budget);
    let drawn = || parts.iter().map(|r| (*r).clone()).collect();
    if parts.iter().all(|r| r.segments.len() < DENSE) {
        return whole.map_or_else(|| as_drawn(drawn()), |r| Ok(r.clone()));
    }
    let fewer: Vec<Ring> = parts.iter().map(|r| geom::simplified(r, TRACE)).collect();
    match as_drawn(fewer) {
        Ok(region) if region.rings.len() == parts.len() => Ok(region),
        Err(GeomError::Stopped(s)) => Err(s.into()),
        _ => as_drawn(drawn()),
    }
}
