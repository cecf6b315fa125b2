//! Reading, preparing and delivering side by side, in one order.

use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Mutex, PoisonError};

use super::Stopped;

/// Jobs that wait or are worked on, for each thread that works: each holds a flight.
const JOBS_PER_THREAD: usize = 4;

/// Takes one job; refuses where nobody works any more.
type Take<'a, J> = &'a mut dyn FnMut(J) -> Result<(), Stopped>;
/// Where a job's result is to go.
type Ticket<J, D> = (J, SyncSender<D>);

/// Takes jobs from `read` on a thread of its own, works on them on as many threads as rayon would use, and
/// delivers the results on this thread, in the order of the jobs. Returns what `read` returns.
///
/// Whoever is too fast waits: at most a few jobs a thread are in memory at a time.
///
/// # Errors
/// Only what `deliver` returns; `read` is then told to stop.
pub(super) fn side_by_side<J: Send, D: Send, R: Send, E>(
    read: &(dyn Fn(Take<'_, J>) -> R + Sync),
    work: &(dyn Fn(J) -> D + Sync),
    deliver: &mut dyn FnMut(D) -> Result<(), E>,
) -> Result<R, E> {
    let threads = rayon::current_num_threads();
    let waiting = JOBS_PER_THREAD * threads;
    // The order of the results, and the jobs themselves: whoever works takes the next.
    let (ordered, order) = sync_channel::<Receiver<D>>(waiting);
    let (given, jobs) = sync_channel::<Ticket<J, D>>(waiting);
    let jobs = Mutex::new(jobs);
    std::thread::scope(|scope| {
        let reader = scope.spawn(move || {
            read(&mut |job| {
                let (result, promised) = sync_channel(1);
                ordered.send(promised).map_err(|_| Stopped)?;
                given.send((job, result)).map_err(|_| Stopped)
            })
        });
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let next = jobs.lock().unwrap_or_else(PoisonError::into_inner).recv();
                    let Ok((job, result)) = next else { break };
                    // Nobody waits for it any more where an earlier one could not be delivered.
                    let _ = result.send(work(job));
                }
            });
        }
        // Dropped when this ends, well or not: that stops the reader, and then the others.
        for promised in order {
            // A promise that is broken is a panic of a thread, which is passed on below.
            let Ok(result) = promised.recv() else { break };
            deliver(result)?;
        }
        match reader.join() {
            Ok(read) => Ok(read),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}
