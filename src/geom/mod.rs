//! Plane geometry in millimetres on regions bounded by lines and true circular arcs. No files, no kits, no text.
//!
//! Points, vectors and transforms are kurbo's. Angles are radians here and degrees towards people.

mod certified;
pub mod curve;
mod error;
pub mod fit;
mod ops;
mod region;
mod ring;
mod segment;
pub mod trig;

pub use certified::Certified;
pub use curve::{Curve, EllipticArc};
pub use error::GeomError;
pub use kurbo::{Affine, Point, Rect, Vec2};
pub use ops::{FillRule, and, close, enclosed, grow, minus, open, or, shrink};
pub use region::Region;
pub use ring::Ring;
pub use segment::{Arc, Line, Segment};
