//! What is told: to people and to other programs.

mod asides;
mod balloons;
mod bench;
mod canvas;
pub mod facts;
pub mod gap;
mod glyph;
pub mod json;
pub mod keys;
pub mod listing;
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
