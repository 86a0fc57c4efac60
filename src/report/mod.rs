//! What is told: to people and to other programs.

mod canvas;
pub mod facts;
pub mod json;
pub mod listing;
pub mod marks;
pub mod plan;
pub mod terminal;
