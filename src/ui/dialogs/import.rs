//! A trace file: choose or drop it, see what it is taken for, correct that, attach it to a pull. Reading and carrying
//! out happen on a worker thread.

use std::path::PathBuf;
use std::sync::Arc;

use eframe::egui::{self, Context, Id, Key, Ui};

use super::ask::{Picked, wait_for};
use super::{Dialog, Fate, first_focus, middle, part};
use crate::domain::{Channel, Pull, PullId};
use crate::exchange::table::{Assignment, ImportFault, Preview, Remembered, Table, TimeSource, same_meaning};
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::page::strips::drawn;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, Caution, Strip, StripCursor, TextField, body, caution_line, entered, fault_line, pick, small,
    soft, strips, text_line,
};
use crate::units::{Unit, UnitPreferences};
use crate::workbench::Desk;
use crate::workbench::view::pieces::{Piece, contradiction, pieces, pieces_of};
use crate::workbench::view::strips::{Emphasis, Laid, channel_name, strips as strips_view};

enum Job {
    Read(PathBuf),
    Import(Arc<Table>, Assignment, String),
    Many(Vec<PathBuf>, Remembered),
}

enum Done {
    Read(Result<(Arc<Table>, Box<Preview>), ImportFault>),
    Imported(Result<Vec<Piece>, ImportFault>),
    Many(Result<(Vec<Piece>, Vec<String>), String>),
}

/// A trace file on its way in.
pub struct ImportForm {
    path: String,
    target: Option<PullId>,
    picking: Option<Picked>,
    desk: Desk<Job, Done>,
    read: Option<(Arc<Table>, Box<Preview>)>,
    assignment: Option<Assignment>,
    imported: Option<Result<Vec<Piece>, ImportFault>>,
    /// Which of several pulls is looked at.
    piece: usize,
    /// The columns are as someone set them for files of this shape.
    recalled: bool,
    /// Files of several that gave nothing.
    refused: Vec<String>,
    shown: Vec<Strip>,
    span_s: (f64, f64),
    fault: Option<String>,
    cursor: StripCursor,
    /// What the trace looked at says otherwise than a pull.
    contradiction: Option<(PullId, Option<String>)>,
    units: UnitPreferences,
    /// The path has had the focus, or needs none.
    focused: bool,
}

impl ImportForm {
    /// Whether the worker still owes an answer.
    pub(super) fn is_busy(&self) -> bool {
        self.desk.is_busy()
    }

    fn new(ctx: &Context, target: Option<PullId>) -> Self {
        let waker = ctx.clone();
        let work = |job: Job| match job {
            Job::Read(path) => Done::Read(Table::open(&path).map(|table| {
                let preview = Box::new(table.preview());
                (Arc::new(table), preview)
            })),
            Job::Import(table, assignment, name) => Done::Imported(pieces(&table, &assignment, &name)),
            Job::Many(paths, remembered) => Done::Many(pieces_of(&paths, &remembered)),
        };
        Self {
            path: String::new(),
            target,
            picking: None,
            desk: Desk::start(
                word!("dialogs-import-trace-file"),
                work,
                Box::new(move || waker.request_repaint()),
            ),
            read: None,
            assignment: None,
            imported: None,
            piece: 0,
            recalled: false,
            refused: Vec::new(),
            shown: Vec::new(),
            span_s: (0.0, 1.0),
            fault: None,
            cursor: StripCursor::default(),
            contradiction: None,
            units: UnitPreferences::default(),
            focused: false,
        }
    }

    /// Begins anew, for another file.
    fn forget(&mut self) {
        self.piece = 0;
        self.recalled = false;
        self.refused.clear();
        self.read = None;
        self.assignment = None;
        self.imported = None;
        self.contradiction = None;
        self.shown.clear();
        self.fault = None;
    }

    /// Reads what was dropped: one file to look at, several as a folder is read.
    fn start_with(&mut self, paths: Vec<PathBuf>, remembered: &Remembered) {
        if let [path] = paths.as_slice() {
            self.path = path.display().to_string();
            return self.start_reading(remembered);
        }
        self.forget();
        self.path.clear();
        self.desk.ask(Job::Many(paths, remembered.clone()));
    }

