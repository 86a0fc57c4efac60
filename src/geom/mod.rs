//! Plane geometry in millimetres on regions bounded by lines and true circular arcs. No files, no kits, no text.
//!
//! Points, vectors and transforms come from kurbo. Angles are radians here and degrees in everything people read. Each
//! part imports only those above it, and `engine` and `certify` do not know each other:
//!
//! * `shape`: the primitive types.
//! * `index`: where things lie; the only spatial index of the program.
//! * `engine`: works out regions.
//! * `certify`: proves them; the only place that makes a [`Certified`].
//! * `ops`: what callers use.

mod certify;
mod engine;
mod index;
mod ops;
mod shape;

pub use certify::Certified;
pub use engine::{fit, rough, simplified};
pub use index::{BoxTree, along_hilbert, clusters, edges, inside, overlapping};
pub use ops::{Reached, and, close, enclosed, flattened, grow, inset, minus, open, or, outset, shrink};
pub use ops::{apart, farthest, hull, misfit};
pub use shape::{Affine, Arc, Curve, EllipticArc, FillRule, GeomError, Line, Point, Rect, Region, Ring, Segment, Vec2};
pub use shape::{curve, distance, trig};
