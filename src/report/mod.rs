//! What is told: to people and to other programs.

mod asides;
mod canvas;
pub mod facts;
pub mod json;
pub mod keys;
pub mod listing;
pub mod marks;
pub mod offsets;
pub mod plan;
mod start;
pub mod terminal;
pub mod testpiece;
