//! Where things lie: one tree of boxes, and what is asked through it.
//!
//! [`BoxTree`] is the only spatial index of the program. On it rest the nearest edges of a region ([`edges`]) and
//! containment ([`inside`]). No answer depends on the shape of the tree: of equals the item given first comes first.

pub mod edges;
mod hilbert;
pub mod inside;
mod order;
mod tree;

pub use hilbert::along_hilbert;
pub use order::{clusters, overlapping};
pub use tree::BoxTree;
pub(super) use tree::Nearest;
