//! Limits on the time and memory of a run. Every long call takes a budget and every long loop checks it.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

/// Limits of a run. Cheap to clone; clones share the cancel flag and the stage.
#[derive(Clone, Debug, Default)]
pub struct Budget {
    cancelled: Arc<AtomicBool>,
    deadline: Option<Instant>,
    /// Most edges that one operation may hold at once. This bounds memory: an edge takes about 300 bytes.
    /// Some operations run in parallel, see [`crate::threads`]. `None`: no limit.
    edges: Option<usize>,
    stage: Arc<Mutex<&'static str>>,
}

/// Why a run stopped before it had a verdict.
#[derive(Debug, thiserror::Error, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    #[error("stopped before it was done")]
    Cancelled,
    #[error("the time limit was reached")]
    Deadline,
    #[error("the memory limit was reached: {edges} edges at once")]
    Memory { edges: usize },
}

impl Budget {
    /// No limits. The run can be cancelled all the same.
    #[must_use]
    pub fn unlimited() -> Budget {
        Budget::default()
    }

    #[must_use]
    pub fn with_deadline(mut self, at: Instant) -> Budget {
        self.deadline = Some(at);
        self
    }

    #[must_use]
    pub fn with_edges(mut self, most: usize) -> Budget {
        self.edges = Some(most);
        self
    }

    /// Stops every call that holds a clone of this budget, at its next check.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Sets the current stage, in words for the person who waits: `checking every corner`.
    pub fn enter(&self, stage: &'static str) {
        *self.stage.lock().unwrap_or_else(PoisonError::into_inner) = stage;
    }

    /// The current stage; empty before the first one.
    #[must_use]
    pub fn stage(&self) -> &'static str {
        *self.stage.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// # Errors
    /// [`Stopped`] once cancelled or past the deadline.
    pub fn check(&self) -> Result<(), Stopped> {
        if self.cancelled.load(Ordering::Relaxed) {
            return Err(Stopped::Cancelled);
        }
        match self.deadline {
            Some(d) if Instant::now() >= d => Err(Stopped::Deadline),
            _ => Ok(()),
        }
    }

    /// # Errors
    /// [`Stopped::Memory`] if `edges` exceeds what one operation may hold; else as [`Budget::check`].
    pub fn check_edges(&self, edges: usize) -> Result<(), Stopped> {
        match self.edges {
            Some(most) if edges > most => Err(Stopped::Memory { edges }),
            _ => self.check(),
        }
    }
}
