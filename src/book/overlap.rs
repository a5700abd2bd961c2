//! Work on a second thread, in order.
//!
//! Owns: handing things over and back by the hundred, and how many may be under way. Refuses: knowing what they are.

use std::sync::mpsc::sync_channel;
use std::thread;

/// Things handed over at once: enough that handing them over costs nothing beside the work.
const BATCH: usize = 128;

/// Batches under way before their source waits for the second thread; they bound the memory taken.
const MOST_UNDER_WAY: usize = 4;

/// Does `work` on a second thread, while this one takes things from `source` and gives what came of them to `put`, in
/// the order of the source. Where there is less than a batch of them, this thread does it all.
pub(super) fn overlapped<A: Send, B: Send, E>(
    mut source: impl Iterator<Item = Result<A, E>>,
    mut work: impl FnMut(A) -> B + Send,
    mut put: impl FnMut(B) -> Result<(), E>,
) -> Result<(), E> {
    let mut next = || source.by_ref().take(BATCH).collect::<Result<Vec<A>, E>>();
    let mut batch = next()?;
    if batch.len() < BATCH {
        return batch.into_iter().map(work).try_for_each(put);
    }
    thread::scope(|scope| {
        let (give, given) = sync_channel::<Vec<A>>(MOST_UNDER_WAY);
        let (hand_back, handed_back) = sync_channel::<Vec<B>>(MOST_UNDER_WAY);
        scope.spawn(move || {
            for batch in given {
                if hand_back.send(batch.into_iter().map(&mut work).collect()).is_err() {
                    // Whoever waited for it has met with an error.
                    return;
                }
            }
        });
        let mut under_way = 0;
        while !batch.is_empty() {
            if under_way == MOST_UNDER_WAY {
                handed_back.iter().take(1).flatten().try_for_each(&mut put)?;
                under_way -= 1;
            }
            if give.send(batch).is_err() {
                // The second thread has panicked; the scope passes that on.
                return Ok(());
            }
            under_way += 1;
            batch = next()?;
        }
        drop(give);
        handed_back.iter().flatten().try_for_each(put)
    })
}
