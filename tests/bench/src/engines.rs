//! The same operations by five engines. Each result becomes rings of edges, so that all are measured alike.

use cavalier_contours::polyline::{BooleanOp, PlineSource, PlineSourceMut, Polyline};
use cavalier_contours::shape_algorithms::Shape;
use clipper2_rust::{
    ClipType, ClipperOffset, EndType, FillRule as ClipperRule, JoinType, Path64, Paths64, Point64, boolean_op_64,
};
use geo::algorithm::bool_ops::BooleanOps;
use geo::algorithm::buffer::{Buffer, BufferStyle, LineJoin};
use i_overlay::core::fill_rule::FillRule as OverlayFill;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin as OverlayJoin, OutlineStyle};
use letin::budget::Budget;
use letin::geom::{Certified, FillRule, Point, Region, Ring, Segment, enclosed, grow, minus, shrink};

/// Step of the integer grids, mm.
const GRID: f64 = 1e-6;

pub type Rings = Vec<Vec<(f64, f64)>>;

pub const NAMES: [&str; 5] = ["letin, certified", "clipper2-rust", "geo", "i_overlay", "cavalier_contours"];
/// True for an engine that replaces arcs by chords of a chosen tolerance. The others have true arcs.
pub fn has_chords(engine: usize) -> bool {
    (1..4).contains(&engine)
}

/// The operation, with lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Operation {
    Grow(f64),
    Shrink(f64),
    /// Difference with the same shape, moved.
    Less(f64, f64),
}

pub const OPERATIONS: [(&str, Operation); 3] = [
    ("grown by 7 mm", Operation::Grow(7.0)),
    ("shrunk by 3 mm", Operation::Shrink(3.0)),
    ("less itself, moved", Operation::Less(11.3, 7.9)),
];

/// A shape in the form that each engine needs.
pub struct Source {
    pub rings: Rings,
    pub region: Certified<Region>,
    pub other: Rings,
    pub other_region: Certified<Region>,
}

impl Source {
    pub fn new(rings: Rings, operation: Operation) -> Result<Source, String> {
        let (dx, dy) = if let Operation::Less(dx, dy) = operation { (dx, dy) } else { (0.0, 0.0) };
        let other: Rings = match operation {
            Operation::Less(..) => rings.iter().map(|r| r.iter().map(|&(x, y)| (x + dx, y + dy)).collect()).collect(),
            _ => Vec::new(),
        };
        let (one, two) = (region(&rings)?, region(&other)?);
        Ok(Source { rings, region: one, other, other_region: two })
    }
}

fn region(rings: &Rings) -> Result<Certified<Region>, String> {
    let rings: Vec<Ring> = rings.iter().map(|r| ring(r.iter().copied())).collect();
    enclosed(&rings, FillRule::NonZero, &Budget::unlimited()).map_err(|e| e.to_string())
}

fn ring(points: impl Iterator<Item = (f64, f64)>) -> Ring {
    let mut points: Vec<Point> = points.map(Point::from).collect();
    points.dedup();
    if points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    Ring::polygon(&points)
}

/// Applies the operation with the engine at that place in [`NAMES`]. `chord`: tolerance of its chords, mm.
pub fn applied(engine: usize, operation: Operation, of: &Source, chord: f64) -> Result<Region, String> {
    let d = match operation {
        Operation::Grow(d) => d,
        Operation::Shrink(d) => -d,
        Operation::Less(..) => return less(engine, of),
    };
    match engine {
        0 => {
            let made = if d > 0.0 {
                grow(&of.region, d, &Budget::unlimited())
            } else {
                shrink(&of.region, -d, &Budget::unlimited())
            };
            made.map(Certified::into_inner).map_err(|e| e.to_string())
        }
        1 => Ok(clipper(&of.rings, d, chord)),
        2 => Ok(geo_buffer(&of.rings, d, chord)),
        3 => Ok(outline(&of.rings, d, chord)),
        _ => Ok(cavalier(&of.rings, d)),
    }
}

