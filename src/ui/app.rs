//! The window's application: takes in answers and keys, draws the pages, carries out what was asked.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;
use std::time::Duration;

use eframe::egui::gui_zoom::kb_shortcuts::{ZOOM_IN, ZOOM_IN_SECONDARY, ZOOM_OUT, ZOOM_RESET};
use eframe::egui::{self, Context, Ui};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::actions;
use super::cache::Kept;
use super::dialogs::Dialog;
use super::put_away::PutAway;
use super::state::{Entry, EntryField, Mode, PageState};
use super::theme::{self, Look};
use super::toasts::Toasts;
use crate::domain::{Bag, BagId, Gear, Preferences, Pull, PullId, Station, ThemeChoice, WayOfLiving};
use crate::units::{self, UnitPreferences};
use crate::workbench::clock::ShotClock;
use crate::workbench::draft::{AskedOnce, PullDraft};
use crate::workbench::view::advice::{Advice, HeroView, hero};
use crate::workbench::view::keeper::with_keeper;
use crate::workbench::view::ledger::{LedgerRow, rows};
use crate::workbench::view::page::{decide_from, fallback_plan};
use crate::workbench::view::shelf::{ShelfGroup, ShelfItem, first_bag, shelf, tabs};
use crate::workbench::view::spark::{Spark, spark};
use crate::workbench::view::strips::StripsView;
use crate::workbench::{Adviser, Answer, Command, Desk, Notice, NoticeLevel, Question, Standing, Workbench};

/// A notebook as it was opened.
pub struct Opened {
    /// The notebook.
    pub bench: Workbench,
    /// Where it lies, as shown in the settings.
    pub place: String,
    /// What was found wrong on opening: one sentence each.
    pub problems: Vec<String>,
}

/// Makes an empty notebook of the person's own in place of the demo.
pub type BeginOwn = Box<dyn FnMut() -> Result<Opened, String>>;

/// What the window is started with.
pub struct Options {
    /// The notebook.
    pub opened: Opened,
    /// Who answers questions about the next pull.
    pub adviser: Adviser,
    /// How to begin an empty notebook; `None` where that cannot be done.
    pub begin_own: Option<BeginOwn>,
    /// Tells the time.
    pub now: Box<dyn Fn() -> Timestamp>,
    /// The person's time zone.
    pub zone: TimeZone,
    /// Measures frames, where asked for.
    pub timing: Option<super::timing::Timing>,
}

#[derive(Default)]
pub(super) struct Caches {
    shelf: Kept<(u64, Date, String), Vec<ShelfGroup>>,
    tabs: Kept<(u64, Date), Vec<ShelfItem>>,
    rows: Kept<RowsKey, Vec<LedgerRow>>,
    hero: Kept<(BagId, u64, u64, usize), Option<HeroView>>,
    pub(super) strips: Kept<super::page::strips::StripsKey, StripsView>,
    pub(super) lines: Kept<super::page::strips::StripsKey, Vec<super::widgets::Strip>>,
    pub(super) tally: Kept<(u64, Date), crate::workbench::view::care::Tally>,
}

/// How far one press of a key for the size changes it.
const ZOOM_STEP: f64 = 0.1;

/// Seconds for which asking to close once more counts.
const ASKED_FOR_S: f64 = 20.0;

type RowsKey =
    (BagId, u64, crate::workbench::view::ledger::LedgerFilter, crate::workbench::view::ledger::LedgerOrder);

