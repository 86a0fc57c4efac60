//! The own plane of an entity: the arbitrary axis rule of the published DXF Reference ("Arbitrary axis algorithm").

use crate::geom::Affine;

/// How far a unit normal may lean from the drawing's and still count as upright. A lean of 1e-6 moves nothing in a
/// drawing of 1 m by more than 1e-9 mm.
const UPRIGHT: f64 = 1e-6;

/// The map from an entity's own plane to the plane of the drawing, for the extrusion direction `normal`. `None` where
/// the plane is tilted: its curves would be foreshortened, and no maker means that. Seen from below (0, 0, −1) x is
/// mirrored, and with it the sense of arcs.
pub fn to_plane(normal: [f64; 3]) -> Option<Affine> {
    let [x, y, z] = normal;
    let n = (x * x + y * y + z * z).sqrt();
    // A zero vector stands in files that mean the default.
    if n == 0.0 {
        return Some(Affine::IDENTITY);
    }
    if !n.is_finite() || (x / n).abs() > UPRIGHT || (y / n).abs() > UPRIGHT {
        return None;
    }
    // Both are near enough upright that the rule takes world y as its helper: ax = y × n, ay = n × ax.
    Some(if z > 0.0 { Affine::IDENTITY } else { Affine::new([-1.0, 0.0, 0.0, 1.0, 0.0, 0.0]) })
}
