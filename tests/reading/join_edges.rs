//! Joining of loose edges: gaps, branchings, doubled lines, rotated copies, and shuffled rings.

use letin::budget::Budget;
use letin::drawing::{Fill, Path, Remark, RemarkKind, Shape, Source, join::join};
use letin::geom::{Affine, Point, Ring, Segment};
use proptest::prelude::*;
use std::f64::consts::PI;

fn loose(edges: &[Segment]) -> Vec<Shape> {
    edges.iter().enumerate().map(|(i, s)| on_layer(i, *s, "0")).collect()
}

fn on_layer(i: usize, s: Segment, layer: &str) -> Shape {
    let kind = if matches!(s, Segment::Line(_)) { "LINE" } else { "ARC" };
    Shape {
        paths: vec![Path { segments: vec![s], closed: false }],
        fill: Fill::None,
        source: Source {
            id: i.to_string(),
            layer: Some(layer.into()),
            kind: kind.into(),
            line: Some(i + 1),
            ..Source::default()
        },
    }
}

fn joined(edges: &[Segment], tolerance: f64) -> (Vec<Shape>, Vec<Remark>) {
    join(loose(edges), tolerance, &Budget::unlimited())
}

fn line(x0: f64, y0: f64, x1: f64, y1: f64) -> Segment {
    Segment::line(Point::new(x0, y0), Point::new(x1, y1))
}

/// A rectangle 60 × 40 with a half circle as its right edge, in four pieces. `gap` opens each corner along y.
fn d_shape(gap: f64) -> Vec<Segment> {
    let arc = Segment::from_bulge(Point::new(60.0, gap), Point::new(60.0, 40.0 - gap), 1.0);
    vec![line(0.0, 0.0, 60.0, 0.0), arc.reversed(), line(60.0, 40.0, 0.0, 40.0), line(0.0, gap, 0.0, 40.0 - gap)]
}

fn count(remarks: &[Remark], f: impl Fn(&RemarkKind) -> bool) -> usize {
    remarks.iter().filter(|r| f(&r.kind)).count()
}

fn gaps(remarks: &[Remark]) -> usize {
    count(remarks, |k| matches!(k, RemarkKind::JoinedGap { .. }))
}

fn assert_whole(p: &Path) {
    assert!(p.segments.windows(2).all(|w| w[0].end() == w[1].start()));
    if p.closed {
        assert_eq!(p.segments[0].start(), p.segments.last().unwrap().end());
    }
    for s in &p.segments {
        if let Segment::Arc(a) = s {
            assert!(((a.start - a.center).hypot() - a.radius).abs() < 1e-8, "{a:?}");
            assert!(((a.end - a.center).hypot() - a.radius).abs() < 1e-8, "{a:?}");
        }
    }
}

#[test]
fn gaps_of_every_size() {
    let exact = 2400.0 + PI * 200.0;
    for (gap, reported) in [(0.0, 0), (1e-12, 0), (1e-6, 4), (0.04, 4)] {
        let (shapes, remarks) = joined(&d_shape(gap), 0.05);
        assert_eq!(shapes.len(), 1, "gap {gap}");
        let p = &shapes[0].paths[0];
        assert!(p.closed);
        assert_whole(p);
        assert_eq!((gaps(&remarks), remarks.len()), (reported, reported), "gap {gap}");
        let area = Ring::new(p.segments.clone()).area().abs();
        // The edges move by at most half the gap, over a perimeter of 222.8.
        assert!((area - exact).abs() <= 223.0 * gap + 1e-9, "gap {gap}: {area}");
        assert_eq!(shapes[0].source.kind, "LINE+ARC");
        assert_eq!(shapes[0].source.line, Some(1));
    }
    let (shapes, remarks) = joined(&d_shape(0.2), 0.05);
    assert_eq!((shapes.len(), gaps(&remarks)), (4, 0));
    assert_eq!(count(&remarks, |k| matches!(k, RemarkKind::OpenLine { .. })), 4);
    assert!(shapes.iter().all(|s| !s.paths[0].closed));
    // A wider tolerance reaches farther; a tolerance of zero joins nothing.
    assert!(joined(&d_shape(0.2), 0.25).0[0].paths[0].closed);
    assert_eq!(joined(&d_shape(1e-5), 0.0).0.len(), 4);
}

