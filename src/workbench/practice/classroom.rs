//! A class at the exercises: names, who sits at which coffee, the results. Scoring and the engine's own play of the same
//! coffee run off the drawing thread.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::seat::{EngineRun, Seat, play};
use super::{Task, Wake};
use crate::practice::class::names;
use crate::practice::{Pack, ResultLine, Score, Sitting};
use crate::workbench::{Adviser, Progress};

/// An exercise and a word: everybody with the same pair meets the same coffee.
type Coffee = (String, String);

/// A class.
pub struct Classroom {
    pack: Pack,
    adviser: Adviser,
    wake: Wake,
    names: Vec<String>,
    seat: Option<Seat>,
    results: Vec<ResultLine>,
    scoring: Option<Task<Result<Score, String>>>,
    said: Option<String>,
    playing: Option<(Task<Result<EngineRun, String>>, Coffee)>,
    engines: BTreeMap<Coffee, Result<EngineRun, String>>,
}

impl Classroom {
    /// An empty classroom. `adviser` plays beside the students; `wake` is called when long work is done.
    #[must_use]
    pub fn new(pack: Pack, adviser: Adviser, wake: Wake) -> Self {
        Self {
            pack,
            adviser,
            wake,
            names: Vec::new(),
            seat: None,
            results: Vec::new(),
            scoring: None,
            said: None,
            playing: None,
            engines: BTreeMap::new(),
        }
    }

    /// Exercises and what they hide.
    #[must_use]
    pub fn pack(&self) -> &Pack {
        &self.pack
    }

    /// Takes other files in place of the known ones; who sits keeps what they sat down to, in the words of the new ones.
    pub fn set_pack(&mut self, pack: Pack) {
        if self.pack != pack {
            self.pack = pack;
            self.engines.clear();
            if let Some(mut seat) = self.seat.take() {
                seat.say_as(&self.pack);
                self.let_engine_play(&seat);
                self.seat = Some(seat);
            }
        }
    }

    /// Names of the class, as typed: one a line.
    pub fn set_names(&mut self, text: &str) {
        self.names = names(text);
    }

    /// Names of the class.
    #[must_use]
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// The first of the class without a result for an exercise and a word; `None` when all have one, or there is no list.
    #[must_use]
    pub fn next_student(&self, exercise: &str, word: &str) -> Option<&str> {
        let word = word.trim();
        let has = |name: &str| {
            self.results.iter().any(|r| r.student == name && r.exercise == exercise && r.word == word)
        };
        self.names.iter().map(String::as_str).find(|name| !has(name))
    }

    /// Who sits here, if somebody does.
    #[must_use]
    pub fn seat(&self) -> Option<&Seat> {
        self.seat.as_ref()
    }

    /// Sits somebody down; whoever sat there leaves without a score. The engine begins to play the same coffee.
    ///
    /// # Errors
    /// One sentence when the exercise names something that is not there.
    pub fn sit_down(&mut self, exercise: &str, word: &str, student: &str) -> Result<(), String> {
        let seat = Seat::take(&self.pack, exercise, word, student)?;
        self.leave();
        self.let_engine_play(&seat);
        self.seat = Some(seat);
        Ok(())
    }

    /// The seat is free again.
    pub fn leave(&mut self) {
        self.seat = None;
        self.scoring = None;
        self.said = None;
    }

    fn let_engine_play(&mut self, seat: &Seat) {
        let coffee = (seat.name.clone(), seat.word.clone());
        let known = self.engines.get(&coffee).is_some_and(Result::is_ok);
        if known || self.playing.as_ref().is_some_and(|(_, playing)| *playing == coffee) {
            return;
        }
        let (sitting, adviser, wake) =
            (seat.sitting().clone(), Arc::clone(&self.adviser), Arc::clone(&self.wake));
        let most = sitting.exercise().most_pulls;
        let work = move |progress: &Progress| {
            play(sitting, &adviser, |done| progress.step(done, most + 1))
                .unwrap_or_else(|| Err(word!("work-practice-classroom-the-engine-was-stopped").to_owned()))
        };
        let task = Task::start(
            word!("work-practice-classroom-the-engine-at-an-exercise"),
            work,
            Box::new(move || wake()),
        );
        self.playing = Some((task, coffee));
    }

    /// Does something at the seat.
    ///
    /// # Errors
    /// What was done said why it could not be; or nobody sits there.
    pub fn at_seat(&mut self, act: impl FnOnce(&mut Seat) -> Result<(), String>) -> Result<(), String> {
        act(self.seat.as_mut().ok_or(word!("work-practice-classroom-nobody-sits-there-yet"))?)
    }

    /// Serves a pull, counted from 1, and begins to score it.
    ///
    /// # Errors
    /// One sentence.
    pub fn serve(&mut self, number: usize) -> Result<(), String> {
        self.at_seat(|seat| seat.serve(number))?;
        self.score();
        Ok(())
    }

    fn score(&mut self) {
        let Some(seat) = self.seat.as_ref().filter(|seat| seat.is_served()) else { return };
        let (sitting, wake): (Sitting, Wake) = (seat.sitting().clone(), Arc::clone(&self.wake));
        let work = move |_progress: &Progress| sitting.score().map_err(|fault| fault.to_string());
        self.said = None;
        self.scoring =
            Some(Task::start(word!("work-practice-classroom-scoring"), work, Box::new(move || wake())));
    }

