//! Carrying out what a key, a button or the palette asked for.

use eframe::egui::{Context, ViewportCommand};

use super::actions::Action;
use super::app::App;
use super::dialogs::{BagForm, BeliefsForm, Dialog, DrinkerForm, StationForm};
use super::state::{Aligned, EntryField, Mode};
use crate::domain::{BagId, Preferences, PullId, RecordKey, ThemeChoice, WayOfLiving};
use crate::workbench::Command;
use crate::workbench::clock::ShotClock;
use crate::workbench::draft::{BagDraft, PullDraft};
use crate::workbench::view::keeper;
use crate::workbench::view::shelf::{ShelfGroup, first_bag};

impl App {
    /// Carries out what a key or a button asked for.
    pub(super) fn act(&mut self, ctx: &Context, action: Action) {
        // Rather at once than after a form has been filled in.
        let types = [
            Action::EnterByHand,
            Action::EditPull,
            Action::NewBag,
            Action::EditBag,
            Action::FinishBag,
            Action::RemovePull,
            Action::Keep,
            Action::Import,
        ];
        if types.contains(&action) && self.refused_here() {
            return;
        }
        // Asked for by name or by a button, it leads back to the bag's page.
        self.practice.open &= !super::actions::is_about_the_bag(action);
        if self.opening.open && self.act_on_opening(ctx, action) {
            return;
        }
        match action {
            Action::Opening => self.toggle_opening(),
            Action::Practice => self.open_practice(ctx),
            Action::Undo | Action::Redo if self.practice.open => {
                let back = action == Action::Undo;
                if !self.practice.travel(back) {
                    self.say(if back {
                        word!("acts-nothing-was-moved-yet")
                    } else {
                        word!("acts-nothing-to-do-again")
                    });
                }
            }
            Action::Clock => self.press_clock(ctx.input(|i| i.time)),
            Action::CupAway => self.cup_away(ctx.input(|i| i.time)),
            Action::EnterByHand if matches!(self.page.mode(), Mode::Advice) => {
                if !self.refused_as_finished() {
                    self.open_entry(ShotClock::Idle);
                }
            }
            Action::EnterByHand => {}
            Action::AnotherIdea if self.is_covered() => {}
            Action::AnotherIdea => {
                let ideas = self.advice().map_or(0, |advice| advice.alternatives.len());
                self.page.idea = if ideas == 0 { 0 } else { (self.page.idea + 1) % (ideas + 1) };
            }
            Action::Keep => self.keep(),
            Action::Why if self.way() == WayOfLiving::Class => {
                let all = self.hero_view().as_ref().as_ref().map_or(0, |view| view.reasons.len());
                if self.page.revealed {
                    self.step_reasons(all);
                }
            }
            Action::Why => self.page.why = !self.page.why,
            Action::Reveal => {
                self.page.revealed = !self.page.revealed;
                (self.page.step, self.page.idea) = (0, 0);
            }
            Action::RowUp => self.move_row(-1),
            Action::RowDown => self.move_row(1),
            Action::EditPull => self.edit_pull(),
            Action::RemovePull => {
                if let (Some(bag), Some(pull)) = (self.page.bag, self.pull_in_sight()) {
                    self.edit(Command::Remove(RecordKey::Pull(bag, pull)));
                    self.page.selected = None;
                }
            }
            Action::Overlay => {
                if let Some(id) = self.pull().map(|pull| pull.id)
                    && !self.page.overlay.remove(&id)
                {
                    self.page.overlay.insert(id);
                }
            }
            Action::OverlayAll => self.page.overlay_all = !self.page.overlay_all,
            Action::Align => {
                self.page.aligned = match self.page.aligned {
                    Aligned::PumpOn => Aligned::FirstDrip,
                    Aligned::FirstDrip => Aligned::PumpOn,
                };
            }
            Action::Import => self.open_import(ctx, Vec::new()),
            Action::Compare => self.open_compare(ctx),
            Action::Live => self.open_live(),
            Action::BarCard => self.open_card(),
            Action::Beliefs => self.dialog = Some(Dialog::Beliefs(Box::new(BeliefsForm::new(false)))),
            Action::WhatIf => self.dialog = Some(Dialog::Beliefs(Box::new(BeliefsForm::new(true)))),
            Action::Expected if self.is_covered() => {}
            Action::Expected => self.page.no_expected = !self.page.no_expected,
            Action::NewBag => self.new_bag(),
            Action::EditBag => {
                if let (Some(bag), Some(gear)) = (self.bag(), self.gear()) {
                    let draft = BagDraft::from_bag(bag, &gear, &self.units());
                    self.dialog = Some(Dialog::Bag(Box::new(BagForm::new(draft))));
                }
            }
            Action::FinishBag => {
                if let Some((id, finished)) = self.bag().map(|bag| (bag.id, bag.finished)) {
                    self.edit(Command::Finish(id, !finished));
                }
            }
            Action::BagUp => self.move_bag(-1),
            Action::BagDown => self.move_bag(1),
            Action::Search => ctx.memory_mut(|memory| memory.request_focus(super::shelf::search_id())),
            Action::Stations => self.dialog = Some(Dialog::Stations),
            Action::Drinkers => self.dialog = Some(Dialog::Drinkers),
            Action::Settings => self.dialog = Some(Dialog::Settings),
            Action::Undo => self.take_back(),
            Action::Redo => self.do_again(),
            Action::BringBack => self.bring_back(),
            Action::Palette => self.dialog = Some(Dialog::palette()),
            Action::Keys => self.dialog = Some(Dialog::Keys),
            Action::Problems => self.dialog = Some(Dialog::Problems),
            Action::Notebook => self.dialog = Some(Dialog::notebook()),
            Action::Versions => self.open_versions(),
            Action::PassOn => self.open_pass_on(),
            Action::TakeIn => self.open_take_in(ctx, None),
            Action::Home => self.live(WayOfLiving::Home),
            Action::Bar => self.live(WayOfLiving::Bar),
            Action::Class => self.live(WayOfLiving::Class),
            Action::Dark => {
                let dark = ctx.global_style().visuals.dark_mode;
                let theme = if dark { ThemeChoice::Light } else { ThemeChoice::Dark };
                self.prefer(|preferences| preferences.theme = theme);
            }
            Action::Fullscreen => {
                let full = ctx.input(|input| input.viewport().fullscreen.unwrap_or(false));
                ctx.send_viewport_cmd(ViewportCommand::Fullscreen(!full));
            }
            Action::Cancel => self.cancel(),
            Action::Quit if self.may_leave(ctx.input(|i| i.time)) => {
                ctx.send_viewport_cmd(ViewportCommand::Close);
            }
            Action::Quit => {}
        }
    }

