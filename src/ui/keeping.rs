//! The window's part in keeping the notebook: hears what happens to its folder, takes in long work that is done, lets
//! idle moments be used, and says who else has it open.

use std::path::PathBuf;
use std::time::Duration;

use eframe::egui::{Context, Ui};

use super::app::App;
use super::dialogs::Dialog;
use super::theme::scale;
use super::toasts::Toasts;
use super::widgets::{Button, Caution, caution_line};
use crate::workbench::{Finished, Watcher};

/// Seconds without an edit after which files are brought up to date.
const IDLE_S: f64 = 2.0;

/// Seconds between tries to write what the disk refused.
const RETRY_S: f64 = 10.0;

/// What the window remembers of it between frames.
#[derive(Default)]
pub struct Keeping {
    /// Which folder is watched, whether as a reader, and by whom.
    watcher: Option<(PathBuf, bool, Watcher)>,
    /// Revision of the notebook, and since when it has stood.
    stood: Option<(u64, f64)>,
    may_take_over: Option<(u64, bool)>,
    tried: Option<f64>,
    every: Option<Duration>,
}

impl Keeping {
    /// For tests: looks at the folder this often.
    pub fn look_every(&mut self, every: Duration) {
        self.every = Some(every);
        self.watcher = None;
    }
}

impl App {
    /// For tests: looks at the notebook's folder this often.
    pub fn look_every(&mut self, every: Duration) {
        self.keeping.look_every(every);
    }

    /// Called in every pass, also while the window is hidden.
    pub(super) fn keep_watch(&mut self, ctx: &Context) {
        self.start_watching(ctx);
        let now = self.now();
        let waker = ctx.clone();
        self.bench.back_up_if_due(now, Box::new(move || waker.request_repaint()));
        let news = self.keeping.watcher.as_mut().and_then(|(_, _, watcher)| watcher.poll());
        if let Some(outside) = news {
            if self.bench.heard(&outside, now) {
                self.sparks.clear();
                self.stay_on_a_bag();
            }
            self.keeping.may_take_over = None;
        }
        if let Some(outcome) = self.bench.poll_job(now) {
            self.sparks.clear();
            self.stay_on_a_bag();
            self.finished(outcome);
        }
        if self.bench.job().is_some() {
            ctx.request_repaint_after(Duration::from_millis(100));
        } else {
            self.use_idle_moment(ctx);
        }
    }

    fn start_watching(&mut self, ctx: &Context) {
        let Some(place) = self.bench.place() else { return };
        let reader = self.bench.read_only().is_some();
        let known = self.keeping.watcher.as_ref().map(|(place, reader, _)| (place, *reader));
        if known == Some((&place, reader)) {
            return;
        }
        let every = self.keeping.every.unwrap_or(Watcher::USUAL);
        let waker = ctx.clone();
        if let Some(disk) = self.bench.disk() {
            let wake = Box::new(move || waker.request_repaint());
            let watcher = Watcher::start(disk, place.clone(), reader, every, wake);
            self.keeping.watcher = Some((place, reader, watcher));
        }
    }

    fn use_idle_moment(&mut self, ctx: &Context) {
        let (revision, now_s) = (self.bench.revision(), ctx.input(|input| input.time));
        let since = match self.keeping.stood {
            Some((known, since)) if known == revision => since,
            _ => {
                self.keeping.stood = Some((revision, now_s));
                now_s
            }
        };
        if self.bench.has_unwritten() {
            let tried = *self.keeping.tried.get_or_insert(now_s);
            if now_s - tried >= RETRY_S {
                self.keeping.tried = Some(now_s);
                let now = self.now();
                // When it is refused again, the notice stands as it did.
                let _again = self.bench.retry_writing(now);
            }
            ctx.request_repaint_after(Duration::from_secs_f64(RETRY_S));
            return;
        }
        self.keeping.tried = None;
        if !self.bench.wants_tidying() {
            return;
        }
        if now_s - since >= IDLE_S {
            self.bench.tidy();
            // A file that cannot be written now is tried again after the next edit, not in every frame.
            if self.bench.wants_tidying() {
                self.keeping.stood = Some((revision, now_s + 28.0));
                ctx.request_repaint_after(Duration::from_secs(30));
            }
        } else {
            ctx.request_repaint_after(Duration::from_secs_f64((IDLE_S - (now_s - since)).max(0.05)));
        }
    }

