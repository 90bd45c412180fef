//! Long work with progress, which can be stopped.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

/// How far a task has come, shared between the one who works and the one who watches.
#[derive(Debug, Default)]
pub struct Progress {
    done: AtomicUsize,
    total: AtomicUsize,
    stop: AtomicBool,
}

impl Progress {
    /// Notes how far the work has come; `false` when it is to stop.
    pub fn step(&self, done: usize, total: usize) -> bool {
        self.done.store(done, Ordering::Relaxed);
        self.total.store(total, Ordering::Relaxed);
        !self.stop.load(Ordering::Relaxed)
    }

    /// Part done, 0 to 1; `None` while it is not known.
    #[must_use]
    pub fn part(&self) -> Option<f32> {
        let (done, total) = (self.done.load(Ordering::Relaxed), self.total.load(Ordering::Relaxed));
        (total > 0).then(|| (done as f32 / total as f32).clamp(0.0, 1.0))
    }
}

/// Work on a thread of its own. Dropping it asks the work to stop and does not wait.
pub struct Task<T> {
    name: String,
    progress: Arc<Progress>,
    answer: Receiver<Result<T, String>>,
}

impl<T: Send + 'static> Task<T> {
    /// Starts the work. `name` is what a person would call it ("Making a backup"); `wake` is called when it is done.
    #[must_use]
    pub fn start(
        name: &str,
        work: impl FnOnce(&Progress) -> T + Send + 'static,
        wake: Box<dyn Fn() + Send>,
    ) -> Self {
        let progress = Arc::new(Progress::default());
        let (tell, answer) = channel();
        let (theirs, tell_failure) = (progress.clone(), tell.clone());
        let manner = crate::units::Manner::here();
        let run = move || {
            let result = manner.within(|| {
                catch_unwind(AssertUnwindSafe(|| work(&theirs)))
                    .map_err(|_panic| word!("work-task-it-failed-within-the-notebook-is").to_owned())
            });
            // Nobody listening any more is fine.
            let _heard = tell.send(result);
            wake();
        };
        if thread::Builder::new().name(name.to_owned()).spawn(run).is_err() {
            let _heard =
                tell_failure.send(Err(word!("work-task-no-thread-could-be-started-close").to_owned()));
        }
        Self { name: name.to_owned(), progress, answer }
    }

    /// What a person would call it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Part done, 0 to 1, where known.
    #[must_use]
    pub fn part(&self) -> Option<f32> {
        self.progress.part()
    }

    /// Asks the work to stop at the next safe place.
    pub fn stop(&self) {
        self.progress.stop.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to stop.
    #[must_use]
    pub fn is_stopping(&self) -> bool {
        self.progress.stop.load(Ordering::Relaxed)
    }

    /// The answer, once, when it is there.
    pub fn poll(&mut self) -> Option<Result<T, String>> {
        self.answer.try_recv().ok()
    }

    /// Waits for the answer, at most `limit`; for commands, tests and the end of the program.
    pub fn wait(&mut self, limit: Duration) -> Option<Result<T, String>> {
        self.answer.recv_timeout(limit).ok()
    }
}

impl<T> Drop for Task<T> {
    fn drop(&mut self) {
        self.progress.stop.store(true, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_is_watched_stopped_and_survives_a_panic() {
        let mut task = Task::start(
            "Counting",
            |progress| {
                let mut n = 0;
                while progress.step(n.min(10), 20) {
                    n += 1;
                    thread::sleep(Duration::from_millis(1));
                }
                n
            },
            Box::new(|| ()),
        );
        while task.part() != Some(0.5) {
            thread::sleep(Duration::from_millis(1));
        }
        task.stop();
        assert!(matches!(task.wait(Duration::from_secs(10)), Some(Ok(n)) if n >= 10));
        let mut bad: Task<()> = Task::start("Failing", |_| panic!("on purpose"), Box::new(|| ()));
        assert!(matches!(bad.wait(Duration::from_secs(10)), Some(Err(_))));
    }
}
