//! Curves to lines and arcs.

use super::{Curve, Segment};

/// Lines and arcs that follow `curve` within `tolerance` mm, tangent to each other where the curve is smooth, appended
/// to `out`. The first starts and the last ends exactly where the curve does.
pub fn fit(curve: &Curve, tolerance: f64, out: &mut Vec<Segment>) {
    let _ = (curve, tolerance, out);
    unimplemented!()
}
