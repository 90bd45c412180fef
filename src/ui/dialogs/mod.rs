//! Dialogs: forms for bag, station and drinker, lists, settings, keys, import. One is open at a time; Esc puts it away.

pub(in crate::ui) mod ask;
mod bag;
mod beliefs;
mod card;
mod compare;
mod drinker;
mod import;
mod keeping;
mod lists;
mod live;
mod palette;
mod settings;
mod sheets;
mod station;

use eframe::egui::{self, Context, Frame, Id, Margin, Ui};

use super::app::App;
use super::theme::icons::Icon;
use super::theme::{palette as colours, scale};
use super::widgets::{heading, icon_button};
use crate::ui::actions::Cap;

pub use super::opening::WindowForm;
pub use ask::FileToWrite;
pub use bag::BagForm;
pub use beliefs::BeliefsForm;
pub use card::CardForm;
pub use compare::CompareForm;
pub use drinker::DrinkerForm;
pub use import::ImportForm;
pub use keeping::KeepingForm;
pub use live::LiveForm;
pub use palette::PaletteForm;
pub use station::StationForm;

/// The dialog that is open.
pub enum Dialog {
    /// A bag's sheet.
    Bag(Box<BagForm>),
    /// A station.
    Station(Box<StationForm>),
    /// A drinker.
    Drinker(DrinkerForm),
    /// All stations.
    Stations,
    /// All drinkers.
    Drinkers,
    /// Settings.
    Settings,
    /// The key sheet.
    Keys,
    /// What was found wrong.
    Problems,
    /// All actions by name.
    Palette(PaletteForm),
    /// A trace file.
    Import(Box<ImportForm>),
    /// The notebook as a whole.
    Keeping(Box<KeepingForm>),
    /// Pulls over each other.
    Compare(Box<CompareForm>),
    /// A live instrument.
    Live(Box<LiveForm>),
    /// The keeper's bar card.
    Card(Box<CardForm>),
    /// What the engine believes.
    Beliefs(Box<BeliefsForm>),
    /// The window of a coffee.
    Window(Box<WindowForm>),
}

impl Dialog {
    /// The palette, empty.
    #[must_use]
    pub fn palette() -> Self {
        Self::Palette(PaletteForm::default())
    }

    /// Whether something typed would be lost with it.
    pub(super) fn is_worth_keeping(&self) -> bool {
        match self {
            Self::Bag(form) => form.is_changed(),
            Self::Station(form) => form.is_changed(),
            Self::Drinker(form) => form.is_changed(),
            Self::Window(form) => form.is_changed(),
            _ => false,
        }
    }

    /// Whether a worker still owes it an answer.
    pub(super) fn is_busy(&self) -> bool {
        match self {
            Self::Compare(form) => form.is_busy(),
            Self::Import(form) => form.is_busy(),
            _ => false,
        }
    }

    pub(super) fn title(&self) -> String {
        match self {
            Self::Bag(form) if form.draft.id.is_some() => word!("dialogs-change-the-bag").to_owned(),
            Self::Bag(_) => word!("dialogs-new-bag").to_owned(),
            Self::Station(form) if form.draft.id.is_some() => word!("dialogs-change-the-station").to_owned(),
            Self::Station(_) => word!("dialogs-new-station").to_owned(),
            Self::Drinker(form) if form.draft.id.is_some() => word!("dialogs-change-the-drinker").to_owned(),
            Self::Drinker(_) => word!("dialogs-new-drinker").to_owned(),
            Self::Stations => word!("dialogs-stations").to_owned(),
            Self::Drinkers => word!("dialogs-drinkers").to_owned(),
            Self::Settings => word!("dialogs-settings").to_owned(),
            Self::Keys => word!("dialogs-keys").to_owned(),
            Self::Problems => word!("dialogs-what-was-found-wrong").to_owned(),
            Self::Palette(_) => word!("dialogs-all-actions").to_owned(),
            Self::Import(_) => word!("dialogs-attach-a-trace").to_owned(),
            Self::Keeping(form) => form.title().to_owned(),
            Self::Compare(_) => word!("dialogs-compare-pulls").to_owned(),
            Self::Live(_) => word!("dialogs-live-instrument").to_owned(),
            Self::Card(_) => word!("dialogs-bar-card").to_owned(),
            Self::Beliefs(form) => form.title().to_owned(),
            Self::Window(form) => form.title(),
        }
    }

    fn width(&self) -> f32 {
        match self {
            Self::Drinker(_) | Self::Palette(_) | Self::Window(_) => 560.0,
            Self::Import(_) => 860.0,
            Self::Keys => 1120.0,
            Self::Stations | Self::Drinkers | Self::Problems | Self::Settings | Self::Live(_) => 700.0,
            Self::Bag(_) | Self::Station(_) | Self::Keeping(_) => 760.0,
            Self::Compare(_) => 1500.0,
            Self::Beliefs(_) => 1320.0,
            Self::Card(_) => 760.0,
        }
    }
}

/// Height of a dialog's frame with some air around it, points.
const FRAME: f32 = 46.0;

/// What becomes of a dialog after a frame.
pub(in crate::ui) enum Fate {
    /// It stays.
    Stay(Dialog),
    /// It goes, and perhaps another comes.
    Go(Option<Dialog>),
}

