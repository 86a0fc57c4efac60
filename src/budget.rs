//! How long a call may take and how much it may use: passed through every long call, asked in every long loop.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

/// Limits of a run. Cheap to clone; clones share the cancel flag and the stage.
#[derive(Clone, Debug, Default)]
pub struct Budget {
    cancelled: Arc<AtomicBool>,
    deadline: Option<Instant>,
    /// Most edges that one operation may hold at once: the measure of memory (about 300 bytes each; some operations run side
    /// by side, see [`crate::threads`]). `None`: no limit.
    edges: Option<usize>,
    stage: Arc<Mutex<&'static str>>,
}

/// The run was stopped before there was a verdict.
#[derive(Debug, thiserror::Error, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    #[error("stopped before it was done")]
    Cancelled,
    #[error("it took longer than the time that was set")]
    Deadline,
    #[error("it needs more memory than was set: {edges} edges at once")]
    Memory { edges: usize },
}

impl Budget {
    /// No limits; can still be cancelled.
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

    /// Stops every call that holds a clone of this budget, at its next look.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// What the run is about now, in words for whoever waits: `checking every corner`.
    pub fn enter(&self, stage: &'static str) {
        *self.stage.lock().unwrap_or_else(PoisonError::into_inner) = stage;
    }

    /// What the run is about; nothing before the first stage.
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
    /// [`Stopped::Memory`] where `edges` is more than one operation may hold; else as [`Budget::check`].
    pub fn check_edges(&self, edges: usize) -> Result<(), Stopped> {
        match self.edges {
            Some(most) if edges > most => Err(Stopped::Memory { edges }),
            _ => self.check(),
        }
    }
}
