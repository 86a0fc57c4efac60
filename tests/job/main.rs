//! The job: findings, remedies, tools, panels and steps.
//!
//! Findings:
//! * [`account`]: every difference has its finding, and every finding its difference.
//! * [`agreement`]: findings of one drawing in other forms.
//! * [`ways_out`]: every proposed tool and size, tried.
//! * [`advice`]: every option that a message advises with a value, tried.
//! * [`bounds`]: many outlines, absurd sizes, outlines that nearly touch; memory and time.
//!
//! Parts of the job:
//! * [`kit`]: bushes and cutters of the user, the table of offsets, the test piece.
//! * [`panels`]: panels, faces, turns and set-ups.
//! * [`riding`]: the router's base on the panel.
//! * [`depths`]: depths, passes, projections.
//! * [`start`]: jobs from a part, a template or a recess in hand.
//! * [`shouldered`]: a plug with a shoulder.
//! * [`shapes`]: plain outlines and keys, made and read again.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../common/mod.rs"]
mod common;

mod account;
mod advice;
mod agreement;
mod bounds;
mod depths;
mod kit;
mod panels;
mod riding;
mod shapes;
mod shouldered;
mod start;
mod ways_out;