/// The window.
pub struct App {
    pub(super) bench: Workbench,
    pub(super) page: PageState,
    pub(super) dialog: Option<Dialog>,
    /// Which kind of dialog was drawn last, and how many were opened so far.
    pub(super) dialog_shown: (Option<std::mem::Discriminant<Dialog>>, u64),
    pub(super) toasts: Toasts,
    pub(super) caches: Caches,
    pub(super) sparks: BTreeMap<PullId, Option<Spark>>,
    pub(super) wanted_sparks: Vec<(BagId, PullId)>,
    pub(super) problems: Vec<String>,
    pub(super) place: String,
    /// The folder with the languages that a person added.
    pub(super) words: Option<std::path::PathBuf>,
    /// Why the remembered language could not be read when the window opened.
    pub(super) unspoken: Option<String>,
    pub(super) begin_own: Option<BeginOwn>,
    pub(super) zone: TimeZone,
    /// Columns of trace files as someone corrected them.
    pub(super) remembered: crate::exchange::table::Remembered,
    pub(super) standing: Standing,
    pub(super) live: Option<crate::workbench::view::live::LiveSession>,
    /// The visit of the entry row that was opened from a caught pull.
    pub(super) live_entry: Option<u64>,
    pub(super) live_zero: Option<(usize, f64)>,
    now: Box<dyn Fn() -> Timestamp>,
    desk: Desk<Question, Answer>,
    asked: Option<(BagId, u64)>,
    question: Option<Question>,
    pub(super) put_away: Vec<PutAway>,
    /// When it was last said that closing would lose something, on the window's clock.
    leaving: Option<f64>,
    frames: u64,
    timing: Option<super::timing::Timing>,
    pub(super) keeping: super::keeping::Keeping,
    pub(super) practice: super::practice::PracticePage,
    pub(super) adviser: Adviser,
    pub(super) minds: super::believing::Minds,
    pub(super) opening: super::opening::OpeningPage,
}

impl App {
    /// Makes the application; `ctx` is woken when a worker has finished.
    #[must_use]
    pub fn new(ctx: &Context, options: Options) -> Self {
        let Options { opened, adviser, begin_own, now, zone, timing } = options;
        let kept_adviser = Arc::clone(&adviser);
        let waker = ctx.clone();
        let work = move |question: Question| Answer {
            bag: question.bag.id,
            revision: question.revision,
            advice: adviser(&question),
        };
        let desk = Desk::start("advice", work, Box::new(move || waker.request_repaint()));
        let mut app = Self {
            bench: opened.bench,
            page: PageState::default(),
            dialog: None,
            dialog_shown: (None, 0),
            toasts: Toasts::default(),
            caches: Caches::default(),
            sparks: BTreeMap::new(),
            wanted_sparks: Vec::new(),
            problems: opened.problems,
            place: opened.place,
            words: None,
            unspoken: None,
            begin_own,
            zone,
            remembered: crate::exchange::table::Remembered::default(),
            standing: Standing::default(),
            live: None,
            live_entry: None,
            live_zero: None,
            now,
            desk,
            asked: None,
            question: None,
            put_away: Vec::new(),
            leaving: None,
            frames: 0,
            timing,
            keeping: super::keeping::Keeping::default(),
            practice: super::practice::PracticePage::default(),
            adviser: kept_adviser,
            minds: super::believing::Minds::new(ctx),
            opening: super::opening::OpeningPage::new(ctx),
        };
        app.page.go_to(first_bag(app.bench.notebook()));
        // Before the first frame, which would otherwise be drawn in the library's own style.
        theme::apply(ctx, app.look(ctx));
        app
    }

    /// Offers the languages of a folder in the settings; `fault` is why the remembered one could not be read.
    #[must_use]
    pub fn speaking(mut self, folder: Option<std::path::PathBuf>, fault: Option<String>) -> Self {
        self.words = folder;
        self.unspoken = fault;
        self
    }

    /// Keeps corrected columns of trace files and what of the opening outlasts the window in a folder of settings.
    #[must_use]
    pub fn remembering(mut self, settings: &std::path::Path) -> Self {
        self.remembered = crate::exchange::table::Remembered::open(settings.join("trace-columns.ron"));
        self.standing = Standing::open(settings.join("opening.ron"));
        self
    }

    /// Tells why a setting could not be kept.
    pub(super) fn tell_refused(&mut self, kept: Result<(), String>) {
        if let Err(why) = kept {
            self.say_problem(say!("app-it-stays-until-the-window-is-closed", why = why));
        }
    }

