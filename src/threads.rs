//! Work on several threads. What comes out does not depend on which of them is sooner.
//!
//! All share one pool, made when it is first asked for, of as many threads as the machine runs at once, [`MOST`] at most.
//! Where no threads are to be had the work is done one after the other. A panic goes on in the caller.

use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::OnceLock;
use std::thread::available_parallelism;

/// More threads than this find nothing to do.
const MOST: usize = 4;
/// As much as a main thread mostly has, bytes: a reader may be some way down in a drawing.
const STACK: usize = 8 << 20;

/// So many short pieces of work are worth a thread.
const AT_ONCE: usize = 2048;

static POOL: OnceLock<Option<ThreadPool>> = OnceLock::new();

fn pool() -> Option<&'static ThreadPool> {
    let made = || {
        let count = available_parallelism().map_or(1, usize::from).min(MOST);
        ThreadPoolBuilder::new().num_threads(count).stack_size(STACK).build().ok()
    };
    POOL.get_or_init(made).as_ref()
}

/// Runs `work` on a thread of the pool, so that what it hands to [`both`] and [`each()`] has no way to go.
#[cfg(feature = "report")]
pub fn pooled<A: Send>(work: impl FnOnce() -> A + Send) -> A {
    match pool() {
        Some(pool) => pool.install(work),
        None => work(),
    }
}

/// What both give.
pub fn both<A: Send, B: Send>(a: impl FnOnce() -> A + Send, b: impl FnOnce() -> B + Send) -> (A, B) {
    match pool() {
        Some(pool) => pool.install(|| rayon::join(a, b)),
        None => (a(), b()),
    }
}

/// What each of the items gives, in their order.
pub fn each<T: Send, A: Send>(items: Vec<T>, work: impl Fn(T) -> A + Send + Sync) -> Vec<A> {
    match pool() {
        Some(pool) if items.len() > 1 => pool.install(|| items.into_par_iter().map(&work).collect()),
        _ => items.into_iter().map(work).collect(),
    }
}

/// The first of what the items give, by their order. Very many are gone through by several threads.
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
