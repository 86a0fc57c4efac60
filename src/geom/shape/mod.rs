//! The primitive types: points, edges, rings, regions and curves, and what is measured on one or two of them.

pub(in crate::geom) mod chords;
pub mod curve;
pub mod distance;
mod error;
mod region;
mod ring;
mod segment;
pub mod trig;

pub use curve::{Curve, EllipticArc};
pub use error::GeomError;
pub use kurbo::{Affine, Point, Rect, Vec2};
pub use region::Region;
pub use ring::{FillRule, Ring};
pub use segment::{Arc, Line, Segment};