    fn press_clock(&mut self, now_s: f64) {
        if self.bench.read_only().is_some() {
            let why = self.bench.read_only().unwrap_or_default().to_owned();
            return self.say_problem(say!("acts-no-pull-can-be-recorded", why = why));
        }
        let clock = match self.page.mode() {
            Mode::Advice => ShotClock::Idle,
            Mode::Pulling(clock) => *clock,
            Mode::Entry(_) => return,
        };
        if self.bag().is_none() || self.gear().is_none() {
            return;
        }
        if matches!(self.page.mode(), Mode::Advice) && self.refused_as_finished() {
            return;
        }
        if let (Some(bag), ShotClock::Idle, true) = (self.page.bag, clock, self.is_covered()) {
            self.page.own_clock.insert(bag);
        }
        self.clock_to(clock.pressed(now_s));
    }

    /// Whether the bag is finished, so that nothing is pulled from it; says so.
    fn refused_as_finished(&mut self) -> bool {
        let finished = self.bag().is_some_and(|bag| bag.finished);
        if finished {
            let key = super::actions::key(Action::FinishBag);
            self.say(say!("acts-this-bag-is-used-up", key = key));
        }
        finished
    }

    pub(super) fn cup_away(&mut self, now_s: f64) {
        if let Mode::Pulling(clock) = self.page.mode() {
            self.clock_to(clock.stopped(now_s));
        }
    }

    fn clock_to(&mut self, clock: ShotClock) {
        if matches!(clock, ShotClock::Stopped { .. }) {
            self.open_entry(clock);
        } else {
            self.page.set_mode(Mode::Pulling(clock));
        }
    }

    /// Whether the answer is covered: in class, until it is revealed.
    pub(super) fn is_covered(&self) -> bool {
        self.way() == WayOfLiving::Class && !self.page.revealed
    }

    /// What "keep" means as the page stands.
    pub(super) fn keep_now(&self) -> Option<keeper::Keep> {
        let (bag, gear) = (self.bag()?, self.gear()?);
        // Neither what another idea proposes nor what is covered is on the card.
        let advice = self.advice().filter(|_| self.page.idea == 0 && !self.is_covered());
        Some(keeper::keep(bag, &gear, advice, self.page.selected, self.now()))
    }

    fn keep(&mut self) {
        let (Some(bag), Some(keep)) = (self.page.bag, self.keep_now()) else { return };
        match keep.outcome() {
            Ok(keeper) => {
                self.edit(Command::Keep(bag, keeper));
            }
            Err(sentence) => self.say(sentence),
        }
    }

