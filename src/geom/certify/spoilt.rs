//! Correct results, corrupted in hundreds of ways: the certificate must refuse every one and pass the correct ones.

use super::{Certified, offset};
use crate::budget::Budget;
use crate::geom::index::edges::{EdgeIndex, sampled};
use crate::geom::ops::{enclosed, grow, shrink};
use crate::geom::shape::trig;
use crate::geom::shape::{Arc, FillRule, GeomError, Point, Region, Ring, Segment, Vec2};
use std::f64::consts::PI;

/// How far edges, radii and distances are moved, mm. Ten times what the certificate accepts.
const OFF: f64 = 0.02;

/// A correct result: `source` grown by `d` (shrunk if negative).
struct Right {
    name: &'static str,
    source: Region,
    d: f64,
    result: Region,
}

fn right(name: &'static str, rings: &[Ring], d: f64) -> Right {
    let b = Budget::unlimited();
    let source = enclosed(rings, FillRule::NonZero, &b).unwrap();
    let result = made(&source, d);
    Right { name, source: source.into_inner(), d, result }
}

fn made(source: &Certified<Region>, d: f64) -> Region {
    let b = Budget::unlimited();
    if d > 0.0 { grow(source, d, &b) } else { shrink(source, -d, &b) }.unwrap().into_inner()
}

fn polygon(points: &[(f64, f64)]) -> Ring {
    Ring::polygon(&points.iter().map(|&p| Point::from(p)).collect::<Vec<_>>())
}

fn circle(x: f64, y: f64, r: f64) -> Ring {
    Ring::circle(Point::new(x, y), r)
}

fn bow_tie() -> Ring {
    polygon(&[(-35.0, -18.0), (0.0, -8.0), (35.0, -18.0), (35.0, 18.0), (0.0, 8.0), (-35.0, 18.0)])
}

fn frame(w: f64, h: f64) -> Ring {
    polygon(&[(-w, -h), (w, -h), (w, h), (-w, h)])
}

/// A slot with semicircular ends.
fn slot(x: f64, y: f64, half: f64, r: f64) -> Ring {
    let p = |dx: f64, dy: f64| Point::new(x + dx, y + dy);
    Ring::new(vec![
        Segment::line(p(-half, -r), p(half, -r)),
        Segment::from_bulge(p(half, -r), p(half, r), 1.0),
        Segment::line(p(half, r), p(-half, r)),
        Segment::from_bulge(p(-half, r), p(-half, -r), 1.0),
    ])
}

/// Grown and shrunk, lines and arcs, one ring and several, large rings and one of about 0.05 mm².
fn rights() -> Vec<Right> {
    let holed = [frame(40.0, 30.0), circle(-15.0, 0.0, 9.0).reversed(), slot(15.0, 0.0, 8.0, 8.0).reversed()];
    // Grown by 7, this leaves a hole of radius 0.1303: 0.0533 mm².
    let speck_hole = [frame(30.0, 20.0), circle(3.0, 2.0, 7.1303).reversed()];
    // Shrunk by 3, this leaves an island of that size.
    let speck = [bow_tie(), circle(60.0, 0.0, 3.1303)];
    let key = [(0.0, -15.0), (30.0, -15.0), (30.0, 15.0), (0.0, 15.0), (0.0, 2.5), (-30.0, 2.5), (-30.0, -2.5)];
    let dumbbell = polygon(&[
        (-40.0, -12.0),
        (-15.0, -12.0),
        (-15.0, -2.0),
        (15.0, -2.0),
        (15.0, -12.0),
        (40.0, -12.0),
        (40.0, 12.0),
        (15.0, 12.0),
        (15.0, 2.0),
        (-15.0, 2.0),
        (-15.0, 12.0),
        (-40.0, 12.0),
    ]);
    vec![
        right("rectangle grown", &[frame(40.0, 20.0)], 7.0),
        right("bow-tie grown", &[bow_tie()], 13.0),
        right("bow-tie shrunk", &[bow_tie()], -3.0),
        right("circle grown", &[circle(2.0, 3.0, 11.0)], 5.0),
        right("slot shrunk", &[slot(1.0, -2.0, 20.0, 8.0)], -3.0),
        right("frame with two holes grown", &holed, 4.0),
        right("frame with two holes shrunk", &holed, -4.0),
        right("two islands grown into one", &[circle(-10.0, 0.0, 8.0), circle(10.0, 1.0, 8.0)], 6.0),
        right("dumbbell shrunk to two", &[dumbbell], -3.0),
        right("key with a limb grown", &[polygon(&key)], 7.0),
        right("small hole left", &speck_hole, 7.0),
        right("small island left", &speck, -3.0),
    ]
}

