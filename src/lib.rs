//! Template openings for inlaying wood in wood, worked out from a drawing and proved before they are written.
//!
//! The modules follow the flow. A lower module never imports a higher one.
//!
//! * [`geom`]: plane geometry, used by all the others.
//! * [`drawing`]: reads a file into outlines.
//! * `template`: turns outlines and tools into pieces and their openings.
//! * `panel`: lays the openings out on panels, and lists the steps of the work.
//! * `proof`: simulates the routing.
//! * `check`: lists what will not come out as drawn.
//! * `job`: the settings of a job, and the facts of its run.
//! * `write` and `report`: make the drawing files and the text.
//! * `app`: runs these steps in order.

#[cfg(feature = "report")]
pub mod app;
pub mod budget;
pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
pub mod drawing;
pub mod geom;
#[cfg(feature = "report")]
pub mod job;
pub mod kit;
mod names;
pub mod panel;
pub mod proof;
#[cfg(feature = "report")]
pub mod report;
pub mod schema;
pub mod shape;
pub mod template;
pub mod text;
mod threads;
pub mod tolerance;
pub mod units;
pub mod write;
