//! The plane of an entity, by the arbitrary axis rule. Source: the published DXF Reference, "Arbitrary axis algorithm".

use crate::geom::Affine;
use crate::tolerance::UPRIGHT;

/// The map from an entity's plane to the plane of the drawing, for the extrusion direction `normal`. `None` if the
/// plane is tilted: its curves would be foreshortened, which no maker intends. The direction (0, 0, −1) mirrors x and
/// reverses arcs.
pub fn to_plane(normal: [f64; 3]) -> Option<Affine> {
    let [x, y, z] = normal;
    let n = (x * x + y * y + z * z).sqrt();
    // Some files write a zero vector for the default.
    if n == 0.0 {
        return Some(Affine::IDENTITY);
    }
    if !n.is_finite() || (x / n).abs() > UPRIGHT || (y / n).abs() > UPRIGHT {
        return None;
    }
    // The direction is upright, so the rule uses the world y axis: ax = y × n, ay = n × ax.
    Some(if z > 0.0 { Affine::IDENTITY } else { Affine::new([-1.0, 0.0, 0.0, 1.0, 0.0, 0.0]) })
}
