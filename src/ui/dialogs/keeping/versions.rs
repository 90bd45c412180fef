//! Earlier versions of one record, and going back to one.

use eframe::egui::{Id, Ui};

use super::middle;
use crate::domain::{BagId, PullId, RecordKey};
use crate::ui::app::App;
use crate::ui::shelf::hairline;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::{palette, scale};
use crate::ui::widgets::{Button, body, empty_state, fault_line, pick, small, text_line};
use crate::workbench::Command;
use crate::workbench::view::keeping::{VersionRow, versions};
use crate::workbench::view::records::record_name;

/// Which record is looked at, and its versions once read.
#[derive(Default)]
pub struct VersionsForm {
    key: Option<RecordKey>,
    read: Option<(RecordKey, u64, Result<Vec<VersionRow>, String>)>,
}

impl VersionsForm {
    pub(super) fn of_the_page(bag: Option<BagId>, pull: Option<PullId>) -> Self {
        let key = bag.map(|bag| pull.map_or(RecordKey::Bag(bag), |pull| RecordKey::Pull(bag, pull)));
        Self { key, read: None }
    }
}

impl App {
    pub(super) fn versions_sheet(&mut self, ui: &mut Ui, form: &mut VersionsForm, height: f32) {
        let units = self.units();
        let choices = self.records_to_look_at();
        let key = form.key.or_else(|| choices.first().map(|(key, _)| *key));
        let Some(key) = key else {
            empty_state(
                ui,
                Icon::Bag,
                word!("dialogs-keeping-versions-nothing-yet"),
                word!("dialogs-keeping-versions-earlier-versions-are-kept-from-the"),
                None,
            );
            return;
        };
        ui.horizontal(|ui| {
            body(ui, word!("dialogs-keeping-versions-of"));
            let shown = record_name(self.showing(&units), key, None);
            let names: Vec<String> = choices.iter().map(|(_, name)| name.clone()).collect();
            if let Some(at) = pick(
                ui,
                Id::unique("versions-of"),
                word!("dialogs-keeping-versions-of-which-record"),
                &shown,
                &names,
                420.0,
            ) {
                form.key = choices.get(at).map(|(key, _)| *key);
            }
        });
        let revision = self.bench.revision();
        let known = form.read.as_ref().is_some_and(|(of, at, _)| (*of, *at) == (key, revision));
        if !known {
            let list = self.bench.versions(key);
            let rows = list.map(|list| versions(self.showing(&units), key, &list));
            form.read = Some((key, revision, rows));
        }
        let mut back = None;
        let p = palette(ui);
        let busy = self.bench.job().is_some() || self.bench.read_only().is_some();
        match form.read.as_ref().map(|(_, _, rows)| rows) {
            Some(Err(sentence)) => drop(fault_line(ui, sentence)),
            Some(Ok(rows)) if rows.is_empty() => {
                let text = word!("dialogs-keeping-versions-it-has-said-the-same-since");
                empty_state(
                    ui,
                    Icon::Check,
                    word!("dialogs-keeping-versions-no-earlier-version"),
                    text,
                    None,
                );
            }
            Some(Ok(rows)) => {
                small(ui, word!("dialogs-keeping-versions-newest-first-going-back-would-change"));
                middle(ui, "versions", height - 110.0, |ui| {
                    ui.spacing_mut().item_spacing.y = scale::GAP_1;
                    for (at, row) in rows.iter().enumerate() {
                        ui.push_id(at, |ui| {
                            ui.horizontal(|ui| {
                                let button = Button::new(word!("dialogs-keeping-versions-go-back-to-this"));
                                let response = ui.add_enabled(!busy, button);
                                if response.clicked() {
                                    back = Some(row.record.clone());
                                }
                                response.widget_info(|| {
                                    let label =
                                        say!("dialogs-keeping-versions-go-back-to", label = row.label);
                                    eframe::egui::WidgetInfo::labeled(
                                        eframe::egui::Role::Button,
                                        !busy,
                                        label,
                                    )
                                });
                                ui.add_space(scale::GAP_2);
                                ui.vertical(|ui| {
                                    ui.spacing_mut().item_spacing.y = 0.0;
                                    text_line(ui, &row.when, scale::semibold(scale::BODY), p.ink);
                                    for differs in &row.differs {
                                        small(ui, differs.line());
                                    }
                                });
                            });
                            ui.add_space(scale::GAP_1);
                            hairline(ui);
                        });
                    }
                });
            }
            None => {}
        }
        if let Some(record) = back {
            self.edit(Command::Restore(Box::new(record)));
        }
    }

    /// Records whose versions can be looked at: the bag on the page and its pulls, the newest first, then the rest.
    fn records_to_look_at(&self) -> Vec<(RecordKey, String)> {
        let units = self.units();
        let notebook = self.bench.notebook();
        let mut keys = Vec::new();
        if let Some(bag) = self.bag() {
            keys.push(RecordKey::Bag(bag.id));
            keys.extend(bag.live_pulls().rev().map(|pull| RecordKey::Pull(bag.id, pull.id)));
        }
        let live = |stamp: &crate::domain::Stamp| stamp.is_live();
        keys.extend(notebook.stations.iter().filter(|s| live(&s.stamp)).map(|s| RecordKey::Station(s.id)));
        keys.extend(notebook.drinkers.iter().filter(|d| live(&d.stamp)).map(|d| RecordKey::Drinker(d.id)));
        let showing = self.showing(&units);
        keys.into_iter().map(|key| (key, record_name(showing, key, None))).collect()
    }
}
