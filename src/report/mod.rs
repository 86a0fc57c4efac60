//! What is told: to people and to other programs.

pub mod facts;
pub mod json;
pub mod plan;
pub mod terminal;
