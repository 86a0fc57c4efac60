//! The engine: what works out regions without proving them. Its results go through `certify`, or serve questions only.

pub(in crate::geom) mod bridged;
pub mod fit;
pub(in crate::geom) mod overlay;
pub(in crate::geom) mod parted;
mod simplify;
mod tails;
pub(in crate::geom) mod thinned;
pub(in crate::geom) mod tubes;

pub use simplify::{rough, simplified};