#[test]
fn snapped_arcs_stay_where_they_were() {
    // Every point of the joined edges lies within the gap of the drawn edges.
    let drawn = d_shape(0.04);
    let (shapes, _) = joined(&drawn, 0.05);
    for s in &shapes[0].paths[0].segments {
        for i in 0..=50 {
            let p = s.at(f64::from(i) / 50.0);
            let off = drawn.iter().map(|d| d.nearest(p).0).fold(f64::INFINITY, f64::min);
            assert!(off <= 0.04 + 1e-9, "{off}");
        }
    }
    // An arc of 359.94 degrees whose ends do not quite meet is closed and remains the same circle.
    let r = 30.0;
    let at = |deg: f64| Point::new(r * deg.to_radians().cos(), r * deg.to_radians().sin());
    let nearly = Segment::from_bulge(at(0.0), at(359.94), (359.94_f64 / 4.0).to_radians().tan());
    let (shapes, remarks) = joined(&[nearly], 0.05);
    assert!(shapes[0].paths[0].closed && gaps(&remarks) == 1);
    assert_whole(&shapes[0].paths[0]);
    for s in &shapes[0].paths[0].segments {
        for i in 0..=50 {
            assert!((s.at(f64::from(i) / 50.0).to_vec2().hypot() - r).abs() < 0.05);
        }
    }
}

#[test]
fn nearest_wins_over_first() {
    // The end at (10, 0) has a neighbour at 0.01 and one at 0.04; the latter comes first in the drawing.
    let edges = [line(0.0, 0.0, 10.0, 0.0), line(10.0, 0.04, 20.0, 5.0), line(10.01, 0.0, 20.0, 0.0)];
    let (shapes, remarks) = joined(&edges, 0.05);
    assert_eq!(shapes.len(), 2);
    assert_eq!(shapes[0].paths[0].segments.len(), 2);
    assert!((shapes[0].paths[0].segments[1].end() - Point::new(20.0, 0.0)).hypot() < 1e-12);
    assert_eq!(count(&remarks, |k| matches!(k, RemarkKind::Branching)), 0);
    assert_eq!(count(&remarks, |k| matches!(k, RemarkKind::OpenLine { .. })), 2);
}

#[test]
fn branchings_stop() {
    for noise in [0.0, 1e-7, 0.02] {
        let edges = [line(0.0, 0.0, 10.0, 0.0), line(10.0 + noise, 0.0, 20.0, 5.0), line(10.0, noise, 20.0, -5.0)];
        let (shapes, remarks) = joined(&edges, 0.05);
        assert_eq!(shapes.len(), 3, "noise {noise}");
        let at: Vec<Point> = remarks.iter().filter(|r| r.kind == RemarkKind::Branching).filter_map(|r| r.at).collect();
        assert_eq!(at.len(), 1, "noise {noise}");
        assert!((at[0] - Point::new(10.0, 0.0)).hypot() <= 0.02);
        assert_eq!((gaps(&remarks), remarks.len()), (0, 4));
    }
    // A closed loop with a tail: the loop does not close, and the branching is reported.
    let mut edges = d_shape(0.0);
    edges.push(line(0.0, 0.0, -5.0, -5.0));
    let (shapes, remarks) = joined(&edges, 0.05);
    assert_eq!(shapes.len(), 2);
    assert!(shapes.iter().all(|s| !s.paths[0].closed));
    assert_eq!(count(&remarks, |k| *k == RemarkKind::Branching), 1);
}

#[test]
fn doubled_lines_and_specks_go() {
    let mut edges = d_shape(0.0);
    let again: Vec<Segment> =
        edges.iter().enumerate().map(|(i, s)| if i % 2 == 0 { *s } else { s.reversed() }).collect();
    edges.extend(again);
    edges.push(line(3.0, 3.0, 3.0, 3.0));
    let (shapes, remarks) = joined(&edges, 0.05);
    assert_eq!(shapes.len(), 1);
    assert!(shapes[0].paths[0].closed && shapes[0].paths[0].segments.len() == 4);
    assert_eq!(count(&remarks, |k| matches!(k, RemarkKind::DoubledLine { .. })), 4);
    assert_eq!(count(&remarks, |k| matches!(k, RemarkKind::Speck { .. })), 1);
    assert_eq!(remarks.len(), 5);
    // The two halves of a circle share both ends and are not doubled lines.
    let (e, w) = (Point::new(9.0, 0.0), Point::new(-9.0, 0.0));
    let (shapes, remarks) = joined(&[Segment::from_bulge(e, w, 1.0), Segment::from_bulge(e, w, -1.0)], 0.05);
    assert!(shapes[0].paths[0].closed && remarks.is_empty());
}

