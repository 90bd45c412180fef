//! The entry row: what only the person knows, the rest filled in.

use eframe::egui::{Event, Id, Key, Modifiers, Popup, Ui};

use crate::domain::{Attribute, Gear, Mark};
use crate::ui::actions::{Action, Cap};
use crate::ui::app::App;
use crate::ui::state::{Entry, EntryField, Mode};
use crate::ui::theme::icons::Icon;
use crate::ui::theme::scale;
use crate::ui::widgets::{
    Button, Caution, NumberField, RowKeys, TextField, caution_line, doubt_lines, field_rows, let_go_of_focus,
    liking_row, mark_head, mark_row, overline, toggle,
};
use crate::units::{Quantity, UnitPreferences};
use crate::words::Name;
use crate::workbench::Command;
use crate::workbench::draft::{Faults, Field};
use crate::workbench::view::care;
use crate::workbench::view::page::decided;

/// Names of the marks as entered, each with the letter that jumps to it.
pub const MARKS: [(Name, Key); 6] = [
    (name!("page-entry-sourness"), Key::S),
    (name!("page-entry-bitterness"), Key::B),
    (name!("view-words-strength"), Key::T),
    (name!("page-entry-body"), Key::O),
    (name!("page-entry-astringency"), Key::A),
    (name!("page-entry-sweetness"), Key::W),
];

/// What the entry asks for.
#[derive(Default)]
struct Wish {
    save: bool,
    cancel: bool,
    /// Enter alone saves, as the focus stands.
    enter_saves: bool,
    focus: Option<EntryField>,
}

impl App {
    pub(super) fn entry_ui(&mut self, ui: &mut Ui) {
        let Mode::Entry(entry) = self.page.mode() else { return };
        let mut entry = entry.clone();
        let (Some(gear), units) = (self.gear(), self.units()) else { return };
        let faults = entry.draft.faults(&gear, &units);
        let doubts = self.doubts_of(&entry, &gear, &units);
        entry.doubted.forget_unless(&doubts);
        let number = self.entry_number(&entry);
        let over = match entry.original {
            Some(_) => say!("page-entry-change-pull", number = number),
            None => say!("page-entry-pull-what-came-out-and-how", number = number),
        };
        overline(ui, over);
        if let Some(field) = entry.focus.take() {
            ui.memory_mut(|memory| memory.request_focus(entry.id(field)));
        }
        // Taken here, before a box or a row of marks that has the focus would answer to Enter.
        let keyed =
            self.dialog.is_none() && ui.input_mut(|input| input.consume_key(Modifiers::COMMAND, Key::Enter));
        let mut wish = Wish { save: keyed, ..Wish::default() };
        let focused = ui.memory(|memory| memory.focused());
        if focused.is_none() && self.dialog.is_none() && !Popup::is_any_open(ui.ctx()) {
            keys_of_the_form(ui, &mut wish);
        }
        // Enter in a number goes on; on a button it presses that.
        wish.enter_saves = match focused {
            None => true,
            Some(id) => {
                let mut rows = (0..6).map(EntryField::Mark).chain([EntryField::Liking, EntryField::Note]);
                rows.any(|field| entry.id(field) == id)
            }
        };
        let width = ui.available_width();
        let marks_width = (width * 0.40).clamp(350.0, 460.0);
        if width < 860.0 {
            numbers_ui(ui, &mut entry, &gear, &units, &faults, &mut wish);
            marks_ui(ui, &mut entry, width.clamp(350.0, 560.0), &mut wish);
            self.last_ui(ui, &mut entry, &faults, &mut wish);
        } else {
            ui.horizontal_top(|ui| {
                let left = width - marks_width - scale::GAP_5;
                ui.vertical(|ui| {
                    ui.set_width(left);
                    numbers_ui(ui, &mut entry, &gear, &units, &faults, &mut wish);
                    self.last_ui(ui, &mut entry, &faults, &mut wish);
                });
                ui.add_space(scale::GAP_3);
                ui.vertical(|ui| {
                    ui.set_width(marks_width);
                    marks_ui(ui, &mut entry, marks_width, &mut wish);
                });
            });
        }
        entry.focus = wish.focus;
        if entry.focus.is_some() {
            ui.ctx().request_repaint();
        }
        self.page.set_mode(Mode::Entry(entry));
        if wish.save {
            self.save_entry(ui);
        } else if wish.cancel {
            self.act(&ui.ctx().clone(), Action::Cancel);
        }
    }