    fn edit_pull(&mut self) {
        if !matches!(self.page.mode(), Mode::Advice) {
            return;
        }
        let (Some(gear), Some(pull)) = (self.gear(), self.pull()) else { return };
        let draft = PullDraft::from_pull(pull, &gear, &self.units());
        let id = pull.id;
        self.page.selected = Some(id);
        self.show_entry(draft, Some(id), EntryField::Yield);
    }

    /// The pull that looks selected: the newest too, where nothing else is chosen and its row is shown.
    fn pull_in_sight(&mut self) -> Option<PullId> {
        if self.page.selected.is_some() || self.way() == WayOfLiving::Class {
            return self.page.selected;
        }
        let shown = self.pull().map(|pull| pull.id)?;
        self.rows_view().iter().any(|row| row.id == shown).then_some(shown)
    }

    fn move_row(&mut self, by: isize) {
        let rows = self.rows_view();
        let current = self.pull().map(|pull| pull.id);
        let at = rows.iter().position(|row| Some(row.id) == current).unwrap_or(0);
        let next = at.saturating_add_signed(by).min(rows.len().saturating_sub(1));
        if let Some(row) = rows.get(next) {
            self.page.selected = Some(row.id);
            self.page.scroll_to_row = true;
        }
    }

    fn move_bag(&mut self, by: isize) {
        let ids: Vec<BagId> = if self.way() == WayOfLiving::Bar {
            self.tabs_view().iter().map(|item| item.id).collect()
        } else {
            let groups = self.shelf_view();
            let open = groups.iter().filter(|group| !self.is_folded(group)).flat_map(|group| &group.items);
            open.map(|item| item.id).collect()
        };
        let at = ids.iter().position(|id| Some(*id) == self.page.bag);
        let next = at.map_or(0, |at| at.saturating_add_signed(by).min(ids.len().saturating_sub(1)));
        if let Some(id) = ids.get(next) {
            self.opening.open = false;
            self.page.go_to(Some(*id));
        }
    }

    pub(super) fn is_folded(&self, group: &ShelfGroup) -> bool {
        group.folded != self.page.folded.contains(&group.state)
    }

    pub(super) fn new_bag(&mut self) {
        let notebook = self.bench.notebook();
        if !notebook.stations.iter().any(|s| s.stamp.is_live() && !s.archived) {
            let mut form = StationForm::new(&self.units());
            form.then_bag = true;
            self.dialog = Some(Dialog::Station(Box::new(form)));
        } else if !notebook.drinkers.iter().any(|d| d.stamp.is_live() && !d.archived) {
            self.dialog = Some(Dialog::Drinker(DrinkerForm::for_a_bag()));
        } else {
            let draft = BagDraft::new(notebook, self.today(), &self.units());
            self.dialog = Some(Dialog::Bag(Box::new(BagForm::new(draft))));
        }
    }

    fn take_back(&mut self) {
        let now = self.now();
        match self.bench.undo(now) {
            Ok(name) => self.say(say!("acts-undone", name = name)),
            Err(refusal) => self.say(refusal.to_string()),
        }
        self.after_time_travel();
    }

    fn do_again(&mut self) {
        let now = self.now();
        match self.bench.redo(now) {
            Ok(name) => self.say(say!("acts-done-again", name = name)),
            Err(refusal) => self.say(refusal.to_string()),
        }
        self.after_time_travel();
    }

    fn after_time_travel(&mut self) {
        self.bench.notices_mut().drop_action(crate::workbench::NoticeAction::Undo);
        // A trace may have come or gone.
        self.sparks.clear();
        if self.bag().is_none() {
            self.page.go_to(first_bag(self.bench.notebook()));
        }
    }

    fn live(&mut self, way: WayOfLiving) {
        self.page.revealed = false;
        self.prefer(|preferences| preferences.way = way);
    }

    pub(super) fn prefer(&mut self, change: impl FnOnce(&mut Preferences)) {
        let mut preferences = self.preferences();
        change(&mut preferences);
        if preferences != self.preferences() {
            self.edit_quietly(Command::SetPreferences(preferences));
        }
    }

    fn cancel(&mut self) {
        if let Some(dialog) = self.dialog.take() {
            self.put_dialog_away(dialog);
            return;
        }
        if self.practice.open {
            self.practice.open = self.practice.stop();
            return;
        }
        match self.page.mode() {
            Mode::Pulling(_) => self.put_clock_away(),
            Mode::Entry(_) => self.put_entry_away(),
            Mode::Advice => self.page.why = false,
        }
    }
}