#[test]
fn layers_are_kept_apart() {
    let e = d_shape(0.0);
    let shapes: Vec<Shape> =
        e.iter().enumerate().map(|(i, s)| on_layer(i, *s, if i < 2 { "A" } else { "B" })).collect();
    let (shapes, remarks) = join(shapes, 0.05, &Budget::unlimited());
    assert_eq!(shapes.len(), 2);
    assert_eq!(count(&remarks, |k| matches!(k, RemarkKind::OpenLine { .. })), 2);
}

#[test]
fn closed_and_filled_are_left_alone() {
    let open = Path { segments: vec![line(0.0, 0.0, 1.0, 0.0)], closed: false };
    let closed = Path { segments: Ring::circle(Point::ORIGIN, 3.0).segments, closed: true };
    let filled = Shape { paths: vec![open.clone(), closed.clone()], fill: Fill::NonZero, source: Source::default() };
    let stroke = Shape { paths: vec![closed, open], fill: Fill::None, source: Source::default() };
    let (shapes, remarks) = join(vec![filled.clone(), stroke], 0.05, &Budget::unlimited());
    assert_eq!(shapes.len(), 3);
    assert_eq!(shapes[0], filled);
    assert!(shapes[1].paths[0].closed && !shapes[2].paths[0].closed);
    assert_eq!(remarks.len(), 1);
}

/// The rotation of the drawing must not matter.
#[test]
fn turned_copies() {
    for deg in 0..360 {
        let m = Affine::translate((1234.5, -987.6)) * Affine::rotate(f64::from(deg).to_radians());
        for gap in [0.0, 0.03] {
            let edges: Vec<Segment> = d_shape(gap).iter().map(|s| s.under_similarity(m)).collect();
            let (shapes, remarks) = joined(&edges, 0.05);
            assert_eq!(shapes.len(), 1, "{deg}°");
            assert!(shapes[0].paths[0].closed);
            assert_whole(&shapes[0].paths[0]);
            assert_eq!(remarks.len(), if gap > 0.0 { 4 } else { 0 });
        }
    }
}

#[test]
fn a_hundred_thousand_edges() {
    // 25,000 squares in a grid: all first edges, then all second edges, and so on.
    let side = |k: usize, i: usize| {
        #[allow(clippy::cast_precision_loss)]
        let o = Point::new((i % 160) as f64 * 30.0, (i / 160) as f64 * 30.0);
        let c = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)].map(|c| o + letin::geom::Vec2::new(c.0, c.1));
        Segment::line(c[k], c[(k + 1) % 4])
    };
    let edges: Vec<Segment> = (0..4).flat_map(|k| (0..25_000).map(move |i| side(k, i))).collect();
    let start = std::time::Instant::now();
    let (shapes, remarks) = joined(&edges, 0.05);
    assert_eq!((shapes.len(), remarks.len()), (25_000, 0));
    // The time is nearly linear in the edges; a quadratic pass takes minutes.
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
}

#[test]
fn a_crowd_in_one_gap_ends() {
    // 20,000 ends within one gap become branchings, in limited time.
    let edges: Vec<Segment> = (0..20_000)
        .map(|i| f64::from(i) * 0.000_314)
        .map(|a| line(0.02 * a.cos(), 0.02 * a.sin(), 50.0 * a.cos(), 50.0 * a.sin()))
        .collect();
    let start = std::time::Instant::now();
    let (shapes, _) = joined(&edges, 0.05);
    assert!(!shapes.is_empty());
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
}

/// Separate rings of lines and arcs, with their corners at random distances from the centre.
fn rings() -> impl Strategy<Value = Vec<Ring>> {
    let ring = prop::collection::vec((3.0..20.0_f64, -0.8..0.8_f64), 3..12);
    prop::collection::vec(ring, 1..6).prop_map(|all| {
        let ring = |(i, corners): (usize, &Vec<(f64, f64)>)| {
            let n = corners.len();
            #[allow(clippy::cast_precision_loss)]
            let at = |k: usize| {
                let a = k as f64 / n as f64 * 2.0 * PI;
                Point::new(100.0 * i as f64 + corners[k].0 * a.cos(), corners[k].0 * a.sin())
            };
            Ring::new((0..n).map(|k| Segment::from_bulge(at(k), at((k + 1) % n), corners[k].1)).collect())
        };
        all.iter().enumerate().map(ring).collect()
    })
}