/// Every corruption of a result, each with a name.
fn spoilt(r: &Right) -> Vec<(String, Region)> {
    let mut out = vec![("empty".to_owned(), Region::default())];
    whole(r, &mut out);
    rings(r, &mut out);
    for (i, ring) in r.result.rings.iter().enumerate() {
        let mut put = |name: String, changed: Vec<Segment>| {
            let mut all = r.result.clone();
            all.rings[i] = Ring::new(changed);
            out.push((format!("ring {i}: {name}"), all));
        };
        vertices(r, ring, &mut put);
        radii(ring, &mut put);
        cuts(ring, &mut put);
    }
    out
}

fn whole(r: &Right, out: &mut Vec<(String, Region)>) {
    for k in 0..6 {
        let a = f64::from(k) * PI / 3.0 + 0.1;
        out.push((format!("moved towards {a:.1}"), r.result.translated(Vec2::new(a.cos(), a.sin()) * OFF)));
    }
    let source = Certified::passed(r.source.clone());
    for d in [r.d + OFF, r.d - OFF] {
        out.push((format!("made with {d}"), made(&source, d)));
    }
    out.push(("made with the other sign".to_owned(), made(&source, -r.d)));
    out.push(("the source itself".to_owned(), r.source.clone()));
    out.push(("all reversed".to_owned(), Region::new(r.result.rings.iter().map(Ring::reversed).collect())));
}

fn rings(r: &Right, out: &mut Vec<(String, Region)>) {
    for (i, ring) in r.result.rings.iter().enumerate() {
        assert!(ring.area().abs() >= 0.05, "a smaller ring need not be detected");
        let with = |change: &dyn Fn(&mut Vec<Ring>)| {
            let mut rings = r.result.rings.clone();
            change(&mut rings);
            Region::new(rings)
        };
        out.push((format!("ring {i} lost"), with(&|v| drop(v.remove(i)))));
        out.push((format!("ring {i} doubled"), with(&|v| v.push(ring.clone()))));
        out.push((format!("ring {i} doubled, reversed"), with(&|v| v.push(ring.reversed()))));
        out.push((format!("ring {i} reversed"), with(&|v| v[i] = ring.reversed())));
        let twice = [ring.segments.clone(), ring.segments.clone()].concat();
        out.push((format!("ring {i} gone round twice"), with(&|v| v[i] = Ring::new(twice.clone()))));
    }
    // Added rings of 0.05 mm² and more: outside, deep inside, on an edge; as material and as a hole.
    let Some(b) = r.result.bounds() else { return };
    let on = r.result.rings[0].segments[0].at(0.3);
    let far = Point::new(b.x1 + 5.0, b.y1 + 5.0);
    for (what, at) in [("far off", far), ("in the middle", b.center()), ("on an edge", on)] {
        for radius in [0.13, 2.0] {
            for hole in [false, true] {
                let added = Ring::circle(at, radius);
                let mut rings = r.result.rings.clone();
                rings.push(if hole { added.reversed() } else { added });
                out.push((format!("ring of {radius} added {what}, hole: {hole}"), Region::new(rings)));
            }
        }
    }
}

/// Each corner shifted, arcs keeping their bulge. Along a smooth stretch a shift changes nothing, so only shifts that
/// move an edge are used.
fn vertices(r: &Right, ring: &Ring, put: &mut impl FnMut(String, Vec<Segment>)) {
    let index = EdgeIndex::new(&r.result);
    let n = ring.segments.len();
    for i in 0..n {
        for k in 0..8 {
            let a = f64::from(k) * PI / 4.0;
            let mut s = ring.segments.clone();
            let before = (i + n - 1) % n;
            let p = s[i].start() + Vec2::new(a.cos(), a.sin()) * OFF;
            let (b0, b1) = (bulge(&s[before]), bulge(&s[i]));
            s[before] = Segment::from_bulge(s[before].start(), p, b0);
            s[i] = Segment::from_bulge(p, s[i].end(), b1);
            let changed = Region::new(vec![Ring::new(s.clone())]);
            let off = sampled(&changed, 0.2).filter_map(|p| index.nearest(p)).map(|n| n.distance).fold(0.0, f64::max);
            if off > OFF / 2.0 {
                put(format!("corner {i} towards {k}/8"), s);
            }
        }
    }
}

fn bulge(s: &Segment) -> f64 {
    if let Segment::Arc(a) = s { a.bulge() } else { 0.0 }
}

