//! Plane geometry in millimetres on regions bounded by lines and true circular arcs. No files, no kits, no text.
//!
//! Points, vectors and transforms come from kurbo. Angles are radians here and degrees in everything people read.

pub mod apart;
mod bridged;
mod certified;
mod certify;
mod chords;
pub mod curve;
pub mod distance;
mod error;
pub mod farthest;
pub mod fit;
mod flat;
pub mod hull;
mod index;
pub mod misfit;
mod morphology;
mod ops;
mod overlay;
mod parted;
mod region;
mod ring;
mod segment;
mod simplify;
mod tails;
mod thinned;
pub mod trig;
mod tubes;

pub use certified::Certified;
pub use curve::{Curve, EllipticArc};
pub use error::GeomError;
pub use flat::flattened;
pub use index::{BoxTree, along_hilbert, clusters, edges, inside, overlapping};
pub use kurbo::{Affine, Point, Rect, Vec2};
pub use morphology::{Reached, close, inset, open, outset};
pub use ops::{FillRule, and, enclosed, grow, minus, or, shrink};
pub use region::Region;
pub use ring::Ring;
pub use segment::{Arc, Line, Segment};
pub use simplify::{rough, simplified};