proptest! {
    /// Shuffled and randomly reversed edges of rings give the rings again: equal number, edges, perimeters and areas.
    #[test]
    fn shuffled_edges_come_back(
        rings in rings(),
        keys in prop::collection::vec((any::<u32>(), any::<bool>(), -1.0..1.0_f64, -1.0..1.0_f64), 60),
        noise in prop_oneof![Just(0.0), Just(1e-8), Just(0.005)],
    ) {
        let mut edges: Vec<(u32, Segment)> = rings
            .iter()
            .flat_map(|r| &r.segments)
            .zip(keys.iter().cycle())
            .map(|(s, (key, turn, dx, dy))| {
                let s = s.translated(letin::geom::Vec2::new(dx * noise, dy * noise));
                (*key, if *turn { s.reversed() } else { s })
            })
            .collect();
        edges.sort_by_key(|(key, _)| *key);
        let edges: Vec<Segment> = edges.into_iter().map(|(_, s)| s).collect();
        let (shapes, remarks) = joined(&edges, 0.05);
        prop_assert_eq!(shapes.len(), rings.len());
        let told_only_gaps = remarks.iter().all(|r| matches!(r.kind, RemarkKind::JoinedGap { .. }));
        prop_assert!(told_only_gaps, "{:?}", remarks);
        let key = |r: &Ring| (r.bounds().unwrap().x0 / 100.0).round() as usize;
        for s in &shapes {
            let p = &s.paths[0];
            prop_assert!(p.closed);
            assert_whole(p);
            let got = Ring::new(p.segments.clone());
            let want = rings.iter().min_by(|a, b| {
                let d = |r: &Ring| (r.bounds().unwrap().center() - got.bounds().unwrap().center()).hypot();
                d(a).total_cmp(&d(b))
            }).unwrap();
            prop_assert_eq!(key(&got), key(want));
            prop_assert!((got.perimeter() - want.perimeter()).abs() <= 1e-6 + 12.0 * 12.0 * noise);
            prop_assert!((got.area().abs() - want.area().abs()).abs() <= 1e-6 + 4.0 * noise * want.perimeter());
        }
    }
}

/// Lines that overlap along an edge and across a corner, in either direction. The loop closes, each stretch remains once,
/// and the overlap is reported.
#[test]
fn lines_partly_over_one_another_are_cut_back() {
    let doubled = |r: &[Remark]| -> f64 {
        let lengths = r.iter().filter_map(|r| match r.kind {
            RemarkKind::DoubledLine { length } => Some(length),
            _ => None,
        });
        lengths.sum()
    };
    for turn in [0.0, 0.7, 2.1] {
        let m = Affine::rotate(turn);
        let turned = |edges: &[Segment]| edges.iter().map(|s| s.under_similarity(m)).collect::<Vec<_>>();
        let side = [line(0.0, 0.0, 40.0, 0.0), line(70.0, 0.0, 25.0, 0.0), line(30.0, 0.0, 50.0, 0.0)];
        let others = [line(70.0, 0.0, 70.0, 30.0), line(70.0, 30.0, 0.0, 30.0), line(0.0, 30.0, 0.0, 0.0)];
        let (shapes, remarks) = joined(&turned(&[&side[..], &others].concat()), 0.05);
        let loops: Vec<&Path> = shapes.iter().flat_map(|s| &s.paths).collect();
        assert!(loops.len() == 1 && loops[0].closed, "{turn}: {shapes:?} {remarks:?}");
        assert_whole(loops[0]);
        let length: f64 = loops[0].segments.iter().map(Segment::length).sum();
        assert!((length - 200.0).abs() < 1e-9, "{turn}: {length}");
        assert!((doubled(&remarks) - (15.0 + 20.0)).abs() < 1e-9, "{turn}: {remarks:?}");
        // Lines side by side, farther apart than a doubled line, both stay.
        let beside = [line(0.0, 0.0, 40.0, 0.0), line(10.0, 0.001, 30.0, 0.001)];
        assert_eq!(doubled(&joined(&turned(&beside), 0.05).1), 0.0);
    }
    // A line on another layer is no doubled line.
    let shapes = vec![on_layer(0, line(0.0, 0.0, 40.0, 0.0), "a"), on_layer(1, line(10.0, 0.0, 30.0, 0.0), "b")];
    let (shapes, remarks) = join(shapes, 0.05, &Budget::unlimited());
    assert!(shapes.len() == 2 && doubled(&remarks) == 0.0);
}