/// Each arc with another radius about the same centre; its neighbours follow.
fn radii(ring: &Ring, put: &mut impl FnMut(String, Vec<Segment>)) {
    let n = ring.segments.len();
    for i in 0..n {
        let Segment::Arc(a) = ring.segments[i] else { continue };
        for radius in [a.radius + OFF, a.radius - OFF] {
            let scaled = |p: Point| a.center + (p - a.center) * (radius / a.radius);
            let (start, end) = (scaled(a.start), scaled(a.end));
            let mut s = ring.segments.clone();
            let (before, after) = ((i + n - 1) % n, (i + 1) % n);
            s[i] = Segment::Arc(Arc { start, end, radius, ..a });
            if before == after {
                s[before] = Segment::from_bulge(end, start, bulge(&s[before]));
            } else {
                s[before] = Segment::from_bulge(s[before].start(), start, bulge(&s[before]));
                s[after] = Segment::from_bulge(end, s[after].end(), bulge(&s[after]));
            }
            put(format!("arc {i} of radius {radius}"), s);
        }
    }
}

/// Slits into the longest edge, spikes out of it, and other changes to that edge.
fn cuts(ring: &Ring, put: &mut impl FnMut(String, Vec<Segment>)) {
    let longest = |&i: &usize| ring.segments[i].length();
    let Some(i) = (0..ring.segments.len()).max_by(|a, b| longest(a).total_cmp(&longest(b))) else { return };
    let edge = ring.segments[i];
    let with = |middle: &[Segment]| [&ring.segments[..i], middle, &ring.segments[i + 1..]].concat();
    for width in [0.0, 0.001, 0.01, 0.1] {
        for deep in [0.1, 1.0, -1.0] {
            let half = width / 2.0 / edge.length();
            let (before, after) = (edge.part(0.0, 0.5 - half), edge.part(0.5 + half, 1.0));
            let inward = trig::left(edge.part(0.49, 0.51).tangent_at_start());
            let tip = edge.at(0.5) + inward * deep;
            let slit = [before, Segment::line(before.end(), tip), Segment::line(tip, after.start()), after];
            put(format!("slit {width} wide, {deep} deep"), with(&slit));
        }
    }
    // An edge bent by four times the tolerance.
    let bent = [Segment::from_bulge(edge.start(), edge.end(), bulge(&edge) + 4.0 * OFF / edge.length())];
    put("edge bent".to_owned(), with(&bent));
    // A step in an edge: one stretch runs beside its place.
    let beside = |t: f64| edge.at(t) + trig::right(edge.part(t, 1.0).tangent_at_start()) * OFF;
    let (p, q) = (beside(0.4), beside(0.6));
    let step = [
        edge.part(0.0, 0.4),
        Segment::line(edge.at(0.4), p),
        Segment::from_bulge(p, q, bulge(&edge.part(0.4, 0.6))),
        Segment::line(q, edge.at(0.6)),
        edge.part(0.6, 1.0),
    ];
    put("edge with a step".to_owned(), with(&step));
    // A gap of a thousandth in the ring.
    let p = edge.end() + Vec2::new(0.001, 0.0);
    put("not closed".to_owned(), with(&[Segment::from_bulge(edge.start(), p, bulge(&edge))]));
    if let Segment::Arc(a) = edge {
        put("centre beside".to_owned(), with(&[Segment::Arc(Arc { center: a.center + Vec2::new(OFF, 0.0), ..a })]));
        put("the other way round".to_owned(), with(&[Segment::Arc(Arc { ccw: !a.ccw, ..a })]));
    }
    let nan = Segment::line(edge.start(), Point::new(f64::NAN, 0.0));
    put("not a number".to_owned(), with(&[nan]));
}

#[test]
fn spoilt_results_are_refused_and_right_ones_pass() {
    let budget = Budget::unlimited();
    let (mut refused, mut let_pass) = (0, Vec::new());
    let rights = rights();
    let smallest = rights.iter().flat_map(|r| &r.result.rings).map(|r| r.area().abs()).fold(f64::INFINITY, f64::min);
    assert!(smallest < 0.06, "a ring of hardly more than 0.05 mm² is among them: {smallest}");
    for r in rights {
        if let Err(e) = offset(&r.source, r.d, r.result.clone(), &budget) {
            panic!("{}: the right result is refused: {e}", r.name);
        }
        // The same result for another distance.
        for d in [-r.d, r.d + OFF, r.d - OFF] {
            match offset(&r.source, d, r.result.clone(), &budget) {
                Err(GeomError::Uncertified { .. }) => refused += 1,
                other => let_pass.push(format!("{} as {d}: {:?}", r.name, other.err())),
            }
        }
        for (how, region) in spoilt(&r) {
            match offset(&r.source, r.d, region, &budget) {
                Err(GeomError::Uncertified { .. } | GeomError::NotFinite) => refused += 1,
                other => let_pass.push(format!("{}, {how}: {:?}", r.name, other.err())),
            }
        }
    }
    assert!(let_pass.is_empty(), "{} let pass, {refused} refused:\n{}", let_pass.len(), let_pass.join("\n"));
    assert!(refused >= 200, "only {refused} spoilt");
    println!("{refused} spoilt results refused");
}
