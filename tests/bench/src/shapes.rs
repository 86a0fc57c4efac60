//! Outlines of four kinds by number of edges, about 250 mm across. The same number always gives the same outline.

use std::f64::consts::TAU;
use std::fmt::Write;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A scroll with closely spaced points.
    Smooth,
    /// The same, with each point off by up to 0.05 mm.
    Noisy,
    /// The same, along the edges of pixels.
    Stairs,
    /// Many twelve-sided pads, 8 mm between centres.
    Islands,
}

pub const KINDS: [Kind; 4] = [Kind::Smooth, Kind::Noisy, Kind::Stairs, Kind::Islands];

impl Kind {
    pub fn name(self) -> &'static str {
        match self {
            Kind::Smooth => "smooth",
            Kind::Noisy => "noisy",
            Kind::Stairs => "stairs",
            Kind::Islands => "islands",
        }
    }

    /// Rings with about `edges` edges in all. Points in mm, anticlockwise.
    pub fn rings(self, edges: usize) -> Vec<Vec<(f64, f64)>> {
        match self {
            Kind::Smooth => vec![(0..edges).map(|k| scroll(share(k, edges))).collect()],
            Kind::Noisy => vec![(0..edges).map(|k| shaken(share(k, edges), k as u64)).collect()],
            Kind::Stairs => vec![stairs(edges)],
            Kind::Islands => islands(edges),
        }
    }

    /// An SVG file with one path.
    pub fn svg(self, edges: usize) -> String {
        let rings = self.rings(edges);
        let points = || rings.iter().flatten();
        let most = |f: fn(&(f64, f64)) -> f64| points().map(f).fold(f64::MIN, f64::max).ceil() + 5.0;
        let (w, h) = (most(|p| p.0), most(|p| p.1));
        let mut d = String::new();
        for ring in &rings {
            for (i, (x, y)) in ring.iter().enumerate() {
                let _ = write!(d, "{}{x:.4} {:.4}", if i == 0 { "M" } else { "L" }, h - y);
            }
            d.push_str("Z\n");
        }
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\
             <path id=\"trace\" d=\"{d}\"/></svg>\n"
        )
    }
}

#[allow(clippy::cast_precision_loss)]
fn share(k: usize, n: usize) -> f64 {
    k as f64 / n as f64
}

fn scroll(t: f64) -> (f64, f64) {
    at(t, 0.0)
}

fn at(t: f64, out: f64) -> (f64, f64) {
    let a = TAU * t;
    let r = 100.0 + 18.0 * (3.0 * a).cos() + 6.0 * (7.0 * a + 1.0).cos() + out;
    (140.0 + r * a.cos(), 140.0 + r * a.sin())
}

/// Up to 0.05 mm inwards or outwards, along the ray, so that the line never crosses itself.
fn shaken(t: f64, k: u64) -> (f64, f64) {
    let mut h = k.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 1;
    h = (h ^ (h >> 31)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    #[allow(clippy::cast_precision_loss)]
    let unit = ((h ^ (h >> 29)) >> 11) as f64 / (1u64 << 53) as f64;
    at(t, (unit - 0.5) * 0.1)
}

fn stairs(edges: usize) -> Vec<(f64, f64)> {
    let fine = edges * 8;
    let walk = |k: usize| scroll(share(k % fine, fine));
    let along: f64 = (0..fine).map(|k| (walk(k + 1).0 - walk(k).0).abs() + (walk(k + 1).1 - walk(k).1).abs()).sum();
    #[allow(clippy::cast_precision_loss)]
    let pixel = along / edges as f64;
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(edges + 8);
    for k in 0..fine {
        let (x, y) = walk(k);
        let (x, y) = ((x / pixel).round() * pixel, (y / pixel).round() * pixel);
        match points.last() {
            Some(&(u, v)) if (u, v) == (x, y) => {}
            Some(&(u, v)) if u != x && v != y => points.extend([(x, v), (x, y)]),
            _ => points.push((x, y)),
        }
    }
    points.dedup();
    if points.first() == points.last() {
        points.pop();
    }
    points
}

fn islands(edges: usize) -> Vec<Vec<(f64, f64)>> {
    let count = edges.div_ceil(12).max(1);
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let across = (count as f64).sqrt().ceil() as usize;
    #[allow(clippy::cast_precision_loss)]
    let at = |k: usize| (5.0 + 8.0 * (k % across) as f64, 5.0 + 8.0 * (k / across) as f64);
    (0..count)
        .map(|k| {
            let (x, y) = at(k);
            (0..12).map(|i| TAU * f64::from(i) / 12.0).map(|a| (x + 3.0 * a.cos(), y + 3.0 * a.sin())).collect()
        })
        .collect()
}
