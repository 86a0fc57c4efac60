//! What is told: to people and to other programs.

mod asides;
mod bench;
mod canvas;
pub mod facts;
pub mod json;
pub mod keys;
pub mod listing;
pub mod marks;
pub mod offsets;
pub mod plan;
mod registration;
pub mod terminal;
pub mod testpiece;
mod work;