    fn stay_on_a_bag(&mut self) {
        if self.bag().is_none() {
            self.page.go_to(crate::workbench::view::shelf::first_bag(self.bench.notebook()));
        }
    }

    /// Long work is done: the open sheet shows it, or a word at the foot.
    fn finished(&mut self, outcome: Result<Finished, String>) {
        if let Ok(Finished::Elsewhere(place)) = &outcome {
            self.place = place.display().to_string();
        }
        let name = match &outcome {
            Ok(Finished::Taken | Finished::WentBack) => self.bench.undo_name().map(str::to_owned),
            _ => None,
        };
        if let Some(name) = name {
            let mut toasts: Toasts = std::mem::take(&mut self.toasts);
            toasts.done(&mut self.bench, &name);
            self.toasts = toasts;
        }
        if let Some(Dialog::Keeping(form)) = &mut self.dialog {
            form.hear(outcome);
            return;
        }
        match outcome {
            Ok(Finished::Passed { file, size }) => {
                self.say(say!("keeping-written-to", file = file.display(), size = size))
            }
            Ok(Finished::Unpacked(folder)) => {
                self.say(say!("keeping-unpacked-into", folder = folder.display()))
            }
            Ok(Finished::Tabled { folder, left_out }) => {
                self.say(say!("keeping-tables-written-into", folder = folder.display()));
                if let Some(sentence) = left_out {
                    self.say_problem(sentence);
                }
            }
            Ok(Finished::BackedUp(_)) => self.say(word!("keeping-a-backup-was-made")),
            Ok(Finished::Elsewhere(folder)) => {
                self.say(say!("keeping-the-notebook-now-lies-in", folder = folder.display()))
            }
            Ok(Finished::Seen { .. } | Finished::Taken | Finished::WentBack) => {}
            Err(sentence) => self.say_problem(sentence),
        }
    }

    /// Says who has the notebook, and offers to take it over where that is up to the person.
    pub(super) fn read_only_ui(&mut self, ui: &mut Ui) {
        let Some(why) = self.bench.read_only().map(str::to_owned) else { return };
        let revision = self.bench.revision();
        let may = match self.keeping.may_take_over {
            Some((known, may)) if known == revision => may,
            _ => {
                let may = self.bench.may_take_over();
                self.keeping.may_take_over = Some((revision, may));
                may
            }
        };
        let waits = !may && self.bench.is_held();
        let wait = if waits { word!("keeping-it-is-handed-over-as-soon") } else { "" };
        caution_line(
            ui,
            Caution::Harm,
            &say!("keeping-reading-only-nothing-can-be-changed", why = why, wait = wait),
        );
        if may {
            ui.horizontal(|ui| {
                if ui.add(Button::new(word!("keeping-take-it-over")).height(36.0)).clicked() {
                    let now = self.now();
                    self.bench.reopen(now, true);
                    self.keeping.may_take_over = None;
                    self.stay_on_a_bag();
                }
                super::widgets::small(ui, word!("keeping-only-when-nobody-has-it-open"));
            });
        }
        ui.add_space(scale::GAP_1);
    }

    /// An action's name, with what it would undo or do again.
    pub(super) fn action_name(&self, row: &super::actions::Row) -> String {
        use super::actions::Action;
        let of = match row.action {
            Action::Undo => self.bench.undo_name(),
            Action::Redo => self.bench.redo_name(),
            _ => None,
        };
        of.map_or_else(|| row.name.word().to_owned(), |what| format!("{}: {what}", row.name.word()))
    }
}
