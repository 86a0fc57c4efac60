//! The order of boxes along a Hilbert curve.

use crate::geom::shape::{Point, Rect};

/// Cells per side of the grid for the Hilbert order, as a power of two.
const ORDER: u32 = 16;

/// Indices of the boxes in the order of their centres along a Hilbert curve: neighbours usually follow each other.
#[must_use]
pub fn along_hilbert(boxes: &[Rect]) -> Vec<usize> {
    let all = boxes.iter().copied().reduce(|a, b| a.union(b)).unwrap_or_default();
    let mut keyed: Vec<(u64, usize)> = boxes.iter().map(|b| hilbert(b.center(), all)).zip(0..).collect();
    keyed.sort_unstable();
    keyed.into_iter().map(|k| k.1).collect()
}

/// Position of a point along the Hilbert curve that fills `all`.
fn hilbert(p: Point, all: Rect) -> u64 {
    let side = all.width().max(all.height());
    let cells = f64::from(1u32 << ORDER) - 1.0;
    // Clamped. Without any extent all points are in one cell.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let cell = |v: f64| if side > 0.0 { (v / side * cells).clamp(0.0, cells) as u32 } else { 0 };
    let (mut x, mut y) = (cell(p.x - all.x0), cell(p.y - all.y0));
    let mut along = 0u64;
    let mut s = 1u32 << (ORDER - 1);
    while s > 0 {
        let (rx, ry) = (u32::from(x & s > 0), u32::from(y & s > 0));
        along += u64::from(s) * u64::from(s) * u64::from((3 * rx) ^ ry);
        if ry == 0 {
            if rx == 1 {
                (x, y) = ((1 << ORDER) - 1 - x, (1 << ORDER) - 1 - y);
            }
            std::mem::swap(&mut x, &mut y);
        }
        s >>= 1;
    }
    along
}
