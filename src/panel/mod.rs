//! Panels: where the openings lie, the steps with them, and how the router rides on them.

pub mod centres;
pub mod clamps;
mod colours;
mod face;
pub mod flush;
pub mod ground;
pub mod layout;
pub mod packing;
pub mod registration;
pub mod shoulder;
pub mod steps;
pub mod template;
pub mod tipping;

pub use face::{
    Edge, Edges, FREE_LAYER, Face, OPENING_LAYER, Opening, PANEL_LAYER, Panel, REFERENCE_LAYER, Setup, Turn,
};