    fn start_reading(&mut self, remembered: &Remembered) {
        self.forget();
        let path = self.path.trim().trim_matches('"');
        if path.is_empty() {
            self.fault = Some(word!("dialogs-import-choose-a-file-drop-one-on").to_owned());
            return;
        }
        let path = PathBuf::from(path);
        if path.is_dir() {
            self.desk.ask(Job::Many(vec![path], remembered.clone()));
        } else {
            self.desk.ask(Job::Read(path));
        }
    }

    fn carry_out(&mut self) {
        if let (Some((table, _)), Some(assignment)) = (&self.read, &self.assignment) {
            let path = PathBuf::from(self.path.trim().trim_matches('"'));
            let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
            self.desk.ask(Job::Import(Arc::clone(table), assignment.clone(), name));
        }
    }

    /// Takes in what the worker and the file dialog have brought.
    fn take_in(&mut self, app: &App) {
        if let Some(picked) = self.picking.as_ref().and_then(|picking| picking.try_recv().ok()) {
            self.picking = None;
            if let Some(path) = picked {
                self.path = path.display().to_string();
                self.start_reading(&app.remembered);
            }
        }
        if !self.desk.poll() {
            return;
        }
        match self.desk.take() {
            Some(Ok(Done::Read(Ok((table, preview))))) => {
                let recalled = app.remembered.recall(&table);
                self.recalled = recalled.as_ref().is_some_and(|one| !same_meaning(one, &preview.assignment));
                self.assignment = Some(recalled.unwrap_or_else(|| preview.assignment.clone()));
                self.read = Some((table, preview));
                self.carry_out();
            }
            Some(Ok(Done::Read(Err(fault)))) => self.fault = Some(fault.to_string()),
            Some(Ok(Done::Imported(result))) => {
                self.imported = Some(result);
                self.piece = 0;
                self.show(app);
            }
            Some(Ok(Done::Many(Ok((found, refused))))) => {
                self.refused = refused;
                if found.is_empty() {
                    // Files dropped together have no path of their own.
                    let which = if self.path.is_empty() {
                        word!("dialogs-import-none-of-these-files")
                    } else {
                        word!("dialogs-import-no-file-in-this-folder")
                    };
                    self.fault = Some(say!("dialogs-import-gave-a-trace", which = which));
                }
                self.imported = Some(Ok(found));
                self.piece = 0;
                self.show(app);
            }
            Some(Ok(Done::Many(Err(sentence)))) => self.fault = Some(sentence),
            Some(Err(sentence)) => self.fault = Some(sentence),
            None => {}
        }
    }

    /// The pulls found, none when it went wrong.
    fn found(&self) -> &[Piece] {
        match &self.imported {
            Some(Ok(found)) => found,
            _ => &[],
        }
    }

    /// What the trace looked at says otherwise than the pull that it would be attached to.
    fn contradicts(&mut self, pull: &Pull) -> Option<String> {
        if self.contradiction.as_ref().is_none_or(|(of, _)| *of != pull.id) {
            let trace = &self.found().get(self.piece)?.trace;
            self.contradiction = Some((pull.id, contradiction(pull, trace, &self.units)));
        }
        self.contradiction.as_ref().and_then(|(_, sentence)| sentence.clone())
    }

    fn show(&mut self, app: &App) {
        self.shown.clear();
        self.contradiction = None;
        self.cursor = StripCursor::default();
        let Some(imported) = self.found().get(self.piece) else { return };
        let laid = Laid {
            name: word!("dialogs-import-this-file").to_owned(),
            end: String::new(),
            emphasis: Emphasis::This,
            shift_s: 0.0,
            trace: &imported.trace,
        };
        let view = strips_view(&[laid], &app.units());
        self.span_s = view.span_s;
        self.shown = drawn(&view);
    }
}