    fn doubts_of(&self, entry: &Entry, gear: &Gear, units: &UnitPreferences) -> Vec<String> {
        let pull = |id| self.bag().and_then(|bag| bag.live_pulls().find(|pull| pull.id == id));
        entry.draft.doubts(gear, units, entry.original.and_then(pull), self.entry_number(entry))
    }

    fn entry_number(&self, entry: &Entry) -> usize {
        let Some(bag) = self.bag() else { return 0 };
        match entry.original {
            Some(id) => crate::workbench::number_of(bag, id),
            None => bag.live_pulls().count() + 1,
        }
    }

    fn last_ui(&self, ui: &mut Ui, entry: &mut Entry, faults: &Faults, wish: &mut Wish) {
        ui.horizontal_wrapped(|ui| {
            toggle(ui, word!("page-entry-choked"), &mut entry.draft.flags.choked);
            toggle(ui, word!("page-entry-spurting"), &mut entry.draft.flags.spurting);
            toggle(ui, word!("page-entry-sink"), &mut entry.draft.flags.sink);
        });
        ui.horizontal(|ui| {
            let room = ui.available_width();
            let field = TextField::new(word!("page-entry-note"), entry.id(EntryField::Note))
                .hint(word!("page-entry-note"))
                .width((room - 180.0).max(60.0));
            let response = field.bare(ui, &mut entry.draft.note).accessible_name(word!("page-entry-note"));
            if response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter)) {
                wish.save = true;
            }
            let field = TextField::new(word!("page-entry-by"), entry.id(EntryField::PulledBy))
                .hint(word!("page-entry-by"))
                .width(90.0);
            field.bare(ui, &mut entry.draft.pulled_by).accessible_name(word!("page-entry-pulled-by"));
        });
        if entry.draft.flags.choked {
            caution_line(ui, Caution::Harm, care::AFTER_A_CHOKE.word());
        }
        if entry.insist
            && let Some((_, text)) = faults.iter().next()
        {
            crate::ui::widgets::fault_line(ui, &say!("page-entry-not-saved-yet", text = text));
        }
        doubt_lines(ui, entry.doubted.standing());
        ui.horizontal_wrapped(|ui| {
            let label = if entry.original.is_some() {
                word!("page-entry-save-the-change")
            } else {
                word!("page-entry-save-show-the-next-pull")
            };
            let key = if wish.enter_saves { Cap::ENTER } else { Cap::CTRL_ENTER };
            if ui.add(Button::primary(label).key(key.text()).icon(Icon::Check)).clicked() {
                wish.save = true;
            }
            if ui.add(Button::quiet(word!("page-entry-give-up")).key(Cap::ESCAPE.text())).clicked() {
                wish.cancel = true;
            }
        });
        crate::ui::widgets::small(ui, say!("page-entry-in-the-marks-1-5-or", key = Cap::CTRL_ENTER.text()));
    }

    fn save_entry(&mut self, ui: &Ui) {
        let Mode::Entry(entry) = self.page.mode() else { return };
        let mut entry = entry.clone();
        let (Some(gear), Some(bag), units, now) = (self.gear(), self.bag(), self.units(), self.now()) else {
            return;
        };
        let original = entry.original.and_then(|id| bag.live_pulls().find(|pull| pull.id == id));
        let (bag_id, station) = (bag.id, bag.station);
        let doubts = self.doubts_of(&entry, &gear, &units);
        match entry.draft.finish(&gear, &units, original, station, now) {
            Ok(_) if entry.doubted.asks(doubts) => {
                let_go_of_focus(ui.ctx());
                ui.ctx().request_repaint();
                self.page.set_mode(Mode::Entry(entry));
            }
            Ok(mut pull) => {
                if let Some(from) = entry.decided_from {
                    pull.plan = Some(decided(pull.used, from, pull.flags.choked, &gear));
                }
                let (id, visit) = (pull.id, entry.visit);
                if self.edit(Command::SavePull(bag_id, Box::new(pull))) {
                    self.page.set_mode(Mode::Advice);
                    self.page.revealed = false;
                    if entry.original.is_none() {
                        self.page.selected = None;
                        self.entry_saved(visit, id);
                    }
                }
            }
            Err(faults) => {
                entry.insist = true;
                let_go_of_focus(ui.ctx());
                ui.ctx().request_repaint();
                entry.focus = faults.iter().next().and_then(|(field, _)| field_of(field));
                self.page.set_mode(Mode::Entry(entry));
            }
        }
    }
}