fn less(engine: usize, of: &Source) -> Result<Region, String> {
    match engine {
        0 => minus(&of.region, &of.other_region, &Budget::unlimited()).map_err(|e| e.to_string()),
        1 => {
            let (a, b) = (on_grid(&of.rings), on_grid(&of.other));
            Ok(off_grid(&boolean_op_64(ClipType::Difference, ClipperRule::NonZero, &a, &b)))
        }
        2 => Ok(of_polygons(&polygons(&of.rings).difference(&polygons(&of.other)))),
        3 => {
            let (a, b) = (contours(&of.rings), contours(&of.other));
            Ok(of_contours(&a.overlay_as::<i64>(&b, OverlayRule::Difference, OverlayFill::NonZero)))
        }
        _ if of.rings.len() > 1 => Err("it subtracts single lines only".to_owned()),
        _ => {
            let (a, b) = (polyline(&of.rings[0]), polyline(&of.other[0]));
            let made = a.boolean(&b, BooleanOp::Not);
            let all = made.pos_plines.iter().chain(&made.neg_plines);
            Ok(Region::new(all.map(|p| of_polyline(&p.pline)).collect()))
        }
    }
}

#[allow(clippy::cast_possible_truncation)]
fn on_grid(rings: &Rings) -> Paths64 {
    let path = |r: &Vec<(f64, f64)>| -> Path64 {
        r.iter().map(|&(x, y)| Point64::new((x / GRID).round() as i64, (y / GRID).round() as i64)).collect()
    };
    rings.iter().map(path).collect()
}

#[allow(clippy::cast_precision_loss)]
fn off_grid(paths: &Paths64) -> Region {
    Region::new(paths.iter().map(|p| ring(p.iter().map(|q| (q.x as f64 * GRID, q.y as f64 * GRID)))).collect())
}

fn clipper(rings: &Rings, d: f64, chord: f64) -> Region {
    let mut offset = ClipperOffset::new(2.0, chord / GRID, false, false);
    offset.add_paths(&on_grid(rings), JoinType::Round, EndType::Polygon);
    let mut out = Paths64::new();
    offset.execute(d / GRID, &mut out);
    off_grid(&out)
}

/// Angle of a chord that lies within `chord` of a circle of radius `d`, radians.
fn step(d: f64, chord: f64) -> f64 {
    2.0 * (1.0 - chord / d.abs()).acos()
}

fn polygons(rings: &Rings) -> geo::MultiPolygon {
    let polygon = |r: &Vec<(f64, f64)>| geo::Polygon::new(geo::LineString::from(r.clone()), Vec::new());
    geo::MultiPolygon::new(rings.iter().map(polygon).collect())
}

fn of_polygons(all: &geo::MultiPolygon) -> Region {
    let lines = |p: &geo::Polygon| std::iter::once(p.exterior()).chain(p.interiors()).cloned().collect::<Vec<_>>();
    let rings = all.0.iter().flat_map(lines);
    Region::new(rings.map(|l| ring(l.0.iter().map(|c| (c.x, c.y)))).collect())
}

fn geo_buffer(rings: &Rings, d: f64, chord: f64) -> Region {
    let style = BufferStyle::new(d).line_join(LineJoin::Round(step(d, chord)));
    of_polygons(&polygons(rings).buffer_with_style(style))
}

fn contours(rings: &Rings) -> Vec<Vec<[f64; 2]>> {
    rings.iter().map(|r| r.iter().map(|&(x, y)| [x, y]).collect()).collect()
}

fn of_contours(shapes: &[Vec<Vec<[f64; 2]>>]) -> Region {
    Region::new(shapes.iter().flatten().map(|c| ring(c.iter().map(|p| (p[0], p[1])))).collect())
}

fn outline(rings: &Rings, d: f64, chord: f64) -> Region {
    let style = OutlineStyle::new(d).line_join(OverlayJoin::Round(step(d, chord)));
    of_contours(&contours(rings).outline_as::<i64>(&style))
}

fn polyline(r: &[(f64, f64)]) -> Polyline {
    let mut p = Polyline::new_closed();
    for &(x, y) in r {
        p.add(x, y, 0.0);
    }
    p
}

fn of_polyline(p: &Polyline) -> Ring {
    let at = |x: f64, y: f64| Point::new(x, y);
    Ring::new(p.iter_segments().map(|(a, b)| Segment::from_bulge(at(a.x, a.y), at(b.x, b.y), a.bulge)).collect())
}

fn cavalier(rings: &Rings, d: f64) -> Region {
    // In this library inward is positive.
    let made = Shape::from_plines(rings.iter().map(|r| polyline(r))).parallel_offset(-d, &Default::default());
    let all = made.ccw_plines.iter().chain(&made.cw_plines);
    Region::new(all.map(|p| of_polyline(&p.polyline)).collect())
}