impl App {
    /// Opens the import dialog, with the files and folders that were dropped.
    pub(in crate::ui) fn open_import(&mut self, ctx: &Context, paths: Vec<PathBuf>) {
        if let (Some(Dialog::Import(form)), false) = (&mut self.dialog, paths.is_empty()) {
            return form.start_with(paths, &self.remembered);
        }
        let mut form = ImportForm::new(ctx, self.pull().map(|pull| pull.id));
        form.units = self.units();
        if !paths.is_empty() {
            form.focused = true;
            form.start_with(paths, &self.remembered);
        }
        self.dialog = Some(Dialog::Import(Box::new(form)));
    }

    pub(super) fn import_ui(
        &mut self,
        ui: &mut Ui,
        mut form: Box<ImportForm>,
        width: f32,
        height: f32,
    ) -> Fate {
        form.take_in(self);
        if choose_ui(ui, &mut form) {
            form.start_reading(&self.remembered);
        }
        if let Some(fault) = &form.fault {
            fault_line(ui, fault);
        }
        let whole_folder = form.read.is_none() && !form.found().is_empty();
        let piece = form.piece;
        if form.desk.is_busy() && form.read.is_none() {
            soft(ui, word!("dialogs-import-reading"));
        }
        let before = form.assignment.clone();
        if form.read.is_some() {
            middle(ui, "import", height - 190.0, |ui| preview_ui(ui, &mut form, width));
        } else if whole_folder {
            middle(ui, "import", height - 190.0, |ui| {
                found_ui(ui, &mut form);
                for sentence in &form.refused {
                    small(ui, sentence.clone());
                }
            });
        } else if form.fault.is_none() {
            soft(ui, word!("dialogs-import-a-table-comma-semicolon-tab-or"));
        }
        if form.piece != piece {
            form.show(self);
        }
        if form.assignment != before {
            form.recalled = false;
            form.carry_out();
        }
        self.attach_ui(ui, form)
    }

    /// Keeps the columns of a file for others of its shape, where they are not what would be guessed anyway.
    fn remember(&mut self, form: &ImportForm) {
        let (Some((table, preview)), Some(assignment)) = (&form.read, &form.assignment) else { return };
        if same_meaning(assignment, &preview.assignment) && self.remembered.recall(table).is_none() {
            return;
        }
        if let Err(sentence) = self.remembered.keep(table, assignment) {
            self.say_problem(say!("dialogs-import-the-columns-could-not-be-remembered", sentence = sentence));
        }
    }

    fn attach_all(&mut self, mut form: Box<ImportForm>, bag: crate::domain::BagId, to: &[PullId]) -> Fate {
        let now = self.now();
        let traces: Vec<_> = form.found().iter().map(|piece| piece.trace.clone()).collect();
        for (trace, pull) in traces.into_iter().zip(to) {
            if let Err(refusal) = self.bench.attach_trace(bag, *pull, trace, now) {
                form.fault = Some(refusal.to_string());
                return Fate::Stay(Dialog::Import(form));
            }
            self.sparks.remove(pull);
        }
        self.remember(&form);
        self.say(say!(
            "dialogs-import-attached",
            counted = say!("dialogs-import-count-traces", n = to.len())
        ));
        Fate::Go(None)
    }