fn field_of(field: Field) -> Option<EntryField> {
    Some(match field {
        Field::Grind => EntryField::Grind,
        Field::Dose => EntryField::Dose,
        Field::Yield => EntryField::Yield,
        Field::Temperature => EntryField::Temperature,
        Field::Time => EntryField::Time,
        Field::FirstDrip => EntryField::FirstDrip,
        Field::Strength => EntryField::Strength,
        _ => return None,
    })
}

fn numbers_ui(
    ui: &mut Ui,
    entry: &mut Entry,
    gear: &Gear,
    units: &UnitPreferences,
    faults: &Faults,
    wish: &mut Wish,
) {
    let insist = entry.insist;
    let ids = |field| -> Id { Id::unique(("entry", entry.visit, field)) };
    let draft = &mut entry.draft;
    let mut show = |ui: &mut Ui, field: NumberField<'_>, text: &mut String, at: Field, after: EntryField| {
        let outcome = field.fault(faults.of(at), insist).show(ui, text);
        if outcome.entered {
            wish.focus = Some(after);
        }
    };
    let marks = EntryField::Mark(0);
    let quantity =
        |label, field, quantity, step| NumberField::quantity(label, ids(field), quantity, *units).step(step);
    let mut fields: Vec<(NumberField<'_>, &mut String, Field, EntryField)> = vec![(
        quantity(word!("view-words-yield"), EntryField::Yield, Quantity::Yield, gear.yield_g.step()),
        &mut draft.yield_,
        Field::Yield,
        marks,
    )];
    let time = quantity(word!("view-words-time"), EntryField::Time, Quantity::Time, 0.5);
    fields.push((time, &mut draft.time, Field::Time, marks));
    let dose = quantity(word!("view-words-dose"), EntryField::Dose, Quantity::Dose, gear.dose_g.step());
    fields.push((dose, &mut draft.dose, Field::Dose, marks));
    let grind = NumberField::plain(
        word!("view-words-grind"),
        ids(EntryField::Grind),
        gear.grind.scale.decimals(),
        *units,
    )
    .step(gear.grind.scale.step())
    .start(gear.grind.scale.min());
    fields.push((grind, &mut draft.grind, Field::Grind, marks));
    if let Some(scale) = gear.temperature_c {
        let field = quantity(
            word!("view-words-temperature"),
            EntryField::Temperature,
            Quantity::Temperature,
            scale.step(),
        );
        fields.push((field, &mut draft.temperature, Field::Temperature, marks));
    }
    let drip =
        quantity(word!("page-entry-first-drip"), EntryField::FirstDrip, Quantity::Time, 0.5).start(6.0);
    fields.push((drip, &mut draft.first_drip, Field::FirstDrip, marks));
    if gear.refractometer {
        let strength = quantity(word!("view-words-strength"), EntryField::Strength, Quantity::Strength, 0.1);
        fields.push((strength, &mut draft.strength, Field::Strength, marks));
    }
    let widths = vec![NumberField::usual_width(ui); fields.len()];
    field_rows(ui, &widths, |ui, at| {
        if let Some((field, text, at, after)) = fields.get_mut(at) {
            show(ui, *field, text, *at, *after);
        }
    });
}

