//! The results of a run, for people and for other programs.

mod asides;
mod balloons;
mod bench;
mod canvas;
pub mod caution;
mod found;
pub mod gap;
mod glyph;
pub mod json;
pub mod keys;
mod lines;
pub mod listing;
mod machine;
pub mod marks;
pub mod offsets;
pub mod plan;
mod registration;
mod start;
pub mod terminal;
pub mod testpiece;
pub mod verdict;
mod view;
mod work;