    /// Puts another notebook in place of the one open.
    pub(super) fn reopen(&mut self, opened: Opened) {
        self.bench = opened.bench;
        self.place = opened.place;
        self.problems = opened.problems;
        self.keeping = super::keeping::Keeping::default();
        self.page = PageState::default();
        self.practice = super::practice::PracticePage::default();
        self.opening.forget();
        self.caches = Caches::default();
        self.sparks.clear();
        self.wanted_sparks.clear();
        self.asked = None;
        self.question = None;
        self.put_away.clear();
        self.desk.clear();
        self.page.go_to(first_bag(self.bench.notebook()));
    }

    /// Works out again whatever was said in the language before; the settings call it, and tests.
    pub fn say_again(&mut self, ctx: &Context) {
        self.caches = Caches::default();
        self.asked = None;
        self.question = None;
        self.desk.clear();
        self.minds.forget();
        self.opening.say_again();
        self.say_practice_again(ctx);
    }

    /// The open notebook; for tests.
    #[must_use]
    pub fn bench(&self) -> &Workbench {
        &self.bench
    }

    /// The open notebook, to be changed; for tests.
    pub fn bench_mut(&mut self) -> &mut Workbench {
        &mut self.bench
    }

    /// Whether a question about the next pull is still open; for tests.
    #[must_use]
    pub fn is_thinking(&self) -> bool {
        self.desk.is_busy()
            || self.practice.is_busy()
            || self.minds.is_busy()
            || self.opening.is_busy()
            || self.dialog.as_ref().is_some_and(Dialog::is_busy)
    }

    /// Frames drawn; for tests and measurements.
    #[must_use]
    pub fn frames(&self) -> u64 {
        self.frames
    }

    pub(super) fn now(&self) -> Timestamp {
        (self.now)()
    }

    pub(super) fn today(&self) -> Date {
        self.now().to_zoned_datetime(self.zone.clone()).date()
    }

    pub(super) fn preferences(&self) -> Preferences {
        self.bench.notebook().preferences
    }

    pub(super) fn units(&self) -> UnitPreferences {
        self.preferences().units
    }

    pub(super) fn way(&self) -> WayOfLiving {
        self.preferences().way
    }

    pub(super) fn bag(&self) -> Option<&Bag> {
        self.bench.notebook().bag(self.page.bag?).filter(|bag| bag.stamp.is_live())
    }

    pub(super) fn station(&self) -> Option<&Station> {
        self.bench.notebook().station(self.bag()?.station)
    }

    pub(super) fn gear(&self) -> Option<Gear> {
        self.station().map(|station| station.gear)
    }

    /// The pull looked at: the selected one, else the newest.
    pub(super) fn pull(&self) -> Option<&Pull> {
        let bag = self.bag()?;
        self.page
            .selected
            .and_then(|id| bag.live_pulls().find(|pull| pull.id == id))
            .or_else(|| bag.live_pulls().next_back())
    }

    pub(super) fn shelf_view(&mut self) -> Rc<Vec<ShelfGroup>> {
        let key = (self.bench.revision(), self.today(), self.page.search.clone());
        let (notebook, today, search) = (self.bench.notebook(), self.today(), self.page.search.clone());
        self.caches.shelf.get(key, || shelf(notebook, today, &search))
    }

    pub(super) fn tabs_view(&mut self) -> Rc<Vec<ShelfItem>> {
        let (notebook, today) = (self.bench.notebook(), self.today());
        self.caches.tabs.get((self.bench.revision(), today), || tabs(notebook, today))
    }

    pub(super) fn rows_view(&mut self) -> Rc<Vec<LedgerRow>> {
        let (Some(id), Some(gear)) = (self.page.bag, self.gear()) else { return Rc::default() };
        let key = (id, self.bench.revision(), self.page.filter, self.page.order);
        let (units, zone) = (self.units(), self.zone.clone());
        let (filter, order) = (self.page.filter, self.page.order);
        let notebook = self.bench.notebook();
        self.caches.rows.get(key, || {
            notebook.bag(id).map(|bag| rows(bag, &gear, filter, order, &units, &zone)).unwrap_or_default()
        })
    }

