//! Bags as one file to pass on.

use std::collections::BTreeSet;

use eframe::egui::{Id, Modifiers, Ui};

use super::{Ask, PathField, middle, part, proposed};
use crate::domain::{BagId, Notebook};
use crate::store::PackOptions;
use crate::ui::actions::Cap;
use crate::ui::app::App;
use crate::ui::theme::icons::Icon;
use crate::ui::theme::scale;
use crate::ui::widgets::{Button, TextField, small, toggle};
use crate::workbench::Job;
use crate::workbench::view::keeping::{bags_to_pass, packet_name};

/// What goes out, and where to.
pub struct PassForm {
    bags: BTreeSet<BagId>,
    /// The bag on the page; it stands first.
    first: Option<BagId>,
    options: PackOptions,
    from: String,
    to: PathField,
    /// The path as proposed; it follows the choice until somebody types another.
    proposed: String,
}

impl PassForm {
    pub(super) fn new(bag: Option<BagId>, notebook: &Notebook) -> Self {
        let live = bag.filter(|id| notebook.bag(*id).is_some_and(|bag| bag.stamp.is_live()));
        let mut form = Self {
            bags: live.into_iter().collect(),
            first: live,
            options: PackOptions { names: true, notes: true, traces: true },
            from: String::new(),
            to: PathField::default(),
            proposed: String::new(),
        };
        form.propose(notebook);
        form
    }

    fn propose(&mut self, notebook: &Notebook) {
        if self.to.text == self.proposed {
            let bags: Vec<BagId> = self.bags.iter().copied().collect();
            self.proposed = proposed(&packet_name(notebook, &bags));
            self.to.text.clone_from(&self.proposed);
        }
    }
}

impl App {
    pub(super) fn pass_on_sheet(
        &mut self,
        ui: &mut Ui,
        form: &mut PassForm,
        height: f32,
    ) -> Option<Result<Job, String>> {
        let mut rows = bags_to_pass(self.bench.notebook());
        rows.sort_by_key(|row| Some(row.id) != form.first);
        let before = form.bags.len();
        part(ui, word!("dialogs-keeping-pass-on-which-bags"));
        middle(ui, "pass-on", (height - 300.0).max(110.0), |ui| {
            ui.spacing_mut().item_spacing.y = scale::GAP_1;
            for row in &rows {
                let mut on = form.bags.contains(&row.id);
                ui.push_id(row.id, |ui| {
                    ui.horizontal(|ui| {
                        if toggle(ui, &row.name, &mut on).changed() {
                            if on {
                                form.bags.insert(row.id);
                            } else {
                                form.bags.remove(&row.id);
                            }
                        }
                        small(ui, row.detail.clone());
                    });
                });
            }
        });
        part(ui, word!("dialogs-keeping-pass-on-with-what"));
        ui.horizontal_wrapped(|ui| {
            toggle(
                ui,
                word!("dialogs-keeping-pass-on-names-of-people-and-stations"),
                &mut form.options.names,
            );
            toggle(ui, word!("dialogs-keeping-pass-on-notes"), &mut form.options.notes);
            toggle(ui, word!("dialogs-keeping-pass-on-traces"), &mut form.options.traces);
        });
        if form.options.names {
            let from = TextField::new(
                word!("dialogs-keeping-pass-on-from-whom-may-be-left-empty"),
                Id::unique("pass-from"),
            )
            .width(320.0);
            from.show(ui, &mut form.from);
        } else {
            small(ui, word!("dialogs-keeping-pass-on-what-goes-out-without-its-names"));
        }
        if form.bags.len() != before {
            form.propose(self.bench.notebook());
        }
        let entered = form.to.show(
            ui,
            word!("dialogs-keeping-pass-on-into-which-file"),
            "pass-to",
            &[(word!("dialogs-keeping-pass-on-choose"), Ask::NewPacket)],
        );
        let count = form.bags.len();
        let label = match count {
            0 => word!("dialogs-keeping-pass-on-choose-a-bag-first").to_owned(),
            1 => word!("dialogs-keeping-pass-on-write-1-bag").to_owned(),
            n => say!("dialogs-keeping-pass-on-write-bags", n = n),
        };
        let ready = count > 0 && self.bench.job().is_none();
        let keyed = ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, eframe::egui::Key::Enter));
        let button = Button::primary(&label).key(Cap::CTRL_ENTER.text()).icon(Icon::Check);
        let asked = ui.add_enabled(ready, button).clicked() || (keyed && ready);
        let _chosen = entered;
        asked.then(|| {
            let target = form.to.path().ok_or(word!("dialogs-keeping-pass-on-say-into-which-file"))?;
            let agreed = form.to.agreed.as_ref() == Some(&target);
            if target.exists() && !agreed {
                return Err(say!(
                    "dialogs-keeping-pass-on-is-there-already-choose-another-name",
                    target = target.display()
                ));
            }
            let from = if form.options.names { form.from.trim().to_owned() } else { String::new() };
            Ok(Job::Pass { bags: form.bags.iter().copied().collect(), options: form.options, from, target })
        })
    }
}
