//! The same offset by five engines: what each gives is a set of rings of edges, so that all are measured alike.

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use cavalier_contours::shape_algorithms::Shape;
use clipper2_rust::{ClipperOffset, EndType, JoinType, Path64, Paths64, Point64};
use geo::algorithm::buffer::{Buffer, BufferStyle, LineJoin};
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use letin::budget::Budget;
use letin::geom::{Certified, FillRule, Point, Region, Ring, Segment, enclosed, grow};

/// Chords of the polygon engines lie within this of the arc, mm.
pub const CHORD: f64 = 0.002;
const GRID: f64 = 1e-6;

pub type Rings = [Vec<(f64, f64)>];

pub const NAMES: [&str; 5] = ["letin, certified", "clipper2-rust", "geo Buffer", "i_overlay outline", "cavalier_contours"];

/// The region, ready for the first engine.
pub fn region(rings: &Rings) -> Result<Certified<Region>, String> {
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

/// `rings` grown by `d` mm, by the engine of that place in [`NAMES`].
pub fn grown(engine: usize, source: &Certified<Region>, rings: &Rings, d: f64) -> Result<Region, String> {
    match engine {
        0 => grow(source, d, &Budget::unlimited()).map(Certified::into_inner).map_err(|e| e.to_string()),
        1 => Ok(clipper(rings, d)),
        2 => Ok(geo_buffer(rings, d)),
        3 => Ok(outline(rings, d)),
        _ => Ok(cavalier(rings, d)),
    }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
fn clipper(rings: &Rings, d: f64) -> Region {
    let path = |r: &Vec<(f64, f64)>| -> Path64 {
        r.iter().map(|&(x, y)| Point64::new((x / GRID).round() as i64, (y / GRID).round() as i64)).collect()
    };
    let paths: Paths64 = rings.iter().map(path).collect();
    let mut offset = ClipperOffset::new(2.0, CHORD / GRID, false, false);
    offset.add_paths(&paths, JoinType::Round, EndType::Polygon);
    let mut out = Paths64::new();
    offset.execute(d / GRID, &mut out);
    Region::new(out.iter().map(|p| ring(p.iter().map(|q| (q.x as f64 * GRID, q.y as f64 * GRID)))).collect())
}

/// Turn of a chord that lies within [`CHORD`] of a circle of radius `d`.
fn step(d: f64) -> f64 {
    2.0 * (1.0 - CHORD / d).acos()
}

fn geo_buffer(rings: &Rings, d: f64) -> Region {
    let polygon = |r: &Vec<(f64, f64)>| geo::Polygon::new(geo::LineString::from(r.clone()), Vec::new());
    let all = geo::MultiPolygon::new(rings.iter().map(polygon).collect());
    let grown = all.buffer_with_style(BufferStyle::new(d).line_join(LineJoin::Round(step(d))));
    let lines = |p: &geo::Polygon| std::iter::once(p.exterior()).chain(p.interiors()).cloned().collect::<Vec<_>>();
    let rings = grown.0.iter().flat_map(lines);
    Region::new(rings.map(|l| ring(l.0.iter().map(|c| (c.x, c.y)))).collect())
}

fn outline(rings: &Rings, d: f64) -> Region {
    let shape: Vec<Vec<[f64; 2]>> = rings.iter().map(|r| r.iter().map(|&(x, y)| [x, y]).collect()).collect();
    let style = i_overlay::mesh::float::style::OutlineStyle::new(d)
        .line_join(i_overlay::mesh::float::style::LineJoin::Round(step(d)));
    let shapes = shape.outline_as::<i64>(&style);
    Region::new(shapes.iter().flatten().map(|c| ring(c.iter().map(|p| (p[0], p[1])))).collect())
}

fn cavalier(rings: &Rings, d: f64) -> Region {
    let line = |r: &Vec<(f64, f64)>| {
        let mut p = Polyline::new_closed();
        for &(x, y) in r {
            p.add(x, y, 0.0);
        }
        p
    };
    let grown = Shape::from_plines(rings.iter().map(line)).parallel_offset(-d, Default::default());
    let all = grown.ccw_plines.iter().chain(&grown.cw_plines);
    let ring = |p: &Polyline<f64>| {
        let edges = p.iter_segments();
        let at = |x: f64, y: f64| Point::new(x, y);
        Ring::new(edges.map(|(a, b)| Segment::from_bulge(at(a.x, a.y), at(b.x, b.y), a.bulge)).collect())
    };
    Region::new(all.map(|p| ring(&p.polyline)).collect())
}
