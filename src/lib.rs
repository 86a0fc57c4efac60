//! Template openings for letting timber into timber: read, checked, worked out, proved and written.
//!
//! The flow, each step a module, lower ones never importing higher ones: [`drawing`] reads a file to outlines,
//! `template` makes openings of outlines and tools, `proof` routes them on paper, `check` tells what will not
//! come out, `write` and `report` make files and words, `app` strings them together. [`geom`] is under all of it.

pub mod budget;
pub mod drawing;
pub mod geom;
pub mod report;
pub mod template;
pub mod text;
pub mod tolerance;
pub mod units;
pub mod write;
