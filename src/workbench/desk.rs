//! Work off the drawing thread: one question at a time, the newest wins, the last answer stays until a newer one is
//! ready.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::Duration;

use crate::units::Manner;

type Asked<Q> = (u64, Manner, Q);
type Wake = Box<dyn Fn() + Send>;

/// A worker thread that turns questions into answers.
pub struct Desk<Q: Send + 'static, A: Send + 'static> {
    questions: Option<Sender<Asked<Q>>>,
    answers: Receiver<(u64, Result<A, String>)>,
    asked: u64,
    answered: u64,
    latest: Option<Result<A, String>>,
}

impl<Q: Send + 'static, A: Send + 'static> Desk<Q, A> {
    /// Starts the worker. `name` names its thread, `answer` does the work, `wake` is called after each answer (a
    /// window asks for a redraw there). When no thread can be had, every question is answered by an error.
    #[must_use]
    pub fn start(name: &str, answer: impl Fn(Q) -> A + Send + 'static, wake: Wake) -> Self {
        let (questions, inbox) = channel::<Asked<Q>>();
        let (outbox, answers) = channel();
        let work = move || {
            while let Ok(mut newest) = inbox.recv() {
                while let Ok(newer) = inbox.try_recv() {
                    newest = newer;
                }
                let (number, manner, question) = newest;
                let result = manner.within(|| {
                    catch_unwind(AssertUnwindSafe(|| answer(question))).map_err(|_panic| {
                        word!("work-desk-the-calculation-failed-the-notebook-is").to_owned()
                    })
                });
                if outbox.send((number, result)).is_err() {
                    return;
                }
                wake();
            }
        };
        let spawned = thread::Builder::new().name(name.to_owned()).spawn(work).is_ok();
        Self { questions: spawned.then_some(questions), answers, asked: 0, answered: 0, latest: None }
    }

    /// Asks, in the language in use; an older question that is still waiting is dropped.
    pub fn ask(&mut self, question: Q) {
        self.asked += 1;
        let sent =
            self.questions.as_ref().is_some_and(|q| q.send((self.asked, Manner::here(), question)).is_ok());
        if !sent {
            self.answered = self.asked;
            self.latest = Some(Err(word!("work-desk-no-worker-thread-could-be-started").to_owned()));
        }
    }

    /// Takes in what the worker has finished. True when a newer answer arrived.
    pub fn poll(&mut self) -> bool {
        let mut fresh = false;
        while let Ok((number, result)) = self.answers.try_recv() {
            if number > self.answered {
                self.answered = number;
                self.latest = Some(result);
                fresh = true;
            }
        }
        fresh
    }

    /// Whether a question is still open.
    #[must_use]
    pub fn is_busy(&self) -> bool {
        self.answered < self.asked
    }

    /// The last answer, which may be to an older question while [`Desk::is_busy`].
    #[must_use]
    pub fn latest(&self) -> Option<&Result<A, String>> {
        self.latest.as_ref()
    }

    /// Takes the last answer out.
    pub fn take(&mut self) -> Option<Result<A, String>> {
        self.latest.take()
    }

    /// Forgets the last answer.
    pub fn clear(&mut self) {
        self.latest = None;
    }

    /// Waits for the open question, at most `limit`; for commands and tests, never for a window.
    pub fn wait(&mut self, limit: Duration) -> bool {
        while self.is_busy() {
            match self.answers.recv_timeout(limit) {
                Ok((number, result)) => {
                    self.answered = self.answered.max(number);
                    self.latest = Some(result);
                }
                Err(_late) => return false,
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_question_is_answered_and_a_panic_is_survived() {
        let work = |n: i32| {
            assert!(n != 13, "unlucky");
            n * 2
        };
        let mut desk = Desk::start("test desk", work, Box::new(|| ()));
        for n in 0..5 {
            desk.ask(n);
        }
        assert!(desk.wait(Duration::from_secs(10)));
        assert_eq!(desk.latest(), Some(&Ok(8)));
        desk.ask(13);
        assert!(desk.wait(Duration::from_secs(10)));
        assert!(matches!(desk.latest(), Some(Err(_))));
        desk.ask(7);
        assert!(desk.wait(Duration::from_secs(10)));
        assert_eq!(desk.latest(), Some(&Ok(14)));
    }
}