impl App {
    pub(super) fn dialogs_ui(&mut self, ctx: &Context) {
        let Some(dialog) = self.dialog.take() else {
            self.dialog_shown = (None, self.dialog_shown.1);
            return;
        };
        // Another panel is another area, so that none takes over the size of the one before.
        let kind = Some(std::mem::discriminant(&dialog));
        if self.dialog_shown.0 != kind {
            self.dialog_shown = (kind, self.dialog_shown.1 + 1);
        }
        let title = dialog.title();
        let screen = ctx.content_rect();
        let width = dialog.width().min(screen.width() - 60.0).max(200.0);
        let height = (screen.height() - 150.0).max(160.0);
        let mut close = false;
        let mut fate = None;
        // Taken here, before a list that has the focus would open at it.
        if matches!(dialog, Dialog::Bag(_) | Dialog::Station(_) | Dialog::Drinker(_)) {
            let keyed = ctx.input_mut(|input| input.consume_key(egui::Modifiers::COMMAND, egui::Key::Enter));
            ctx.data_mut(|data| data.insert_temp(save_id(), keyed));
        }
        let p = ctx
            .data(|data| data.get_temp::<super::theme::Look>(super::theme::look_id()))
            .map_or(&super::theme::colour::LIGHT, |look| look.palette);
        let frame = Frame::NONE
            .fill(p.page)
            .stroke(egui::Stroke::new(1.0, p.edge))
            .corner_radius(egui::CornerRadius::same(10))
            .inner_margin(Margin { left: 24, right: 16, top: 12, bottom: 18 });
        let response =
            egui::Modal::new(Id::unique(("dialog", self.dialog_shown.1))).frame(frame).show(ctx, |ui| {
                ui.set_width(width);
                ui.horizontal(|ui| {
                    heading(ui, title.clone());
                    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                        close = icon_button(ui, Icon::Cross, word!("dialogs-close-esc"), true).clicked();
                    });
                });
                ui.spacing_mut().item_spacing = egui::vec2(scale::GAP_3, scale::GAP_3);
                // What needs more height than there is scrolls as a whole: the title and the way out stay in sight.
                let most = (screen.height() - FRAME - ui.min_rect().height() - scale::GAP_3).max(80.0);
                let area = egui::ScrollArea::vertical().id_salt("dialog-body").max_height(most);
                area.min_scrolled_height(most).auto_shrink([false, true]).show(ui, |ui| {
                    fate = Some(self.dialog_body(ui, dialog, width - 8.0, height));
                });
            });
        if close || (response.backdrop_response.clicked() && !response.any_popup_open) {
            if let Some(Fate::Stay(dialog)) = fate {
                self.put_dialog_away(dialog);
            }
            return;
        }
        // A dialog opened from within, for example by the palette, takes its place.
        match fate {
            Some(Fate::Stay(dialog)) if self.dialog.is_none() => self.dialog = Some(dialog),
            Some(Fate::Go(Some(next))) => self.dialog = Some(next),
            _ => {}
        }
    }

    fn dialog_body(&mut self, ui: &mut Ui, dialog: Dialog, width: f32, height: f32) -> Fate {
        match dialog {
            Dialog::Bag(form) => self.bag_form_ui(ui, form, height),
            Dialog::Station(form) => self.station_form_ui(ui, form, height),
            Dialog::Drinker(form) => self.drinker_form_ui(ui, form),
            Dialog::Stations => self.stations_ui(ui, height),
            Dialog::Drinkers => self.drinkers_ui(ui, height),
            Dialog::Settings => self.settings_ui(ui, height),
            Dialog::Keys => {
                sheets::keys_ui(ui, height);
                Fate::Stay(Dialog::Keys)
            }
            Dialog::Problems => self.problems_ui(ui, height),
            Dialog::Palette(form) => self.palette_ui(ui, form, height),
            Dialog::Import(form) => self.import_ui(ui, form, width, height),
            Dialog::Keeping(form) => self.keeping_ui(ui, form, height),
            Dialog::Compare(form) => self.compare_ui(ui, form, width, height),
            Dialog::Live(form) => self.live_form_ui(ui, form),
            Dialog::Card(form) => self.card_ui(ui, form, height),
            Dialog::Beliefs(form) => self.beliefs_ui(ui, form, width, height),
            Dialog::Window(form) => self.window_form_ui(ui, form),
        }
    }
}

/// The scrolling middle of a dialog.
fn middle(ui: &mut Ui, salt: &str, height: f32, add: impl FnOnce(&mut Ui)) {
    // The least height too: a dialog's area remembers how small it was when it first opened.
    let area = egui::ScrollArea::vertical().id_salt(salt).max_height(height).min_scrolled_height(height);
    area.auto_shrink([false, true]).show(ui, |ui| {
        ui.spacing_mut().item_spacing = egui::vec2(scale::GAP_4, scale::GAP_3);
        add(ui);
    });
}

/// Gives the first field of a form the focus, once. A window's first pass only measures, so asking is repeated until
/// the field has it. True once it has.
fn first_focus(ui: &Ui, id: Id) -> bool {
    if ui.memory(|memory| memory.has_focus(id)) {
        return true;
    }
    ui.memory_mut(|memory| memory.request_focus(id));
    ui.ctx().request_repaint();
    false
}

/// A heading inside a form.
fn part(ui: &mut Ui, text: &str) {
    ui.add_space(scale::GAP_1);
    let colour = colours(ui).soft;
    super::widgets::text_line(ui, text, scale::semibold(scale::SMALL), colour);
}

fn save_id() -> Id {
    Id::unique("dialog-save")
}

/// Whether the form is to be saved: the button, or Ctrl+Enter anywhere in it.
pub(in crate::ui) fn save_row(ui: &mut Ui, label: &str, fault: Option<&str>) -> bool {
    if let Some(fault) = fault {
        super::widgets::fault_line(ui, fault);
    }
    let keyed = ui.data_mut(|data| data.remove_temp::<bool>(save_id())).unwrap_or(false);
    ui.add(super::widgets::Button::primary(label).key(Cap::CTRL_ENTER.text()).icon(Icon::Check)).clicked()
        || keyed
}
