//! A trace file: choose or drop it, see what it is taken for, correct that, attach it to a pull. Reading and carrying
//! out happen on a worker thread.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use eframe::egui::{self, Context, Id, Key, Ui};
use egui_plot::PlotPoint;

use super::{Dialog, Fate, middle, part};
use crate::domain::{Channel, PullId};
use crate::exchange::table::{Assignment, ImportFault, Imported, Preview, Table, TimeSource};
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{
    Button, Caution, Strip, StripCursor, StripLine, Stroke3, TextField, body, caution_line, fault_line, pick,
    small, soft, strips, text_line,
};
use crate::units::Unit;
use crate::workbench::Desk;
use crate::workbench::view::strips::{Emphasis, Laid, channel_name, strips as strips_view};

enum Job {
    Read(PathBuf),
    Import(Arc<Table>, Assignment),
}

enum Done {
    Read(Result<(Arc<Table>, Box<Preview>), ImportFault>),
    Imported(Box<Result<Imported, ImportFault>>),
}

/// A trace file on its way in.
pub struct ImportForm {
    path: String,
    target: Option<PullId>,
    picking: Option<Receiver<Option<PathBuf>>>,
    desk: Desk<Job, Done>,
    read: Option<(Arc<Table>, Box<Preview>)>,
    assignment: Option<Assignment>,
    imported: Option<Box<Result<Imported, ImportFault>>>,
    shown: Vec<Strip>,
    span_s: (f64, f64),
    fault: Option<String>,
    cursor: StripCursor,
}

impl ImportForm {
    fn new(ctx: &Context, target: Option<PullId>) -> Self {
        let waker = ctx.clone();
        let work = |job: Job| match job {
            Job::Read(path) => Done::Read(Table::open(&path).map(|table| {
                let preview = Box::new(table.preview());
                (Arc::new(table), preview)
            })),
            Job::Import(table, assignment) => Done::Imported(Box::new(table.import(&assignment))),
        };
        Self {
            path: String::new(),
            target,
            picking: None,
            desk: Desk::start("trace file", work, Box::new(move || waker.request_repaint())),
            read: None,
            assignment: None,
            imported: None,
            shown: Vec::new(),
            span_s: (0.0, 1.0),
            fault: None,
            cursor: StripCursor::default(),
        }
    }

    fn start_reading(&mut self) {
        self.read = None;
        self.assignment = None;
        self.imported = None;
        self.shown.clear();
        self.fault = None;
        let path = self.path.trim().trim_matches('"');
        if path.is_empty() {
            self.fault = Some("choose a file, drop one on the window, or type its path".to_owned());
            return;
        }
        self.desk.ask(Job::Read(PathBuf::from(path)));
    }

    fn carry_out(&mut self) {
        if let (Some((table, _)), Some(assignment)) = (&self.read, &self.assignment) {
            self.desk.ask(Job::Import(Arc::clone(table), assignment.clone()));
        }
    }

    /// Takes in what the worker and the file dialog have brought.
    fn take_in(&mut self, app: &App) {
        if let Some(picked) = self.picking.as_ref().and_then(|picking| picking.try_recv().ok()) {
            self.picking = None;
            if let Some(path) = picked {
                self.path = path.display().to_string();
                self.start_reading();
            }
        }
        if !self.desk.poll() {
            return;
        }
        match self.desk.take() {
            Some(Ok(Done::Read(Ok((table, preview))))) => {
                self.assignment = Some(preview.assignment.clone());
                self.read = Some((table, preview));
                self.carry_out();
            }
            Some(Ok(Done::Read(Err(fault)))) => self.fault = Some(fault.to_string()),
            Some(Ok(Done::Imported(result))) => {
                self.show(app, &result);
                self.imported = Some(result);
            }
            Some(Err(sentence)) => self.fault = Some(sentence),
            None => {}
        }
    }

    fn show(&mut self, app: &App, result: &Result<Imported, ImportFault>) {
        self.shown.clear();
        let Ok(imported) = result else { return };
        let laid = Laid {
            name: "this file".to_owned(),
            end: String::new(),
            emphasis: Emphasis::This,
            shift_s: 0.0,
            trace: &imported.trace,
        };
        let view = strips_view(&[laid], &app.units());
        self.span_s = view.span_s;
        let points = |run: &Vec<[f64; 2]>| run.iter().map(|[x, y]| PlotPoint::new(*x, *y)).collect();
        self.shown = view
            .strips
            .iter()
            .map(|strip| Strip {
                name: strip.name.to_owned(),
                unit: strip.unit.to_owned(),
                range: strip.range,
                band: None,
                lines: strip
                    .lines
                    .iter()
                    .map(|line| StripLine {
                        name: line.name.clone(),
                        end: String::new(),
                        stroke: Stroke3::This,
                        runs: line.runs.iter().map(points).collect(),
                    })
                    .collect(),
            })
            .collect();
    }
}