    fn attach_ui(&mut self, ui: &mut Ui, mut form: Box<ImportForm>) -> Fate {
        let Some(bag) = self.bag() else { return Fate::Go(None) };
        let bag_id = bag.id;
        let mut pulls: Vec<(PullId, String, bool)> = bag
            .live_pulls()
            .enumerate()
            .map(|(at, pull)| {
                let when =
                    pull.pulled_at.to_zoned_datetime(self.zone.clone()).strftime("%m-%d %H:%M").to_string();
                let mark = if pull.has_trace { word!("dialogs-import-has-a-trace") } else { "" };
                (pull.id, say!("dialogs-import-pull", at = at + 1, when = when, mark = mark), pull.has_trace)
            })
            .collect();
        pulls.reverse();
        if pulls.is_empty() {
            caution_line(ui, Caution::Note, word!("dialogs-import-this-bag-has-no-pull-yet"));
            return Fate::Stay(Dialog::Import(form));
        }
        let to = form.target.and_then(|id| bag.live_pulls().find(|pull| pull.id == id));
        let otherwise = to.or_else(|| bag.live_pulls().next_back()).and_then(|pull| form.contradicts(pull));
        let chosen = pulls.iter().find(|one| Some(one.0) == form.target).or_else(|| pulls.first()).cloned();
        let mut attach = false;
        ui.horizontal(|ui| {
            body(ui, word!("dialogs-import-to"));
            let shown = chosen.as_ref().map(|one| one.1.clone()).unwrap_or_default();
            let names: Vec<String> = pulls.iter().map(|one| one.1.clone()).collect();
            if let Some(at) = pick(
                ui,
                Id::unique("import-pull"),
                word!("dialogs-import-to-which-pull"),
                &shown,
                &names,
                330.0,
            ) {
                form.target = pulls.get(at).map(|one| one.0);
            }
            // Nothing to see is nothing to keep.
            let ready = !form.shown.is_empty() && !form.desk.is_busy();
            let keyed = ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, Key::Enter));
            let several = form.found().len() > 1;
            let button = Button::primary(if several {
                word!("dialogs-import-attach-this-one")
            } else {
                word!("dialogs-import-attach-the-trace")
            })
            .key(Cap::CTRL_ENTER.text())
            .icon(Icon::Check);
            attach = ui.add_enabled(ready, button).clicked() || (keyed && ready);
        });
        if chosen.as_ref().is_some_and(|one| one.2) {
            caution_line(ui, Caution::Note, word!("dialogs-import-that-pull-has-a-trace-already"));
        }
        if let Some(otherwise) = otherwise {
            caution_line(ui, Caution::Note, &otherwise);
        }
        // Pulls without a trace take those of the file in order, the oldest first.
        let bare: Vec<PullId> = pulls.iter().rev().filter(|one| !one.2).map(|one| one.0).collect();
        let count = form.found().len();
        if count > 1 && count <= bare.len() {
            let label = say!("dialogs-import-attach-all-in-order-to-the", count = count);
            if ui.add_enabled(!form.desk.is_busy(), Button::new(&label)).clicked() {
                return self.attach_all(form, bag_id, bare.get(bare.len() - count..).unwrap_or_default());
            }
        }
        let (true, Some((pull, ..)), Some(trace)) =
            (attach, chosen, form.found().get(form.piece).map(|piece| piece.trace.clone()))
        else {
            return Fate::Stay(Dialog::Import(form));
        };
        self.remember(&form);
        let now = self.now();
        match self.bench.attach_trace(bag_id, pull, trace, now) {
            Ok(name) => {
                self.sparks.remove(&pull);
                self.page.selected = Some(pull);
                let mut toasts = std::mem::take(&mut self.toasts);
                toasts.done(&mut self.bench, &name);
                self.toasts = toasts;
                // Of several, the next one waits for the next pull.
                if form.piece + 1 < form.found().len() {
                    form.piece += 1;
                    form.target = pulls.iter().rev().map(|one| one.0).find(|id| *id > pull);
                    form.show(self);
                    return Fate::Stay(Dialog::Import(form));
                }
                Fate::Go(None)
            }
            Err(refusal) => {
                form.fault = Some(refusal.to_string());
                Fate::Stay(Dialog::Import(form))
            }
        }
    }
}