    /// The advice for the page as it stands now; `None` while it is being worked out.
    pub(super) fn advice(&self) -> Option<&Advice> {
        let bag = self.page.bag?;
        // What was asked last must still be what there is to ask.
        let question = self.question.as_ref().filter(|_| self.asked == Some((bag, self.bench.revision())))?;
        match self.desk.latest() {
            Some(Ok(answer)) if answer.bag == bag && answer.revision == question.revision => {
                Some(&answer.advice)
            }
            _ => None,
        }
    }

    /// The question about a bag as it stands.
    pub(super) fn question_of(&mut self, bag: BagId) -> Option<Question> {
        let today = self.today();
        self.bench.question(bag, today, &self.zone)
    }

    /// The question that the advice answers.
    pub(super) fn question(&self) -> Option<Question> {
        self.question.clone().filter(|_| self.advice().is_some())
    }

    /// Why there is no advice, if the engine failed.
    pub(super) fn advice_fault(&self) -> Option<&str> {
        match self.desk.latest() {
            Some(Err(sentence)) if !self.desk.is_busy() => Some(sentence),
            _ => None,
        }
    }

    pub(super) fn hero_view(&mut self) -> Rc<Option<HeroView>> {
        let (Some(id), Some(gear)) = (self.page.bag, self.gear()) else { return Rc::new(None) };
        let answered = u64::from(self.advice().is_some());
        let key = (id, self.bench.revision(), answered, self.page.idea);
        let (units, idea) = (self.units(), self.page.idea);
        let made = self.advice().zip(self.bag()).map(|(advice, bag)| {
            let pulls = bag.live_pulls().count();
            match idea.checked_sub(1) {
                None => with_keeper(hero(advice, &gear, pulls, &units), bag, &gear),
                Some(at) => crate::workbench::view::advice::idea(advice, at, &gear, pulls, &units),
            }
        });
        self.caches.hero.get(key, || made)
    }

    /// What a pull is decided from while the advice is covered, and to the end of one that was begun then.
    pub(super) fn decided_from(&self) -> Option<crate::domain::Recipe> {
        let (bag, gear) = (self.bag()?, self.gear()?);
        (self.is_covered() || self.page.own_clock.contains(&bag.id)).then(|| decide_from(bag, &gear))
    }

    /// The recipe that a pull is planned with now.
    pub(super) fn plan(&mut self) -> Option<crate::domain::Recipe> {
        if let Some(from) = self.decided_from() {
            return Some(from);
        }
        let gear = self.gear()?;
        match self.hero_view().as_ref() {
            Some(hero) => Some(hero.recipe),
            None => self.bag().map(|bag| fallback_plan(bag, &gear)),
        }
    }

    /// Carries out an edit and says so; a refusal becomes a notice.
    pub(super) fn edit(&mut self, command: Command) -> bool {
        let now = self.now();
        match self.bench.apply(command, now) {
            Ok(name) => {
                self.toasts.done(&mut self.bench, &name);
                true
            }
            Err(refusal) => {
                self.say_problem(refusal.to_string());
                false
            }
        }
    }

    /// Carries out an edit without a word: it can be seen.
    pub(super) fn edit_quietly(&mut self, command: Command) {
        let now = self.now();
        if let Err(refusal) = self.bench.apply(command, now) {
            self.say_problem(refusal.to_string());
        }
    }

    pub(super) fn say(&mut self, text: impl Into<String>) {
        let notices = self.bench.notices_mut();
        notices.drop_passing();
        notices.add(Notice::info(crate::units::capital(&text.into())));
    }

    pub(super) fn say_problem(&mut self, text: impl Into<String>) {
        let mut notice = Notice::problem(crate::units::capital(&text.into()));
        notice.lasting = false;
        self.bench.notices_mut().add(notice);
    }

    pub(super) fn open_entry(&mut self, clock: ShotClock) {
        let (Some(gear), Some(plan)) = (self.gear(), self.plan()) else { return };
        let mut draft = PullDraft::from_plan(plan, clock, &gear, &self.units());
        if let Some(last) = self.bag().and_then(|bag| bag.live_pulls().next_back()) {
            draft.pulled_by.clone_from(&last.pulled_by);
        }
        let timed = matches!(clock, ShotClock::Stopped { .. });
        self.show_entry(draft, None, if timed { EntryField::Yield } else { EntryField::Time });
    }