impl App {
    /// Opens the import dialog, with a file when one was dropped.
    pub(in crate::ui) fn open_import(&mut self, ctx: &Context, path: Option<PathBuf>) {
        if let (Some(Dialog::Import(form)), Some(path)) = (&mut self.dialog, &path) {
            form.path = path.display().to_string();
            form.start_reading();
            return;
        }
        let mut form = ImportForm::new(ctx, self.pull().map(|pull| pull.id));
        if let Some(path) = path {
            form.path = path.display().to_string();
            form.start_reading();
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
        choose_ui(ui, &mut form);
        if let Some(fault) = &form.fault {
            fault_line(ui, fault);
        }
        if form.desk.is_busy() && form.read.is_none() {
            soft(ui, "Reading…");
        }
        let before = form.assignment.clone();
        if form.read.is_some() {
            middle(ui, "import", height - 190.0, |ui| preview_ui(ui, &mut form, width));
        } else if form.fault.is_none() {
            soft(
                ui,
                "A table (comma, semicolon, tab or spaces) or a log of one JSON object a line: time, and any of \
                      pressure, flow, cup mass and temperature. Names and units are guessed, and you can correct \
                      them before anything is kept.",
            );
        }
        if form.assignment != before {
            form.carry_out();
        }
        self.attach_ui(ui, form)
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
                let mark = if pull.has_trace { ", has a trace" } else { "" };
                (pull.id, format!("pull {} · {when}{mark}", at + 1), pull.has_trace)
            })
            .collect();
        pulls.reverse();
        if pulls.is_empty() {
            caution_line(
                ui,
                Caution::Note,
                "This bag has no pull yet. Record the pull first, then attach its trace.",
            );
            return Fate::Stay(Dialog::Import(form));
        }
        let chosen = pulls.iter().find(|one| Some(one.0) == form.target).or_else(|| pulls.first()).cloned();
        let mut attach = false;
        ui.horizontal(|ui| {
            body(ui, "To");
            let shown = chosen.as_ref().map(|one| one.1.clone()).unwrap_or_default();
            let names: Vec<String> = pulls.iter().map(|one| one.1.clone()).collect();
            if let Some(at) = pick(ui, Id::unique("import-pull"), "To which pull", &shown, &names, 330.0) {
                form.target = pulls.get(at).map(|one| one.0);
            }
            let ready = matches!(form.imported.as_deref(), Some(Ok(_))) && !form.desk.is_busy();
            let keyed = ui.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, Key::Enter));
            let button = Button::primary("Attach the trace").key("Ctrl Enter").icon(Icon::Check);
            attach = ui.add_enabled(ready, button).clicked() || (keyed && ready);
        });
        if chosen.as_ref().is_some_and(|one| one.2) {
            caution_line(
                ui,
                Caution::Note,
                "That pull has a trace already; attaching puts this one in its place.",
            );
        }
        let (true, Some((pull, ..)), Some(Ok(imported))) = (attach, chosen, form.imported.as_deref()) else {
            return Fate::Stay(Dialog::Import(form));
        };
        let now = self.now();
        match self.bench.attach_trace(bag_id, pull, imported.trace.clone(), now) {
            Ok(name) => {
                self.sparks.remove(&pull);
                self.page.selected = Some(pull);
                let mut toasts = std::mem::take(&mut self.toasts);
                toasts.done(&mut self.bench, &name);
                self.toasts = toasts;
                Fate::Go(None)
            }
            Err(refusal) => {
                form.fault = Some(refusal.to_string());
                Fate::Stay(Dialog::Import(form))
            }
        }
    }
}

fn choose_ui(ui: &mut Ui, form: &mut ImportForm) {
    ui.horizontal(|ui| {
        let idle = form.picking.is_none();
        if ui.add_enabled(idle, Button::new("Choose a file…").icon(Icon::Trace)).clicked() {
            form.picking = pick_file(ui.ctx());
            if form.picking.is_none() {
                form.fault =
                    Some("no file dialog could be opened; type the path, or drop the file here".to_owned());
            }
        }
        let room = (ui.available_width() - 120.0).max(60.0);
        let field =
            TextField::new("Path of the file", Id::unique("import-path")).hint("or its path").width(room);
        let response = field.bare(ui, &mut form.path).accessible_name("Path of the file");
        let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if ui.add(Button::new("Read")).clicked() || entered {
            form.start_reading();
        }
    });
}

/// Opens the system's file dialog on a thread of its own; the answer comes through the channel.
fn pick_file(ctx: &Context) -> Option<Receiver<Option<PathBuf>>> {
    let (send, receive) = channel();
    let ctx = ctx.clone();
    let dialog = rfd::AsyncFileDialog::new()
        .set_title("A trace file")
        .add_filter("Tables and logs", &["csv", "tsv", "txt", "json", "jsonl", "ndjson", "log", "dat"])
        .add_filter("All files", &["*"])
        .pick_file();
    std::thread::Builder::new()
        .name("file dialog".to_owned())
        .spawn(move || {
            let picked = pollster::block_on(dialog).map(|file| file.path().to_path_buf());
            // The window may be gone by then; then nobody waits for the answer.
            let _gone = send.send(picked);
            ctx.request_repaint();
        })
        .ok()?;
    Some(receive)
}

const NONE: &str = "not used";

fn role_words() -> Vec<String> {
    let channels = Channel::ALL.map(|channel| channel_name(channel).to_lowercase());
    [NONE.to_owned(), "time".to_owned()].into_iter().chain(channels).collect()
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
    small(ui, format!("{} {} rows.", preview.layout, preview.rows));
    part(ui, "What each column is");
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
                    let label = format!("What {} is", column.name);
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
                    let label = format!("Unit of {}", column.name);
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
            &format!("No column is time: samples are taken to be {step_s} s apart."),
        );
    }
    match form.imported.as_deref() {
        Some(Ok(imported)) => {
            part(ui, "What will be kept");
            ui.scope(|ui| {
                let height = 76.0 * form.shown.len() as f32 + 24.0;
                strips(
                    ui,
                    Id::unique("import-strips"),
                    &form.shown,
                    form.span_s,
                    &mut form.cursor,
                    height,
                    true,
                );
            });
            for note in &imported.notes {
                small(
                    ui,
                    note.line.map_or(note.sentence.clone(), |line| format!("Line {line}: {}", note.sentence)),
                );
            }
        }
        Some(Err(fault)) => {
            fault_line(ui, &fault.to_string());
        }
        None => {
            soft(ui, "Working…");
        }
    }
}
