//! Work on several threads. The results do not depend on which thread finishes first.
//!
//! All callers share one pool, made at its first use. It has one thread per core, at most [`MOST`].
//! If no thread can be started, the caller does the work itself. A panic in the work reaches the caller.

use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::OnceLock;
use std::thread::available_parallelism;

/// More threads than this would idle.
const MOST: usize = 4;
/// Stack of a thread, bytes: the usual size of a main thread, for readers that recurse into nested drawings.
const STACK: usize = 8 << 20;

/// Fewer short items than this are not worth a thread.
const AT_ONCE: usize = 2048;

static POOL: OnceLock<Option<ThreadPool>> = OnceLock::new();

fn pool() -> Option<&'static ThreadPool> {
    let made = || {
        let count = available_parallelism().map_or(1, usize::from).min(MOST);
        ThreadPoolBuilder::new().num_threads(count).stack_size(STACK).build().ok()
    };
    POOL.get_or_init(made).as_ref()
}

/// Runs `work` on a thread of the pool. Nested calls of [`both`] and [`each()`] then need no hand-over.
#[cfg(feature = "report")]
pub fn pooled<A: Send>(work: impl FnOnce() -> A + Send) -> A {
    match pool() {
        Some(pool) => pool.install(work),
        None => work(),
    }
}

/// Runs both and returns both results.
pub fn both<A: Send, B: Send>(a: impl FnOnce() -> A + Send, b: impl FnOnce() -> B + Send) -> (A, B) {
    match pool() {
        Some(pool) => pool.install(|| rayon::join(a, b)),
        None => (a(), b()),
    }
}

/// The results of `work` on each item, in the order of the items.
pub fn each<T: Send, A: Send>(items: Vec<T>, work: impl Fn(T) -> A + Send + Sync) -> Vec<A> {
    match pool() {
        Some(pool) if items.len() > 1 => pool.install(|| items.into_par_iter().map(&work).collect()),
        _ => items.into_iter().map(work).collect(),
    }
}

/// The first result that is not `None`, in the order of the items. Long slices are split over several threads.
pub fn first_of<T: Sync, A: Send>(items: &[T], work: impl Fn(usize, &T) -> Option<A> + Send + Sync) -> Option<A> {
    match pool() {
        Some(pool) if items.len() > AT_ONCE => pool.install(|| {
            let numbered = items.par_iter().enumerate().with_min_len(AT_ONCE / 2);
            numbered.find_map_first(|(i, item)| work(i, item))
        }),
        _ => items.iter().enumerate().find_map(|(i, item)| work(i, item)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_come_back_in_order_and_a_panic_goes_on() {
        assert_eq!(pooled(|| both(|| 3, || "three")), (3, "three"));
        assert_eq!(each((0..50).collect(), |i| i * i), (0..50).map(|i| i * i).collect::<Vec<_>>());
        let many: Vec<usize> = (0..10_000).collect();
        assert_eq!(first_of(&many, |i, n| (i + n > 9_000 && n % 7 == 0).then_some(*n)), Some(4501));
        assert_eq!(first_of(&many, |_, n| (*n > 10_000).then_some(())), None);
        let broken = std::panic::catch_unwind(|| both(|| assert_eq!(1, 2), || ()));
        assert!(broken.is_err());
    }
}