/// Which file or folder; true when it is to be read.
fn choose_ui(ui: &mut Ui, form: &mut ImportForm) -> bool {
    let mut go = false;
    ui.horizontal(|ui| {
        let idle = form.picking.is_none();
        if ui
            .add_enabled(idle, Button::new(word!("dialogs-import-choose-a-file")).icon(Icon::Trace))
            .clicked()
        {
            form.picking = pick_file(ui.ctx());
            if form.picking.is_none() {
                form.fault = Some(word!("dialogs-import-no-file-dialog-could-be-opened").to_owned());
            }
        }
        let room = (ui.available_width() - 120.0).max(60.0);
        let field = TextField::new(word!("dialogs-import-path-of-the-file"), Id::unique("import-path"))
            .hint(word!("dialogs-import-or-its-path-or-that-of"))
            .width(room);
        let response =
            field.bare(ui, &mut form.path).accessible_name(word!("dialogs-import-path-of-the-file"));
        if !form.focused {
            form.focused = first_focus(ui, Id::unique("import-path"));
        }
        let entered = entered(ui, &response, &form.path);
        if ui.add(Button::new(word!("dialogs-import-read"))).clicked() || entered {
            go = true;
        }
    });
    go
}

/// Opens the system's file dialog on a thread of its own; the answer comes through the channel.
fn pick_file(ctx: &Context) -> Option<Picked> {
    let dialog = rfd::AsyncFileDialog::new()
        .set_title(word!("dialogs-import-a-trace-file"))
        .add_filter(
            word!("dialogs-import-tables-and-logs"),
            &["csv", "tsv", "txt", "json", "jsonl", "ndjson", "log", "dat"],
        )
        .add_filter(word!("dialogs-import-all-files"), &["*"])
        .pick_file();
    wait_for(ctx, dialog)
}

fn role_words() -> Vec<String> {
    let channels = Channel::ALL.map(|channel| channel_name(channel).to_lowercase());
    [word!("dialogs-import-not-used").to_owned(), word!("dialogs-import-time").to_owned()]
        .into_iter()
        .chain(channels)
        .collect()
}

fn units_for(role: usize) -> &'static [(Unit, &'static str)] {
    match role {
        1 => &[(Unit::Second, "s"), (Unit::Millisecond, "ms"), (Unit::Minute, "min")],
        2 => &[
            (Unit::Bar, "bar"),
            (Unit::Millibar, "mbar"),
            (Unit::Kilopascal, "kPa"),
            (Unit::Megapascal, "MPa"),
            (Unit::Psi, "psi"),
        ],
        3 => &[(Unit::GramPerSecond, "g/s"), (Unit::MillilitrePerSecond, "ml/s")],
        4 => &[(Unit::Gram, "g"), (Unit::Kilogram, "kg"), (Unit::Ounce, "oz")],
        5 => &[(Unit::Celsius, "°C"), (Unit::Fahrenheit, "°F")],
        _ => &[],
    }
}

/// Role of a column under an assignment: index into [`role_words`], and its unit.
fn role_of(assignment: &Assignment, column: usize) -> (usize, Option<Unit>) {
    if let TimeSource::Column { index, unit } = assignment.time
        && index == column
    {
        return (1, Some(unit));
    }
    assignment
        .channels
        .iter()
        .find(|source| source.index == column)
        .map_or((0, None), |source| (source.channel as usize + 2, Some(source.unit)))
}

fn give_role(assignment: &mut Assignment, column: usize, role: usize, unit: Option<Unit>) {
    assignment.channels.retain(|source| source.index != column);
    if let TimeSource::Column { index, .. } = assignment.time
        && index == column
        && role != 1
    {
        assignment.time = TimeSource::Every { step_s: 0.1 };
    }
    let unit = unit.or_else(|| units_for(role).first().map(|one| one.0));
    match (role, unit) {
        (1, Some(unit)) => assignment.time = TimeSource::Column { index: column, unit },
        (2.., Some(unit)) => {
            if let Some(channel) = Channel::ALL.get(role - 2) {
                assignment.set(*channel, Some((column, unit)));
            }
        }
        _ => {}
    }
}

