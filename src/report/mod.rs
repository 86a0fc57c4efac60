//! What people read: the plan of a face, and more to come.

pub mod plan;