    pub(super) fn show_entry(&mut self, draft: PullDraft, original: Option<PullId>, focus: EntryField) {
        self.page.visits += 1;
        let entry = Entry {
            opened: draft.clone(),
            draft,
            original,
            decided_from: self.decided_from().filter(|_| original.is_none()),
            insist: false,
            doubted: AskedOnce::default(),
            visit: self.page.visits,
            focus: Some(focus),
        };
        self.page.set_mode(Mode::Entry(Box::new(entry)));
    }

    fn ask(&mut self) {
        let Some(bag) = self.page.bag else { return };
        let revision = self.bench.revision();
        if self.asked == Some((bag, revision)) {
            return;
        }
        self.asked = Some((bag, revision));
        let question = self.question_of(bag);
        if let (Some(last), Some(next)) = (&self.question, &question)
            && last.same_as(next)
        {
            return;
        }
        self.page.idea = 0;
        self.question.clone_from(&question);
        if let Some(question) = question {
            self.desk.ask(question);
        }
    }

    /// Whether the window may close: what the disk refused is tried once more. Where it is refused again, or where
    /// something half-typed would be lost, the window stays, says so, and closes only when asked once more.
    pub(super) fn may_leave(&mut self, now_s: f64) -> bool {
        if self.leaving.is_some_and(|since| now_s - since < ASKED_FOR_S) {
            return true;
        }
        let now = self.now();
        let written = !self.bench.has_unwritten() || self.bench.retry_writing(now).is_ok();
        if written && !self.would_lose() {
            return true;
        }
        self.leaving = Some(now_s);
        if written {
            self.say_problem(word!("app-not-closed-something-typed-is-not"));
            return false;
        }
        self.say_problem(word!("app-not-closed-what-you-did-last"));
        false
    }

    fn look(&self, ctx: &Context) -> Look {
        let preferences = self.preferences();
        let dark = match preferences.theme {
            ThemeChoice::Light => false,
            ThemeChoice::Dark => true,
            ThemeChoice::System => ctx.system_theme() == Some(egui::Theme::Dark),
        };
        let look = if dark { Look::DARK } else { Look::LIGHT };
        match preferences.way {
            WayOfLiving::Home => look,
            WayOfLiving::Bar => look.for_bar(),
            WayOfLiving::Class if dark => look,
            WayOfLiving::Class => Look::PROJECTOR,
        }
    }