    /// Whether the served cup is being scored.
    #[must_use]
    pub fn is_scoring(&self) -> bool {
        self.scoring.is_some()
    }

    /// Why the served cup could not be scored.
    #[must_use]
    pub fn said(&self) -> Option<&str> {
        self.said.as_deref()
    }

    /// How the engine fared with the coffee at the seat, once that seat has its score: before, it would give things away.
    #[must_use]
    pub fn engine(&self) -> Option<&Result<EngineRun, String>> {
        let seat = self.seat.as_ref().filter(|seat| seat.score.is_some())?;
        self.engines.get(&(seat.name.clone(), seat.word.clone()))
    }

    /// Whether the engine is still at it.
    #[must_use]
    pub fn engine_plays(&self) -> bool {
        self.playing.is_some()
    }

    /// Results so far, the oldest first.
    #[must_use]
    pub fn results(&self) -> &[ResultLine] {
        &self.results
    }

    /// Whether anything is being worked out off the drawing thread.
    #[must_use]
    pub fn is_busy(&self) -> bool {
        self.scoring.is_some() || self.playing.is_some()
    }

    /// Takes in what long work has finished.
    pub fn poll(&mut self) {
        if let Some(answer) = self.scoring.as_mut().and_then(Task::poll) {
            self.scoring = None;
            match (answer.and_then(|score| score), &mut self.seat) {
                (Ok(score), Some(seat)) => {
                    seat.score = Some(score);
                    self.results.extend(seat.result());
                }
                (Err(sentence), _) => self.said = Some(sentence),
                _ => {}
            }
        }
        if let Some((task, coffee)) = &mut self.playing
            && let Some(answer) = task.poll()
        {
            let coffee = coffee.clone();
            self.playing = None;
            self.engines.insert(coffee, answer.and_then(|run| run));
        }
    }
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;

    fn wait(class: &mut Classroom) {
        let until = Instant::now() + Duration::from_secs(120);
        while class.is_busy() && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(2));
            class.poll();
        }
        assert!(!class.is_busy());
    }

    #[test]
    fn a_class_goes_through_its_list_and_the_engine_is_seen_only_after_the_score() {
        let mut class = Classroom::new(Pack::shipped(), crate::workbench::engine(), Arc::new(|| ()));
        class.set_names("Ines\n  Bo \n\nInes\n");
        assert_eq!(class.names(), ["Ines", "Bo"]);
        assert_eq!(class.next_student("first-pull", "tern"), Some("Ines"));
        assert!(class.serve(1).is_err() && class.sit_down("no such", "", "").is_err());
        class.sit_down("first-pull", "tern", "Ines").unwrap();
        class.at_seat(Seat::pull).unwrap();
        wait(&mut class);
        assert!(class.engine().is_none(), "nothing is given away before the score");
        class.serve(1).unwrap();
        wait(&mut class);
        let first = class.engine().unwrap().clone().unwrap();
        assert_eq!(class.results().len(), 1);
        assert_eq!(class.next_student("first-pull", "tern"), Some("Bo"));
        // The next one meets the same coffee; the engine need not play it again.
        class.sit_down("first-pull", "tern", "Bo").unwrap();
        assert!(!class.engine_plays() && class.engine().is_none());
        class.at_seat(Seat::pull).unwrap();
        class.serve(1).unwrap();
        wait(&mut class);
        assert_eq!(class.engine().unwrap().as_ref(), Ok(&first));
        let [a, b] = class.results() else { panic!("two results") };
        assert_eq!((a.score.clone(), b.student.as_str()), (b.score.clone(), "Bo"));
        assert_eq!(class.next_student("first-pull", "tern"), None);
        assert_eq!(class.next_student("first-pull", "owl"), Some("Ines"));
    }

    #[test]
    fn who_sits_reads_on_in_another_language() {
        let mut class = Classroom::new(Pack::shipped(), crate::workbench::engine(), Arc::new(|| ()));
        class.sit_down("first-pull", "tern", "Ines").unwrap();
        class.at_seat(|seat| seat.hint().then_some(()).ok_or_else(String::new)).unwrap();
        class.at_seat(Seat::pull).unwrap();
        let before = class.seat().unwrap().clone();
        let text: String =
            crate::practice::sentences().iter().map(|(id, s)| format!("{id} = {s}\n")).collect();
        crate::words::put_for_thread(Some(crate::words::made_up_of(&text)));
        let said = Pack::shipped().said();
        crate::words::put_for_thread(None);
        class.set_pack(said);
        let seat = class.seat().unwrap();
        let (exercise, hidden) = (seat.sitting().exercise(), seat.sitting().hidden());
        for words in
            [&exercise.task, &exercise.answer, &seat.hints[0], &hidden.coffee.name, &hidden.palate.name]
        {
            assert!(words.starts_with('⟦'), "{words}");
        }
        assert_eq!(seat.hints.len(), 1);
        assert_eq!(seat.sitting().pulled(), before.sitting().pulled());
        assert_eq!(hidden.coffee.flow, before.sitting().hidden().coffee.flow);
        // A file that says something else in its numbers is another exercise.
        let mut other = Pack::shipped();
        other.exercises.get_mut("first-pull").unwrap().most_pulls += 1;
        class.set_pack(other);
        assert!(class.seat().unwrap().sitting().exercise().task.starts_with('⟦'));
        wait(&mut class);
    }
}