fn marks_ui(ui: &mut Ui, entry: &mut Entry, width: f32, wish: &mut Wish) {
    ui.spacing_mut().item_spacing.y = scale::GAP_1;
    mark_head(ui, width);
    let ids: Vec<Id> =
        (0..6).map(|at| entry.id(EntryField::Mark(at))).chain([entry.id(EntryField::Liking)]).collect();
    jump_by_letter(ui, &ids, wish);
    // The rows bring their own air.
    ui.spacing_mut().item_spacing.y = 0.0;
    for (at, (attribute, (name, _))) in Attribute::ALL.into_iter().zip(MARKS).enumerate() {
        let mut value = entry.draft.taste.mark(attribute).map(Mark::value);
        let id = entry.id(EntryField::Mark(at as u8));
        let (response, keys) = mark_row(ui, id, name.word(), &mut value, width);
        if response.changed() {
            entry.draft.taste.set_mark(attribute, value.and_then(|v| Mark::new(i64::from(v))));
        }
        move_on(at, keys, wish);
    }
    ui.spacing_mut().item_spacing.y = scale::GAP_1;
    ui.add_space(2.0);
    let mut liking = entry.draft.taste.liking();
    let label = word!("page-entry-liking-1-dislike-extremely-9-like");
    crate::ui::widgets::small(ui, label);
    let (response, keys) = liking_row(ui, entry.id(EntryField::Liking), &mut liking, width);
    if response.changed() {
        // The row gives 1–9 or nothing, which is all that is taken.
        entry.draft.taste.set_liking(liking.map(i64::from));
    }
    move_on(6, keys, wish);
    super::hero::care_line(ui, care::BEFORE_TASTING.word());
}

fn move_on(at: usize, keys: RowKeys, wish: &mut Wish) {
    let field = |at: usize| if at < 6 { EntryField::Mark(at as u8) } else { EntryField::Liking };
    if keys.next {
        wish.focus = Some(if at >= 6 { EntryField::Note } else { field(at + 1) });
    }
    if keys.previous {
        wish.focus = Some(if at == 0 { EntryField::Yield } else { field(at - 1) });
    }
    if keys.done {
        wish.save = true;
    }
}

/// The keys of the form where nothing has the focus, as after a click on paper: Enter saves, letters and arrows lead to a
/// row.
fn keys_of_the_form(ui: &Ui, wish: &mut Wish) {
    let (enter, arrow) = ui.input_mut(|input| {
        let arrow = [Key::ArrowDown, Key::ArrowUp].map(|key| input.consume_key(Modifiers::NONE, key));
        (input.consume_key(Modifiers::NONE, Key::Enter), arrow.contains(&true))
    });
    wish.save |= enter;
    if arrow {
        wish.focus = Some(EntryField::Mark(0));
    }
    take_letter(ui, wish);
}

/// A letter with the focus on any row jumps to the row that it stands for; L to liking, N to the note.
fn jump_by_letter(ui: &Ui, ids: &[Id], wish: &mut Wish) {
    let focused = ui.memory(|memory| memory.focused());
    if focused.is_some_and(|id| ids.contains(&id)) {
        take_letter(ui, wish);
    }
}

fn take_letter(ui: &Ui, wish: &mut Wish) {
    let target = ui.input_mut(|input| {
        let mut target = None;
        for (at, (_, key)) in MARKS.iter().enumerate() {
            if input.consume_key(Modifiers::NONE, *key) {
                target = Some(EntryField::Mark(at as u8));
            }
        }
        if input.consume_key(Modifiers::NONE, Key::L) {
            target = Some(EntryField::Liking);
        }
        if input.consume_key(Modifiers::NONE, Key::N) {
            target = Some(EntryField::Note);
        }
        if target.is_some() {
            input.events.retain(|event| !matches!(event, Event::Text(_)));
        }
        target
    });
    if target.is_some() {
        wish.focus = target;
    }
}