    fn load_some_sparks(&mut self, ctx: &Context) {
        // One trace a frame: reading a file must never be felt.
        if let Some((bag, pull)) = self.wanted_sparks.pop() {
            let picture = self.bench.trace(bag, pull).and_then(|trace| spark(&trace, 48));
            self.sparks.insert(pull, picture);
            ctx.request_repaint();
        }
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        if ctx.input(|input| input.viewport().close_requested())
            && !self.may_leave(ctx.input(|input| input.time))
        {
            ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
        }
        theme::apply(ctx, self.look(ctx));
        // Sentences of the engine follow the person's units too.
        if units::put(self.units()) {
            self.say_again(ctx);
        }
        self.desk.poll();
        self.minds.poll();
        self.opening.poll();
        self.keep_watch(ctx);
        self.practice.poll();
        self.poll_live(ctx);
        self.ask();
        if self.frames > 1 {
            self.load_some_sparks(ctx);
        }
        if let Mode::Pulling(clock) = self.page.mode()
            && clock.is_running()
        {
            ctx.request_repaint_after(Duration::from_millis(60));
        }
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        // Work on the folder ends at a safe place first.
        if let Some(lent) = self.bench.job() {
            lent.stop();
            let now = self.now();
            let _done = self.bench.wait_for_job(Duration::from_secs(20), now);
        }
        self.bench.tidy();
        if let Some(timing) = &mut self.timing {
            timing.tell();
        }
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let began = std::time::Instant::now();
        self.frames += 1;
        let ctx = ui.ctx().clone();
        self.zoom(&ctx);
        let practice = self.practice.open;
        let entry = matches!(self.page.mode(), Mode::Entry(_)) && !practice && !self.opening.open;
        if practice && self.dialog.is_none() {
            self.practice_keys(&ctx);
        }
        for action in actions::pressed(&ctx, self.dialog.is_some(), entry) {
            if practice && actions::is_about_the_bag(action) {
                continue;
            }
            self.act(&ctx, action);
        }
        self.take_dropped_files(&ctx);
        // What a key changed may leave the advice as it is, which is then drawn at once.
        self.ask();
        // A change of looks counts at once; this Ui was begun in the looks before.
        theme::apply(&ctx, self.look(&ctx));
        ui.set_style(ctx.global_style());
        let typing = ctx.text_edit_focused();
        // Under a dialog the page has no pointer, or a hint that was up when a key opened it would stay up above it.
        let pointer =
            self.dialog.is_some().then(|| ctx.input_mut(|input| std::mem::take(&mut input.pointer)));
        self.draw(ui);
        if let Some(pointer) = pointer {
            ctx.input_mut(|input| input.pointer = pointer);
        }
        self.dialogs_ui(&ctx);
        // An Esc that the field being typed in had no use for.
        if typing && ctx.input_mut(|input| input.consume_key(egui::Modifiers::NONE, egui::Key::Escape)) {
            self.act(&ctx, actions::Action::Cancel);
        }
        Toasts::show(self, &ctx);
        self.ask();
        if let Some(timing) = &mut self.timing {
            timing.frame(began);
        }
    }
}

impl App {
    /// The keys for the size change what the person prefers; class shows that larger by a third.
    fn zoom(&mut self, ctx: &Context) {
        // Taken before the library would change its own factor, which knows of no way of living.
        let pressed = |keys: &[egui::KeyboardShortcut]| {
            ctx.input_mut(|input| keys.iter().any(|key| input.consume_shortcut(key)))
        };
        let own = self.preferences().zoom;
        let wanted = if pressed(&[ZOOM_RESET]) {
            1.0
        } else {
            let by = |pressed: bool| if pressed { ZOOM_STEP } else { 0.0 };
            own + by(pressed(&[ZOOM_IN, ZOOM_IN_SECONDARY])) - by(pressed(&[ZOOM_OUT]))
        };
        if wanted != own {
            let zoom = (wanted.clamp(0.8, 2.5) * 100.0).round() / 100.0;
            self.prefer(|preferences| preferences.zoom = zoom);
        }
        let class = if self.way() == WayOfLiving::Class { 1.3 } else { 1.0 };
        let factor = self.preferences().zoom as f32 * class;
        if (factor - ctx.zoom_factor()).abs() > 1e-3 {
            ctx.set_zoom_factor(factor);
        }
    }

    fn take_dropped_files(&mut self, ctx: &Context) {
        let dropped = ctx.input(|input| input.raw.dropped_files.clone());
        let paths: Vec<PathBuf> = dropped.iter().map(|file| file.path().to_path_buf()).collect();
        if let Some(path) = paths.first() {
            if self.refused_here() {
                return;
            }
            if let Some(dialog) = self.dialog.take_if(|dialog| !matches!(dialog, Dialog::Import(_))) {
                self.put_dialog_away(dialog);
            }
            if path.extension().is_some_and(|end| end == "thirdpull") || path.join("notebook.ron").is_file() {
                return self.open_take_in(ctx, Some(path.clone()));
            }
            self.open_import(ctx, paths);
        }
    }

    /// Shows lasting problems of the notebook beside those found on opening.
    pub(super) fn all_problems(&self) -> Vec<String> {
        let mut all = self.problems.clone();
        all.extend(self.unspoken.clone());
        all.extend(
            self.bench
                .notices()
                .iter()
                .filter(|notice| notice.level == NoticeLevel::Problem && notice.lasting)
                .map(|notice| notice.text.clone()),
        );
        all
    }
}