fn preview_ui(ui: &mut Ui, form: &mut ImportForm, width: f32) {
    let p = palette(ui);
    let (Some((_, preview)), Some(assignment)) = (&form.read, &mut form.assignment) else { return };
    small(ui, format!("{} {}.", preview.layout, say!("dialogs-import-count-rows", n = preview.rows)));
    part(ui, word!("dialogs-import-what-each-column-is"));
    let roles = role_words();
    egui::ScrollArea::horizontal().id_salt("import-columns").max_width(width).show(ui, |ui| {
        egui::Grid::new("import-grid")
            .min_row_height(26.0)
            .spacing(egui::vec2(scale::GAP_3, scale::GAP_1))
            .show(ui, |ui| {
                for column in &preview.columns {
                    text_line(ui, column.name.clone(), scale::semibold(scale::SMALL), p.ink);
                }
                ui.end_row();
                for column in &preview.columns {
                    let (role, unit) = role_of(assignment, column.index);
                    let shown = roles.get(role).cloned().unwrap_or_default();
                    let label = say!("dialogs-import-what-is", name = column.name);
                    let id = Id::unique(("import-role", column.index));
                    if let Some(at) = pick(ui, id, &label, &shown, &roles, 128.0) {
                        let written = column.unit.map(|one| one.0);
                        let fitting = written.filter(|unit| units_for(at).iter().any(|one| one.0 == *unit));
                        give_role(assignment, column.index, at, fitting.or(unit.filter(|_| at == role)));
                    }
                }
                ui.end_row();
                for column in &preview.columns {
                    let (role, unit) = role_of(assignment, column.index);
                    let units = units_for(role);
                    if units.is_empty() {
                        ui.label("");
                        continue;
                    }
                    let names: Vec<String> = units.iter().map(|one| one.1.to_owned()).collect();
                    let shown = units.iter().find(|one| Some(one.0) == unit).map_or("?", |one| one.1);
                    let label = say!("dialogs-import-unit-of", name = column.name);
                    let id = Id::unique(("import-unit", column.index));
                    if let Some(at) = pick(ui, id, &label, shown, &names, 128.0) {
                        give_role(assignment, column.index, role, units.get(at).map(|one| one.0));
                    }
                }
                ui.end_row();
                for cells in preview.first_rows.iter().take(3) {
                    for at in 0..preview.columns.len() {
                        let text: String =
                            cells.get(at).map_or("", String::as_str).chars().take(16).collect();
                        text_line(ui, text, scale::regular(scale::TICK), p.soft);
                    }
                    ui.end_row();
                }
            });
    });
    if let TimeSource::Every { step_s } = assignment.time {
        caution_line(
            ui,
            Caution::Note,
            &say!("dialogs-import-no-column-is-time-samples-are", step_s = step_s),
        );
    }
    if form.recalled {
        small(ui, word!("dialogs-import-the-columns-are-as-you-set"));
    }
    match &form.imported {
        Some(Ok(_)) => found_ui(ui, form),
        Some(Err(fault)) => {
            fault_line(ui, &fault.to_string());
        }
        None => {
            soft(ui, word!("dialogs-import-working"));
        }
    }
}

/// The pulls found, and the one looked at.
fn found_ui(ui: &mut Ui, form: &mut ImportForm) {
    part(ui, word!("dialogs-import-what-will-be-kept"));
    let units = form.units;
    let words: Vec<String> = form.found().iter().map(|piece| piece.words(&units)).collect();
    if words.len() > 1 {
        let shown = words.get(form.piece).cloned().unwrap_or_default();
        if let Some(at) = pick(
            ui,
            Id::unique("import-piece"),
            word!("dialogs-import-which-pull-of-several"),
            &shown,
            &words,
            420.0,
        ) {
            form.piece = at;
        }
    }
    let notes = form.found().get(form.piece).map(|piece| piece.notes.clone()).unwrap_or_default();
    ui.scope(|ui| {
        let height = 76.0 * form.shown.len() as f32 + 24.0;
        strips(ui, Id::unique("import-strips"), &form.shown, form.span_s, &mut form.cursor, height, true);
    });
    for note in &notes {
        small(
            ui,
            note.line.map_or(note.sentence.clone(), |line| {
                say!("dialogs-import-line", line = line, sentence = note.sentence)
            }),
        );
    }
}
